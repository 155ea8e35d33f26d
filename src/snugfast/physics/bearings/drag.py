"""What a bearing drags, the heat of it, and whether the plastic around it stays hard.

At light load the seals drag ten to a hundred times as much as the balls, so two wheels are only compared by
their free spin when their bearings are sealed alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive


@dataclass(frozen=True, slots=True)
class SealRow:
    """Constants of one kind of contact seal, for millimetres and newton millimetres as published."""

    exponent: float
    factor: float
    offset_Nmm: float


@formula(source="bearing-general-catalogue", where="p. 90 and table p. 96", lip_diameter_m=Span(5e-3, 50e-3))
def seal_drag(*, lip_diameter_m: float, seal: SealRow, seals: int = 2) -> float:
    """What contact seals drag, K₁·d_s^β + K₂ for both, half of it for one. Newton metres."""
    require_positive(lip_diameter_m=lip_diameter_m)
    both_Nmm = seal.factor * math.pow(lip_diameter_m * 1e3, seal.exponent) + seal.offset_Nmm
    return both_Nmm * 1e-3 * seals / 2.0


@formula(
    source="openstax-university-physics-1",
    where="ch. 10 key equations, P = τω; bearing-general-catalogue p. 103",
)
def drag_power(*, torque_Nm: float, speed_rad_s: float) -> float:
    """The heat a dragging bearing makes, torque times speed. Watts."""
    return torque_Nm * speed_rad_s


@formula(source="dry-friction", where="torque of a sliding journal, μ·F·r")
def seized_drag(*, load_N: float, sliding_diameter_m: float, friction: float) -> float:
    """What a seized bearing drags once its ring slides on the axle or in the hub, μ·F·d/2. Newton metres."""
    require_not_negative(load_N=load_N, friction=friction)
    require_positive(sliding_diameter_m=sliding_diameter_m)
    return friction * load_N * sliding_diameter_m / 2.0


@formula(source="newton-cooling", where="steady state")
def steady_temperature(*, ambient_degC: float, power_W: float, thermal_resistance_K_W: float) -> float:
    """Where a hub settles when it is driven long enough: air plus power times resistance. Degrees Celsius."""
    require_positive(thermal_resistance_K_W=thermal_resistance_K_W)
    return ambient_degC + power_W * thermal_resistance_K_W


class HubVerdict(Enum):
    """What the heat does to the plastic around a bearing."""

    STAYS_HARD = "stays hard"
    SOFTENS = "softens"
    MELTS = "melts"


@dataclass(frozen=True, slots=True)
class DragHeat:
    """Heat and steady temperature of a dragging bearing, and the drag at which its hub begins to soften."""

    power_W: float
    temperature_degC: float
    margin_K: float
    softening_torque_Nm: float
    verdict: HubVerdict
    sentence: str


def judge_drag_heat(
    *,
    torque_Nm: float,
    speed_rad_s: float,
    ambient_degC: float,
    thermal_resistance_K_W: float,
    keep_below_degC: float,
    melting_degC: float,
) -> DragHeat:
    """Whether a dragging or seized bearing softens the plastic it sits in.

    `keep_below_degC` is the loaded-softening limit of the plastic with its margin, never the melting point.
    The temperature is the one it would settle at: short runs stay below it.
    """
    require_positive(speed_rad_s=speed_rad_s)
    require_not_negative(torque_Nm=torque_Nm)
    power_W = drag_power(torque_Nm=torque_Nm, speed_rad_s=speed_rad_s)
    hot_degC = steady_temperature(
        ambient_degC=ambient_degC, power_W=power_W, thermal_resistance_K_W=thermal_resistance_K_W
    )
    if hot_degC >= melting_degC:
        verdict = HubVerdict.MELTS
    elif hot_degC >= keep_below_degC:
        verdict = HubVerdict.SOFTENS
    else:
        verdict = HubVerdict.STAYS_HARD
    return DragHeat(
        power_W=power_W,
        temperature_degC=hot_degC,
        margin_K=keep_below_degC - hot_degC,
        softening_torque_Nm=(keep_below_degC - ambient_degC) / (thermal_resistance_K_W * speed_rad_s),
        verdict=verdict,
        sentence=_sentence(verdict, power_W, hot_degC),
    )


def _sentence(verdict: HubVerdict, power_W: float, hot_degC: float) -> str:
    if verdict is HubVerdict.MELTS:
        return f"{power_W:.2g} W of drag can melt the hub around it. Replace the bearing before driving."
    return f"{power_W:.2g} W of drag settles near {hot_degC:.0f} °C: the plastic {verdict.value}."
