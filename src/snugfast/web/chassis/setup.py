"""The set-up of a car: drivetrain, four corners, what was changed and why, two side by side, the way back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self
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
from snugfast.usecases.chassis.suspension_sums import AxleSums, SumsSaid, SuspensionSums, suspension_sums
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.figure_lines import Pairs, RestsOn, rests_on, told
from snugfast.web.journal.kept import echo, identified
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class AskForm(BaseModel):
    """Which record is looked at: a day or a track."""

    on: str = ""
    against: str = ""
    back: str = ""
    air: str = ""
    tried: str = ""
    bar_length: str = ""
    bar_arm: str = ""
    drop: str = ""
    steer: str = ""
    mix: str = ""


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
class End:
    """One end of the car in numbers."""

    axle: str
    figures: Pairs
    sentences: tuple[str, ...]
    missing: tuple[str, ...]

    @classmethod
    def of(cls, one: AxleSums) -> Self:
        figures = told(
            ("wheel rate", one.wheel_rate),
            ("bounces at", one.frequency),
            ("damping ratio at 25 °C", one.damping),
            ("damping ratio now", one.damping_now),
            ("anti-roll bar, each end", one.bar),
            digits=2,
        )
        return cls(one.axle, figures, one.sentences, one.missing)


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
    ends: tuple[End, ...]
    sums: SuspensionSums
    sources: tuple[RestsOn, ...]
    not_entered: tuple[str, ...]
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
    form = identified(workshop, form)
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
    asked = SumsSaid(car.name, ask.tried, ask.air, ask.bar_length, ask.bar_arm, ask.drop, ask.steer, ask.mix)
    sums = suspension_sums(workshop, asked)
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
        ends=tuple(End.of(one) for one in sums.now),
        sums=sums,
        sources=rests_on(sums.sources),
        not_entered=tuple(row.item.name.casefold() for row in held.rest if not row.entered),
        troubles=troubles,
    )
    return show(
        request, "chassis/setup.html", page, title=f"Set-up of {car.name}", here="home", status=status
    )
