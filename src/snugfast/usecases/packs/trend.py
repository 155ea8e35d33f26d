"""How the resistance of a pack climbs, cell by cell, each instrument compared only with itself."""

from __future__ import annotations

import math
from dataclasses import dataclass
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.resistance_trend import (
    Reading,
    Trend,
    at_25_degC,
    climb,
    resistance_trend,
    weak_cells,
)
from snugfast.physics.packs.verdict import Withheld, require_cleared
from snugfast.usecases.packs.past import CellReading
from snugfast.usecases.packs.state import PackSeen, pack_now
from snugfast.usecases.packs.tables import Words, pack_tables
from snugfast.usecases.shared.workshop import Workshop

CLIMB = Origin(climb.mark.source, climb.mark.where)


@dataclass(frozen=True, slots=True)
class CellTrend:
    """One cell: where it began, how fast it climbs, and after how many runs it crosses the lines.

    Ω at 25 °C, as it was last read too, and runs. The crossings are None where no climb is sure; an end of
    None is never.
    """

    place: int
    as_new: Figure
    now: float
    growth: Figure
    climbs: bool
    sureness: str
    watch_at: Figure | None
    hard_driving_until: Figure | None
    done_at: Figure | None


@dataclass(frozen=True, slots=True)
class WeakShown:
    """A cell that resists far more than the middle one of its pack."""

    place: int
    ratio: float


@dataclass(frozen=True, slots=True)
class PackTrend:
    """The trend of one pack by one instrument. `waiting` says why there is none yet."""

    pack: UUID
    pack_name: str
    instrument: str
    others: tuple[str, ...]
    runs: int
    cycles_from_charges: float  # by charges that no run explains; the climb counts them with the runs
    readings: tuple[CellReading, ...]
    cells: tuple[CellTrend, ...]
    weak: tuple[WeakShown, ...]
    waiting: str
    notes: tuple[Words, ...]

    @property
    def weakest(self) -> CellTrend | None:
        """The cell that will be done first; the one that has climbed most when none surely climbs."""
        climbing = [cell for cell in self.cells if cell.hard_driving_until is not None]
        if climbing:
            return min(
                climbing, key=lambda cell: cell.hard_driving_until.value if cell.hard_driving_until else 0
            )
        return max(self.cells, key=lambda cell: cell.now / cell.as_new.value, default=None)


def pack_trend(workshop: Workshop, pack: str | UUID, *, instrument: str = "") -> PackTrend:
    """The trend of a pack, by the instrument that read it most or by one that is named.

    Raises RefusedAction for a pack that is damaged, NotKnown for an instrument that never read it.
    """
    return trend_of(pack_now(workshop, pack), instrument=instrument)


def trend_of(seen: PackSeen, *, instrument: str = "") -> PackTrend:
    """The trend of a pack that was looked up already."""
    if seen.judged.damaged:
        require_cleared(seen.judged.standing)
    readings = seen.past.readings
    names = sorted(
        {r.instrument for r in readings}, key=lambda name: -sum(r.instrument == name for r in readings)
    )
    chosen = _chosen(seen.record.name, names, instrument)
    mine = tuple(reading for reading in readings if reading.instrument == chosen)
    cells, waiting = _cells(mine, seen)
    weak = weak_cells(mine[-1].resistances_ohm, wear=pack_tables().limits.wear) if _many(mine) else ()
    tables = pack_tables()
    return PackTrend(
        pack=seen.record.id,
        pack_name=seen.record.name,
        instrument=chosen,
        others=tuple(name for name in names if name != chosen),
        runs=seen.past.runs,
        cycles_from_charges=seen.past.cycles_from_charges,
        readings=mine,
        cells=cells,
        weak=tuple(WeakShown(cell.place, cell.ratio) for cell in weak),
        waiting=waiting,
        notes=(
            tables.instruments["balance_charger_resistance"],
            tables.instruments["bench_meter_1kHz"],
        ),
    )


def _chosen(pack: str, names: list[str], wanted: str) -> str:
    if not wanted.strip():
        return names[0] if names else ""
    for name in names:
        if name.casefold() == wanted.strip().casefold():
            return name
    listed = ", ".join(names)
    raise NotKnown(
        f"“{wanted}” never read {pack}.", f"Read by: {listed}." if listed else "Nothing has read it yet."
    )


def _many(readings: tuple[CellReading, ...]) -> bool:
    return bool(readings) and len(readings[-1].resistances_ohm) > 1


def _cells(readings: tuple[CellReading, ...], seen: PackSeen) -> tuple[tuple[CellTrend, ...], str]:
    if not readings:
        return (), "Nobody has read its resistances yet: six readings, over several outings, make a trend."
    tables = pack_tables()
    told = []
    hides = isinstance(seen.judged.standing, Withheld)  # no time to drive on is told of a pack that is done
    for place in range(len(readings[0].resistances_ohm)):
        series = [
            Reading(
                cycles=reading.cycles,
                resistance_ohm=reading.resistances_ohm[place],
                temperature_K=reading.temperature_degC + ZERO_CELSIUS_K,
                instrument=reading.instrument,
            )
            for reading in readings
        ]
        try:
            trend = resistance_trend(
                series,
                warmth=tables.trend_warmth,
                activation_J_per_mol=tables.value("resistance", "activation_J_per_mol"),
                wear=tables.limits.wear,
            )
        except BadInput as early:
            return (), f"{early.sentence} {early.way_out}"
        now_ohm = at_25_degC(
            series[-1], activation_J_per_mol=tables.value("resistance", "activation_J_per_mol")
        )
        told.append(_cell(place + 1, now_ohm, trend, hides))
    return tuple(told), ""


def _cell(place: int, now_ohm: float, trend: Trend, hides: bool) -> CellTrend:
    sure = f"τ = {trend.tau:.2f}, p = {trend.p:.2g}, {trend.used} readings"
    if trend.corrected:
        sure += f", {trend.corrected} of them brought to 25 °C from afar"
    if trend.left_out:
        sure += f", {trend.left_out} left out as too cold"
    return CellTrend(
        place=place,
        as_new=Figure(trend.as_new_ohm, "Ω", origins=(CLIMB,)),
        now=now_ohm,
        growth=Figure(
            trend.growth_ohm.likely, "Ω per run", trend.growth_ohm.low, trend.growth_ohm.high, (CLIMB,)
        ),
        climbs=trend.climbs,
        sureness=sure,
        watch_at=None if hides else _runs(trend.watch_at),
        hard_driving_until=None if hides else _runs(trend.hard_driving_until),
        done_at=None if hides else _runs(trend.done_at),
    )


def _runs(crossing: Band | None) -> Figure | None:
    if crossing is None or not math.isfinite(crossing.likely):
        return None
    high = crossing.high if math.isfinite(crossing.high) else None
    return Figure(crossing.likely, "runs", crossing.low, high, (CLIMB,))
