"""What a pack has been through, told entry by entry: how full its cells are, how they wear, where it was.

Charge is followed by three kinds of evidence: charge that was counted, volts read at rest, and time. A charge
to full is where counting starts anew; a rest reading is weighed against the count and never forgotten by it.
Sums are made for lithium-polymer packs only; of the others the log alone is kept.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from copy import copy
from dataclasses import dataclass, replace
from datetime import datetime
from statistics import median
from uuid import UUID

from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.charge_left import (
    ChargeLeft,
    Estimate,
    combine,
    from_count,
    from_rest,
    from_standing,
    lowest,
)
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.drain import Left, drain_between, self_discharge_per_s
from snugfast.records.entries import Entry, Finish, PackCharged, PackMeasured, PackStands, Ran, Stands
from snugfast.records.ledger import PackRecord
from snugfast.usecases.packs.cycles import Cycles
from snugfast.usecases.packs.tables import PackTables, pack_tables
from snugfast.usecases.shared.chemistry import chemistry_of

AH_C = 3600.0
LOWEST_AFTER_A_RUN = 0.05  # an uncounted run ends at the cut-off at the latest
COUNTED_RUNS = 3  # from so many counted runs on, the pack's own rate is used for the uncounted


@dataclass(frozen=True, slots=True)
class CellReading:
    """The resistances of all cells, read together by one instrument at one warmth, so many cycles in."""

    at: datetime
    cycles: float
    resistances_ohm: tuple[float, ...]
    temperature_degC: float
    instrument: str


@dataclass(frozen=True, slots=True)
class RestReading:
    """Volts of all cells after a rest."""

    at: datetime
    volts: tuple[float, ...]
    rested_min: float | None


@dataclass(frozen=True, slots=True)
class ChargeRow:
    """One charge of the log."""

    at: datetime
    finish: Finish
    put_in_Ah: float | None
    minutes: float | None
    current_A: float | None
    cells_V: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class CarStay:
    """The runs of a pack in one car."""

    car: UUID
    first: datetime
    last: datetime
    runs: int


@dataclass(frozen=True, slots=True)
class PackPast:
    """A pack's story up to a moment. `cells` is empty when nothing says how full they are.

    `capacity_C` is the present capacity as a band, `counted_Ah` what counted charges say it is;
    `drain_A` what the cars it stood in were found to draw with the switch off.
    """

    cells: tuple[ChargeLeft, ...]
    lowest: ChargeLeft | None
    capacity_C: Band
    counted_Ah: tuple[float, ...]
    readings: tuple[CellReading, ...]
    rests: tuple[RestReading, ...]
    charges: tuple[ChargeRow, ...]
    stays: tuple[CarStay, ...]
    drain_A: Mapping[UUID, Band]
    runs: int
    full_since: datetime | None
    stands: Stands | None
    stands_since: datetime | None
    cycles_from_charges: float = 0.0  # put in by charges that no run explains

    @property
    def cycles(self) -> float:
        """How often it was emptied and filled, as far as the journal knows."""
        return self.runs + self.cycles_from_charges

    @property
    def calibrated(self) -> bool:
        """Whether a counted charge has told its capacity."""
        return bool(self.counted_Ah)


def pack_past(
    record: PackRecord,
    entries: Iterable[Entry],
    *,
    until: datetime,
    drain_A: Mapping[UUID, Band] | None = None,
) -> PackPast:
    """The story of one pack from its standing entries in replay order, taken on to `until`.

    `drain_A` is what cars were measured to draw with the switch off; others are guessed.
    """
    entries, drain_A = tuple(entries), dict(drain_A or {})
    kept = _told.get(record.id)
    if kept is not None and kept.holds(record, entries, drain_A, until):
        telling = copy(kept.telling)
    else:
        telling = _Telling(record, pack_tables(), drain_A)
        for entry in entries:
            if entry.happened_at <= until:
                telling.take(entry)
        if all(entry.happened_at <= until for entry in entries):
            _told[record.id] = _Told(record, entries, drain_A, copy(telling))
            while len(_told) > MOST_TOLD:
                _told.pop(next(iter(_told)), None)
    telling.stand_until(until)
    return telling.past()


@dataclass(frozen=True, slots=True)
class _Told:
    """The story of a pack after its last entry, and what it was told from."""

    record: PackRecord
    entries: tuple[Entry, ...]
    drain_A: Mapping[UUID, Band]
    telling: _Telling  # let it stand in a copy only

    def holds(
        self, record: PackRecord, entries: tuple[Entry, ...], drain_A: Mapping[UUID, Band], until: datetime
    ) -> bool:
        """Whether it was told from the very same, all of which is past by then."""
        return (
            self.entries == entries
            and self.record == record
            and self.drain_A == drain_A
            and (self.telling.at is None or self.telling.at <= until)
        )


MOST_TOLD = 64
_told: dict[UUID, _Told] = {}  # the packs told last: what follows from entries alone, not from the hour
_Step = Callable[[Estimate], Estimate]  # one change of charge that all cells share


@dataclass(frozen=True, slots=True)
class _Cell:
    """What is believed of one cell: by counting alone, and with the last rest reading weighed in."""

    best: Estimate
    counted: Estimate | None

    def moved(self, step: _Step) -> _Cell:
        return _Cell(step(self.best), step(self.counted) if self.counted else None)


@dataclass(frozen=True, slots=True)
class _Stood:
    """Standing for a while."""

    stood_s: float
    drain_A: Band
    capacity_C: Band
    self_discharge: Band
    temperature_K: float

    def __call__(self, estimate: Estimate) -> Estimate:
        then = from_standing(
            start=estimate,
            stood_s=self.stood_s,
            drain_A=self.drain_A,
            capacity_C=self.capacity_C,
            self_discharge=self.self_discharge,
            temperature_K=self.temperature_K,
        )
        return _said(then, estimate, "time")


@dataclass(frozen=True, slots=True)
class _Counted:
    """Charge taken out, or put in below zero."""

    taken_C: float
    capacity_C: Band
    counter_share: float
    least: float | None = None
    word: str = "counted charge"

    def __call__(self, estimate: Estimate) -> Estimate:
        then = from_count(
            start=estimate,
            taken_C=self.taken_C,
            capacity_C=self.capacity_C,
            counter_share=self.counter_share,
        )
        if self.least is not None and then.charge < self.least:
            then = replace(then, charge=self.least)
        return _said(then, estimate, self.word)


def _said(then: Estimate, before: Estimate, word: str) -> Estimate:
    """Each kind of evidence is named once, however often it came."""
    words = before.said_by.split(", then ")
    return replace(then, said_by=", then ".join(words if word in words else [*words, word]))


class _Telling:
    """The mutable inside of one telling; nothing of it leaves but the frozen past."""

    def __init__(self, record: PackRecord, tables: PackTables, drain_A: Mapping[UUID, Band]) -> None:
        self.record = record
        self.tables = tables
        self.known_drain_A = dict(drain_A)
        self.sums = chemistry_of(record.chemistry) is Chemistry.LITHIUM_POLYMER
        self.cells: tuple[_Cell, ...] = ()
        self.at: datetime | None = None
        self.cycles = Cycles.of_new(record.capacity_Ah, tables.value("rest", "counter_share"))
        self.counted_Ah: list[float] = []
        self.run_rates: list[float] = []
        self.readings: list[CellReading] = []
        self.rests: list[RestReading] = []
        self.charges: list[ChargeRow] = []
        self.stays: dict[UUID, CarStay] = {}
        self.found_drain_A: dict[UUID, Band] = {}
        self.full_since: datetime | None = None
        self.stands: Stands | None = None
        self.stands_since: datetime | None = None
        self.car: UUID | None = None
        self.shelf_degC: float | None = None
        self.put_back: tuple[datetime, float] | None = None  # known, and not yet put back, by the log
        self.read_here: tuple[datetime, float] | None = None  # a rest reading since it stands as it does

    def past(self) -> PackPast:
        cells = tuple(combine([cell.best]) for cell in self.cells)
        return PackPast(
            cells=cells,
            lowest=lowest(cells) if cells else None,
            capacity_C=self.capacity_C,
            counted_Ah=tuple(self.counted_Ah),
            readings=tuple(self.readings),
            rests=tuple(self.rests),
            charges=tuple(self.charges),
            stays=tuple(self.stays.values()),
            drain_A=self.found_drain_A,
            runs=self.cycles.runs,
            cycles_from_charges=self.cycles.from_charges,
            full_since=self.full_since,
            stands=self.stands,
            stands_since=self.stands_since,
        )

    @property
    def capacity_C(self) -> Band:
        """The present capacity: what was counted lately, else the label less what packs lose."""
        counted = self.counted_Ah[-3:]
        base_C = (median(counted) if counted else self.record.capacity_Ah) * AH_C
        share = self.tables.band("capacity", "counted_share" if counted else "share")
        return Band(*(base_C * end for end in share.ends))

    def take(self, entry: Entry) -> None:
        if isinstance(entry.fact, Ran | PackCharged | PackMeasured | PackStands):
            self.stand_until(entry.happened_at)
        match entry.fact:
            case Ran() as ran:
                self._ran(entry, ran)
            case PackCharged() as charged:
                self._charged(entry, charged)
            case PackMeasured() as measured:
                self._measured(entry, measured)
            case PackStands() as stands:
                self._put_away(entry, stands)
            case _:
                pass

    def stand_until(self, at: datetime) -> None:
        """Let the pack stand, as it was left, until a moment; what was put back on the way is put back."""
        if self.put_back is not None and self.put_back[0] <= at:
            then, put_back_Ah = self.put_back
            self.put_back = None
            self._stand(then)
            self._count(-put_back_Ah)
        self._stand(at)

    def _stand(self, at: datetime) -> None:
        if self.at is not None and self.cells and at > self.at:
            stood = _Stood(
                stood_s=(at - self.at).total_seconds(),
                drain_A=self._drain(),
                capacity_C=self.capacity_C,
                self_discharge=self.tables.self_discharge,
                temperature_K=self._shelf_K(),
            )
            self.cells = tuple(cell.moved(stood) for cell in self.cells)
        self.at = at

    def _drain(self) -> Band:
        """What draws on it as it stands; unplugged when nobody said."""
        left = Left((self.stands or Stands.UNPLUGGED).value)
        if left is Left.PLUGGED_SWITCH_OFF and self.car in self.known_drain_A:
            return self.known_drain_A[self.car]
        return self.tables.drains_A[left]

    def _shelf_K(self) -> float:
        shelf = self.tables.value("shelf", "temperature_degC") if self.shelf_degC is None else self.shelf_degC
        return shelf + ZERO_CELSIUS_K

    def _ran(self, entry: Entry, ran: Ran) -> None:
        if self.put_back is not None:  # it is driven again, so it was put back before
            self._count(-self.put_back[1])
            self.put_back = None
        self.cycles.ran(ran)
        stay = self.stays.get(ran.car)
        self.stays[ran.car] = (
            replace(stay, last=entry.happened_at, runs=stay.runs + 1)
            if stay
            else CarStay(ran.car, entry.happened_at, entry.happened_at, 1)
        )
        self._moved_away(ran.car)
        self.full_since = None
        if not self.sums:
            return
        if ran.put_back_Ah is None:
            self._move(self._uncounted(ran))
            return
        self.run_rates.append(ran.put_back_Ah / ran.running_min)
        self._count(ran.put_back_Ah)
        # What was put back is known when it is logged, so the charge came between the run and that.
        self.put_back = (max(entry.recorded_at, entry.happened_at), ran.put_back_Ah)

    def _uncounted(self, ran: Ran) -> _Counted:
        """What a run took when nobody counted: by this pack's own runs, else a stated guess."""
        if len(self.run_rates) >= COUNTED_RUNS:
            rates = sorted(self.run_rates)
            taken_Ah = median(rates) * ran.running_min
            spread = (rates[-1] - rates[0]) / (2.0 * median(rates))
        else:
            guess = self.tables.band("run", "taken_share")
            taken_Ah = guess.likely * self.record.capacity_Ah
            spread = (guess.high - guess.low) / (2.0 * guess.likely)
        return _Counted(taken_Ah * AH_C, self.capacity_C, spread, LOWEST_AFTER_A_RUN, "a run nobody counted")

    def _charged(self, entry: Entry, charged: PackCharged) -> None:
        self.charges.append(
            ChargeRow(
                entry.happened_at,
                charged.finish,
                charged.put_in_Ah,
                charged.minutes,
                charged.current_A,
                charged.cells_V,
            )
        )
        self.put_back = None  # this is the charge that put it back
        self.cycles.charged(charged)
        if self.sums:
            self._count_capacity(charged)
        self._moved_away(None)
        self.full_since = entry.happened_at if charged.finish is Finish.FULL else None
        if not self.sums:
            return
        if charged.finish is Finish.PART:
            self._charged_part(charged)
        else:
            anchor = self._anchor(charged.finish)
            self.cells = (_Cell(anchor, anchor),) * self.record.cells

    def _charged_part(self, charged: PackCharged) -> None:
        if charged.put_in_Ah is None:
            self.cells = ()  # nothing says where it ended
        else:
            self._count(-charged.put_in_Ah)

    def _anchor(self, finish: Finish) -> Estimate:
        limits, curve = self.tables.limits.cell, self.tables.curve
        if finish is Finish.STORAGE:
            half = self.tables.value("stored_charge", "half_width")
            return Estimate(curve.charge_at(limits.storage_V), half / 2, "a storage charge")
        half = self.tables.value("charge", "full_half_width")
        if finish is Finish.LONG_LIFE:
            return Estimate(curve.charge_at(limits.long_life_V), half / 2, "a charge to a little below full")
        return Estimate(1.0, half / 2, "a charge to full")

    def _count_capacity(self, charged: PackCharged) -> None:
        """A count from low to full tells the capacity, when a rest reading said how low."""
        low = self.tables.value("capacity", "counted_from")
        if charged.finish is not Finish.FULL or not charged.put_in_Ah or not self.cells:
            return
        charges = [cell.best.charge for cell in self.cells]
        start = sum(charges) / len(charges)
        if self.read_here is not None and start <= low and charged.put_in_Ah > 0.0:
            self.counted_Ah.append(charged.put_in_Ah / (1.0 - max(start, 0.0)))

    def _measured(self, entry: Entry, measured: PackMeasured) -> None:
        if measured.resistances_ohm and measured.temperature_degC is not None:
            self.readings.append(
                CellReading(
                    at=entry.happened_at,
                    cycles=self.cycles.total,
                    resistances_ohm=measured.resistances_ohm,
                    temperature_degC=measured.temperature_degC,
                    instrument=measured.instrument,
                )
            )
        if not measured.rest_V:
            return
        self.rests.append(RestReading(entry.happened_at, measured.rest_V, measured.rested_min))
        rested_s = None if measured.rested_min is None else measured.rested_min * 60.0
        if self.sums and rested_s is not None and rested_s >= self.tables.value("rest", "provisional_s"):
            self._weigh(entry.happened_at, measured, rested_s)

    def _weigh(self, at: datetime, measured: PackMeasured, rested_s: float) -> None:
        """Weigh a rest reading against what was counted."""
        warmth = measured.temperature_degC
        care = self.tables.known_care if self.counted_Ah else self.tables.unknown_care
        read = [
            from_rest(
                cell_V=volts,
                rested_s=rested_s,
                curve=self.tables.curve,
                care=care,
                temperature_K=None if warmth is None else warmth + ZERO_CELSIUS_K,
            )
            for volts in measured.rest_V
        ]
        counted = [cell.counted for cell in self.cells] or [None] * len(read)
        self.cells = tuple(
            _Cell(_weighed(count, one), count) for count, one in zip(counted, read, strict=False)
        )
        slope = max(self.tables.curve.charge_per_volt(volts) for volts in measured.rest_V)
        self._learn_drain(at, sum(one.charge for one in read) / len(read), slope * care.meter_V)

    def _learn_drain(self, at: datetime, charge: float, meter: float) -> None:
        """Two rest readings of a pack that stood plugged in tell what its car draws with the switch off.

        `meter` is the share of charge that the meter may be wrong by, at each of the two readings.
        """
        before, self.read_here = self.read_here, (at, charge)
        standing = self.stands is Stands.PLUGGED_SWITCH_OFF and self.car is not None
        if not standing or before is None or charge > before[1] or at <= before[0]:
            return
        assert self.car is not None
        apart_s = (at - before[0]).total_seconds()
        likely_A = drain_between(
            charge_then=before[1],
            charge_now=charge,
            apart_s=apart_s,
            capacity_C=self.capacity_C.likely,
            self_discharge_per_s=self_discharge_per_s(
                per_month_at_25=self.tables.self_discharge.likely, temperature_K=self._shelf_K()
            ),
        )
        wrong_A = math.sqrt(2.0) * meter * self.capacity_C.likely / apart_s
        self.found_drain_A[self.car] = Band(max(likely_A - wrong_A, 0.0), likely_A, likely_A + wrong_A)

    def _put_away(self, entry: Entry, stands: PackStands) -> None:
        self.stands, self.stands_since = stands.stands, entry.happened_at
        self.car = stands.car
        self.shelf_degC = stands.shelf_degC
        if self.read_here is not None and (entry.happened_at - self.read_here[0]).total_seconds() > AH_C:
            self.read_here = None  # it stood otherwise since that reading

    def _moved_away(self, car: UUID | None) -> None:
        self.stands, self.stands_since = None, None
        self.car, self.shelf_degC, self.read_here = car, None, None

    def _count(self, taken_Ah: float) -> None:
        """Counted charge taken out, or put in below zero."""
        share = self.tables.value("rest", "counter_share")
        self._move(_Counted(taken_Ah * AH_C, self.capacity_C, share))

    def _move(self, step: _Step) -> None:
        self.cells = tuple(cell.moved(step) for cell in self.cells)


def _weighed(counted: Estimate | None, read: Estimate) -> Estimate:
    """A rest reading and a count as one estimate; where they disagree its spread covers both."""
    if counted is None:
        return read
    both = combine([counted, read])
    spread = max((both.charge.high - both.charge.low) / 4.0, min(counted.sd, read.sd) / 2.0)
    said = f"{counted.said_by}, and {read.said_by}"
    return Estimate(both.charge.likely, spread, said, both.flags)
