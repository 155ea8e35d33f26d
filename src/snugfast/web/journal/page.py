"""The journal: reading, searching, taking back, bringing back."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from itertools import groupby
from typing import Annotated, Self
from urllib.parse import urlencode
from uuid import UUID

from fastapi import APIRouter, Form, Query, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.usecases.journal.filter import KIND_WORDS, day_begins, day_ends
from snugfast.usecases.journal.keeping import (
    kept_together,
    last_standing,
    redo_together,
    withdraw,
    withdraw_all,
)
from snugfast.usecases.journal.page import EntryPage as Told
from snugfast.usecases.journal.page import JournalAsked, JournalPage, Line, entry_page, journal_page
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.numbers import day_and_time
from snugfast.web.showing import show, to

pages = APIRouter()


class FilterForm(BaseModel):
    """What part of the journal is wanted; all of it stands in the address."""

    words: str = ""
    about: str = ""
    kind: str = ""
    since: str = ""
    until: str = ""
    before: str = ""

    @property
    def narrows(self) -> bool:
        return any((self.searches, self.kind))

    @property
    def searches(self) -> bool:
        """Whether more is asked than one kind of entry."""
        return any((self.words, self.about, self.since, self.until))

    def of_kind(self, kind: str) -> str:
        """The same question for another kind, as the end of an address."""
        said = {**self.model_dump(), "kind": kind, "before": ""}
        return urlencode({name: value for name, value in said.items() if value})

    def asked(self, workshop: Workshop) -> JournalAsked:
        return JournalAsked(
            text=self.words,
            subject=_uuid(self.about),
            kinds=KIND_WORDS.get(self.kind, ()),
            before=_uuid(self.before),
            since=day_begins(self.since, now=workshop.now(), zone=workshop.zone),
            until=day_ends(self.until, now=workshop.now(), zone=workshop.zone),
        )

    def older(self, before: UUID) -> str:
        said = {**self.model_dump(), "before": str(before)}
        return urlencode({name: value for name, value in said.items() if value})


@dataclass(frozen=True, slots=True)
class Choice:
    """A car or pack to choose."""

    id: str
    name: str


@dataclass(frozen=True, slots=True)
class DayLine:
    """One entry of a day: what kind it is, and at what time, where that is known."""

    kind: str
    time: str
    line: Line


@dataclass(frozen=True, slots=True)
class Day:
    """The entries of one day, the newest first."""

    title: str
    lines: tuple[DayLine, ...]


@dataclass(frozen=True, slots=True)
class JournalView:
    """A page of the journal, day by day."""

    form: FilterForm
    kinds: tuple[tuple[str, str], ...]  # the word, and the address that shows it
    without_kind: str
    about: tuple[Choice, ...]
    days: tuple[Day, ...]
    several_people: bool
    older: str

    @classmethod
    def of(cls, form: FilterForm, page: JournalPage) -> Self:
        about = [
            *(Choice(str(car.id), car.name) for car in page.ledger.cars.values()),
            *(Choice(str(pack.id), pack.name) for pack in page.ledger.packs.values()),
        ]
        about.sort(key=lambda one: one.name.casefold())
        return cls(
            form=form,
            kinds=tuple((kind, form.of_kind(kind)) for kind in KIND_WORDS),
            without_kind=form.of_kind(""),
            about=tuple(about),
            days=tuple(_days(page.lines)),
            several_people=len({line.author for line in page.lines}) > 1,
            older=form.older(page.older) if page.older else "",
        )


KIND_OF = {kind: word for word, kinds in KIND_WORDS.items() for kind in kinds}


def _days(lines: Iterable[Line]) -> Iterable[Day]:
    for day, held in groupby(lines, key=_day_of):
        yield Day(
            _day_title(day),
            tuple(DayLine(KIND_OF.get(one.kind, ""), one.when[len(day) :].strip(), one) for one in held),
        )


def _day_of(line: Line) -> str:
    """The day of an entry as it is told: “2026-05-03”, or “about May”."""
    day, _, _ = line.when.partition(" ")
    return day if day[:4].isdigit() else line.when


def _day_title(day: str) -> str:
    try:
        return f"{date.fromisoformat(day):%A, %-d %B %Y}"
    except ValueError:
        return day[:1].upper() + day[1:]


@dataclass(frozen=True, slots=True)
class LinkView:
    """One entry of a chain: what it did, when it was recorded, and what it says."""

    does: str
    recorded: str
    line: Line


@dataclass(frozen=True, slots=True)
class EntryView:
    """One entry, with what may be done about it."""

    line: Line
    typed: str
    recorded: str
    corrects: Line | None
    corrected_by: Line | None
    chain: tuple[LinkView, ...]
    resting: tuple[str, ...]
    resting_more: int
    seen: str
    together: int  # entries kept at once with it, itself counted

    @classmethod
    def of(cls, told: Told, workshop: Workshop) -> Self:
        return cls(
            line=told.line,
            typed=told.entry.typed,
            recorded=day_and_time(told.entry.recorded_at, workshop.zone),
            corrects=told.corrects,
            corrected_by=told.corrected_by,
            chain=tuple(
                LinkView(link.does.value, day_and_time(link.line.recorded_at, workshop.zone), link.line)
                for link in told.chain
            ),
            resting=told.resting,
            resting_more=told.resting_count - len(told.resting),
            seen=told.seen,
            together=len(kept_together(workshop, told.entry.id)),
        )


class WithdrawForm(BaseModel):
    """Why an entry is taken back, if somebody says."""

    why: str = ""
    seen: str = ""
    all: str = ""  # whether all that was kept with it goes too


@pages.get("/journal")
def read(request: Request, workshop: TheWorkshop, form: Annotated[FilterForm, Query()]) -> Response:
    page = JournalView.of(form, journal_page(workshop, form.asked(workshop)))
    return show(request, "journal/journal.html", page, title="Journal", here="more")


@pages.get("/journal/{entry_id}")
def entry(request: Request, workshop: TheWorkshop, entry_id: UUID) -> Response:
    page = EntryView.of(entry_page(workshop, entry_id), workshop)
    return show(request, "journal/entry.html", page, title="Entry", here="more")


@pages.get("/journal/{entry_id}/withdraw")
def ask_withdraw(request: Request, workshop: TheWorkshop, entry_id: UUID) -> Response:
    page = EntryView.of(entry_page(workshop, entry_id), workshop)
    return show(request, "journal/withdraw.html", page, title="Undo this?", here="more")


@pages.post("/journal/{entry_id}/withdraw")
def take_back(workshop: TheWorkshop, entry_id: UUID, form: Annotated[WithdrawForm, Form()]) -> Response:
    together = kept_together(workshop, entry_id) if form.all else ()
    if len(together) > 1:
        withdraw_all(workshop, together, form.why.strip())
        return to("/journal", note="back", entries=tuple(entry.id for entry in together))
    withdraw(workshop, entry_id, form.why.strip(), seen=form.seen or None)
    return to("/journal", note="back", entries=(entry_id,))


@pages.get("/undo")
def ask_undo(workshop: TheWorkshop) -> Response:
    return to(f"/journal/{last_standing(workshop).id}/withdraw")


@pages.post("/redo")
def bring_back(workshop: TheWorkshop) -> Response:
    redo_together(workshop)
    again = tuple(entry.id for entry in kept_together(workshop))
    return to("/journal", note="again", entries=again)


def _uuid(text: str) -> UUID | None:
    try:
        return UUID(text)
    except ValueError:
        return None
