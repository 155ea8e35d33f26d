"""Cars: adding one, its page from pack to corners, its build as text, work on it, coming back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.zones import local_day
from snugfast.facts.model import Build, Event, Facts, Place
from snugfast.records.entries import Entry
from snugfast.records.ledger import CarRecord
from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.beliefs.upcoming import Ahead
from snugfast.usecases.bench.sheet_words import count_words
from snugfast.usecases.journal.cars import (
    build_text,
    draft_back,
    draft_build,
    draft_car,
    draft_work,
    read_build_text,
)
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.overview import CarGlance, glance
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import tell, tell_size
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.cars.drive_line import Strip
from snugfast.web.cars.kinds import HISTORIES, Kind, draft_first_car, first_sheet, kinds_of
from snugfast.web.cars.tiles import Tile, tiles_of
from snugfast.web.home.page import since_words, stoppers_of
from snugfast.web.journal.kept import echo, identified
from snugfast.web.numbers import ago, count, minutes, percent
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()

OWN_BUILD = "own"
WORKS = (Event.RADIO_WORK, Event.PINION_CHANGED, Event.HARD_HIT)
MOST_WORRIES = 6
HOW = {"sound": "OK", "put right": "fixed", "renewed": "replaced", "left as it is": "not fixed yet"}


class CarForm(BaseModel):
    """A car as it is typed."""

    id: UUID | None = None
    name: str = ""
    starter: str = ""
    build: str = ""
    history: str = "new"
    when: str = ""


class BuildForm(BaseModel):
    """A build as its owner edits it."""

    build: str = ""
    seen: int | None = None
    change: str = ""


class WorkForm(BaseModel):
    """Work that shakes things up."""

    event: str = ""
    words: str = ""
    change: str = ""


class BackForm(BaseModel):
    """A car back from a loan."""

    packs_low: str = ""
    packs_high: str = ""
    change: str = ""


@dataclass(frozen=True, slots=True)
class CarFormPage:
    """The form that adds a car."""

    form: CarForm
    kinds: tuple[Kind, ...]
    histories: tuple[tuple[str, str], ...]
    own: str
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class Worry:
    """One way the car may fail, likeliest first."""

    name: str
    mode: str
    where: str
    chance: str
    belief: str
    since: str


@dataclass(frozen=True, slots=True)
class PlaceLine:
    """One place: its part, its sizes, where that is known from."""

    key: str
    name: str
    part: str
    spots: str
    sizes: tuple[tuple[str, str], ...]
    note: str
    wet: str
    seen: str
    source: str
    worries: tuple[Worry, ...]


@dataclass(frozen=True, slots=True)
class NotchGroup:
    """The places of one notch."""

    key: str
    title: str
    chance: str
    places: tuple[PlaceLine, ...]


@dataclass(frozen=True, slots=True)
class CarPage:
    """A car as it stands."""

    id: UUID
    name: str
    build_name: str
    description: str
    added: str
    history: str
    gone: bool
    laid_up: bool
    since: str
    driven: str
    chance: str
    ahead: str
    strip: Strip
    stoppers: tuple[tuple[str, str], ...]
    tiles: tuple[Tile, ...]
    worries: tuple[Worry, ...]
    traits: tuple[tuple[str, str], ...]
    notches: tuple[NotchGroup, ...]
    settings: tuple[tuple[str, str], ...]

    @classmethod
    def of(cls, seen: CarGlance, workshop: Workshop) -> Self:
        car, outlook = seen.car, seen.outlook
        build = workshop.build(car.build)
        worries = _Worries(workshop.facts, outlook.risks)
        return cls(
            id=car.id,
            name=car.name,
            build_name=build.name,
            description=build.description,
            added=local_day(car.added_at, workshop.zone),
            history=car.history.value,
            gone=car.left_at is not None,
            laid_up=car.laid_up_at is not None,
            since=since_words(seen.since, car.habits.runs, workshop.now(), workshop.zone),
            driven=_driven(car, workshop),
            chance=percent(outlook.stop_chance.value),
            ahead=_ahead(outlook.ahead),
            strip=Strip.of(outlook, ""),
            stoppers=stoppers_of(outlook.risks),
            tiles=tiles_of(car, build),
            worries=worries.weightiest(MOST_WORRIES),
            traits=tuple(_traits(workshop.facts, build.traits)),
            notches=tuple(_notches(workshop.facts, build, seen, worries)),
            settings=tuple(car.settings.items()),
        )


@dataclass(frozen=True, slots=True)
class BuildPage:
    """The build as text, and every mistake in it beside it."""

    id: UUID
    name: str
    form: BuildForm
    rows: int
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class WorkPage:
    """The form for work done."""

    id: UUID
    name: str
    form: WorkForm
    works: tuple[str, ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class BackPage:
    """The form for a car that came back."""

    id: UUID
    name: str
    form: BackForm
    troubles: Troubles | None


@pages.get("/cars/new")
def ask(request: Request, workshop: TheWorkshop) -> Response:
    return _show_form(request, workshop, CarForm(id=workshop.new_id()))


@pages.post("/cars/new")
def add(request: Request, workshop: TheWorkshop, form: Annotated[CarForm, Form()]) -> Response:
    """The car and its first sheet; one tap undoes it."""
    form = identified(workshop, form)
    try:
        entry = _draft_car(workshop, form)
        keep_form(workshop, [entry])
    except BadInput as refused:
        return _show_form(request, workshop, form, Troubles.of(refused), 422)
    return to(first_sheet(form.name.strip()), note="kept", entries=(entry.id,))


@pages.get("/cars/{car_id}")
def car(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    name_of(workshop, car_id)
    seen, _ = glance(workshop, car_id)
    return show(request, "cars/car.html", CarPage.of(seen, workshop), title=seen.car.name, here="home")


@pages.get("/cars/{car_id}/build")
def ask_build(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    name = name_of(workshop, car_id)
    with workshop.store.reading() as reads:
        seen = reads.position()
    form = BuildForm(build=build_text(workshop, name), seen=seen)
    return _show_build(request, car_id, name, form)


@pages.post("/cars/{car_id}/build")
def change_build(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[BuildForm, Form()]
) -> Response:
    name = name_of(workshop, car_id)
    if form.change:
        return _show_build(request, car_id, name, form)
    try:
        entry = draft_build(workshop, name, form.build, "build")
        return echo(
            request,
            workshop,
            told(workshop, [entry]),
            form=form,
            change=f"/cars/{car_id}/build",
            then=f"/cars/{car_id}",
            seen=form.seen,
        )
    except BadInput as refused:
        return _show_build(request, car_id, name, form, Troubles.of(refused), 422)


@pages.get("/cars/{car_id}/work")
def ask_work(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show_work(request, car_id, name_of(workshop, car_id), WorkForm())


@pages.post("/cars/{car_id}/work")
def log_work(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[WorkForm, Form()]
) -> Response:
    name, path = name_of(workshop, car_id), f"/cars/{car_id}"
    if form.change:
        return _show_work(request, car_id, name, form)
    try:
        draft = draft_work(workshop, name, form.event, form.words)
        return echo(request, workshop, draft, form=form, change=f"{path}/work", then=path)
    except BadInput as refused:
        return _show_work(request, car_id, name, form, Troubles.of(refused), 422)


@pages.get("/cars/{car_id}/back")
def ask_back(request: Request, workshop: TheWorkshop, car_id: UUID) -> Response:
    return _show_back(request, car_id, name_of(workshop, car_id), BackForm())


@pages.post("/cars/{car_id}/back")
def log_back(
    request: Request, workshop: TheWorkshop, car_id: UUID, form: Annotated[BackForm, Form()]
) -> Response:
    name, path = name_of(workshop, car_id), f"/cars/{car_id}"
    if form.change:
        return _show_back(request, car_id, name, form)
    try:
        draft = told(workshop, [draft_back(workshop, name, form.packs_low, form.packs_high)])
        return echo(request, workshop, draft, form=form, change=f"{path}/back", then=path)
    except BadInput as refused:
        return _show_back(request, car_id, name, form, Troubles.of(refused), 422)


def name_of(workshop: Workshop, car_id: UUID) -> str:
    """The name of a car by its identity. Raises NotKnown when there is no such car."""
    with workshop.store.reading() as reads:
        record = ledger_now(reads).cars.get(car_id)
    if record is None:
        raise NotKnown("There is no such car here.", "Go to the first page and choose one.")
    return record.name


def told(workshop: Workshop, entries: Sequence[Entry]) -> Draft:
    """Entries as a draft, each told in a sentence."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    return Draft(tuple(entries), tuple(tell(entry, workshop.facts, ledger) for entry in entries))


