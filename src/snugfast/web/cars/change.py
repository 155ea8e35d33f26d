"""What people change on a car (pinion, spur, motor, tyres, battery, servo, hexes), as a form of its own."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated
from uuid import UUID

from fastapi import APIRouter, Depends, Request
from fastapi.responses import Response
from starlette.datastructures import FormData

from snugfast.core.errors import BadInput
from snugfast.core.ids import derived
from snugfast.facts.model import Build, Place
from snugfast.records.entries import Entry
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.numbers import plain
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()

ASKED = (  # role, size, label, unit
    ("pinion", "teeth_count", "Pinion", "teeth"),
    ("spur", "teeth_count", "Spur", "teeth"),
    ("motor", "kv_rpm_V", "Motor", "kV (rpm/V)"),
    ("motor", "can_mm", "Motor can", "mm across"),
    ("tyre", "outer_mm", "Tyres", "mm across"),
    ("pack", "cells_count", "Battery", "cells (S)"),
    ("pack", "capacity_mAh", "Battery size", "mAh"),
    ("servo", "spline_teeth", "Servo spline", "teeth"),
    ("wheel_hex", "hex_mm", "Wheel hexes", "mm"),
)


@dataclass(frozen=True, slots=True)
class ChangeField:
    """One size of one place: as it is, and as it is typed."""

    name: str  # place.size, as the form sends it
    label: str
    unit: str
    value: str


@dataclass(frozen=True, slots=True)
class ChangePage:
    """The form, filled in with what the car has."""

    id: UUID
    form_id: str
    name: str
    fields: tuple[ChangeField, ...]
    troubles: Troubles | None


async def _posted(request: Request) -> FormData:
    return await request.form()


@pages.get("/cars/{car_id}/change")
def ask(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show(request, workshop, car_id, {})


@pages.post("/cars/{car_id}/change")
def change(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[FormData, Depends(_posted)]
) -> Response:
    """What differs is a new part at its place; what is the same is left alone."""
    typed = {name: str(value).strip() for name, value in form.items()}
    try:
        entries = _entries(workshop, car_id, typed)
        keep_form(workshop, entries)
    except BadInput as refused:
        return _show(request, workshop, car_id, typed, Troubles.of(refused), 422)
    return to(f"/cars/{car_id}", note="kept", entries=tuple(entry.id for entry in entries))


def fields_of(build: Build) -> tuple[tuple[Place, str, str, str], ...]:
    """What the form asks of this build: place, size, label, unit. Places it has not are not asked."""
    found = []
    for role, size, label, unit in ASKED:
        places = build.of_role(role)
        if places and size in places[0].sizes:
            found.append((places[0], size, label, unit))
    return tuple(found)


def _entries(workshop: Workshop, car_id: UUID, typed: Mapping[str, str]) -> list[Entry]:
    car, build = one_car(workshop, car_id)
    changed: dict[str, dict[str, str]] = {}
    for place, size, _, _ in fields_of(build):
        said = typed.get(f"{place.key}.{size}", "")
        if said and said != _shown(place, size):
            changed.setdefault(place.key, {})[size] = said
    if not changed:
        raise BadInput("Nothing is different from before.", "Change what was fitted, or go back to the car.")
    entries: list[Entry] = []
    for key, sizes in changed.items():
        here = build.place(key)
        assert here is not None
        form_id = typed.get("id", "")
        entries += draft_fitted(
            workshop,
            car.name,
            key,
            part=_renamed(here, sizes),
            sizes=tuple(f"{size}={value}" for size, value in sizes.items()),
            id=derived(UUID(form_id), key) if form_id else None,
        ).entries
    return entries


def _renamed(place: Place, sizes: Mapping[str, str]) -> str:
    """The words of the part with the new numbers in them; empty (the same words) where none stands there."""
    words = place.part
    for size, value in sizes.items():
        words = re.sub(rf"(?<![\d.]){re.escape(_shown(place, size))}(?![\d.])", value, words, count=1)
    return words if words != place.part else ""


def _shown(place: Place, size: str) -> str:
    value = place.sizes[size]
    return plain(value) if isinstance(value, float) else str(value)


def _show(
    request: Request,
    workshop: Workshop,
    car_id: UUID,
    typed: Mapping[str, str],
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    car, build = one_car(workshop, car_id)
    fields = tuple(
        ChangeField(
            f"{place.key}.{size}",
            label,
            unit,
            typed.get(f"{place.key}.{size}", _shown(place, size)),
        )
        for place, size, label, unit in fields_of(build)
    )
    page = ChangePage(car_id, typed.get("id") or str(workshop.new_id()), car.name, fields, troubles)
    title = f"Change parts of {car.name}"
    return show(request, "cars/change.html", page, title=title, here="home", status=status)
