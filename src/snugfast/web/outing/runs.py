"""Logging one run in detail, shown in full before it is kept; correcting one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput, RefusedAction
from snugfast.core.spelling import typed_unit
from snugfast.records.entries import Entry, Ground, Wet
from snugfast.usecases.journal.marks import said_again
from snugfast.usecases.journal.page import entry_page
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here, packs_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import echo, identified
from snugfast.web.outing.breaks import UNKNOWN, BreakGroup, break_groups, break_where, broke_words
from snugfast.web.picker import CORNERS, ENDS, Where
from snugfast.web.sheet.round_form import DID
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()

Pairs = tuple[tuple[str, str], ...]  # what a form sends, and what it says

GROUNDS: Pairs = (
    ("", "not entered"),
    *((ground.value, ground.value) for ground in Ground if ground is not Ground.UNKNOWN),
)
HITS = ("none", "a few", "many")
READ_AT = (  # field, spot, label
    ("motor", "motor can", "Motor, °C"),
    ("esc", "controller", "ESC, °C"),
    ("battery", "pack", "Battery, °C"),
)
WETS: Pairs = tuple((wet.value, wet.value) for wet in Wet)


class RunForm(BaseModel):
    """A run as it is typed; every field is a text."""

    id: UUID | None = None
    car: str = ""
    pack: list[str] = []
    minutes: str = ""
    when: str = ""
    ground: str = ""
    wet: str = Wet.DRY.value
    hits: str = ""
    hits_number: str = ""
    ambient: str = ""
    put_back: str = ""
    motor: str = ""
    esc: str = ""
    battery: str = ""
    after: str = ""
    reading: list[str] = []  # of before, when a run is corrected
    noticed: str = ""
    broke: list[str] = []  # of before, when a run is corrected
    new_broke: str = ""
    new_at: list[str] = []
    new_did: str = ""
    change: str = ""

    @property
    def more(self) -> bool:
        """Whether anything was said of what is asked last."""
        told = (self.ambient, self.put_back, self.motor, self.esc, self.battery, self.noticed)
        return any((*told, *self.reading))

    def readings(self) -> tuple[str, ...]:
        """The temperatures as the journal reads them, those of before first."""
        after = f" {self.after} s" if self.after else ""
        typed = ((spot, getattr(self, key)) for key, spot, _ in READ_AT)
        new = tuple(f"{spot} {value} {typed_unit('°C')}{after}" for spot, value in typed if value.strip())
        return (*self.reading, *new)

    def said(self, broke: tuple[str, ...]) -> RunSaid:
        return RunSaid(
            car=self.car,
            packs=tuple(name for name in self.pack if name.strip()),
            minutes=self.minutes,
            when=self.when,
            ground=self.ground,
            wet=self.wet,
            hits=self.hits_number.strip() or self.hits,
            ambient=self.ambient,
            put_back=_with_unit(self.put_back, "mAh"),
            readings=self.readings(),
            noticed=tuple(self.noticed.splitlines()),
            broke=(*self.broke, *broke),
            id=self.id,
        )

    @classmethod
    def from_said(cls, said: RunSaid, id: UUID) -> Self:
        return cls(
            id=id,
            car=said.car,
            pack=list(said.packs),
            minutes=said.minutes,
            when=said.when,
            ground="" if said.ground == Ground.UNKNOWN.value else said.ground,
            wet=said.wet,
            hits=said.hits if said.hits in HITS else "",
            hits_number="" if said.hits in HITS else said.hits,
            ambient=said.ambient,
            put_back=said.put_back,
            reading=list(said.readings),
            noticed="\n".join(said.noticed),
            broke=list(said.broke),
        )


@dataclass(frozen=True, slots=True)
class RunPage:
    """The run form, empty or filled in, and what was wrong with it."""

    form: RunForm
    action: str
    corrects: str  # the run it would replace, told; "" for a new one
    ask_car: bool
    cars: tuple[str, ...]
    packs: tuple[str, ...]
    grounds: Pairs
    wets: Pairs
    hits: tuple[str, ...]
    read_at: tuple[tuple[str, str, str], ...]
    kept_broke: Pairs
    breaks: tuple[BreakGroup, ...]
    where: Where
    dids: Pairs
    troubles: Troubles | None

    @property
    def car_pairs(self) -> Pairs:
        return tuple((name, name) for name in self.cars)

    @classmethod
    def of(
        cls,
        workshop: Workshop,
        form: RunForm,
        *,
        action: str = "/runs",
        corrects: str = "",
        troubles: Troubles | None = None,
    ) -> Self:
        with workshop.store.reading() as reads:
            ledger = ledger_now(reads)
        car = ledger.car_named(form.car)
        build = workshop.build(car.build) if car else None
        known = build and form.new_broke and form.new_broke != UNKNOWN
        return cls(
            form=form,
            action=action,
            corrects=corrects,
            ask_car=car is None,
            cars=tuple(car.name for car in cars_here(ledger)),
            packs=tuple(pack.name for pack in packs_here(ledger)),
            grounds=GROUNDS,
            wets=WETS,
            hits=HITS,
            read_at=READ_AT,
            kept_broke=tuple((text, _told_broke(workshop, text)) for text in form.broke if text.strip()),
            breaks=break_groups(workshop.facts, build) if build else (),
            where=break_where(workshop.facts, build, form.new_broke)
            if known and build
            else Where(CORNERS, ENDS, (), ()),
            dids=DID,
            troubles=troubles,
        )


def _told_broke(workshop: Workshop, text: str) -> str:
    """What broke, as it was typed or taken down, in the words of the trade."""
    what, at, rest = text.partition(" @ ")
    mode = workshop.facts.modes.get(what.partition(":")[0].strip())
    return text if mode is None else f"{mode.name}{', ' + rest if at else ''}"


@pages.get("/runs/new")
def ask(request: Request, workshop: TheWorkshop, car: str = "") -> Response:
    return _show(request, workshop, RunForm(id=workshop.new_id(), car=car))


@pages.post("/runs")
def log(request: Request, workshop: TheWorkshop, form: Annotated[RunForm, Form()]) -> Response:
    form = identified(workshop, form)
    if form.change:
        return _show(request, workshop, form)
    try:
        draft = draft_runs(workshop, (form.said(_broke(workshop, form)),))
        return echo(request, workshop, draft, form=form, change="/runs")
    except BadInput as refused:
        return _show(request, workshop, form, troubles=Troubles.of(refused), status=422)


@pages.get("/journal/{entry_id}/correct")
def ask_again(request: Request, workshop: TheWorkshop, entry_id: UUID) -> Response:
    entry, told = _run_that_stands(workshop, entry_id)
    with workshop.store.reading() as reads:
        said = said_again(entry, workshop.facts, ledger_now(reads))
    form = RunForm.from_said(said, workshop.new_id())
    return _show(request, workshop, form, action=f"/journal/{entry_id}/correct", corrects=told)


@pages.post("/journal/{entry_id}/correct")
def correct(
    request: Request, workshop: TheWorkshop, entry_id: UUID, form: Annotated[RunForm, Form()]
) -> Response:
    entry, told = _run_that_stands(workshop, entry_id)
    form = identified(workshop, form)
    action = f"/journal/{entry_id}/correct"
    if form.change:
        return _show(request, workshop, form, action=action, corrects=told)
    try:
        draft = draft_runs(workshop, (form.said(_broke(workshop, form)),), replaces=entry)
        return echo(request, workshop, draft, form=form, change=action, then="/journal")
    except BadInput as refused:
        troubles = Troubles.of(refused)
        return _show(request, workshop, form, action=action, corrects=told, troubles=troubles, status=422)


def _broke(workshop: Workshop, form: RunForm) -> tuple[str, ...]:
    """What was picked as broken. Raises BadInput where its place or remedy is missing."""
    with workshop.store.reading() as reads:
        car = ledger_now(reads).car_named(form.car)
    if car is None or not form.new_broke:
        return ()
    build = workshop.build(car.build)
    return broke_words(workshop.facts, build, form.new_broke, tuple(form.new_at), form.new_did)


def _with_unit(number: str, unit: str) -> str:
    """What was typed, with the unit the form names where somebody typed the number alone."""
    plain = number.strip()
    return f"{plain} {unit}" if plain.replace(".", "", 1).isdigit() else plain


def _run_that_stands(workshop: Workshop, entry_id: UUID) -> tuple[Entry, str]:
    found = entry_page(workshop, entry_id)
    if found.line.state:
        raise RefusedAction(
            f"This entry was {found.line.state}, so it is not corrected.", "Correct the one that stands."
        )
    if not found.line.is_run:
        raise BadInput("Only runs are corrected field by field.", "Take this entry back and log it anew.")
    return found.entry, found.line.told


def _show(
    request: Request,
    workshop: Workshop,
    form: RunForm,
    *,
    action: str = "/runs",
    corrects: str = "",
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    page = RunPage.of(workshop, form, action=action, corrects=corrects, troubles=troubles)
    title = "Correct a run" if corrects else "Log a run"
    return show(request, "outing/run.html", page, title=title, here="run", status=status)