def place_line(facts: Facts, place: Place, worries: Sequence[Worry] = ()) -> PlaceLine:
    """A place as pages show it."""
    source = facts.sources[place.pedigree.source]
    wet = {True: "may get wet", False: "not rated wet", None: ""}[place.wet_rated]
    return PlaceLine(
        key=place.key,
        name=place.name,
        part=place.part,
        spots=", ".join(place.spots),
        sizes=tuple(
            (facts.size_names[name], tell_size(facts, name, value)) for name, value in place.sizes.items()
        ),
        note=place.note,
        wet=wet,
        seen=source.seen.value,
        source=source.key,
        worries=tuple(worries),
    )


class _Worries:
    """The risks of a car as lines."""

    def __init__(self, facts: Facts, risks: Sequence[AtRisk]) -> None:
        self.facts = facts
        self.risks = sorted(risks, key=lambda risk: risk.fail_chance, reverse=True)

    def weightiest(self, most: int) -> tuple[Worry, ...]:
        return tuple(self._worry(risk) for risk in self.risks[:most])

    def at(self, place: Place) -> tuple[Worry, ...]:
        return tuple(
            self._worry(risk) for risk in self.risks if risk.place is not None and risk.place.key == place.key
        )

    def _worry(self, risk: AtRisk) -> Worry:
        since = count_words(risk.since_look, risk.mode.clock)
        where = risk.place.name if risk.place else "pack"
        how = f"never looked at here, {since}"
        if risk.mark.looked_at is not None:
            how = f"{since} since “{HOW.get(risk.mark.how, risk.mark.how)}”"
        return Worry(
            name=risk.mode.name,
            mode=risk.mode.key,
            where=where,
            chance=percent(risk.fail_chance),
            belief=percent(risk.presence),
            since=how,
        )


