"""The first page: the cars with their drive lines, the packs, the short form, tonight's sheet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Self
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import Response

from snugfast.records.ledger import PackRecord
from snugfast.usecases.overview import CarGlance, Overview, SinceBench, overview
from snugfast.usecases.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.drive_line import Strip
from snugfast.web.numbers import ago, count, percent
from snugfast.web.showing import show

pages = APIRouter()


@dataclass(frozen=True, slots=True)
class CarCard:
    """One car on the first page."""

    id: UUID
    name: str
    build_name: str
    since: str
    chance: str
    weakest: str
    due: tuple[str, ...]
    strip: Strip

    @classmethod
    def of(cls, glance: CarGlance, workshop: Workshop) -> Self:
        outlook = glance.outlook
        weakest = outlook.weakest
        return cls(
            id=glance.car.id,
            name=glance.car.name,
            build_name=glance.build_name,
            since=since_words(glance.since, glance.car.habits.runs, workshop.now(), workshop.zone),
            chance=percent(outlook.stop_chance.value),
            weakest=f"{weakest.notch}, {percent(weakest.fail_chance)}",
            due=tuple(f"{one.name}, {one.when}" for one in outlook.treatments),
            strip=Strip.of(outlook, f"/cars/{glance.car.id}"),
        )


@dataclass(frozen=True, slots=True)
class PackLine:
    """One pack on the first page."""

    id: UUID
    name: str
    words: str

    @classmethod
    def of(cls, pack: PackRecord) -> Self:
        words = (
            pack.chemistry,
            count(pack.cells, "cell"),
            f"{pack.capacity_Ah:g} Ah",
            count(pack.runs, "run"),
        )
        return cls(pack.id, pack.name, ", ".join(words))


@dataclass(frozen=True, slots=True)
class HomePage:
    """Everything on the first page."""

    run_id: UUID
    cars: tuple[CarCard, ...]
    packs: tuple[PackLine, ...]

    @classmethod
    def of(cls, seen: Overview, workshop: Workshop) -> Self:
        return cls(
            run_id=workshop.new_id(),
            cars=tuple(CarCard.of(glance, workshop) for glance in seen.cars),
            packs=tuple(PackLine.of(pack) for pack in seen.packs),
        )


@pages.get("/")
def home(request: Request, workshop: TheWorkshop) -> Response:
    return show(
        request, "home.html", HomePage.of(overview(workshop), workshop), title="Workshop", here="home"
    )


def since_words(since: SinceBench, runs: int, now: datetime, zone: str) -> str:
    """What a car has been through since the last bench, in words."""
    parts = [count(since.runs, "run")] if since.runs or not since.about_packs else []
    if since.about_packs:
        parts.append(f"about {count(since.about_packs, 'pack')} caught up")
    done = " and ".join(parts)
    if since.last_bench is None:
        return (
            f"{done} since it came here; not yet on the bench" if runs or since.about_packs else "not yet run"
        )
    return f"{done} since the bench {ago(since.last_bench, now, zone)}"
