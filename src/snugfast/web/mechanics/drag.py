"""Friction timed at the bench: the forms, and what was timed before."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import SnugfastError
from snugfast.core.zones import local_day
from snugfast.usecases.mechanics.drag_test import (
    CAUTIONS,
    ROLL_STEPS,
    SPIN_STEPS,
    DragDraft,
    PastTrial,
    RollSaid,
    SpinSaid,
    draft_roll,
    draft_spin,
    past_trials,
    runs_free,
)
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.journal.kept import echo, identified
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()


class SpinForm(BaseModel):
    """A wheel's free spins, as they are typed."""

    id: UUID | None = None
    corner: str = ""
    times: str = ""
    turns: str = ""
    wheel_mass: str = ""
    runs_free: bool = False
    baseline: bool = False
    change: str = ""


class RollForm(BaseModel):
    """Rolls both ways, as they are typed."""

    id: UUID | None = None
    length: str = ""
    there: str = ""
    back: str = ""
    mesh_closed: bool = False
    baseline: bool = False
    change: str = ""


@dataclass(frozen=True, slots=True)
class Timed:
    """One set of readings of the journal."""

    day: str
    what: str
    readings: str
    is_baseline: bool


@dataclass(frozen=True, slots=True)
class DragPage:
    """How to time friction on this car, the two forms, and what was timed before."""

    car_id: UUID
    car_name: str
    corners: tuple[str, ...]
    free: tuple[str, ...]  # corners known to turn nothing else
    spin: SpinForm
    roll: RollForm
    spin_steps: tuple[str, ...]
    roll_steps: tuple[str, ...]
    cautions: tuple[Caution, ...]
    past: tuple[Timed, ...]
    troubles: Troubles | None


@pages.get("/cars/{car_id}/drag")
def drag(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show(request, workshop, car_id)


@pages.post("/cars/{car_id}/drag/spin")
def spin(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[SpinForm, Form()]
) -> Response:
    form = identified(workshop, form)
    car, _ = one_car(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, spin=form)
    said = SpinSaid(
        car.name,
        form.corner,
        form.times,
        form.turns,
        form.wheel_mass,
        form.runs_free,
        form.baseline,
        id=form.id,
    )
    try:
        return _ask(request, workshop, car_id, draft_spin(workshop, said), form, "spin")
    except SnugfastError as refused:
        return _show(request, workshop, car_id, spin=form, troubles=Troubles.of(refused), status=422)


@pages.post("/cars/{car_id}/drag/roll")
def roll(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[RollForm, Form()]
) -> Response:
    form = identified(workshop, form)
    car, _ = one_car(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, roll=form)
    said = RollSaid(
        car.name,
        form.length,
        form.there,
        form.back,
        mesh_closed=form.mesh_closed,
        baseline=form.baseline,
        id=form.id,
    )
    try:
        return _ask(request, workshop, car_id, draft_roll(workshop, said), form, "roll")
    except SnugfastError as refused:
        return _show(request, workshop, car_id, roll=form, troubles=Troubles.of(refused), status=422)


def _ask(
    request: Request, workshop: Workshop, car_id: UUID, drafted: DragDraft, form: BaseModel, kind: str
) -> Response:
    """What it says, told before it is kept."""
    look = tuple(f"Look here: {name}." for _, name in drafted.result.checks)
    told = replace(drafted.draft, echo=(*drafted.draft.echo, *drafted.result.sentences, *look))
    path = f"/cars/{car_id}/drag"
    return echo(request, workshop, told, form=form, change=f"{path}/{kind}", then=path)


def _show(
    request: Request,
    workshop: Workshop,
    car_id: UUID,
    *,
    spin: SpinForm | None = None,
    roll: RollForm | None = None,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    car, build = one_car(workshop, car_id)
    corners = next((place.spots for place in build.of_role("wheel") if place.spots), ())
    page = DragPage(
        car_id=car.id,
        car_name=car.name,
        corners=corners,
        free=tuple(corner for corner in corners if runs_free(build, corner)),
        spin=spin or SpinForm(id=workshop.new_id()),
        roll=roll or RollForm(id=workshop.new_id(), length="3 m"),
        spin_steps=SPIN_STEPS,
        roll_steps=ROLL_STEPS,
        cautions=cautions_of(workshop.facts, CAUTIONS),
        past=tuple(_timed(one, workshop.zone) for one in reversed(past_trials(workshop, car.name))),
        troubles=troubles,
    )
    return show(
        request, "mechanics/drag.html", page, title=f"Friction of {car.name}", here="home", status=status
    )


def _timed(one: PastTrial, zone: str) -> Timed:
    readings = "; ".join(reading.typed for reading in one.fact.readings)
    return Timed(
        local_day(one.at, zone), f"{one.fact.trial.value} {one.fact.spot}", readings, one.fact.is_baseline
    )
