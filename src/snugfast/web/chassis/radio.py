"""The radio of a car: tests kept, model memories by radio, learner limits, the first power-up in order."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.records.entries import WhenOff
from snugfast.usecases.chassis.radio import (
    LimitsSaid,
    RadioRecord,
    RadioSaid,
    draft_limits,
    draft_radio,
    radio_record,
)
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.journal.kept import echo, identified
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class TestForm(BaseModel):
    """A test as typed."""

    id: UUID | None = None
    radio: str = ""
    receiver: str = ""
    model: str = ""
    when_off: str = ""
    walked: str = ""
    twitched: bool = False
    cells: str = ""
    words: str = ""
    change: str = ""


class LimitsForm(BaseModel):
    """Learner limits as typed."""

    id: UUID | None = None
    radio: str = ""
    throttle: str = ""
    rate: str = ""
    words: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class RadioPage:
    """One car's radio."""

    car_id: UUID
    record: RadioRecord
    test: TestForm
    limits: LimitsForm
    outcomes: tuple[tuple[str, str], ...]
    troubles: Troubles | None


@pages.get("/cars/{car_id}/radio")
def radio(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show(request, workshop, car_id)


@pages.post("/cars/{car_id}/radio")
def keep_test(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[TestForm, Form()]
) -> Response:
    form = identified(workshop, form)
    car, _ = one_car(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, test=form)
    said = RadioSaid(
        car.name,
        form.radio,
        form.receiver,
        form.model,
        form.when_off,
        form.walked,
        form.twitched,
        form.cells,
        form.words,
        id=form.id,
    )
    path = f"/cars/{car_id}/radio"
    try:
        return echo(request, workshop, draft_radio(workshop, said), form=form, change=path, then=path)
    except SnugfastError as refused:
        return _show(request, workshop, car_id, test=form, troubles=Troubles.of(refused), status=422)


@pages.post("/cars/{car_id}/radio/limits")
def keep_limits(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[LimitsForm, Form()]
) -> Response:
    form = identified(workshop, form)
    car, _ = one_car(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, limits=form)
    path = f"/cars/{car_id}/radio"
    try:
        said = LimitsSaid(car.name, form.radio, form.throttle, form.rate, form.words, id=form.id)
        draft = draft_limits(workshop, said)
        return echo(request, workshop, draft, form=form, change=f"{path}/limits", then=f"{path}#child")
    except SnugfastError as refused:
        return _show(request, workshop, car_id, limits=form, troubles=Troubles.of(refused), status=422)


def _show(
    request: Request,
    workshop: TheWorkshop,
    car_id: UUID,
    *,
    test: TestForm | None = None,
    limits: LimitsForm | None = None,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    car, _ = one_car(workshop, car_id)
    record = radio_record(workshop, car.name)
    page = RadioPage(
        car_id=car.id,
        record=record,
        test=test or TestForm(id=workshop.new_id(), radio=record.radio, receiver=record.receiver),
        limits=limits or LimitsForm(id=workshop.new_id(), radio=record.radio),
        outcomes=(("", "not tested"), *((one.value, one.value) for one in WhenOff)),
        troubles=troubles,
    )
    return show(request, "chassis/radio.html", page, title=f"Radio of {car.name}", here="home", status=status)
