"""How a pack's resistance climbs, and when it will be done for hard driving and done altogether.

One instrument is compared only with itself, at 25 °C. One wild reading does not bend the line.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from statistics import median

from snugfast.core.errors import BadInput
from snugfast.core.marks import formula
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.cells import resistance_factor
from snugfast.physics.packs.limits import WearLimits
from snugfast.physics.validation import require_positive

LEAST_READINGS = 6
SURE_ENOUGH_P = 0.05
CONFIDENCE = 0.95


class Worth(Enum):
    """What a reading's warmth makes it worth."""

    COMPARED = "compared as it is, brought to 25 °C"
    CORRECTED = "taken cold or warm: brought to 25 °C and marked"
    LEFT_OUT = "taken too cold to compare"


@dataclass(frozen=True, slots=True)
class TrendWarmth:
    """Between which temperatures readings are compared, and from which they are corrected at all."""

    compared_from_degC: float
    compared_to_degC: float
    corrected_from_degC: float

    def worth(self, temperature_K: float) -> Worth:
        """What a reading at this warmth is worth."""
        degC = temperature_K - ZERO_CELSIUS_K
        if degC < self.corrected_from_degC:
            return Worth.LEFT_OUT
        if self.compared_from_degC <= degC <= self.compared_to_degC:
            return Worth.COMPARED
        return Worth.CORRECTED


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of one cell: packs run so far, Ω, warmth, and the instrument it came from."""

    cycles: float
    resistance_ohm: float
    temperature_K: float
    instrument: str

    def __post_init__(self) -> None:
        require_positive(resistance_ohm=self.resistance_ohm, temperature_K=self.temperature_K)


@dataclass(frozen=True, slots=True)
class Trend:
    """The line through the readings at 25 °C.

    `growth_ohm` per cycle with its 95 % band, `as_new_ohm` where the line starts, `tau` and `p` how sure the
    climb is. The crossings count cycles from the start; None without a sure climb. Infinity is never.
    """

    as_new_ohm: float
    growth_ohm: Band
    tau: float
    p: float
    used: int
    left_out: int
    corrected: int
    climbs: bool
    watch_at: Band | None
    hard_driving_until: Band | None
    done_at: Band | None


@dataclass(frozen=True, slots=True)
class WeakCell:
    """A cell that resists more than its pack's middle cell: its place from 1, and the ratio."""

    place: int
    ratio: float


def at_25_degC(reading: Reading, *, activation_J_per_mol: float) -> float:
    """The resistance this cell would have shown at 25 °C, Ω."""
    return reading.resistance_ohm / resistance_factor(
        temperature_K=reading.temperature_K, activation_J_per_mol=activation_J_per_mol
    )


@formula(source="sen-1968", where="slope as the median of pairwise slopes, with its confidence band")
def climb(*, cycles: Sequence[float], resistance_ohm: Sequence[float]) -> tuple[float, Band]:
    """Where the line starts, Ω, and its slope per cycle as a 95 % band; a wild reading hardly moves it."""
    from scipy import stats  # slow to import, and a verdict on a pack does without it

    line = stats.theilslopes(resistance_ohm, cycles, alpha=CONFIDENCE)
    return float(line.intercept), Band(float(line.low_slope), float(line.slope), float(line.high_slope))


def resistance_trend(
    readings: Sequence[Reading], *, warmth: TrendWarmth, activation_J_per_mol: float, wear: WearLimits
) -> Trend:
    """The climb of one cell's resistance and when it crosses the lines of the wear table.

    A climb is announced only when Kendall's τ is above zero with p below 0.05. Raises BadInput when
    instruments are mixed or fewer than six readings remain that can be compared.
    """
    instruments = sorted({reading.instrument for reading in readings})
    if len(instruments) > 1:
        raise BadInput(
            f"These readings come from different instruments: {', '.join(instruments)}.",
            "Compare one instrument only with itself.",
        )
    worths = [warmth.worth(reading.temperature_K) for reading in readings]
    kept = [r for r, worth in zip(readings, worths, strict=True) if worth is not Worth.LEFT_OUT]
    if len(kept) < LEAST_READINGS or len({reading.cycles for reading in kept}) < 2:
        raise BadInput(
            f"{_many(len(kept))} can be compared; a trend needs {LEAST_READINGS}, not all at once.",
            "Measure again over the next outings, with the pack at room temperature.",
        )
    cycles = [reading.cycles for reading in kept]
    at_25 = [at_25_degC(reading, activation_J_per_mol=activation_J_per_mol) for reading in kept]
    start, growth = climb(cycles=cycles, resistance_ohm=at_25)
    from scipy import stats

    sureness = stats.kendalltau(cycles, at_25)
    climbs = bool(sureness.statistic > 0 and sureness.pvalue < SURE_ENOUGH_P)
    return Trend(
        as_new_ohm=start,
        growth_ohm=growth,
        tau=float(sureness.statistic),
        p=float(sureness.pvalue),
        used=len(kept),
        left_out=len(readings) - len(kept),
        corrected=worths.count(Worth.CORRECTED),
        climbs=climbs,
        watch_at=_crossing(wear.watch_resistance_ratio, start, growth) if climbs else None,
        hard_driving_until=_crossing(wear.gentle_resistance_ratio, start, growth) if climbs else None,
        done_at=_crossing(wear.done_resistance_ratio, start, growth) if climbs else None,
    )


def weak_cells(resistances_ohm: Sequence[float], *, wear: WearLimits) -> tuple[WeakCell, ...]:
    """Cells whose resistance, read together, is far above the middle cell's; weakest first.

    Raises BadInput for a single reading, ImpossibleInput for one that is not above zero.
    """
    if len(resistances_ohm) < 2:
        raise BadInput("One cell has no others to be compared with.", "Read every cell of the pack.")
    require_positive(resistance_ohm=min(resistances_ohm))
    middle = median(resistances_ohm)
    ratios = (WeakCell(place, ohm / middle) for place, ohm in enumerate(resistances_ohm, start=1))
    return tuple(
        sorted((cell for cell in ratios if cell.ratio > wear.weak_cell_ratio), key=lambda cell: -cell.ratio)
    )


def _many(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"


def _crossing(ratio: float, start: float, growth: Band) -> Band:
    """Cycles until the line reaches `ratio` times its start; the steep end of the band comes first."""
    rise = (ratio - 1.0) * start
    return Band(*(rise / slope if slope > 0 else math.inf for slope in reversed(growth.ends)))
