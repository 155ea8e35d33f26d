"""How much charge is left in a cell, with a band, from what was counted, read at rest, and how long it stood.

Each kind of evidence gives an estimate with a spread; they are weighed by how sharp each is. Where they
disagree the band covers all of them and says so. A value beyond empty or full is never shown without a flag.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import BadInput, ImpossibleInput
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.drain import self_discharge_per_s
from snugfast.physics.packs.rest_voltage import RestVoltageCurve
from snugfast.physics.validation import require_not_negative, require_positive

# A reading taken before the cell has settled is trusted half as far; ours, no source.
PROVISIONAL_FACTOR = 2.0
# When the warmth at the reading was not noted, it may have been this far from 25 °C.
UNKNOWN_WARMTH_K = 20.0


class Flag(Enum):
    """What a person must know beside the number."""

    BELOW_EMPTY = "below empty: the cell is over-discharged, or the count has drifted"
    ABOVE_FULL = "above full: the cell is over-charged, or the count has drifted"
    PROVISIONAL = "read before the pack had rested an hour"
    DISAGREE = "what was counted and what was read disagree; the band covers both"


@dataclass(frozen=True, slots=True)
class Estimate:
    """What one kind of evidence says: a charge, its standard deviation, and flags.

    The charge may stand outside 0 to 1 here, as a drifted count does; `combine` flags it.
    """

    charge: float
    sd: float
    said_by: str
    flags: frozenset[Flag] = frozenset()

    def __post_init__(self) -> None:
        if not math.isfinite(self.charge):
            raise ImpossibleInput("A charge is a number.", "Look at what was entered.")
        require_positive(sd=self.sd)


@dataclass(frozen=True, slots=True)
class ReadingCare:
    """How far a rest reading is trusted: waiting times in s, half widths of the table and of the meter."""

    settled_s: float
    provisional_s: float
    table_charge: float
    meter_V: float


@dataclass(frozen=True, slots=True)
class ChargeLeft:
    """Charge of one cell, 0 to 1, as a band of two standard deviations, with flags and what said so."""

    charge: Band
    flags: frozenset[Flag]
    estimates: tuple[Estimate, ...]

    def __post_init__(self) -> None:
        if not 0.0 <= self.charge.low <= self.charge.high <= 1.0:
            raise ImpossibleInput("Charge left lies between 0 and 1.", "Combine estimates to get one.")


def from_rest(
    *,
    cell_V: float,
    rested_s: float,
    curve: RestVoltageCurve,
    care: ReadingCare,
    temperature_K: float | None = None,
) -> Estimate:
    """What a rested cell's volts say about its charge.

    Spread: how far published cells differ, the meter, and the warmth when it was not noted. Raises BadInput
    before the shortest rest, when volts still say more about the last load than about the charge.
    """
    require_not_negative(rested_s=rested_s, cell_V=cell_V)
    require_rest(rested_s=rested_s, care=care)
    charge, flags = _charge_and_flag(cell_V, curve, temperature_K)
    per_volt = curve.charge_per_volt(cell_V)
    unknown_V = 0.0 if temperature_K is not None else UNKNOWN_WARMTH_K * curve.entropy_slope(charge)
    half_width = math.hypot(care.table_charge, per_volt * care.meter_V, per_volt * unknown_V)
    if rested_s < care.settled_s:
        half_width *= PROVISIONAL_FACTOR
        flags |= {Flag.PROVISIONAL}
    return Estimate(charge, half_width / 2, "rest voltage", flags)


def require_rest(*, rested_s: float, care: ReadingCare) -> None:
    """Refuse volts that still say more about the last load than about the cell. Raises BadInput."""
    if rested_s < care.provisional_s:
        raise BadInput(
            f"The pack has rested {rested_s / 60:.0f} min; its volts do not show its charge yet.",
            f"Leave it unplugged and read again after {care.settled_s / 60:.0f} min.",
        )


def from_count(*, start: Estimate, taken_C: float, capacity_C: Band, counter_share: float) -> Estimate:
    """What is left after a counted charge was taken out (or put in, below zero).

    Spread: that of the start, of the counter, and of the capacity. Charges are shares of the capacity.
    """
    require_positive(capacity_C=capacity_C.low)
    require_not_negative(counter_share=counter_share)
    share = taken_C / capacity_C.likely
    counted_sd = abs(share) * counter_share / 2
    capacity_sd = abs(taken_C) * (1 / capacity_C.low - 1 / capacity_C.high) / 4
    sd = math.hypot(start.sd, counted_sd, capacity_sd)
    return Estimate(start.charge - share, sd, f"{start.said_by}, then counted charge", start.flags)


def from_standing(
    *,
    start: Estimate,
    stood_s: float,
    drain_A: Band,
    capacity_C: Band,
    self_discharge: Band,
    temperature_K: float,
) -> Estimate:
    """What is left after a pack stood for a while with this drain; `self_discharge` per month at 25 °C.

    Raises BadInput when time runs backwards.
    """
    if stood_s < 0:
        raise BadInput("The pack cannot have stood for less than no time.", "Put the moments in order.")
    require_positive(capacity_C=capacity_C.low)

    least, likely, most = (
        stood_s * (drain / capacity + self_discharge_per_s(per_month_at_25=own, temperature_K=temperature_K))
        for drain, capacity, own in zip(
            drain_A.ends, reversed(capacity_C.ends), self_discharge.ends, strict=True
        )
    )
    sd = math.hypot(start.sd, (most - least) / 4)
    return Estimate(start.charge - likely, sd, f"{start.said_by}, then time", start.flags)


def combine(estimates: Sequence[Estimate]) -> ChargeLeft:
    """All evidence about one cell as one charge with a band.

    Each estimate weighs by the inverse of its variance. Estimates further apart than their spreads allow are
    flagged, and the band then reaches over all of them. Raises BadInput when there is nothing to go by.
    """
    if not estimates:
        raise BadInput("Nothing says how full this cell is.", "Read it after an hour at rest.")
    weights = [1 / estimate.sd**2 for estimate in estimates]
    mean = sum(w * e.charge for w, e in zip(weights, estimates, strict=True)) / sum(weights)
    half = 2 / math.sqrt(sum(weights))
    low, high = mean - half, mean + half
    flags = frozenset[Flag]().union(*(estimate.flags for estimate in estimates))
    if _disagree(estimates):
        flags |= {Flag.DISAGREE}
        low = min(low, *(e.charge - 2 * e.sd for e in estimates))
        high = max(high, *(e.charge + 2 * e.sd for e in estimates))
    if mean < 0.0:
        flags |= {Flag.BELOW_EMPTY}
    if mean > 1.0:
        flags |= {Flag.ABOVE_FULL}
    return ChargeLeft(Band(*(min(max(end, 0.0), 1.0) for end in (low, mean, high))), flags, tuple(estimates))


def lowest(cells: Sequence[ChargeLeft]) -> ChargeLeft:
    """The cell that sets how long the pack lasts: the one whose early end is lowest."""
    if not cells:
        raise BadInput("No cell was read.", "Read every cell of the pack.")
    return min(cells, key=lambda cell: (cell.charge.low, cell.charge.likely))


def _charge_and_flag(
    cell_V: float, curve: RestVoltageCurve, temperature_K: float | None
) -> tuple[float, frozenset[Flag]]:
    warmth = {} if temperature_K is None else {"temperature_K": temperature_K}
    empty_V, full_V = curve.ends_V(**warmth)
    if cell_V < empty_V:
        return 0.0, frozenset({Flag.BELOW_EMPTY})
    if cell_V > full_V:
        return 1.0, frozenset({Flag.ABOVE_FULL})
    return curve.charge_at(cell_V, **warmth), frozenset()


def _disagree(estimates: Sequence[Estimate]) -> bool:
    return any(
        abs(one.charge - other.charge) > 2 * math.hypot(one.sd, other.sd)
        for place, one in enumerate(estimates)
        for other in estimates[place + 1 :]
    )
