"""How warm a pack gets: resistance heat, the heat of the cell's own chemistry, and what the air takes away.

The reversible part is not small: at half charge a lithium cobalt oxide cell adds two fifths to its I²R heat
at a hard current, and more at a soft one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive


@dataclass(frozen=True, slots=True)
class PackBody:
    """A pack as one warm body: cells in series, Ω in all, kg, J/(kg·K), surface m², W/(m²·K) to the air."""

    cells: int
    resistance_ohm: float
    mass_kg: float
    heat_capacity_J_per_kgK: float
    surface_m2: float
    to_air_W_per_m2K: float

    def __post_init__(self) -> None:
        require_positive(
            cells=self.cells,
            resistance_ohm=self.resistance_ohm,
            mass_kg=self.mass_kg,
            heat_capacity_J_per_kgK=self.heat_capacity_J_per_kgK,
            surface_m2=self.surface_m2,
            to_air_W_per_m2K=self.to_air_W_per_m2K,
        )

    @property
    def heat_J_per_K(self) -> float:
        """Heat that warms the pack by one kelvin."""
        return self.mass_kg * self.heat_capacity_J_per_kgK

    @property
    def air_W_per_K(self) -> float:
        """Heat the air takes per kelvin of difference."""
        return self.surface_m2 * self.to_air_W_per_m2K

    @property
    def time_constant_s(self) -> float:
        """How long the pack takes to come most of the way (63 %) to its steady warmth."""
        return self.heat_J_per_K / self.air_W_per_K


@formula(
    source="bernardi-1985",
    where="general energy balance, reversible term",
    temperature_K=Span(263.15, 333.15),
)
def reversible_heat_W(*, current_A: float, cells: int, temperature_K: float, entropy_V_per_K: float) -> float:
    """Heat of the chemistry itself, W: −n·I·T·dU/dT with dU/dT of one cell.

    It is below zero for these cells, so a discharge (current above zero) warms and a charge cools.
    """
    require_positive(cells=cells, temperature_K=temperature_K)
    return -cells * current_A * temperature_K * entropy_V_per_K


def resistive_heat_W(*, current_A: float, resistance_ohm: float) -> float:
    """Heat of the resistance, I²R, W; `current_A` is the rms one."""
    require_positive(resistance_ohm=resistance_ohm)
    return current_A**2 * resistance_ohm


def steady_rise_K(body: PackBody, heat_W: float) -> float:
    """How far above the air the pack settles, K, if it ran for ever."""
    return heat_W / body.air_W_per_K


def rise_after_K(body: PackBody, heat_W: float, for_s: float) -> float:
    """How far above its start (at the air's warmth) the pack is after a while, K."""
    require_not_negative(for_s=for_s)
    return steady_rise_K(body, heat_W) * -math.expm1(-for_s / body.time_constant_s)


def time_to_rise_s(body: PackBody, heat_W: float, rise_K: float) -> float:
    """Seconds until the pack is `rise_K` above the air; infinity when it never is."""
    require_positive(rise_K=rise_K)
    steady = steady_rise_K(body, heat_W)
    return math.inf if steady <= rise_K else -body.time_constant_s * math.log1p(-rise_K / steady)


def current_for_rise_A(
    body: PackBody, *, rise_K: float, temperature_K: float, entropy_V_per_K: float
) -> float:
    """The steady current in A that warms the pack by no more than `rise_K`, however long it runs.

    The positive root of R·I² + n·T·|dU/dT|·I = hA·ΔT.
    """
    require_positive(rise_K=rise_K, temperature_K=temperature_K)
    half = -body.cells * temperature_K * entropy_V_per_K / (2 * body.resistance_ohm)
    return math.sqrt(half**2 + body.air_W_per_K * rise_K / body.resistance_ohm) - half
