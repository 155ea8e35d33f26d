"""The first page: the cars with their drive lines, the packs, the short form, tonight's sheet."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Self
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import Response

from snugfast.usecases.overview import CarGlance, Overview, SinceBench, overview
from snugfast.usecases.packs.state import PacksNow, PackState, packs_now
from snugfast.usecases.packs.today import Urgency, today_of
from snugfast.usecases.packs.words import act_by_words, charge_words
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.drive_line import Strip
from snugfast.web.numbers import ago, count, percent
from snugfast.web.packs.words import ToDoLine
from snugfast.web.showing import show

pages = APIRouter()

MOST_TODO = 3


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
    def of(cls, state: PackState, zone: str, now: datetime) -> Self:
        case = state.case
        by = act_by_words(case.by, zone, now) if case else ""
        charge = charge_words(state.charge.charge) if state.charge else ""
        return cls(state.id, state.name, ", ".join(filter(None, (state.verdict, charge, by))))


@dataclass(frozen=True, slots=True)
class HomePage:
    """Everything on the first page."""

    run_id: UUID
    cars: tuple[CarCard, ...]
    packs: tuple[PackLine, ...]
    urgent: tuple[ToDoLine, ...]  # what cannot wait stands above the cars
    todo: tuple[ToDoLine, ...]
    more: int  # things to do about packs that are not shown here

    @classmethod
    def of(cls, seen: Overview, packs: PacksNow, workshop: Workshop) -> Self:
        today = today_of(workshop, packs)
        waits = [todo for todo in today.todo if todo.urgency is not Urgency.NOW]
        return cls(
            run_id=workshop.new_id(),
            cars=tuple(CarCard.of(glance, workshop) for glance in seen.cars),
            packs=tuple(PackLine.of(one.state, workshop.zone, packs.at) for one in packs.packs),
            urgent=tuple(ToDoLine.of(todo) for todo in today.todo if todo.urgency is Urgency.NOW),
            todo=tuple(ToDoLine.of(todo) for todo in waits[:MOST_TODO]),
            more=max(len(waits) - MOST_TODO, 0),
        )


@pages.get("/")
def home(request: Request, workshop: TheWorkshop) -> Response:
    page = HomePage.of(overview(workshop), packs_now(workshop), workshop)
    return show(request, "home/home.html", page, title="Workshop", here="home")


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
