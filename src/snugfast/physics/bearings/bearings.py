"""Ball bearings: the load they carry and how long until the steel tires.

In a car fatigue is hardly ever what ends a bearing: at 20 N and 20 000 turns a minute one of 5 × 10 lasts
thousands of hours on paper. Dirt, water and lost grease end it long before. Ratings are the publisher's own
and differ by up to two times for one size, so whoever hands one in names its publisher.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.marks import formula
from snugfast.physics.validation import check_bore, check_length, require_positive

_MILLION = 1e6


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


LONGEST_TOLD_h = 10_000.0  # no car is driven longer; a finer figure says nothing


def fatigue_sentence(life_s: float) -> str:
    """The basic life in one line, and why it is not what ends the bearing."""
    hours = life_s / 3600.0
    if hours > LONGEST_TOLD_h:
        return (
            f"Over {LONGEST_TOLD_h:,.0f} hours of running on paper: dirt, water and lost grease end it first."
        )
    return f"On paper {hours:,.0f} hours of running: dirt, water and lost grease end it long before fatigue."
