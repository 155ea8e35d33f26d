"""The verdict on a pack from what the journal says: use, gently, rest, retire, do not charge.

Two questions are kept apart. Whether anything stands against the pack is asked of harm, volts and wear, and
decides whether any number about it is shown. Whether it may be charged or driven now also asks for a look
since it was last used, which is never skipped.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from statistics import median

from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.cell_readings import millivolts
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.condition import Condition, Crash, Looks, Past, Sign, Wet, Worn
from snugfast.physics.packs.limits import CellLimits
from snugfast.physics.packs.reasons import Level
from snugfast.physics.packs.rest_voltage import REFERENCE_K
from snugfast.physics.packs.verdict import Verdict, Withheld, judge
from snugfast.records.entries import PackHarm
from snugfast.records.ledger import PackRecord
from snugfast.records.pack_marks import PackMarks, can_be_cleared
from snugfast.usecases.packs.climb import resistance_ratio
from snugfast.usecases.packs.past import PackPast
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.shared.chemistry import chemistry_of

YEAR_DAYS = 365.25
LATELY = 3  # the last counted charges, whose middle is the capacity of today

SIGNS = {
    PackHarm.SWOLLEN: Sign.SWOLLEN,
    PackHarm.PUNCTURED: Sign.PUNCTURED,
    PackHarm.DENTED: Sign.DENTED,
    PackHarm.LEAKING: Sign.LEAKING,
    PackHarm.SMELL: Sign.SMELL,
    PackHarm.HISSING: Sign.HISSING,
    PackHarm.HEATING_BY_ITSELF: Sign.HEATING_BY_ITSELF,
    PackHarm.DAMAGED_PLUG: Sign.DAMAGED_PLUG,
    PackHarm.OTHER: Sign.OTHER,
}
WATER = {
    PackHarm.IMMERSED: Wet.IMMERSED,
    PackHarm.UNDER_WRAP: Wet.UNDER_WRAP,
    PackHarm.IN_PLUG: Wet.IN_PLUG,
}
CRASHES = {PackHarm.EJECTED: Crash.EJECTED, PackHarm.RUN_OVER: Crash.RUN_OVER}
CELLS = {
    PackHarm.OVER_DISCHARGED: Past.OVER_DISCHARGED,
    PackHarm.OVER_CHARGED: Past.OVER_CHARGED,
}


@dataclass(frozen=True, slots=True)
class Judged:
    """Both answers. `standing` decides about numbers, `now` about charging and driving.

    How cold or warm it lies there passes, so it is asked for `now` alone; heat that may have harmed it stays.
    """

    standing: Verdict
    now: Verdict
    looked: bool  # since it was last driven or hurt

    @property
    def withheld(self) -> bool:
        """Whether something stands against the pack: then no number about it is shown."""
        return isinstance(self.standing, Withheld)

    @property
    def damaged(self) -> bool:
        """Whether it is out of use for harm, not for wear."""
        return self.withheld and self.standing.level is Level.DO_NOT_CHARGE


def judged(record: PackRecord, past: PackPast | None, now: datetime) -> Judged:
    """The verdict on a pack as it lies there."""
    looked = looked_since_use(record.marks)
    harm = _signs(record.marks, ())
    warmth_K = _warmth_K(record.marks, now)
    return Judged(
        standing=_judge(record, past, now, Looks(harm), REFERENCE_K, hottest_K=warmth_K),
        now=_judge(record, past, now, Looks(harm) if looked or harm else None, warmth_K),
        looked=looked,
    )


def judged_at_charger(
    record: PackRecord,
    past: PackPast | None,
    now: datetime,
    *,
    found: tuple[PackHarm, ...] | None,
    temperature_degC: float | None,
    volts: tuple[float, ...] = (),
) -> Verdict:
    """The verdict on a pack in the hand: with the look, the warmth and the volts of this moment.

    `found` is None when nobody has looked.
    """
    warmth_K = _warmth_K(record.marks, now) if temperature_degC is None else temperature_degC + ZERO_CELSIUS_K
    harms = found or ()
    looks = None if found is None else Looks(_signs(record.marks, harms))
    return _judge(record, past, now, looks, warmth_K, harms, volts)


def looked_since_use(marks: PackMarks) -> bool:
    """Whether somebody looked at the pack since it was last driven or hurt."""
    strained = marks.strained_at
    return marks.looked_at is not None and (strained is None or marks.looked_at >= strained)


def has_way_back(marks: PackMarks) -> bool:
    """Whether anything that stands against a pack has a way back that can be walked and logged."""
    very_hot = pack_tables().limits.warmth.very_hot_degC
    return bool(can_be_cleared(marks)) or (marks.hottest_degC is not None and marks.hottest_degC > very_hot)


def _judge(
    record: PackRecord,
    past: PackPast | None,
    now: datetime,
    looks: Looks | None,
    temperature_K: float,
    harms: tuple[PackHarm, ...] = (),
    volts: tuple[float, ...] = (),
    hottest_K: float = 0.0,
) -> Verdict:
    marks, tables = record.marks, pack_tables()
    limits, chemistry = tables.limits, chemistry_of(record.chemistry)
    cell = tables.cells.get(chemistry) if chemistry else None
    standing = {*marks.harms, *harms}
    condition = Condition(
        chemistry=chemistry or Chemistry.NICKEL_METAL_HYDRIDE,  # any without volts, for a word nobody knows
        cells=record.cells,
        looks=looks,
        temperature_K=temperature_K,
        hottest_K=max(hottest_K, (marks.hottest_degC or 0.0) + ZERO_CELSIUS_K),
        wet=frozenset(WATER[harm] for harm in standing if harm in WATER),
        crash=frozenset(CRASHES[harm] for harm in standing if harm in CRASHES),
        past=_past_of_cells(standing, marks, cell),
        rest_V=(volts or marks.rest_V) if cell else (),
        lowest_ever_V=marks.lowest_ever_V if cell else None,
        resistances_ohm=past.readings[-1].resistances_ohm if past and past.readings else (),
        worn=_worn(record, past, now),
    )
    return judge(condition, warmth=limits.warmth, wear=limits.wear, cell=cell)


def _signs(marks: PackMarks, more: tuple[PackHarm, ...]) -> frozenset[Sign]:
    return frozenset(SIGNS[harm] for harm in (*marks.harms, *more) if harm in SIGNS)


def _past_of_cells(standing: set[PackHarm], marks: PackMarks, cell: CellLimits | None) -> frozenset[Past]:
    """What once happened to the cells: as it was told, and as their volts say."""
    found = {CELLS[harm] for harm in standing if harm in CELLS}
    if cell is None:
        return frozenset(found)
    if marks.lowest_V is not None and millivolts(marks.lowest_V) < millivolts(cell.empty_V):
        found.add(Past.OVER_DISCHARGED)
    if marks.highest_V is not None and millivolts(marks.highest_V) > millivolts(cell.over_charged_V):
        found.add(Past.OVER_CHARGED)
    return frozenset(found)


def _warmth_K(marks: PackMarks, now: datetime) -> float:
    """How warm the pack is taken to be: as it was read within the hour, else as its shelf."""
    tables = pack_tables()
    shelf = tables.value("shelf", "temperature_degC") if marks.shelf_degC is None else marks.shelf_degC
    warm = shelf
    if marks.warmth_degC is not None and marks.warmth_at is not None:
        ago_s = (now - marks.warmth_at).total_seconds()
        warm = marks.warmth_degC if ago_s < tables.value("shelf", "cooled_s") else shelf
    return warm + ZERO_CELSIUS_K


def _worn(record: PackRecord, past: PackPast | None, now: datetime) -> Worn:
    if past is None:
        return Worn()
    capacity = past.counted_Ah[-LATELY:]
    return Worn(
        resistance_ratio=resistance_ratio(past.readings),
        capacity_share=median(capacity) / record.capacity_Ah if capacity else None,
        age_years=max((now - record.added_at).total_seconds() / 86400.0 / YEAR_DAYS, 0.0),
        cycles=past.cycles,
    )
