"""The box of spares: its list, a part added, a stock-take, orders and arrivals, and whether a part fits."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput, SnugfastError
from snugfast.exchange.box_lists import box_csv
from snugfast.facts.model import Place
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.typed_words import find_place
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.box import BoxList, box_list, stock_and_builds, will_it_fit
from snugfast.usecases.stock.drafts import (
    BoxPartSaid,
    draft_arrived,
    draft_counted,
    draft_gone,
    draft_ordered,
    draft_part,
    draft_took,
    part_of_place,
)
from snugfast.usecases.stock.kinds import Fit, sizes_that_count
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import echo, identified
from snugfast.web.showing import csv_file, show
from snugfast.web.troubles import Troubles

pages = APIRouter(prefix="/box")

ACTS = ("arrived", "ordered", "take out", "remove")


class CountForm(BaseModel):
    """A stock-take: each part’s identity and what was counted, in the same order."""

    part: list[str] = []
    pieces: list[str] = []
    before: list[str] = []
    change: str = ""


class ActForm(BaseModel):
    """Something that happened to one part of the box."""

    part: str = ""
    act: str = ACTS[0]
    pieces: str = ""
    spent: str = ""
    why: str = ""
    change: str = ""


class PartForm(BaseModel):
    """A part for the box as it is typed; `size` are its sizes, in the order of their keys."""

    id: UUID | None = None
    car: str = ""
    at: str = ""
    size_key: list[str] = []
    size: list[str] = []
    name: str = ""
    count: str = ""
    place: str = ""
    minimum: str = ""
    price: str = ""
    pack_of: str = ""
    supplier: str = ""
    days: str = ""
    change: str = ""

    def said(self) -> BoxPartSaid:
        typed = zip(self.size_key, self.size, strict=False)
        sizes = tuple(f"{key}={size}" for key, size in typed if size.strip())
        return BoxPartSaid(
            car=self.car,
            place_of_car=self.at,
            name=self.name,
            sizes=sizes,
            count=self.count,
            place=self.place,
            minimum=self.minimum,
            price=self.price,
            pack_of=self.pack_of,
            supplier=self.supplier,
            days=self.days,
            id=self.id,
        )


@dataclass(frozen=True, slots=True)
class BoxPage:
    """The box, and what can be done to each part of it."""

    box: BoxList
    worth: str
    acts: tuple[str, ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class SizeField:
    """A size the part is bought by, as the place has it."""

    key: str
    name: str
    value: str


@dataclass(frozen=True, slots=True)
class AddPage:
    """A car, then a place of it, then what is said of the part; and whether it would fit elsewhere too."""

    cars: tuple[str, ...]
    places: tuple[tuple[str, str, str], ...]  # key, name, part
    place: str
    sizes: tuple[SizeField, ...]
    fits: tuple[Fit, ...]
    asked: bool
    form: PartForm
    troubles: Troubles | None


@pages.get("")
def box(request: Request, workshop: TheWorkshop) -> Response:
    return _show(request, workshop)


@pages.get(".csv")
def as_csv(workshop: TheWorkshop) -> Response:
    return csv_file(box_csv(box_list(workshop)), "spares-box")


@pages.post("/count")
def count(request: Request, workshop: TheWorkshop, form: Annotated[CountForm, Form()]) -> Response:
    """Only what was counted anew is kept: a field that stands as it stood says nothing."""
    if form.change:
        return _show(request, workshop)
    try:
        rows = zip(form.part, form.pieces, form.before, strict=False)
        counted = tuple((part, now.strip()) for part, now, was in rows if now.strip() and now.strip() != was)
        if not counted:
            raise BadInput("No number was changed.", "Type what you counted; all else stays as it is.")
        return echo(
            request, workshop, draft_counted(workshop, counted), form=form, change="/box/count", then="/box"
        )
    except SnugfastError as refused:
        return _show(request, workshop, Troubles.of(refused), 422)


@pages.post("/act")
def act(request: Request, workshop: TheWorkshop, form: Annotated[ActForm, Form()]) -> Response:
    if form.change:
        return _show(request, workshop)
    try:
        draft = _acted(workshop, form)
        return echo(request, workshop, draft, form=form, change="/box/act", then="/box")
    except SnugfastError as refused:
        return _show(request, workshop, Troubles.of(refused), 422)


@pages.get("/new")
def ask(request: Request, workshop: TheWorkshop, form: Annotated[PartForm, Query()]) -> Response:
    return _show_add(request, workshop, identified(workshop, form))


@pages.post("/new")
def add(request: Request, workshop: TheWorkshop, form: Annotated[PartForm, Form()]) -> Response:
    form = identified(workshop, form)
    if form.change:
        return _show_add(request, workshop, form)
    try:
        draft = draft_part(workshop, form.said())
        return echo(request, workshop, draft, form=form, change="/box/new", then="/box")
    except SnugfastError as refused:
        return _show_add(request, workshop, form, Troubles.of(refused), 422)


def _acted(workshop: Workshop, form: ActForm) -> Draft:
    match form.act:
        case "arrived":
            return draft_arrived(workshop, form.part, form.pieces, spent=form.spent)
        case "ordered":
            return draft_ordered(workshop, form.part, form.pieces, spent=form.spent)
        case "take out":
            return draft_took(workshop, form.part, form.pieces, form.why)
        case "remove":
            return draft_gone(workshop, form.part)
        case _:
            raise BadInput("Nobody said what happened.", f"Choose {', '.join(ACTS)}.")


def _show(
    request: Request, workshop: Workshop, troubles: Troubles | None = None, status: int = 200
) -> Response:
    found = box_list(workshop)
    worth = ", ".join(f"{each.value:.2f} {each.unit}" for each in found.worth)
    page = BoxPage(found, worth, ACTS, troubles)
    return show(request, "spares/box.html", page, title="Spares box", here="more", status=status)


def _show_add(
    request: Request,
    workshop: Workshop,
    form: PartForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    ledger, builds = stock_and_builds(workshop)
    car = ledger.car_named(form.car) if form.car.strip() else None
    build = builds.get(car.name) if car else None
    place = None
    fits: tuple[Fit, ...] = ()
    typed = dict(zip(form.size_key, form.size, strict=False))
    if build is not None and form.at.strip():
        try:
            place = find_place(form.at, build)
            if form.size:
                fits = will_it_fit(workshop, part_of_place(workshop, ledger, form.said()))
        except SnugfastError as refused:
            troubles, status = troubles or Troubles.of(refused), 422
    page = AddPage(
        cars=tuple(builds),
        places=tuple((one.key, one.name, one.part) for one in build.places) if build else (),
        place=place.name if place else "",
        sizes=_sizes(workshop, place, typed) if place else (),
        fits=fits,
        asked=bool(form.size),
        form=form,
        troubles=troubles,
    )
    return show(request, "spares/new.html", page, title="A part for the box", here="more", status=status)


def _sizes(workshop: Workshop, place: Place, typed: Mapping[str, str]) -> tuple[SizeField, ...]:
    facts = workshop.facts
    sizes = sizes_that_count(facts.spare_parts[place.role], place.sizes)
    return tuple(
        SizeField(
            key,
            f"{facts.size_names[key]}{f', {facts.size_units[key]}' if key in facts.size_units else ''}",
            typed.get(key, f"{value:g}" if isinstance(value, float) else value),
        )
        for key, value in sizes.items()
    )
