"""Ball bearings: the load they carry and how long until the steel tires.

In a car fatigue is hardly ever what ends a bearing: at 20 N and 20 000 turns a minute one of 5 × 10 lasts
thousands of hours on paper. Dirt, water and lost grease end it long before. Ratings are the publisher's own
and differ by up to two times for one size, so whoever hands one in names its publisher.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.validation import check_bore, check_length, require_not_negative, require_positive

_SYSTEM_EXPONENT = 10.0 / 9.0
_MILLION = 1e6
_THRUST_X = 0.56


@dataclass(frozen=True, slots=True)
class BearingSize:
    """Bore, outside diameter and width. Raises ImpossibleInput for sizes swapped or in the wrong unit."""

    bore_m: float
    outer_m: float
    width_m: float

    def __post_init__(self) -> None:
        check_bore(bore_m=self.bore_m, outer_diameter_m=self.outer_m)
        check_length("width", self.width_m)

    def __str__(self) -> str:
        return " × ".join(f"{size_m * 1e3:.5g}" for size_m in (self.bore_m, self.outer_m, self.width_m))


@formula(
    source="rolling-bearings-handbook",
    where="eq. 5.5, p. A25; load ratings in section 3 of ball-and-roller-catalogue",
)
def basic_life(*, rating_N: float, load_N: float) -> float:
    """How many turns nine of ten bearings outlast, L₁₀ = (C/P)³ million, for balls. Turns."""
    require_positive(rating_N=rating_N, load_N=load_N)
    return _MILLION * (rating_N / load_N) ** 3


@formula(source="rolling-bearings-handbook", where="L10h = 10⁶/(60·n)·L10")
def life_at_speed(*, life_turns: float, speed_rad_s: float) -> float:
    """The same life as running time at a steady speed. Seconds."""
    require_positive(speed_rad_s=speed_rad_s)
    return life_turns * 2.0 * math.pi / speed_rad_s


@formula(source="iso-281-explained", where="P = X·Fr + Y·Fa; V as in shigley-10-problems 11-20")
def equivalent_load(
    *, radial_N: float, axial_N: float, radial_factor: float, axial_factor: float, ring_factor: float = 1.0
) -> float:
    """The radial load that tires the bearing as much as radial and axial together, X·V·Fr + Y·Fa. Newtons.

    `ring_factor` V is 1, or 1.2 in older books where the outer ring turns.
    """
    require_not_negative(radial_N=radial_N, axial_N=axial_N)
    return radial_factor * ring_factor * radial_N + axial_factor * axial_N


@dataclass(frozen=True, slots=True)
class ThrustRow:
    """One row of the factor table: relative axial load f₀·Fa/C₀, its limit e, its axial factor Y."""

    relative_axial_load: float
    limit: float
    axial_factor: float


@dataclass(frozen=True, slots=True)
class LoadFactors:
    """Radial and axial factor, X and Y, with the limit e that decided them."""

    radial_factor: float
    axial_factor: float
    limit: float


def load_factors(
    table: Sequence[ThrustRow],
    *,
    radial_N: float,
    axial_N: float,
    static_rating_N: float,
    geometry_factor: float,
    ring_factor: float = 1.0,
) -> LoadFactors:
    """X and Y of a single-row deep-groove bearing of normal clearance, straight between the rows.

    Axial load up to e times the radial costs nothing (X 1, Y 0); beyond, X is 0.56. `geometry_factor` is f₀.
    """
    require_positive(radial_N=radial_N, static_rating_N=static_rating_N)
    relative = geometry_factor * axial_N / static_rating_N
    limit, axial_factor = _between(table, relative)
    if axial_N <= limit * ring_factor * radial_N:
        return LoadFactors(1.0, 0.0, limit)
    return LoadFactors(_THRUST_X, axial_factor, limit)


def _between(table: Sequence[ThrustRow], relative: float) -> tuple[float, float]:
    """Limit and axial factor at a relative load; the end rows are kept beyond the ends."""
    if relative <= table[0].relative_axial_load:
        return table[0].limit, table[0].axial_factor
    for low, high in pairwise(table):
        if relative <= high.relative_axial_load:
            share = (relative - low.relative_axial_load) / (
                high.relative_axial_load - low.relative_axial_load
            )
            return (
                low.limit + share * (high.limit - low.limit),
                low.axial_factor + share * (high.axial_factor - low.axial_factor),
            )
    return table[-1].limit, table[-1].axial_factor


class Edition(Enum):
    """Which ISO 281: they disagree above 90 %, so the edition is named with the figure."""

    ISO_281_1990 = 1990
    ISO_281_2007 = 2007


@formula(source="bearing-a1-tables", where="Weibull form of the a1 tables", reliability=Span(0.90, 0.9995))
def reliability_factor(*, reliability: float, edition: Edition) -> float:
    """What share of the basic life is left when more than nine in ten are to survive, a₁.

    (ln(1/R)/ln(1/0.9))^⅔, in the edition of 2007 times 0.95 plus 0.05.
    """
    if not 0.0 < reliability < 1.0:
        raise ImpossibleInput(f"A reliability of {reliability:g} cannot be.", "Give a share such as 0.95.")
    weibull = math.pow(math.log(reliability) / math.log(0.9), 2.0 / 3.0)
    return weibull if edition is Edition.ISO_281_1990 else 0.95 * weibull + 0.05


@formula(source="ball-and-roller-catalogue", where="eq. 3.3")
def system_life(lives: Sequence[float]) -> float:
    """How long until the first of several bearings tires, L = (ΣL_i^−e)^(−1/e), e = 10/9. Same unit."""
    require_positive(**{f"life {number}": life for number, life in enumerate(lives, start=1)})
    return math.pow(math.fsum(math.pow(life, -_SYSTEM_EXPONENT) for life in lives), -1.0 / _SYSTEM_EXPONENT)


@formula(source="shigley-10-problems", where="problem 11-39")
def mean_load(loads_N: Sequence[float], turns: Sequence[float]) -> float:
    """The steady load that tires as much as a duty of several, each for its turns, (Σφ·P³)^⅓. Newtons."""
    total = math.fsum(turns)
    require_positive(turns=total)
    cubes = math.fsum(share * load_N**3 for load_N, share in zip(loads_N, turns, strict=True))
    return math.cbrt(cubes / total)


LONGEST_TOLD_h = 10_000.0  # no car is driven longer; a finer figure says nothing


def fatigue_sentence(life_s: float) -> str:
    """The basic life in one line, and why it is not what ends the bearing."""
    hours = life_s / 3600.0
    if hours > LONGEST_TOLD_h:
        return (
            f"Over {LONGEST_TOLD_h:,.0f} hours of running on paper: dirt, water and lost grease end it first."
        )
    return f"On paper {hours:,.0f} hours of running: dirt, water and lost grease end it long before fatigue."
