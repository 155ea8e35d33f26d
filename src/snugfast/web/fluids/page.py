"""Oils, greases and rebuilds of a car, and one rebuild step by step."""

from __future__ import annotations

from dataclasses import dataclass
from urllib.parse import quote
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import Response
from markupsafe import Markup

from snugfast.core.figures import Figure
from snugfast.facts.model import Seen
from snugfast.usecases.fluids.fluids import Fluids, Rebuild, fluids_of, rebuild_of, short_name
from snugfast.usecases.pedigree import SEEN_WORDS
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.one_car import one_car
from snugfast.web.figure_lines import RestsOn, rests_on
from snugfast.web.range_bars import Strip, range_bars
from snugfast.web.showing import show

pages = APIRouter()
MOST_BARS = 8


@dataclass(frozen=True, slots=True)
class Job:
    """One rebuild in the list: its page, name, and how soon it is due."""

    link: str
    name: str
    minutes: str
    due: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FluidsPage:
    """The fluids of one car."""

    car_id: UUID
    car_name: str
    found: Fluids
    air: str
    picture: Markup
    jobs: tuple[Job, ...]
    attacks: tuple[tuple[str, str, str], ...]  # what on what, what happens and what to use, how it was seen
    sources: tuple[RestsOn, ...]


@dataclass(frozen=True, slots=True)
class RebuildPage:
    """One rebuild."""

    car_id: UUID
    car_name: str
    found: Rebuild
    sheet: str


@pages.get("/cars/{car_id}/fluids")
def fluids(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    car, _ = one_car(workshop, car_id)
    found = fluids_of(workshop, car.name)
    page = FluidsPage(
        car_id=car.id,
        car_name=car.name,
        found=found,
        air=f"{found.air.value * 100:.0f} %" if found.air is not None else "",
        picture=_picture(found),
        jobs=tuple(
            Job(
                f"/cars/{car.id}/rebuild/{short_name(one.job.key)}",
                one.job.name,
                f"{one.job.minutes:g} min",
                tuple(line.sentence for line in one.due),
            )
            for one in found.rebuilds
        ),
        attacks=tuple(
            (
                f"{one.substance} on {one.on}",
                f"{one.what_happens} {one.instead}.",
                SEEN_WORDS[Seen(one.seen)],
            )
            for one in found.attacks
        ),
        sources=rests_on(found.sources),
    )
    return show(request, "fluids/fluids.html", page, title=f"Fluids of {car.name}", here="home")


@pages.get("/cars/{car_id}/rebuild/{what}")
def rebuild(request: Request, workshop: TheWorkshop, car_id: UUID, what: str) -> Response:
    car, _ = one_car(workshop, car_id)
    found = rebuild_of(workshop, car.name, what)
    page = RebuildPage(car.id, car.name, found, f"/sheet?car={quote(car.name)}&minutes=60&make=1")
    return show(request, "fluids/rebuild.html", page, title=f"{found.job.name}: {car.name}", here="home")


def _picture(found: Fluids) -> Markup:
    """How likely each place is due now, the likeliest first."""
    lines = sorted((line for one in found.rebuilds for line in one.due), key=lambda line: -line.chance)
    seen: dict[str, Figure] = {}
    for line in lines:
        seen.setdefault(line.place, Figure(line.chance * 100.0, "%"))
    rows = list(seen.items())[:MOST_BARS]
    if not rows:
        return Markup()
    told = "; ".join(f"{name} {figure.value:.0f} %" for name, figure in rows)
    strip = Strip("as likely as not", 50.0, 50.0)
    return range_bars(title=f"How likely due now: {told}", unit="%", rows=rows, strip=strip, to=100.0)
