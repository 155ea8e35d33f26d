"""The set-up of a car: drivetrain, four corners, what was changed and why, two side by side, the way back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.usecases.chassis.setup_items import key_of
from snugfast.usecases.chassis.setup_record import (
    Difference,
    RecordRow,
    SetUp,
    SetUpSaid,
    WayBack,
    changed_fields,
    differences,
    draft_set_up,
    field_text,
    set_up_at,
    set_up_now,
    way_back,
)
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.journal.kept import echo
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class AskForm(BaseModel):
    """Which record is looked at: a day or a track."""

    on: str = ""
    against: str = ""
    back: str = ""


class ChangeForm(BaseModel, extra="allow"):
    """A change as typed. Further fields are those of the whole form, “camber/front left”."""

    id: UUID | None = None
    changes: str = ""
    why: str = ""
    drove: str = ""
    track: str = ""
    weather: str = ""
    air: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class FieldRow:
    """A quantity of the whole form, with a field for each place."""

    row: RecordRow
    fields: tuple[tuple[str, str, str], ...]  # name, place, value


@dataclass(frozen=True, slots=True)
class SetUpPage:
    """One set-up, the form that changes it, and what is asked about an earlier one."""

    car_id: UUID
    car_name: str
    held: SetUp
    is_now: bool
    ask: AskForm
    form: ChangeForm
    fields: tuple[FieldRow, ...]
    then_day: str
    differs: tuple[Difference, ...] | None
    back: WayBack | None
    troubles: Troubles | None


@pages.get("/cars/{car_id}/setup")
def set_up(
    request: Request, workshop: TheWorkshop, car_id: UUID, ask: Annotated[AskForm, Query()]
) -> Response:
    try:
        return _show(request, workshop, car_id, ask)
    except SnugfastError as refused:
        one_car(workshop, car_id)
        return _show(request, workshop, car_id, AskForm(), troubles=Troubles.of(refused), status=422)


@pages.post("/cars/{car_id}/setup")
def keep_set_up(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[ChangeForm, Form()]
) -> Response:
    form = form.model_copy(update={"id": form.id or workshop.new_id()})
    car, _ = one_car(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, AskForm(), form=form)
    whole = {key: str(value) for key, value in (form.model_extra or {}).items()}
    path = f"/cars/{car_id}/setup"
    try:
        changes = (form.changes, *changed_fields(workshop, car.name, whole))
        said = SetUpSaid(
            car.name, changes, form.why, form.drove, form.track, form.weather, form.air, id=form.id
        )
        return echo(request, workshop, draft_set_up(workshop, said), form=form, change=path, then=path)
    except SnugfastError as refused:
        return _show(
            request, workshop, car_id, AskForm(), form=form, troubles=Troubles.of(refused), status=422
        )


def _show(
    request: Request,
    workshop: TheWorkshop,
    car_id: UUID,
    ask: AskForm,
    *,
    form: ChangeForm | None = None,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    car, _ = one_car(workshop, car_id)
    now = set_up_now(workshop, car.name)
    held = set_up_at(workshop, car.name, ask.on) if ask.on.strip() else now
    then = set_up_at(workshop, car.name, ask.against) if ask.against.strip() else None
    back = way_back(workshop, car.name, ask.back) if ask.back.strip() else None
    typed = (form.model_extra or {}) if form else {}
    page = SetUpPage(
        car_id=car.id,
        car_name=car.name,
        held=held,
        is_now=held is now,
        ask=ask,
        form=form or ChangeForm(id=workshop.new_id()),
        fields=tuple(
            FieldRow(
                row,
                tuple(
                    (key := key_of(row.item, place), place, str(typed.get(key, field_text(cell))))
                    for place, cell in zip(row.places, row.cells, strict=True)
                ),
            )
            for row in now.rows
        ),
        then_day=then.day if then else "",
        differs=differences(held, then) if then else None,
        back=back,
        troubles=troubles,
    )
    return show(
        request, "chassis/setup.html", page, title=f"Set-up of {car.name}", here="home", status=status
    )
