"""The fault hunt on a phone: one test at a time, big answers, what is likely, undo. No script needed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput, NotKnown, SnugfastError, StaleRecord
from snugfast.core.ids import derived
from snugfast.records.entries import HuntSaid
from snugfast.records.ledger import CarRecord
from snugfast.usecases.hunt.answering import (
    ASIDE,
    ENDS,
    VAIN,
    Ended,
    answer_cause,
    answer_test,
    begin,
    found,
    give_up,
    take_back,
)
from snugfast.usecases.hunt.hunt import HuntView, hunt_view, view_of
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.picker import Where
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()

SHOWN, GOOD = "shown:", "good"


class HuntForm(BaseModel):
    """What was tapped. `seen` is the hunt as it was on the page, `id` the entry that this tap makes."""

    id: UUID | None = None
    seen: UUID | None = None
    does: list[str] = []
    test: str = ""
    cause: str = ""
    answer: str = ""
    at: str = ""


@dataclass(frozen=True, slots=True)
class PartAt:
    """A part a cause may be at, with where on the car; without a name, parts that are at one place only."""

    name: str
    where: Where


@dataclass(frozen=True, slots=True)
class HuntPage:
    """The choice of symptoms, or the hunt as it stands."""

    car: UUID
    car_name: str
    id: UUID
    symptoms: tuple[tuple[str, str, bool], ...]  # key, name, whether it was chosen
    hunt: HuntView | None
    where: tuple[PartAt, ...]
    troubles: Troubles | None


@pages.get("/cars/{car_id}/hunt")
def ask(request: Request, workshop: TheWorkshop, car_id: UUID, ended: UUID | None = None) -> Response:
    car, _ = one_car(workshop, car_id)
    hunt = hunt_view(workshop, car.name)
    if hunt is None and ended is not None:
        with workshop.store.reading() as reads:
            arrived = reads.entry(ended)
        hunt = view_of(workshop, arrived.entry) if arrived else None
    return _show(request, workshop, car, hunt, HuntForm())


@pages.post("/cars/{car_id}/hunt")
def answer(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[HuntForm, Form()]
) -> Response:
    car, _ = one_car(workshop, car_id)
    try:
        hunt = _answered(workshop, car, form)
    except SnugfastError as refused:
        status = 409 if isinstance(refused, StaleRecord) else 422
        hunt_now = hunt_view(workshop, car.name)
        return _show(request, workshop, car, hunt_now, form, Troubles.of(refused), status)
    path = f"/cars/{car.id}/hunt"
    return to(f"{path}?ended={hunt.entry}" if hunt.ended else path)


def _answered(workshop: Workshop, car: CarRecord, form: HuntForm) -> HuntView:
    """The hunt after one tap. Raises what the use-cases raise, BadInput for a tap that says nothing."""
    if form.seen is None:
        return begin(workshop, car.name, form.does, id=form.id)
    said, seen = form.answer, form.seen
    # One page offers many answers: the same tap twice is one entry, another one is an answer of its own.
    id = derived(form.id, f"{said} {form.at}") if form.id else None
    if said == "undo":
        return take_back(workshop, seen, id=id)
    if said == "give-up":
        return give_up(workshop, seen, id=id)
    if said in ASIDE:
        return answer_test(workshop, seen, form.test, ASIDE[said], id=id)
    if said == GOOD:
        return answer_test(workshop, seen, form.test, HuntSaid.NOTHING_WRONG, id=id)
    if said.startswith(SHOWN):
        return answer_test(workshop, seen, form.test, HuntSaid.SHOWN, said[len(SHOWN) :], id=id)
    if said in VAIN:
        return answer_cause(workshop, seen, form.cause, VAIN[said], id=id)
    if said in ENDS:
        how = ENDS[said]
        return found(workshop, seen, form.cause, Ended(how.done, how.temporary, form.at), id=id)
    raise BadInput("Nobody said what the test showed.", "Touch one of the answers.")


def _show(
    request: Request,
    workshop: Workshop,
    car: CarRecord,
    hunt: HuntView | None,
    form: HuntForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    if hunt is not None and hunt.car != car.id:
        raise NotKnown("This hunt is of another car.", "Go to the page of that car.")
    page = HuntPage(
        car=car.id,
        car_name=car.name,
        id=workshop.new_id(),
        symptoms=tuple(
            (one.key, one.name, one.key in form.does) for one in workshop.facts.hunt_symptoms.values()
        ),
        hunt=hunt,
        where=_where(hunt.mending.places) if hunt is not None and hunt.mending is not None else (),
        troubles=troubles,
    )
    return show(request, "hunt/hunt.html", page, title=f"{car.name}: fault hunt", here="run", status=status)


def _where(places: Iterable[tuple[str, tuple[str, ...]]]) -> tuple[PartAt, ...]:
    """Parts with spots to touch, likeliest first, then the others by name."""
    several = tuple(places)
    with_spots = [PartAt(name, Where.among(spots)) for name, spots in several if spots]
    alone = Where.among(name for name, spots in several if not spots)
    return (*with_spots, *([PartAt("", alone)] if alone.any else []))
