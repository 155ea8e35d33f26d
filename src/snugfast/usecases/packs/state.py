"""Packs as they stand: verdict, charge left, by when to act, what to do today.

A pack that something stands against is shown in words alone: no charge, no time, no current.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import ZERO_CELSIUS_K, Kind, in_unit, read_quantity
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.drain import Left, Standing, act_by, self_discharge_per_s
from snugfast.physics.packs.energy import air_band, label_energy_J
from snugfast.physics.packs.limits import CellLimits
from snugfast.physics.packs.reasons import Reason
from snugfast.records.entries import Entry
from snugfast.records.ledger import CarRecord, Ledger, PackRecord
from snugfast.records.standing import standing
from snugfast.usecases.packs.climb import resistance_ratio
from snugfast.usecases.packs.judging import Judged, judged
from snugfast.usecases.packs.past import PackPast, pack_past
from snugfast.usecases.packs.register import PackDetails
from snugfast.usecases.packs.sent import Sent, sent
from snugfast.usecases.packs.tables import CURVE, ChemistryNotes, pack_tables
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import pack_called
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

DRAIN_SETTING = "drain with the switch off"
AT_HAND = ("pack-look-first", "pack-storage", "pack-transport", "pack-air", "pack-fire")
STILL_FULL = 0.8  # of its capacity; below that nobody calls a pack full
OUT_OF_USE = ("pack-quarantine", "pack-transport", "pack-disposal", "pack-fire")
UNKNOWN_KIND = ChemistryNotes(
    "We do not know this chemistry: follow its label and the charger’s instructions.",
    ("pack-other-lithium",),
)
TIME = Origin(self_discharge_per_s.mark.source, self_discharge_per_s.mark.where)


@dataclass(frozen=True, slots=True)
class ReasonShown:
    """One reason of a verdict: how hard, what is so, the way back, its caution."""

    level: str
    says: str
    way_back: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class ChargeNow:
    """How full the pack is: its lowest cell as a share with a band, each cell, what said so, what to know."""

    charge: Figure
    cells: tuple[Figure, ...]
    said_by: str
    flags: tuple[str, ...]
    taken_as: str


@dataclass(frozen=True, slots=True)
class ActByCase:
    """By when to act if the pack stands in one way.

    `act` and `danger` are seconds from now as bands; `by` and `danger_by` their early ends on the clock, None
    beyond the calendar. `said` marks the way it was said to stand.
    """

    left: Left
    said: bool
    measured: bool
    drain: Figure
    act: Figure
    danger: Figure
    by: datetime | None
    danger_by: datetime | None
    warn_from: datetime | None


@dataclass(frozen=True, slots=True)
class Wear:
    """How far a pack has aged. None: not known.

    `cycles_from_charges` is what charges put in that no run explains, as shares of the capacity.
    """

    runs: int
    cycles_from_charges: float
    counted_Ah: float | None
    resistance_ratio: float | None


@dataclass(frozen=True, slots=True)
class PackState:
    """One pack as it stands."""

    id: UUID
    name: str
    chemistry: str
    cells: int
    capacity_Ah: float
    details: PackDetails
    verdict: str
    withheld: bool
    damaged: bool
    looked: bool
    reasons: tuple[ReasonShown, ...]
    charge: ChargeNow | None
    cases: tuple[ActByCase, ...]
    wear: Wear
    in_car: str
    stands: str
    full_since: datetime | None
    energy: Figure | None
    air_band: str
    air_says: str
    sent: Sent | None
    note: str
    cautions: tuple[Caution, ...]

    @property
    def case(self) -> ActByCase | None:
        """The case that counts down: as it was said to stand, else unplugged."""
        said = next((case for case in self.cases if case.said), None)
        return said or next(iter(self.cases), None)


@dataclass(frozen=True, slots=True)
class PackSeen:
    """A pack with all that was worked out about it, for further sums."""

    record: PackRecord
    past: PackPast
    judged: Judged
    state: PackState


@dataclass(frozen=True, slots=True)
class PacksNow:
    """All packs that are here, by name."""

    packs: tuple[PackSeen, ...]
    ledger: Ledger
    at: datetime


def packs_now(workshop: Workshop) -> PacksNow:
    """All packs as they stand."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        here = [pack for pack in ledger.packs.values() if pack.left_at is None]
        return _seen(workshop, reads, ledger, sorted(here, key=lambda pack: pack.name.casefold()))