def _notches(facts: Facts, build: Build, seen: CarGlance, worries: _Worries) -> list[NotchGroup]:
    chances = {station.notch: station.fail_chance for station in seen.outlook.stations}
    groups = []
    for notch in facts.notches:
        places = [place for place in build.places if facts.roles[place.role].notch == notch]
        if places:
            lines = tuple(place_line(facts, place, worries.at(place)) for place in places)
            groups.append(NotchGroup(notch, notch, percent(chances[notch]), lines))
    return groups


def _traits(facts: Facts, traits: Mapping[str, str]) -> list[tuple[str, str]]:
    return [
        (facts.traits[key].name, facts.traits[key].values.get(value, value)) for key, value in traits.items()
    ]


def _ahead(ahead: Ahead) -> str:
    return f"about {count(ahead.packs, 'pack')}, {minutes(ahead.running_min)} of running"


def _driven(car: CarRecord, workshop: Workshop) -> str:
    habits = car.habits
    if not habits.runs or habits.last_run_at is None:
        return "not yet run"
    last = ago(habits.last_run_at, workshop.now(), workshop.zone)
    outings = count(habits.outings, "outing")
    return f"{count(habits.runs, 'run')} on {outings}, {habits.running_min:.0f} min in all; last {last}"


def _draft_car(workshop: Workshop, form: CarForm) -> Entry:
    if form.starter == OWN_BUILD:
        build = read_build_text(workshop, form.build, "build")
        return draft_car(workshop, form.name, build, history=form.history, when=form.when, id=form.id)
    if not form.starter:
        raise BadInput("Which kind of car is it?", "Tap the picture that looks most like yours.")
    return draft_first_car(
        workshop, name=form.name, kind=form.starter, history=form.history, when=form.when, id=form.id
    )


def _show_form(
    request: Request,
    workshop: Workshop,
    form: CarForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    page = CarFormPage(form, kinds_of(workshop.facts.starters), HISTORIES, OWN_BUILD, troubles)
    return show(request, "cars/car_new.html", page, title="Add a car", here="home", status=status)


def _show_build(
    request: Request,
    car_id: UUID,
    name: str,
    form: BuildForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    rows = min(60, form.build.count("\n") + 2)
    page = BuildPage(car_id, name, form, rows, troubles)
    return show(request, "cars/build.html", page, title=f"The build of {name}", here="home", status=status)


def _show_work(
    request: Request,
    car_id: UUID,
    name: str,
    form: WorkForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    page = WorkPage(car_id, name, form, tuple(work.value for work in WORKS), troubles)
    return show(request, "cars/work.html", page, title=f"Work on {name}", here="home", status=status)


def _show_back(
    request: Request,
    car_id: UUID,
    name: str,
    form: BackForm,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    page = BackPage(car_id, name, form, troubles)
    return show(request, "cars/back.html", page, title=f"{name} came back", here="home", status=status)
