"""A motor at the bench: how to read it, the form, what it says before it is saved, what was read before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.core.zones import local_day
from snugfast.usecases.leads.motor_bench import (
    CAUTIONS,
    MotorSaid,
    draft_motor,
    motor_guides,
    past_motor,
    told_lines,
)
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.guides import Guide
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.journal.kept import echo, identified
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class MotorForm(BaseModel):
    """Readings of a motor, as they are typed."""

    id: UUID | None = None
    volts: str = ""
    rpm: str = ""
    no_load: str = ""
    drill_rpm: str = ""
    pairs: str = ""
    ohms: str = ""
    warm: str = ""
    baseline: bool = False
    change: str = ""


@dataclass(frozen=True, slots=True)
class MotorPage:
    """How to read a motor, the form, and what was read before."""

    car_id: UUID
    car_name: str
    form: MotorForm
    guides: tuple[Guide, ...]
    cautions: tuple[Caution, ...]
    past: tuple[tuple[str, str, bool], ...]
    troubles: Troubles | None


@pages.get("/cars/{car_id}/motor")
def motor(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show(request, workshop, car_id, MotorForm(id=workshop.new_id()))


@pages.post("/cars/{car_id}/motor")
def read(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[MotorForm, Form()]
) -> Response:
    form = identified(workshop, form)
    car, _ = one_car(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, form)
    said = MotorSaid(car.name, **form.model_dump(exclude={"change"}))
    path = f"/cars/{car_id}/motor"
    try:
        drafted = draft_motor(workshop, said)
        told = replace(drafted.draft, echo=(*drafted.draft.echo, *told_lines(drafted.result)))
        return echo(request, workshop, told, form=form, change=path, then=path)
    except SnugfastError as refused:
        return _show(request, workshop, car_id, form, troubles=Troubles.of(refused), status=422)


def _show(
    request: Request,
    workshop: Workshop,
    car_id: UUID,
    form: MotorForm,
    *,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    car, _ = one_car(workshop, car_id)
    page = MotorPage(
        car_id=car.id,
        car_name=car.name,
        form=form,
        guides=motor_guides(workshop),
        cautions=cautions_of(workshop.facts, CAUTIONS),
        past=tuple(
            (local_day(one.at, workshop.zone), one.told, one.is_baseline)
            for one in reversed(past_motor(workshop, car.name))
        ),
        troubles=troubles,
    )
    return show(request, "leads/motor.html", page, title=f"Motor of {car.name}", here="home", status=status)