def pack_now(workshop: Workshop, pack: str | UUID) -> PackSeen:
    """One pack as it stands, by name or identity. Raises NotKnown with the names there are."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        record = ledger.packs.get(pack) if isinstance(pack, UUID) else None
        record = record or pack_called(ledger, str(pack))
        return _seen(workshop, reads, ledger, [record]).packs[0]


def drains_of(ledger: Ledger) -> dict[UUID, Band]:
    """What the owner measured his cars to draw with the switch off, in A."""
    found = {}
    for car in ledger.cars.values():
        text = car.settings.get(DRAIN_SETTING, "")
        if text:
            try:
                found[car.id] = Band.exactly(read_drain(text))
            except BadInput:
                continue  # a setting by that name which is no current says nothing
    return found


def read_drain(text: str) -> float:
    """“5 mA” in A."""
    drain_A = read_quantity(text, Kind.CURRENT, default_unit="mA", where="drain")
    if not 0.0 <= drain_A <= 10.0:
        raise BadInput(f"A drain of {drain_A:g} A cannot be.", "Write it like 5 mA.")
    return drain_A


def _seen(workshop: Workshop, reads: Reads, ledger: Ledger, records: Sequence[PackRecord]) -> PacksNow:
    now = workshop.now()
    news = reads.news_of([record.id for record in records])
    told = {id: reads.once_about(f"pack {id}", at, partial(_stands_of, reads, id)) for id, at in news.items()}
    measured = drains_of(ledger)
    pasts = {record.id: pack_past(record, told[record.id], until=now, drain_A=measured) for record in records}
    found = {car: drain for past in pasts.values() for car, drain in past.drain_A.items()}
    if found.keys() - measured.keys():
        measured = {**found, **measured}
        pasts = {
            record.id: pack_past(record, told[record.id], until=now, drain_A=measured) for record in records
        }
    seen = []
    for record in records:
        past = pasts[record.id]
        verdict = judged(record, past, now)
        state = _State(workshop, ledger, record, past, verdict, measured, now).state()
        seen.append(PackSeen(record, past, verdict, state))
    return PacksNow(tuple(seen), ledger, now)


def _stands_of(reads: Reads, pack: UUID) -> tuple[Entry, ...]:
    return standing(reads.entries_of([pack])).entries


def reasons_shown(workshop: Workshop, reasons: Iterable[Reason]) -> tuple[ReasonShown, ...]:
    """The reasons of a verdict as a door shows them."""
    return tuple(
        ReasonShown(
            reason.level.words,
            reason.says,
            reason.way_back,
            cautions_of(workshop.facts, [reason.caution] if reason.caution else []),
        )
        for reason in reasons
    )


class _State:
    """One pack being described."""

    def __init__(
        self,
        workshop: Workshop,
        ledger: Ledger,
        record: PackRecord,
        past: PackPast,
        verdict: Judged,
        drain_A: Mapping[UUID, Band],
        now: datetime,
    ) -> None:
        self.workshop = workshop
        self.ledger = ledger
        self.record = record
        self.past = past
        self.judged = verdict
        self.drain_A = drain_A
        self.now = now
        self.tables = pack_tables()
        self.chemistry = chemistry_of(record.chemistry)

    def state(self) -> PackState:
        record = self.record
        volts = self.tables.cells.get(self.chemistry) if self.chemistry else None
        energy_J = label_energy_J(
            cells=record.cells,
            capacity_C=record.capacity_Ah * 3600.0,
            nominal_V=(volts or self.tables.limits.cell).nominal_V,
        )
        band = air_band(energy_J, self.tables.air_bands)
        has_table = self.chemistry is self.tables.limits.cell.chemistry
        notes = None if has_table else self._notes()
        car = self._car()
        shows = has_table and not self.judged.withheld
        told = {reason.caution for reason in self.judged.now.reasons}
        own = notes.cautions if notes else ()
        keys = (*own, *(OUT_OF_USE if self.judged.withheld else AT_HAND))
        charge = self._charge() if shows else None
        as_cargo = sent(
            self.chemistry,
            damaged=self.judged.damaged,
            charge=charge.charge if charge else None,
            capacity_C=self.past.capacity_C,
        )
        keys = (*keys, "pack-cargo") if as_cargo and not self.judged.damaged else keys
        always = (key for key in keys if key not in told)
        return PackState(
            id=record.id,
            name=record.name,
            chemistry=record.chemistry,
            cells=record.cells,
            capacity_Ah=record.capacity_Ah,
            details=PackDetails.of(record),
            verdict=self.judged.now.level.words,
            withheld=self.judged.withheld,
            damaged=self.judged.damaged,
            looked=self.judged.looked,
            reasons=reasons_shown(self.workshop, self.judged.now.reasons),
            charge=charge,
            cases=self._cases() if shows else (),
            wear=Wear(
                runs=self.past.runs,
                cycles_from_charges=self.past.cycles_from_charges,
                counted_Ah=self.past.counted_Ah[-1] if self.past.counted_Ah and shows else None,
                resistance_ratio=resistance_ratio(self.past.readings) if shows else None,
            ),
            in_car=car.name if car else "",
            stands=self.past.stands.value if self.past.stands else "",
            full_since=self.past.full_since if charge and charge.charge.value >= STILL_FULL else None,
            energy=self._energy(energy_J, volts if not self.judged.damaged else None),
            air_band=band.name if volts else "",
            air_says=self._air(band.says, volts is not None),
            sent=as_cargo,
            note=notes.note if notes else "",
            cautions=cautions_of(self.workshop.facts, tuple(always)),
        )

    def _notes(self) -> ChemistryNotes:
        if self.chemistry is None:
            return UNKNOWN_KIND
        return self.tables.notes[self.chemistry]

    def _car(self) -> CarRecord | None:
        car = self.record.marks.in_car
        return self.ledger.cars.get(car) if car else None

    def _energy(self, energy_J: float, volts: CellLimits | None) -> Figure | None:
        if volts is None:
            return None
        origin = self.tables.limit_origin("nominal_V", volts.chemistry)
        return Figure(round(energy_J / 3600.0, 2), "Wh", origins=(origin,))

    def _air(self, says: str, has_table: bool) -> str:
        """What is said of it for a passenger; the airline is always asked as well."""
        if self.judged.damaged:
            return "a damaged pack never flies"
        return (
            f"{says}; ask the airline" if has_table else "read the watt-hours off its label; ask the airline"
        )

    def _charge(self) -> ChargeNow | None:
        past = self.past
        if past.lowest is None:
            return None
        least = past.lowest
        return ChargeNow(
            charge=self._share(least.charge, least.estimates[0].said_by),
            cells=tuple(self._share(cell.charge, cell.estimates[0].said_by) for cell in past.cells),
            said_by=least.estimates[0].said_by,
            flags=tuple(sorted(flag.value for flag in least.flags)),
            taken_as="" if past.stands else "taken as unplugged; how it stands is not entered",
        )

    def _share(self, charge: Band, said_by: str) -> Figure:
        origins = [CURVE] if "rest" in said_by or "storage" in said_by else []
        if "count" in said_by or "full" in said_by:
            origins.append(self.tables.origin("rest", "counter_share"))
        if "time" in said_by:
            origins.append(TIME)
        return Figure(charge.likely, "1", charge.low, charge.high, tuple(origins))

    def _cases(self) -> tuple[ActByCase, ...]:
        least = self.past.lowest
        if least is None:
            return ()
        return tuple(self._case(left, least.charge) for left in Left)

    def _case(self, left: Left, charge: Band) -> ActByCase:
        drain, measured = self._drain(left)
        marks = self.record.marks
        shelf = (
            self.tables.value("shelf", "temperature_degC") if marks.shelf_degC is None else marks.shelf_degC
        )
        found = act_by(
            left=left,
            standing=Standing(
                chemistry=Chemistry.LITHIUM_POLYMER,
                charge=charge,
                capacity_C=self.past.capacity_C,
                drain_A=drain,
                self_discharge=self.tables.self_discharge,
                temperature_K=shelf + ZERO_CELSIUS_K,
            ),
            drain_measured=measured,
            curve=self.tables.curve,
            limits=self.tables.limits.cell,
        )
        stands = self.past.stands
        guessed = (Origin("pack-estimates", "drains, until the owner measured"),)
        return ActByCase(
            left=left,
            said=stands is not None and stands.value == left.value,
            measured=measured,
            drain=Figure(drain.likely, "A", drain.low, drain.high, () if measured else guessed),
            act=_seconds(found.act),
            danger=_seconds(found.danger),
            by=self._at(found.by_s),
            danger_by=self._at(found.danger.low),
            warn_from=self._at(found.warn_from_s),
        )

    def _drain(self, left: Left) -> tuple[Band, bool]:
        """What draws on the pack in this case, and whether that was measured."""
        car = self.record.marks.in_car
        if left is Left.PLUGGED_SWITCH_OFF and car is not None and car in self.drain_A:
            return self.drain_A[car], True
        return self.tables.drains_A[left], False

    def _at(self, seconds: float) -> datetime | None:
        try:
            return self.now + timedelta(seconds=seconds)
        except OverflowError:
            return None


def _seconds(band: Band) -> Figure:
    return Figure(band.likely, "s", band.low, band.high, (TIME,))


def drain_words(drain: Figure) -> str:
    """A drain as a person says it, in milliamperes."""
    if drain.high is None or drain.low is None or drain.low == drain.high:
        return f"{in_unit(drain.value, 'mA'):g} mA"
    low, high = in_unit(drain.low, "mA"), in_unit(drain.high, "mA")
    return f"{in_unit(drain.value, 'mA'):g} mA ({low:g} to {high:g})"
