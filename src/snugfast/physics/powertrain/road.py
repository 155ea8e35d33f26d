"""The road: what holds the car back and how hard its tyres can push."""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.core.units import ZERO_CELSIUS_K

STANDARD_GRAVITY_m_s2 = 9.80665
STOP_SPEED_m_s = 0.05
"""Speed over which rolling resistance comes up from rest, so that a stop needs no special case."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What lies under the tyres: rolling resistance coefficient, its rise with speed, grip, roughness.

    `unsteady` is how much more heat winding and bridge make than a steady push would, as a share: wheels hop,
    spin up and bite again, and heat goes with the mean square of the current (its variance over its mean
    squared). It acts as resistance.
    """

    rolling: float
    grip: float
    rolling_per_speed_s_m: float = 0.0
    unsteady: float = 0.0

    def __post_init__(self) -> None:
        if self.grip <= 0.0 or min(self.rolling, self.rolling_per_speed_s_m, self.unsteady) < 0.0:
            raise ImpossibleInput(
                "Ground has some grip and does not push the car along.", "Check the ground's numbers."
            )


SEA_LEVEL_Pa = 101_325.0
DRY_AIR_J_kgK = 287.05


@formula(
    source="ideal-gas-air",
    where="ρ = p/(R·T) for dry air at sea level",
    temperature_degC=Span(-30, 50),
)
def air_density(*, temperature_degC: float, pressure_Pa: float = SEA_LEVEL_Pa) -> float:
    """Density of dry air in kg/m³: cold air is denser and holds a fast car back more."""
    return pressure_Pa / (DRY_AIR_J_kgK * (temperature_degC + ZERO_CELSIUS_K))


@dataclass(frozen=True, slots=True)
class Air:
    """The air the car runs in. A head wind is positive."""

    temperature_degC: float = 20.0
    density_kg_m3: float = 1.20
    head_wind_m_s: float = 0.0

    @classmethod
    def still(cls, temperature_degC: float) -> Air:
        """Air without wind, as dense as it is at that temperature."""
        return cls(temperature_degC, air_density(temperature_degC=temperature_degC))


def turning_sign(speed_m_s: float) -> float:
    """The direction of motion, smoothed through rest: −1 to 1."""
    return math.tanh(speed_m_s / STOP_SPEED_m_s)


@formula(source="rolling-resistance-tables", where="coefficient times load")
def rolling_force(
    *, load_N: float, rolling: float, rolling_per_speed_s_m: float, speed_m_s: float, turning: float
) -> float:
    """Force that rolling costs, in N, against the motion."""
    return load_N * (rolling + rolling_per_speed_s_m * abs(speed_m_s)) * turning


@formula(source="road-load-rule", where="aerodynamic term", speed_m_s=Span(0, 40))
def air_force(*, density_kg_m3: float, drag_area_m2: float, speed_m_s: float, head_wind_m_s: float) -> float:
    """Force that the air costs, in N."""
    through_air_m_s = speed_m_s + head_wind_m_s
    return 0.5 * density_kg_m3 * drag_area_m2 * through_air_m_s * abs(through_air_m_s)


def slope_forces(*, mass_kg: float, grade: float, gravity_m_s2: float) -> tuple[float, float]:
    """Load on the ground and pull down the slope, in N. `grade` is rise per run: 0.1 for 10 %."""
    angle = math.atan(grade)
    weight_N = mass_kg * gravity_m_s2
    return weight_N * math.cos(angle), weight_N * math.sin(angle)


@formula(source="ground-vehicle-theory", where="axle load from the moment balance", grip=Span(0.1, 1.2))
def driven_share(
    *, static_share: float, grip: float, height_m: float, wheelbase_m: float, rear: bool
) -> float:
    """Share of the weight that presses the driven axle while it pushes at the limit of grip.

    Pushing moves load to the rear: a rear-driven car gains by it, a front-driven one loses.
    """
    transfer = grip * height_m / wheelbase_m
    if rear:
        if transfer >= 1.0:
            raise ImpossibleInput(
                "This car would lift its front wheels and go over.", "Check height and wheelbase."
            )
        return min(static_share / (1.0 - transfer), 1.0)
    return static_share / (1.0 + transfer)


@formula(source="equivalent-mass", where="equivalent mass from kinetic energy")
def moving_mass(
    *, mass_kg: float, inertia_at_wheel_kgm2: float, speed_m_s: float, radius_m: float, radius_slope_s: float
) -> float:
    """Mass the push has to move, spinning parts included, in kg. Consistent in energy when the tyre grows."""
    stretch = 1.0 - speed_m_s * radius_slope_s / radius_m
    return mass_kg + inertia_at_wheel_kgm2 * stretch / radius_m**2
