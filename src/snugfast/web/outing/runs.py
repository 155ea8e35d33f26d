"""Logging one run in detail, shown in full before it is kept; correcting one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import BadInput, RefusedAction
from snugfast.records.entries import Entry, Ground, Wet
from snugfast.records.ledger import Ledger
from snugfast.usecases.journal.marks import said_again
from snugfast.usecases.journal.page import entry_page
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here, packs_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.journal.kept import echo
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()

Pairs = tuple[tuple[str, str], ...]  # what a form sends, and what it says

GROUNDS: Pairs = (
    ("", "not said"),
    *((ground.value, ground.value) for ground in Ground if ground is not Ground.UNKNOWN),
)
WETS: Pairs = tuple((wet.value, wet.value) for wet in Wet)
LINES = 3  # empty lines offered for readings and breaks


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
    ambient: str = ""
    put_back: str = ""
    reading: list[str] = []
    noticed: str = ""
    broke: list[str] = []
    change: str = ""

    def said(self) -> RunSaid:
        return RunSaid(
            car=self.car,
            packs=tuple(name for name in self.pack if name.strip()),
            minutes=self.minutes,
            when=self.when,
            ground=self.ground,
            wet=self.wet,
            hits=self.hits,
            ambient=self.ambient,
            put_back=self.put_back,
            readings=tuple(self.reading),
            noticed=tuple(self.noticed.splitlines()),
            broke=tuple(self.broke),
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
            hits=said.hits,
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
    cars: tuple[str, ...]
    packs: tuple[str, ...]
    grounds: Pairs
    wets: Pairs
    readings: tuple[str, ...]
    broke: tuple[str, ...]
    troubles: Troubles | None

    @classmethod
    def of(
        cls,
        ledger: Ledger,
        form: RunForm,
        *,
        action: str = "/runs",
        corrects: str = "",
        troubles: Troubles | None = None,
    ) -> Self:
        return cls(
            form=form,
            action=action,
            corrects=corrects,
            cars=tuple(car.name for car in cars_here(ledger)),
            packs=tuple(pack.name for pack in packs_here(ledger)),
            grounds=GROUNDS,
            wets=WETS,
            readings=padded(form.reading),
            broke=padded(form.broke),
            troubles=troubles,
        )


@pages.get("/runs/new")
def ask(request: Request, workshop: TheWorkshop, car: str = "") -> Response:
    return _show(request, workshop, RunForm(id=workshop.new_id(), car=car))


@pages.post("/runs")
def log(request: Request, workshop: TheWorkshop, form: Annotated[RunForm, Form()]) -> Response:
    form = form.model_copy(update={"id": form.id or workshop.new_id()})
    if form.change:
        return _show(request, workshop, form)
    try:
        draft = draft_runs(workshop, (form.said(),))
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
    form = form.model_copy(update={"id": form.id or workshop.new_id()})
    action = f"/journal/{entry_id}/correct"
    if form.change:
        return _show(request, workshop, form, action=action, corrects=told)
    try:
        draft = draft_runs(workshop, (form.said(),), replaces=entry)
        return echo(request, workshop, draft, form=form, change=action, then="/journal")
    except BadInput as refused:
        troubles = Troubles.of(refused)
        return _show(request, workshop, form, action=action, corrects=told, troubles=troubles, status=422)


def padded(lines: Iterable[str]) -> tuple[str, ...]:
    """The lines that were filled in, with empty ones to go on."""
    filled = [line for line in lines if line.strip()]
    return (*filled, *[""] * max(1, LINES - len(filled)))


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
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    page = RunPage.of(ledger, form, action=action, corrects=corrects, troubles=troubles)
    title = "Correct a run" if corrects else "Log a run"
    return show(request, "outing/run.html", page, title=title, here="run", status=status)
