"""All packs, one pack, adding and correcting one."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Annotated, Self
from uuid import UUID

from fastapi import APIRouter, Form, Request
from fastapi.responses import Response
from pydantic import BaseModel

from snugfast.core.errors import RefusedAction, SnugfastError, StaleRecord
from snugfast.core.zones import local_day
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.records.entries import Entry
from snugfast.records.ledger import ChargerRecord, Ledger
from snugfast.usecases.packs.judging import has_way_back
from snugfast.usecases.packs.register import PackSaid, draft_pack, pack_entry, said_of
from snugfast.usecases.packs.shelf import Shelf, shelf_of
from snugfast.usecases.packs.state import PackSeen, PacksNow, ReasonShown, packs_now
from snugfast.usecases.packs.today import PacksToday, today_of
from snugfast.usecases.packs.trend import PackTrend, trend_of
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.chemistry import shown
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.bench import TheBench, TheWorkshop
from snugfast.web.journal.kept import echo, identified, saved
from snugfast.web.numbers import count
from snugfast.web.packs.one_pack import one_pack
from snugfast.web.packs.words import (
    CaseRow,
    ChargeGauge,
    ShelfCard,
    ToDoLine,
    about_pack,
    cautions_once,
    standing_words,
)
from snugfast.web.showing import show
from snugfast.web.troubles import Troubles

pages = APIRouter()

CHEMISTRIES = tuple((chemistry.value, shown(chemistry.value)) for chemistry in Chemistry)
MOST_ROWS = 12


class PackForm(BaseModel):
    """A pack as it is typed."""

    id: UUID | None = None
    name: str = ""
    cells: str = ""
    capacity: str = ""
    chemistry: str = CHEMISTRIES[0][0]
    when: str = ""
    type_name: str = ""
    label: str = ""
    charge_label: str = ""
    plug: str = ""
    pin_mm: str = ""
    size_mm: str = ""
    mass_g: str = ""
    price: str = ""
    change: str = ""
    seen: str = ""  # the entry the form was opened on

    def said(self) -> PackSaid:
        return PackSaid(**self.model_dump(exclude={"id", "change", "seen"}))

    @classmethod
    def from_said(cls, said: PackSaid, id: UUID) -> Self:
        return cls(id=id, **{name: getattr(said, name) for name in said.__slots__})


@dataclass(frozen=True, slots=True)
class PackFormPage:
    """The form, empty or filled in."""

    form: PackForm
    action: str
    corrects: str
    chemistries: tuple[tuple[str, str], ...]
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class ChargerLine:
    """One charger."""

    name: str
    about: str

    @classmethod
    def of(cls, charger: ChargerRecord) -> Self:
        supply = f", fed by {charger.supply_W:g} W" if charger.supply_W else ""
        stores = "a storage function" if charger.stores else "no storage function"
        each = f"{charger.channels} × {charger.most_A:g} A, {charger.most_W:g} W"
        return cls(charger.name, f"{each}{supply}, {stores}")


@dataclass(frozen=True, slots=True)
class PacksPage:
    """The shelf of packs, the most urgent first, and the chargers."""

    sentence: str
    packs: tuple[ShelfCard, ...]
    signs: tuple[tuple[str, str], ...]
    cautions: tuple[Caution, ...]
    chargers: tuple[ChargerLine, ...]

    @classmethod
    def of(cls, now: PacksNow, shelf: Shelf, zone: str) -> Self:
        chargers = [one for one in now.ledger.chargers.values() if one.left_at is None]
        return cls(
            sentence=shelf.sentence,
            packs=tuple(ShelfCard.of(row, zone, now.at) for row in shelf.rows),
            signs=tuple(dict.fromkeys((row.sign.shape, row.sign.word) for row in shelf.rows)),
            cautions=cautions_once(shelf.today.todo),
            chargers=tuple(ChargerLine.of(one) for one in chargers),
        )


@dataclass(frozen=True, slots=True)
class CellRow:
    """One cell: its charge, its last rest volts, its last resistance."""

    place: int
    charge: str
    volts: str
    milliohm: str


@dataclass(frozen=True, slots=True)
class StayRow:
    """The runs of a pack in one car."""

    car: UUID
    car_name: str
    runs: str
    span: str


@dataclass(frozen=True, slots=True)
class LogRow:
    """One charge or reading of the log."""

    day: str
    what: str


@dataclass(frozen=True, slots=True)
class TrendLines:
    """What the resistance says, in words."""

    head: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PackPage:
    """One pack as it stands, what it asks for, what it has been through."""

    id: UUID
    name: str
    about: str
    gone: bool
    verdict: str
    withheld: bool
    damaged: bool
    reasons: tuple[ReasonShown, ...]
    can_be_cleared: bool
    note: str
    gauge: ChargeGauge | None
    said_by: str
    flags: tuple[str, ...]
    taken_as: str
    cases: tuple[CaseRow, ...]
    standing: str
    todo: tuple[ToDoLine, ...]
    todo_cautions: tuple[Caution, ...]
    cells: tuple[CellRow, ...]
    booked: tuple[tuple[str, str], ...]
    energy: str
    air: str
    sent: str
    trend: TrendLines | None
    stays: tuple[StayRow, ...]
    log: tuple[LogRow, ...]
    cautions: tuple[Caution, ...]

    @classmethod
    def of(cls, seen: PackSeen, workshop: Workshop, ledger: Ledger, today: PacksToday) -> Self:
        state, zone, now = seen.state, workshop.zone, workshop.now()
        charge = state.charge
        told = {caution for reason in state.reasons for caution in reason.cautions}
        todo_cautions = tuple(one for one in cautions_once(today.todo) if one not in told)
        return cls(
            id=state.id,
            name=state.name,
            about=", ".join(about_pack(state)),
            gone=seen.record.left_at is not None,
            verdict=state.verdict,
            withheld=state.withheld,
            damaged=state.damaged,
            reasons=state.reasons,
            can_be_cleared=state.damaged and has_way_back(seen.record.marks),
            note=state.note,
            gauge=ChargeGauge.of(charge.charge) if charge else None,
            said_by=charge.said_by if charge else "",
            flags=charge.flags if charge else (),
            taken_as=charge.taken_as if charge else "",
            cases=tuple(CaseRow.of(case, zone, now) for case in state.cases),
            standing=standing_words(state),
            todo=tuple(ToDoLine.of(one) for one in (*today.todo, *today.countdown)),
            todo_cautions=todo_cautions,
            cells=_cells(seen),
            booked=_booked(seen),
            energy=f"{state.energy.value:g} Wh by its label" if state.energy else "",
            air=state.air_says,
            sent=state.sent.says if state.sent else "",
            trend=_trend(seen),
            stays=_stays(seen, ledger, zone),
            log=() if state.damaged else _log(seen, zone),
            cautions=tuple(one for one in state.cautions if one not in todo_cautions),
        )


@pages.get("/packs")
def all_packs(request: Request, bench: TheBench, workshop: TheWorkshop) -> Response:
    def made() -> PacksPage:
        now = bench.memo.once(workshop, "packs", lambda: packs_now(workshop))
        return PacksPage.of(now, shelf_of(workshop, now), workshop.zone)

    page = bench.memo.once(workshop, "packs page", made)
    return show(request, "packs/packs.html", page, title="Packs", here="packs")


@pages.get("/packs/new")
def ask(request: Request, workshop: TheWorkshop) -> Response:
    return _show_form(request, PackForm(id=workshop.new_id()))


@pages.post("/packs/new")
def add(request: Request, workshop: TheWorkshop, form: Annotated[PackForm, Form()]) -> Response:
    form = identified(workshop, form)
    if form.change:
        return _show_form(request, form)
    try:
        entry = draft_pack(workshop, form.said(), id=form.id)
        draft = _telling(workshop, entry)
        return saved(workshop, draft, then="/packs")
    except SnugfastError as refused:
        return _show_form(request, form, troubles=Troubles.of(refused), status=422)


@pages.get("/packs/{pack_id}")
def pack(request: Request, workshop: TheWorkshop, pack_id: UUID) -> Response:
    seen = one_pack(workshop, pack_id)
    now = packs_now(workshop)
    today = today_of(workshop, replace(now, packs=(seen,)))
    page = PackPage.of(seen, workshop, now.ledger, today)
    return show(request, "packs/pack.html", page, title=seen.record.name, here="packs")


@pages.get("/packs/{pack_id}/change")
def ask_change(request: Request, workshop: TheWorkshop, pack_id: UUID) -> Response:
    seen = one_pack(workshop, pack_id)
    booked = pack_entry(workshop, seen.record)
    form = PackForm.from_said(said_of(booked), workshop.new_id())
    form = form.model_copy(update={"seen": str(booked.id)})
    return _show_form(request, form, corrects=seen)


@pages.post("/packs/{pack_id}/change")
def change(
    request: Request, workshop: TheWorkshop, pack_id: UUID, form: Annotated[PackForm, Form()]
) -> Response:
    seen = one_pack(workshop, pack_id)
    form = identified(workshop, form)
    if form.change:
        return _show_form(request, form, corrects=seen)
    first = pack_entry(workshop, seen.record)
    try:
        draft = _telling(workshop, draft_pack(workshop, form.said(), id=form.id, replaces=first))
        if form.seen and form.seen != str(first.id):
            raise _corrected_meanwhile(workshop, first, draft)
        path = f"/packs/{pack_id}"
        return echo(request, workshop, draft, form=form, change=f"{path}/change", then=path)
    except StaleRecord:
        raise
    except SnugfastError as refused:
        return _show_form(request, form, corrects=seen, troubles=Troubles.of(refused), status=422)


def _corrected_meanwhile(workshop: Workshop, now: Entry, draft: Draft) -> StaleRecord:
    return StaleRecord(
        "This pack was corrected after you opened the form, so nothing was saved.",
        "Open it again, and correct it as it stands now.",
        stands=_telling(workshop, now).echo,
        sent=draft.echo,
    )


def _telling(workshop: Workshop, entry: Entry) -> Draft:
    with workshop.store.reading() as reads:
        return Draft((entry,), (tell(entry, workshop.facts, ledger_now(reads)),))


def _show_form(
    request: Request,
    form: PackForm,
    *,
    corrects: PackSeen | None = None,
    troubles: Troubles | None = None,
    status: int = 200,
) -> Response:
    name = corrects.record.name if corrects else ""
    action = f"/packs/{corrects.record.id}/change" if corrects else "/packs/new"
    page = PackFormPage(form, action, name, CHEMISTRIES, troubles)
    title = f"Correct {name}" if corrects else "Add a pack"
    return show(request, "packs/pack_new.html", page, title=title, here="packs", status=status)


def _cells(seen: PackSeen) -> tuple[CellRow, ...]:
    state, marks, past = seen.state, seen.record.marks, seen.past
    if state.withheld:
        return ()
    charges = [f"{cell.value * 100:.0f} %" for cell in state.charge.cells] if state.charge else []
    volts = [f"{one:.3f} V" for one in marks.rest_V]
    ohms = [f"{ohm * 1000:.3g} mΩ" for ohm in past.readings[-1].resistances_ohm] if past.readings else []
    if not (charges or volts or ohms):
        return ()
    return tuple(
        CellRow(
            place + 1, *(several[place] if place < len(several) else "" for several in (charges, volts, ohms))
        )
        for place in range(seen.record.cells)
    )


def _booked(seen: PackSeen) -> tuple[tuple[str, str], ...]:
    details, record = seen.state.details, seen.record
    size = " × ".join(f"{side:g}" for side in details.size_mm) + " mm" if details.size_mm else ""
    rows = (
        ("Type", details.type_name),
        ("Here since", f"{record.added_at:%Y-%m-%d}"),
        ("Label", f"{details.label_multiple_per_h:g}C" if details.label_multiple_per_h else ""),
        ("Charge label", f"{details.label_charge_A:g} A" if details.label_charge_A else ""),
        ("Plug", details.plug),
        ("Size", size),
        ("Weight", f"{details.mass_g:g} g" if details.mass_g else ""),
    )
    return tuple((name, value) for name, value in rows if value)


def _trend(seen: PackSeen) -> TrendLines | None:
    try:
        told = trend_of(seen)
    except RefusedAction:
        return None  # the page says already why nothing is told of it
    if not told.readings:
        return TrendLines("", (told.waiting,))
    return TrendLines(f"Read by {told.instrument}", tuple(_trend_lines(told)))


def _trend_lines(told: PackTrend) -> list[str]:
    lines = [
        f"Cell {weak.place} has {weak.ratio:.1f} times the resistance of the middle cell."
        for weak in told.weak
    ]
    if told.waiting:
        return [*lines, told.waiting]
    worst = told.weakest
    assert worst is not None
    rise = worst.now / worst.as_new.value
    lines.append(f"Cell {worst.place} stands at {rise:.2f} times where its line began ({worst.sureness}).")
    if not worst.climbs:
        return [*lines, "No climb is sure yet."]
    for what, crossing in (
        ("Watch it from", worst.watch_at),
        ("Hard driving until", worst.hard_driving_until),
        ("Done altogether at", worst.done_at),
    ):
        if crossing is not None:
            late = f"{crossing.high:.0f}" if crossing.high is not None else "never"
            lines.append(f"{what} run {crossing.value:.0f} ({crossing.low or 0:.0f} to {late}).")
    return lines


def _stays(seen: PackSeen, ledger: Ledger, zone: str) -> tuple[StayRow, ...]:
    return tuple(
        StayRow(
            car=stay.car,
            car_name=ledger.cars[stay.car].name if stay.car in ledger.cars else "a car that is not here",
            runs=count(stay.runs, "run"),
            span=f"{local_day(stay.first, zone)} to {local_day(stay.last, zone)}",
        )
        for stay in seen.past.stays
    )


def _log(seen: PackSeen, zone: str) -> tuple[LogRow, ...]:
    """Charges and rest readings, newest first."""
    rows = [
        (charge.at, f"charged, {charge.finish.value}{_put_in(charge.put_in_Ah)}")
        for charge in seen.past.charges
    ]
    rows += [
        (rest.at, "rest volts " + " / ".join(f"{volts:.3g}" for volts in rest.volts))
        for rest in seen.past.rests
    ]
    rows.sort(reverse=True)
    return tuple(LogRow(local_day(at, zone), what) for at, what in rows[:MOST_ROWS])


def _put_in(put_in_Ah: float | None) -> str:
    return "" if put_in_Ah is None else f", {put_in_Ah * 1000:.0f} mAh"
