"""Tyres: how far one turn goes, and how a soft tyre grows with speed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput


@dataclass(frozen=True, slots=True)
class Tyre:
    """A tyre under load. `growth_s2_m2` is density per stiffness; `growth_bound` is what the belt allows."""

    radius_m: float
    growth_s2_m2: float = 0.0
    growth_bound: float = 0.0

    def __post_init__(self) -> None:
        if self.radius_m <= 0.0:
            raise ImpossibleInput("A tyre has to have a size.", "Give its diameter, as measured on the car.")
        if self.growth_s2_m2 < 0.0 or self.growth_bound < 0.0:
            raise ImpossibleInput("A tyre does not shrink as it spins.", "Give zero for a belted tyre.")


def rolling_radius(tyre: Tyre, speed_m_s: float) -> tuple[float, float]:
    """The radius at a speed and its slope, in m and s.

    Follows ρv²/E while the growth is small and levels out at the bound: a belt or the carcass holds it.
    """
    if tyre.growth_bound <= 0.0 or tyre.growth_s2_m2 <= 0.0:
        return tyre.radius_m, 0.0
    level = math.tanh(tyre.growth_s2_m2 * speed_m_s**2 / tyre.growth_bound)
    radius_m = tyre.radius_m * (1.0 + tyre.growth_bound * level)
    slope_s = tyre.radius_m * 2.0 * tyre.growth_s2_m2 * speed_m_s * (1.0 - level * level)
    return radius_m, slope_s


def rollout(*, radius_m: float, final_drive: float) -> float:
    """How far the car goes for one turn of the motor, in m."""
    return 2.0 * math.pi * radius_m / final_drive
