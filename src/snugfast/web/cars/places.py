"""A place of a car: fitting a new part there, moving the part to another car."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput, NotKnown
from snugfast.facts.model import Place
from snugfast.usecases.journal.cars import draft_fitted, draft_moved
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.page import PlaceLine, place_line
from snugfast.web.journal.kept import identified, saved, with_id
from snugfast.web.numbers import plain
from snugfast.web.picker import Where
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()

MESH_ROLES = frozenset(("pinion", "spur", "motor", "motor_screw", "motor_mount"))
STEERING_ROLES = frozenset(
    ("servo", "servo_horn", "servo_saver", "bellcrank", "steering_link", "steering_ball", "knuckle")
)
ROLLING_ROLES = frozenset(("wheel", "wheel_bearing", "axle", "tyre"))


class FittedForm(BaseModel):
    """A part fitted, as it is typed."""

    id: UUID | None = None
    part: str = ""
    spot: list[str] = []
    size: list[str] = []  # as many as the place has, in its order
    spent: str = ""
    second_hand: bool = False
    when: str = ""
    change: str = ""


class MovedForm(BaseModel):
    """A part moved to another car."""

    id: UUID | None = None
    to_car: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class PlacePage:
    """One place with its two forms."""

    car_id: UUID
    car_name: str
    place: PlaceLine
    ways: tuple[tuple[str, str], ...]  # to the mechanics of this place: address and words
    where: Where
    sizes: tuple[tuple[str, str, str], ...]  # field, label with its unit, value
    others: tuple[str, ...]
    fitted: FittedForm
    moved: MovedForm
    troubles: Troubles | None


@pages.get("/cars/{car_id}/places/{place_key}")
def see(request: Request, workshop: TheWorkshop, car_id: UUID, place_key: str) -> Response:
    return _show(request, workshop, car_id, place_key)


@pages.post("/cars/{car_id}/places/{place_key}/fitted")
def log_fitted(
    request: Request,
    workshop: TheWorkshop,
    car_id: UUID,
    place_key: str,
    form: Annotated[FittedForm, Form()],
) -> Response:
    form = identified(workshop, form)
    car_name = _car_name(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, place_key, fitted=form)
    try:
        draft = draft_fitted(
            workshop,
            car_name,
            place_key,
            part=form.part,
            spots=tuple(form.spot),
            sizes=_changed(workshop, car_id, place_key, form),
            spent=form.spent,
            second_hand=form.second_hand,
            when=form.when,
            id=form.id,
        )
        return saved(workshop, draft, then=f"/cars/{car_id}")
    except BadInput as refused:
        troubles = Troubles.of(refused)
        return _show(request, workshop, car_id, place_key, fitted=form, troubles=troubles, status=422)


@pages.post("/cars/{car_id}/places/{place_key}/moved")
def log_moved(
    request: Request,
    workshop: TheWorkshop,
    car_id: UUID,
    place_key: str,
    form: Annotated[MovedForm, Form()],
) -> Response:
    car_name = _car_name(workshop, car_id)
    if form.change:
        return _show(request, workshop, car_id, place_key, moved=form)
    try:
        draft = draft_moved(workshop, car_name, place_key, form.to_car)
        return saved(workshop, with_id(draft, form.id or workshop.new_id()), then=f"/cars/{car_id}")
    except BadInput as refused:
        troubles = Troubles.of(refused)
        return _show(request, workshop, car_id, place_key, moved=form, troubles=troubles, status=422)


def _place(workshop: Workshop, car_id: UUID, place_key: str) -> Place:
    with workshop.store.reading() as reads:
        car = ledger_now(reads).cars.get(car_id)
    place = workshop.build(car.build).place(place_key) if car else None
    if place is None:
        raise NotKnown("There is no such place here.", "Go to the page of the car and choose one.")
    return place


def _shown(value: object) -> str:
    return plain(value) if isinstance(value, float) else str(value)


def _sizes(workshop: Workshop, place: Place, form: FittedForm | None) -> tuple[tuple[str, str, str], ...]:
    """A field for each size of the place, filled in with what is there now or what was typed."""
    typed = form.size if form else []
    return tuple(
        (
            key,
            workshop.facts.size_names[key],
            typed[n] if n < len(typed) else _shown(value),
        )
        for n, (key, value) in enumerate(place.sizes.items())
    )


def _changed(workshop: Workshop, car_id: UUID, place_key: str, form: FittedForm) -> tuple[str, ...]:
    """The sizes that differ from what was there, as the records read them."""
    sizes = _place(workshop, car_id, place_key).sizes
    return tuple(
        f"{key}={typed.strip()}"
        for (key, value), typed in zip(sizes.items(), form.size, strict=False)
        if typed.strip() and typed.strip() != _shown(value)
    )


def _car_name(workshop: Workshop, car_id: UUID) -> str:
    with workshop.store.reading() as reads:
        record = ledger_now(reads).cars.get(car_id)
    if record is None:
        raise NotKnown("There is no such car here.", "Go to the first page and choose one.")
    return record.name


def _ways(car_id: UUID, place: Place) -> Iterator[tuple[str, str]]:
    """Where the mechanics of a place are worked out."""
    car = f"/cars/{car_id}"
    if "thread" in place.sizes and "head" in place.sizes:
        yield f"{car}/places/{place.key}/joint", "How tight, with what"
    if place.role in MESH_ROLES:
        yield f"{car}/mesh", "The mesh"
    if place.role in ROLLING_ROLES:
        yield f"{car}/drag", "Free-roll test (drag)"
    if place.role in STEERING_ROLES:
        yield f"{car}/steering", "Steering end points"
    if place.role.endswith("_bearing"):
        yield "/bearings", "All bearings"
    if place.role in ("power_lead", "pack_plug", "controller_plug", "motor_plug"):
        yield f"{car}/wires", "Wires and connectors"
        yield f"{car}/solder", "Solder a connector"
    if place.role in ("shock", "shock_seal", "diff", "diff_seal"):
        yield f"{car}/fluids", "Fluids and rebuilds"
    if place.role == "motor":
        yield f"{car}/motor", "Is it weak?"
    if place.role in ("servo", "receiver"):
        yield f"{car}/rail", "Receiver supply (BEC)"


def _show(
    request: Request,
    workshop: Workshop,
    car_id: UUID,
    place_key: str,
    *,
    fitted: FittedForm | None = None,
    moved: MovedForm | None = None,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    car = ledger.cars.get(car_id)
    place = workshop.build(car.build).place(place_key) if car else None
    if car is None or place is None:
        raise NotKnown("There is no such place here.", "Go to the page of the car and choose one.")
    page = PlacePage(
        car_id=car.id,
        car_name=car.name,
        place=place_line(workshop.facts, place),
        ways=tuple(_ways(car.id, place)),
        where=Where.among(place.spots),
        sizes=_sizes(workshop, place, fitted),
        others=tuple(other.name for other in cars_here(ledger) if other.id != car.id),
        fitted=fitted or FittedForm(id=workshop.new_id()),
        moved=moved or MovedForm(id=workshop.new_id()),
        troubles=troubles,
    )
    title = f"{place.name} of {car.name}"
    return show(request, "cars/place.html", page, title=title, here="home", status=status)
