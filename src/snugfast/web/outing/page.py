"""Back from the field: one form for the outing, saved with undo; then what it means now."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Self
from urllib.parse import quote
from uuid import UUID

from fastapi import APIRouter, Depends, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel
from starlette.datastructures import FormData

from snugfast.core.errors import BadInput
from snugfast.core.spelling import typed_unit
from snugfast.records.entries import Ground, Ran, Wet
from snugfast.records.ledger import Ledger
from snugfast.usecases.bench.after_outing import needs_after
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.journal.keeping import withdraw
from snugfast.usecases.journal.outing import (
    CarOut,
    LastTime,
    OutingSaid,
    draft_outing,
    last_times,
    packs_at_a_time,
)
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import packs_here
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheWorkshop
from snugfast.web.home.needs import NeedLine, need_lines
from snugfast.web.numbers import ago
from snugfast.web.outing.breaks import UNKNOWN, BreakGroup, break_groups, break_where, broke_words
from snugfast.web.picker import CORNERS, ENDS, Where
from snugfast.web.sheet.round_form import DID
from snugfast.web.showing import show, to
from snugfast.web.troubles import Troubles

pages = APIRouter()

NOTICED = ("noise", "pulls to one side", "slow", "hot", "cut out", "lost something")
HITS = ("none", "a few", "many")
GROUNDS = tuple(ground.value for ground in Ground if ground is not Ground.UNKNOWN)
WETS = tuple(wet.value for wet in Wet)
READ_AT = (
    ("motor", "motor can", "Motor, °C"),
    ("esc", "controller", "ESC, °C"),
    ("pack", "pack", "Battery, °C"),
)


@dataclass(frozen=True, slots=True)
class CarSaid:
    """What was ticked and typed on the row of one car."""

    out: bool
    packs: tuple[str, ...]
    minutes: str
    hits: str
    noticed: tuple[str, ...]
    words: str
    readings: Mapping[str, str]
    after: str
    broke: str
    at: tuple[str, ...]
    did: str

    @classmethod
    def as_last_time(cls, last: LastTime) -> Self:
        return cls(
            False, (), last.minutes, last.hits if last.hits in HITS else "", (), "", {}, "", "", (), ""
        )

    @classmethod
    def of(cls, form: FormData, name: str) -> Self:
        def one(field: str) -> str:
            return str(form.get(f"{name}.{field}", "")).strip()

        def several(field: str) -> tuple[str, ...]:
            return tuple(str(value) for value in form.getlist(f"{name}.{field}") if str(value).strip())

        return cls(
            out=name in form.getlist("car"),
            packs=several("pack"),
            minutes=one("minutes"),
            hits=one("hits"),
            noticed=several("noticed"),
            words=one("words"),
            readings={key: one(key) for key, _, _ in READ_AT},
            after=one("after"),
            broke=one("broke"),
            at=several("at"),
            did=one("did"),
        )

    def readings_said(self) -> tuple[str, ...]:
        """The temperatures as the journal reads them."""
        after = f" {self.after} s" if self.after else ""
        return tuple(
            f"{spot} {self.readings[key]} {typed_unit('°C')}{after}"
            for key, spot, _ in READ_AT
            if self.readings.get(key)
        )


@dataclass(frozen=True, slots=True)
class CarRow:
    """One car on the form."""

    name: str
    last: str
    packs: tuple[str, ...]
    in_pairs: bool  # whether it carries two packs at a time
    more_packs: tuple[str, ...]
    said: CarSaid
    breaks: tuple[BreakGroup, ...]
    where: Where


@dataclass(frozen=True, slots=True)
class OutingPage:
    """The form of an outing, filled in as last time."""

    id: str
    rows: tuple[CarRow, ...]
    grounds: tuple[str, ...]
    wets: tuple[str, ...]
    hits: tuple[str, ...]
    noticed: tuple[str, ...]
    read_at: tuple[tuple[str, str, str], ...]
    dids: tuple[tuple[str, str], ...]
    ground: str
    wet: str
    air: str
    when: str
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class DonePage:
    """What was saved, and what it means now."""

    told: tuple[str, ...]
    entries: tuple[str, ...]
    needs: tuple[NeedLine, ...]
    cars: tuple[tuple[str, str], ...]  # name, name in an address


class UndoOuting(BaseModel):
    """The entries of an outing that is taken back."""

    entry: list[UUID] = []


async def _posted(request: Request) -> FormData:
    return await request.form()


@pages.get("/outing")
def ask(request: Request, workshop: TheWorkshop, car: str = "") -> Response:
    return _show(request, workshop, None, chosen=car)


@pages.post("/outing")
def log(request: Request, workshop: TheWorkshop, form: Annotated[FormData, Depends(_posted)]) -> Response:
    try:
        draft = _draft(workshop, form)
        keep_form(workshop, draft.entries)
    except BadInput as refused:
        return _show(request, workshop, form, Troubles.of(refused), 422)
    entries = ",".join(str(entry.id) for entry in draft.entries)
    return to(f"/outing/done?entries={entries}")


@pages.get("/outing/done")
def done(request: Request, workshop: TheWorkshop, entries: str = "") -> Response:
    page = _done(workshop, entries)
    return show(request, "outing/done.html", page, title="Saved", here="run")


@pages.post("/outing/undo")
def undo(workshop: TheWorkshop, form: Annotated[UndoOuting, Form()]) -> Response:
    """Take a whole outing back."""
    for entry in form.entry:
        withdraw(workshop, entry, "")
    return to("/outing", note="back", entries=tuple(form.entry[:1]))


def _draft(workshop: Workshop, form: FormData) -> Draft:
    cars = []
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    for name in map(str, form.getlist("car")):
        said = CarSaid.of(form, name)
        words = tuple(filter(None, said.words.splitlines()))
        cars.append(
            CarOut(
                car=name,
                packs=said.packs,
                minutes=(said.minutes,) if said.minutes else (),
                hits=said.hits,
                noticed=(*said.noticed, *words),
                readings=said.readings_said(),
                broke=_broke(workshop, ledger, name, said),
            )
        )
    return draft_outing(
        workshop,
        OutingSaid(
            cars=tuple(cars),
            ground=str(form.get("ground", "")),
            wet=str(form.get("wet", "")),
            ambient=str(form.get("air", "")),
            when=str(form.get("when", "")),
            id=_form_id(form) or workshop.new_id(),
        ),
    )


def _broke(workshop: Workshop, ledger: Ledger, name: str, said: CarSaid) -> tuple[str, ...]:
    car = ledger.car_named(name)
    if not said.broke or car is None:
        return ()
    return broke_words(workshop.facts, workshop.build(car.build), said.broke, said.at, said.did)


def _form_id(form: FormData) -> UUID | None:
    try:
        return UUID(str(form.get("id", "")))
    except ValueError:
        return None


def _show(
    request: Request,
    workshop: Workshop,
    form: FormData | None,
    troubles: Troubles | None = None,
    status: int = 200,
    chosen: str = "",
) -> Response:
    lasts = last_times(workshop)
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    packs = tuple(pack.name for pack in packs_here(ledger))
    newest = next((last for last in lasts if last.at), None)

    def field(name: str, otherwise: str = "") -> str:
        return otherwise if form is None else str(form.get(name, ""))

    page = OutingPage(
        id=field("id") or str(workshop.new_id()),
        rows=tuple(_row(workshop, ledger, last, form, packs, chosen) for last in lasts),
        grounds=GROUNDS,
        wets=WETS,
        hits=HITS,
        noticed=NOTICED,
        read_at=READ_AT,
        dids=DID,
        ground=field("ground", newest.ground if newest else ""),
        wet=field("wet", Wet.DRY.value),
        air=field("air"),
        when=field("when"),
        troubles=troubles,
    )
    return show(request, "outing/outing.html", page, title="Back from the field", here="run", status=status)


def _row(
    workshop: Workshop,
    ledger: Ledger,
    last: LastTime,
    form: FormData | None,
    packs: tuple[str, ...],
    chosen: str,
) -> CarRow:
    build = workshop.build(ledger.cars[last.car].build)
    said = CarSaid.as_last_time(last) if form is None else CarSaid.of(form, last.name)
    first = last.known_packs or packs
    if chosen == last.name and form is None:
        said = replace(said, out=True)
    known = said.broke and said.broke != UNKNOWN
    return CarRow(
        name=last.name,
        last=_last_words(last, workshop),
        packs=first,
        in_pairs=packs_at_a_time(build) == 2,
        more_packs=tuple(pack for pack in packs if pack not in first),
        said=said,
        breaks=break_groups(workshop.facts, build),
        where=break_where(workshop.facts, build, said.broke) if known else Where(CORNERS, ENDS, (), ()),
    )


def _last_words(last: LastTime, workshop: Workshop) -> str:
    if last.at is None:
        return "not out yet"
    packs = ", ".join(last.packs) or "no pack named"
    return f"{ago(last.at, workshop.now(), workshop.zone)}: {packs}, {last.minutes} min"


def _done(workshop: Workshop, entries: str) -> DonePage:
    try:
        ids = [UUID(text) for text in entries.split(",")[:24] if text]
    except ValueError:
        ids = []
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        rows = reads.entries_with(ids)
    facts = [row.entry.fact for row in rows if isinstance(row.entry.fact, Ran)]
    cars = tuple(dict.fromkeys(ledger.cars[fact.car].name for fact in facts if fact.car in ledger.cars))
    return DonePage(
        told=tuple(tell(row.entry, workshop.facts, ledger) for row in rows),
        entries=tuple(str(row.entry.id) for row in rows),
        needs=need_lines(needs_after(workshop, facts)),
        cars=tuple((name, quote(name)) for name in cars),
    )
