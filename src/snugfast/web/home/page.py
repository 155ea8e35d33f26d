"""The first page: what needs somebody now, then the cars and what would stop each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Self
from uuid import UUID

from fastapi import APIRouter, Request
from fastapi.responses import Response

from snugfast.core.vocabulary import in_sentence
from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.bench.needs import needs_now
from snugfast.usecases.overview import CarGlance, Overview, SinceBench, overview
from snugfast.usecases.packs.state import PacksNow, packs_now
from snugfast.usecases.packs.today import today_of
from snugfast.usecases.settings import settings_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.cars.drive_line import Strip
from snugfast.web.home.needs import NeedLine, need_lines
from snugfast.web.numbers import ago, count, percent
from snugfast.web.sheet.form import sheet_of
from snugfast.web.showing import show

pages = APIRouter()

MOST_NEEDS = 6
MOST_STOPPERS = 3


@dataclass(frozen=True, slots=True)
class CarCard:
    """One car on the first page."""

    id: UUID
    name: str
    since: str
    chance: str
    stoppers: tuple[tuple[str, str], ...]  # what is likeliest to stop it, and how likely
    sheet: str
    strip: Strip

    @classmethod
    def of(cls, glance: CarGlance, workshop: Workshop) -> Self:
        outlook = glance.outlook
        return cls(
            id=glance.car.id,
            name=glance.car.name,
            since=since_words(glance.since, glance.car.habits.runs, workshop.now(), workshop.zone),
            chance=percent(outlook.stop_chance.value),
            stoppers=stoppers_of(outlook.risks),
            sheet=sheet_of(glance.car.name),
            strip=Strip.of(outlook, f"/cars/{glance.car.id}"),
        )


@dataclass(frozen=True, slots=True)
class HomePage:
    """Everything on the first page."""

    needs: tuple[NeedLine, ...]
    later: tuple[NeedLine, ...]  # what can wait, behind a fold
    cars: tuple[CarCard, ...]
    packs: int
    guessed: str  # what a first start guessed and nobody has confirmed yet, with its figures

    @classmethod
    def of(cls, seen: Overview, packs: PacksNow, workshop: Workshop) -> Self:
        outlooks = [glance.outlook for glance in seen.cars]
        needs = needs_now(workshop, outlooks, today_of(workshop, packs))
        pressing = max(MOST_NEEDS, sum(need.at_once for need in needs))
        return cls(
            needs=need_lines(needs[:pressing]),
            later=need_lines(needs[pressing:]),
            cars=tuple(CarCard.of(glance, workshop) for glance in seen.cars),
            packs=len(packs.packs),
            guessed=_guessed(workshop),
        )


@pages.get("/")
def home(request: Request, bench: TheBench, workshop: TheWorkshop) -> Response:
    def made() -> HomePage:
        packs = bench.memo.once(workshop, "packs", lambda: packs_now(workshop))
        return HomePage.of(overview(workshop), packs, workshop)

    page = bench.memo.once(workshop, "home", made)
    return show(request, "home/home.html", page, title="Home", here="home")


def stoppers_of(risks: Sequence[AtRisk]) -> tuple[tuple[str, str], ...]:
    """The likeliest causes, each once: four wheel nuts are one line."""
    by_mode: dict[str, float] = {}
    for risk in risks:
        by_mode[risk.mode.name] = 1.0 - (1.0 - by_mode.get(risk.mode.name, 0.0)) * (1.0 - risk.fail_chance)
    likeliest = sorted(by_mode.items(), key=lambda one: -one[1])[:MOST_STOPPERS]
    return tuple((in_sentence(name), percent(chance)) for name, chance in likeliest)


def since_words(since: SinceBench, runs: int, now: datetime, zone: str) -> str:
    """What a car has been through since the last bench, in words."""
    parts = [count(since.runs, "run")] if since.runs or not since.about_packs else []
    if since.about_packs:
        parts.append(f"about {count(since.about_packs, 'pack')} caught up")
    done = " and ".join(parts) if since.runs or since.about_packs else "not run"
    if since.last_bench is None:
        return (
            f"{done} since it came here; not yet on the bench" if runs or since.about_packs else "not yet run"
        )
    return f"{done} since the bench {ago(since.last_bench, now, zone)}"


def _guessed(workshop: Workshop) -> str:
    now = settings_now(workshop)
    if not now.get("guessed"):
        return ""
    return f"{now['zone']}; a minute at the bench is worth {now['bench_minute'] / 100:.2f} {now['currency']}"
