"""A charge session: every question answered first, then how many amperes, how many minutes, when to start.

The look is part of the session and is kept whatever came of it. A pack that is withheld gets its reasons and
the way back, and no number.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from enum import Enum
from statistics import fmean
from uuid import UUID

from snugfast.core.errors import BadInput, RefusedAction
from snugfast.core.figures import Figure, Origin
from snugfast.core.findings import Finding
from snugfast.core.units import Kind
from snugfast.core.ways_out import Action, WayOut
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.cell_readings import checked_cell_volts
from snugfast.physics.packs.charge_left import combine, from_rest, lowest
from snugfast.physics.packs.charge_setup import Setup, setup_refusals
from snugfast.physics.packs.charging import (
    Bound,
    Charger,
    Session,
    charge_current,
    latest_start,
    plan_session,
)
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.reasons import Level
from snugfast.physics.packs.verdict import Verdict, Withheld
from snugfast.records.entries import Entry, Finish, PackLooked, PackMeasured
from snugfast.records.ledger import ChargerRecord, PackRecord
from snugfast.usecases.packs.judging import judged_at_charger
from snugfast.usecases.packs.last_charge import last_charge
from snugfast.usecases.packs.past import PackPast
from snugfast.usecases.packs.reading import Said
from snugfast.usecases.packs.register import PackDetails
from snugfast.usecases.packs.state import OUT_OF_USE, UNKNOWN_KIND, ReasonShown, pack_now, reasons_shown
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.packs.together import join_refusals
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.workshop import Workshop

SESSION = (
    "pack-look-first",
    "pack-charger-matches",
    "pack-charge-temperature",
    "pack-attended",
    "pack-surface",
    "pack-fire",
)
UNKNOWN_CHARGE = Band(0.0, 0.2, 1.0)
FULL_NOTE = "If the charger still wants to put charge in, compare its volts with another meter first."
SLOW_NOTE = (
    "That slow it takes hours, and somebody stays with it all the time. If nobody can, or if the cells part "
    "again, retire it."
)
FRESH = timedelta(hours=24)  # a rest reading older than that does not answer for the cells of today


class Headline(Enum):
    """The one answer a session begins with: always the hardest of all that is so."""

    DO_NOT_CHARGE = "do not charge"
    RETIRE = "retire"
    NOT_NOW = "do not start this charge"
    NO_PLAN = "no plan here: follow its label and the charger’s instructions"
    FULL = "nothing to charge: it is full"
    SLOWLY = "balance-charge it slowly: its cells stand far apart"
    FIRST = "charge it before anything else: it is nearly empty"
    LATE = "may be charged, but will not be ready in time"
    STORAGE = "may be brought to storage charge"
    MAY = "may be charged"

    @property
    def stops(self) -> bool:
        """Whether it says not to charge."""
        return self in (Headline.DO_NOT_CHARGE, Headline.RETIRE, Headline.NOT_NOW)


@dataclass(frozen=True, slots=True)
class ChargeAsked:
    """A charge session as typed: what is charged, on what, and the answer to every question."""

    pack: str
    charger: str
    found: tuple[str, ...] = ()  # what looking, feeling and smelling found; “nothing” too
    warmth: str = ""
    set_cells: str = ""  # what the charger is set to
    set_chemistry: str = ""
    attended: str = ""
    hard_surface: str = ""  # that cannot burn
    balance_plug: str = ""
    target: str = "full"
    volts: str = ""
    ready_by: str = ""
    other_channels: str = "0"  # packs that charge on the same supply meanwhile
    with_packs: tuple[str, ...] = ()  # on the same channel, side by side
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Bounded:
    """One thing that holds the current down, and to what."""

    by: str
    current: Figure


@dataclass(frozen=True, slots=True)
class ChargePlan:
    """What came of the questions. The figures are None when the charge must not begin."""

    pack: UUID
    pack_name: str
    charger_name: str
    target: str
    headline: Headline
    reasons: tuple[ReasonShown, ...]
    refusals: tuple[Finding, ...]
    note: str
    current: Figure | None
    held_by: str
    bounds: tuple[Bounded, ...]
    until_V: Figure | None
    minutes: Figure | None  # seconds, as a band
    steady: Figure | None
    tail: Figure | None
    put_in: Figure | None
    start_by: datetime | None
    ready_by: datetime | None
    cautions: tuple[Caution, ...]
    looked: Draft  # the look and the readings, to be kept whatever came of it

    @property
    def may_begin(self) -> bool:
        """Whether the charge may begin."""
        return self.current is not None


@cautioned
def plan_charge(workshop: Workshop, asked: ChargeAsked) -> ChargePlan:
    """The plan of a charge, or everything that must be put right before it may begin.

    Raises WrongData for what cannot be read, BadInput for volts that do not belong to this pack.
    """
    return _Session(workshop, asked).plan()


class _Session:
    """One session being planned."""

    def __init__(self, workshop: Workshop, asked: ChargeAsked) -> None:
        self.workshop = workshop
        self.asked = asked
        self.tables = pack_tables()
        self.now = workshop.now()
        reading = Said(workshop)
        record = reading.pack(asked.pack)
        named = asked.charger.strip() or (last_charge(workshop, record.id).charger if record else "")
        charger = reading.charger(named)
        if charger is None and not named:
            reading.wrong("charger", "it is missing", WayOut("name it, or add it first", Action.ADD_CHARGER))
        self.found = reading.harms(asked.found, "found")
        self.warmth_degC = reading.amount(asked.warmth, Kind.TEMPERATURE, "°C", "warmth")
        self.set_cells = reading.whole(asked.set_cells, "cells on the charger", 0)
        self.set_chemistry = reading.chemistry(asked.set_chemistry) if asked.set_chemistry.strip() else None
        self.attended = reading.yes(asked.attended, "attended")
        self.hard_surface = reading.yes(asked.hard_surface, "surface")
        self.balance_plug = reading.yes(asked.balance_plug, "balance plug")
        self.target = reading.choice(asked.target, Finish, "charge to", Finish.FULL)
        self.volts = reading.several(asked.volts, Kind.VOLTAGE, "V", "volts")
        self.ready_by = reading.ahead(asked.ready_by, "ready by")
        self.other_channels = reading.whole(asked.other_channels or "0", "other channels", 0)
        beside = [reading.pack(name) for name in asked.with_packs if name.strip()]
        reading.refuse("This session cannot be read")
        assert record is not None and charger is not None
        self.record: PackRecord = record
        self.charger: ChargerRecord = charger
        self.beside = [pack for pack in beside if pack is not None]
        self.chemistry = chemistry_of(record.chemistry)
        self.limits = self.tables.cells.get(self.chemistry) if self.chemistry else None
        self.past: PackPast = pack_now(workshop, record.id).past
        self.ledger = reading.ledger

    def plan(self) -> ChargePlan:
        """Ask everything, then work out the figures if nothing stands against them."""
        if self.volts and self.limits is not None:
            checked_cell_volts(cell_V=self.volts, cells=self.record.cells, limits=self.limits)
        verdict = judged_at_charger(
            self.record,
            self.past,
            self.now,
            found=self.found,
            temperature_degC=self.warmth_degC,
            volts=self.volts,
        )
        refusals = [*self._unanswered(), *self._unread(), *self._rest(), *self._setup(verdict)]
        refusals += [*self._charger_matches(), *self._side_by_side()]
        plan = self._bare(verdict, tuple(refusals))
        if refusals or isinstance(verdict, Withheld):
            return plan
        if self.chemistry is not self.tables.limits.cell.chemistry:
            return replace(plan, headline=Headline.NO_PLAN, note=self._without_curve())
        try:
            return self._figures(plan, verdict)
        except RefusedAction as refused:
            against = (Finding("", refused.sentence, refused.way_out),)
            return replace(plan, headline=Headline.NOT_NOW, refusals=against)

    def _without_curve(self) -> str:
        """What can be said of a chemistry whose charge is not worked out."""
        return UNKNOWN_KIND.note if self.chemistry is None else self.tables.notes[self.chemistry].note

    # What stands against it.

    def _unanswered(self) -> Iterator[Finding]:
        """Questions are never skipped: an answer that was not given stands against the charge."""
        for where, answer, way_out in (
            ("look", self.found, "look at it, feel it, smell it, and say what was found, “nothing” too"),
            ("warmth", self.warmth_degC, "say how warm it is, like 20 °C"),
            ("attended", self.attended, "say whether somebody stays with it"),
            ("surface", self.hard_surface, "say whether it lies on something that cannot burn"),
            ("chemistry", self.set_chemistry, "say which chemistry the charger is set to"),
            ("cells", self.set_cells or None, "say how many cells the charger is set to"),
        ):
            if answer is None:
                yield Finding(where, "Nobody said.", way_out)

    def _unread(self) -> Iterator[Finding]:
        """Cells that may be down to the danger line are read before a charge, not after."""
        marks, limits = self.record.marks, self.limits
        if limits is None or self.volts:
            return
        fresh = marks.rest_at is not None and self.now - marks.rest_at <= FRESH
        least = self.past.lowest
        if limits.chemistry is self.tables.limits.cell.chemistry and least is not None:
            if least.charge.low > self.tables.curve.charge_at(limits.danger_V):
                return
        elif fresh:
            return
        yield Finding(
            "volts",
            f"Nobody read its cells, and one may be below {limits.danger_V:.2f} V.",
            "read every cell at the balance plug and give them, like “3.80 3.81 3.79”",
        )

    def _rest(self) -> Iterator[Finding]:
        """Cool and rested: a pack comes off the car a while before it is charged."""
        strained = self.record.marks.strained_at
        needed_s = self.tables.value("charge", "rested_s")
        ago_s = (self.now - strained).total_seconds() if strained else needed_s
        if 0.0 <= ago_s < needed_s:
            yield Finding(
                "rest",
                f"It was used {ago_s / 60:.0f} min ago.",
                f"Let it cool and rest for {needed_s / 60:.0f} min, then look at it again.",
            )

    def _setup(self, verdict: Verdict) -> Iterator[Finding]:
        if self.chemistry is None or self.set_chemistry is None or not self.set_cells:
            return
        setup = self._as_set(self.chemistry, self.set_chemistry)
        answered = {"attended": self.attended, "surface": self.hard_surface}
        for finding in setup_refusals(setup):
            if answered.get(finding.where, True) is not None:
                yield finding

    def _as_set(self, chemistry: Chemistry, set_to: Chemistry) -> Setup:
        return Setup(
            pack_chemistry=chemistry,
            pack_cells=self.record.cells,
            charger_chemistry=set_to,
            charger_cells=self.set_cells,
            attended=bool(self.attended),
            surface_burns=not self.hard_surface,
            through_balance_plug=bool(self.balance_plug) and self.charger.balances,
        )

    def _charger_matches(self) -> Iterator[Finding]:
        if self.limits is not None and not self.charger.balances and self.record.cells > 1:
            yield Finding("charger", f"{self.charger.name} does not balance.", "Use one that does.")
        if self.target is Finish.STORAGE and not self.charger.stores:
            yield Finding(
                "charger",
                f"{self.charger.name} has no storage function.",
                WayOut(
                    "Ask how to store it, which says the lesser evil", Action.STORE_PACK, self.record.name
                ),
            )

    def _side_by_side(self) -> Iterator[Finding]:
        if self.beside:
            own = self.record
            yield from join_refusals(
                self.workshop, [own, *self.beside], volts={own.id: self.volts}, in_hand=own.id
            )

    # What it comes to.

    def _figures(self, plan: ChargePlan, verdict: Verdict) -> ChargePlan:
        assert self.set_chemistry is not None
        limits, tables = self.tables.limits.cell, self.tables
        packs = 1 + len(self.beside)
        label_A = PackDetails.of(self.record).label_charge_A
        setup = self._as_set(limits.chemistry, self.set_chemistry)
        capacity = self.past.capacity_C
        current = charge_current(
            verdict=verdict,
            capacity_C=packs * min(capacity.likely, self.record.capacity_Ah * 3600.0),
            setup=setup,
            charger=self._channel(),
            limits=limits,
            label_A=None if label_A is None else packs * label_A,
            spread_V=self._spread_V(),
        )
        until_V = {
            Finish.LONG_LIFE: limits.long_life_V,
            Finish.STORAGE: limits.storage_V,
        }.get(self.target, limits.full_V)
        session = plan_session(
            verdict=verdict,
            setup=setup,
            current=current,
            charge=self._charge_now(),
            capacity_C=Band(*(packs * end for end in capacity.ends)),
            cell_resistance_ohm=Band(*(end / packs for end in self._cell_ohm().ends)),
            until_V=until_V,
            balance_s=tables.value("charge", "balance_s"),
            curve=tables.curve,
            limits=limits,
        )
        if self.target is not Finish.STORAGE and session.put_in_C.likely < self._full_within_C(
            capacity, packs
        ):
            return replace(plan, headline=Headline.FULL, note=FULL_NOTE)
        return self._told(plan, session, until_V, verdict)

    def _full_within_C(self, capacity_C: Band, packs: int) -> float:
        """What a charger cannot tell from full."""
        return packs * capacity_C.likely * self.tables.value("charge", "full_half_width")

    def _spread_V(self) -> float:
        """How far apart its cells stand, as they were read last."""
        volts = self.volts or self.record.marks.rest_V
        return max(volts) - min(volts) if volts else 0.0

    def _told(self, plan: ChargePlan, session: Session, until_V: float, verdict: Verdict) -> ChargePlan:
        origins = {
            "current": (self.tables.limit_origin("charge_multiple_per_h"),),
            "time": (self.tables.origin("charge", "balance_s"), Origin("pack-estimates", "charge tail")),
        }
        start_by, refusals, headline = None, plan.refusals, self._cleared(session, verdict)
        if self.ready_by is not None:
            try:
                start_by = latest_start(ready_by=self.ready_by, now=self.now, session=session)
            except (RefusedAction, BadInput) as late:
                refusals = (Finding("ready by", late.sentence, late.way_out),)
                headline = Headline.LATE if headline is Headline.MAY else headline
        return replace(
            plan,
            headline=headline,
            refusals=refusals,
            note=self._charge_note(session),
            current=Figure(session.current.current_A, "A", origins=origins["current"]),
            held_by=session.current.held_by.value,
            bounds=tuple(
                Bounded(bound.value, Figure(amps, "A"))
                for bound, amps in sorted(session.current.bounds_A.items(), key=lambda item: item[1])
            ),
            until_V=Figure(until_V, "V", origins=(self.tables.limit_origin("full_V"),)),
            minutes=_seconds(session.whole_s, origins["time"]),
            steady=Figure(session.steady_s, "s", origins=origins["time"]),
            tail=Figure(session.tail_s, "s", origins=origins["time"]),
            put_in=Figure(
                session.put_in_C.likely / 3600.0,
                "Ah",
                session.put_in_C.low / 3600.0,
                session.put_in_C.high / 3600.0,
                origins["time"],
            ),
            start_by=start_by,
            ready_by=self.ready_by,
        )

    def _cleared(self, session: Session, verdict: Verdict) -> Headline:
        """The headline of a charge that may begin."""
        if session.current.held_by is Bound.SPREAD:
            return Headline.SLOWLY
        if verdict.level is Level.REST:
            return Headline.FIRST
        return Headline.STORAGE if self.target is Finish.STORAGE else Headline.MAY

    def _charge_note(self, session: Session) -> str:
        if session.current.held_by is Bound.SPREAD:
            return SLOW_NOTE
        if self.target is Finish.STORAGE and session.put_in_C.likely == 0.0:
            return "It is above storage charge: the storage function takes charge out. Stay with it."
        if not self.volts and self.past.lowest is None:
            return "Nobody knows how full it is, so the minutes reach from a full pack to an empty one."
        return ""

    def _channel(self) -> Charger:
        supply_W = self.charger.supply_W
        return Charger(
            most_A=self.charger.most_A,
            most_W=self.charger.most_W,
            efficiency=self.tables.value("charge", "efficiency"),
            supply_W=None if supply_W is None else supply_W / (1 + max(self.other_channels, 0)),
        )

    def _charge_now(self) -> Band:
        if self.volts:
            tables = self.tables
            care = tables.known_care if self.past.calibrated else tables.unknown_care
            cells = [
                combine(
                    [
                        from_rest(
                            cell_V=volts,
                            rested_s=care.settled_s,  # the session let it rest, or refused
                            curve=tables.curve,
                            care=care,
                        )
                    ]
                )
                for volts in self.volts
            ]
            return lowest(cells).charge
        return self.past.lowest.charge if self.past.lowest else UNKNOWN_CHARGE

    def _cell_ohm(self) -> Band:
        """Resistance of one cell: as it was read last, else a stated guess by its capacity."""
        if self.past.readings:
            ohms = self.past.readings[-1].resistances_ohm
            return Band(min(ohms), fmean(ohms), max(ohms))
        guess = self.tables.band("resistance_of_cell", "milliohm_times_ampere_hour")
        return Band(*(end / 1000.0 / self.record.capacity_Ah for end in guess.ends))

    # How it is said.

    def _bare(self, verdict: Verdict, refusals: tuple[Finding, ...]) -> ChargePlan:
        keys: tuple[str, ...] = (*SESSION, "pack-parallel") if self.beside else SESSION
        notes = self.tables.notes.get(self.chemistry) if self.chemistry else UNKNOWN_KIND
        if notes is not None:
            keys = (*notes.cautions, *keys)
        if isinstance(verdict, Withheld) and verdict.level >= Level.RETIRE:
            keys = OUT_OF_USE
        return ChargePlan(
            pack=self.record.id,
            pack_name=self.record.name,
            charger_name=self.charger.name,
            target=self.target.value,
            headline=self._barred(verdict),
            reasons=reasons_shown(self.workshop, verdict.reasons),
            refusals=refusals,
            note="",
            current=None,
            held_by="",
            bounds=(),
            until_V=None,
            minutes=None,
            steady=None,
            tail=None,
            put_in=None,
            start_by=None,
            ready_by=self.ready_by,
            cautions=cautions_of(self.workshop.facts, keys),
            looked=Draft.telling(self.workshop, self.ledger, self._entries()),
        )

    def _barred(self, verdict: Verdict) -> Headline:
        """The headline before any figure: a charge that is not cleared does not start."""
        hard = {Level.DO_NOT_CHARGE: Headline.DO_NOT_CHARGE, Level.RETIRE: Headline.RETIRE}
        return hard.get(verdict.level, Headline.NOT_NOW)

    def _entries(self) -> Sequence[Entry]:
        entries = []
        if self.found is not None:
            looked = PackLooked(self.record.id, self.found, "before a charge")
            entries.append(self.workshop.entry(looked, id=self.asked.id))
        if self.volts:
            strained = self.record.marks.used_at
            rested = None if strained is None else (self.now - strained).total_seconds() / 60.0
            read = PackMeasured(
                pack=self.record.id,
                rest_V=self.volts,
                rested_min=round(rested, 1) if rested is not None else 24 * 60.0,
                temperature_degC=self.warmth_degC,
            )
            entries.append(self.workshop.entry(read))
        return entries


def _seconds(band: Band, origins: tuple[Origin, ...]) -> Figure:
    return Figure(band.likely, "s", band.low, band.high, origins)
