"""Heat: where losses gather and how they leave: winding, can, controller, and the air that takes it away."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula


@dataclass(frozen=True, slots=True)
class Cooling:
    """How a warm part gives heat to the air: W/K at rest, plus a part that grows with the air's speed.

    `ram_share` is the part of the car's speed that the air at the part has under the body.
    """

    base_W_K: float
    flow_W_K: float
    exponent: float
    ram_share: float
    fan_air_m_s: float = 0.0
    still_air_m_s: float = 0.05

    def __post_init__(self) -> None:
        if self.base_W_K <= 0.0 or self.flow_W_K < 0.0 or self.still_air_m_s <= 0.0:
            raise ImpossibleInput(
                "A part that cannot give off heat would warm without end.", "Give a cooling above zero."
            )


@dataclass(frozen=True, slots=True)
class MotorHeat:
    """Two bodies: winding and can. `iron_in_winding` is the share of iron loss that warms the winding."""

    winding_J_K: float
    can_J_K: float
    winding_to_can_K_W: float
    iron_in_winding: float
    cooling: Cooling

    def __post_init__(self) -> None:
        if min(self.winding_J_K, self.can_J_K, self.winding_to_can_K_W) <= 0.0:
            raise ImpossibleInput("A motor has to have some heat capacity.", "Use the estimates for its can.")


@dataclass(frozen=True, slots=True)
class ControllerHeat:
    """One body: the controller with its heat sink."""

    capacity_J_K: float
    cooling: Cooling

    def __post_init__(self) -> None:
        if self.capacity_J_K <= 0.0:
            raise ImpossibleInput("A controller has to have some heat capacity.", "Give a number above zero.")


STOPPED_FAN_SHADOW = 0.2
"""A fan that stands still covers the fins: the share of the driving air that still gets there (elicited)."""


def with_fan_stopped(cooling: Cooling) -> Cooling:
    """The same part when its fan is jammed: no fan air, and the dead fan stands in the way of the rest."""
    return replace(cooling, fan_air_m_s=0.0, ram_share=cooling.ram_share * STOPPED_FAN_SHADOW)


def air_speed(cooling: Cooling, *, speed_m_s: float, fan: float) -> float:
    """Air speed at the part, in m/s: driving air, fan air and the draught of its own warmth, as squares."""
    return math.sqrt(
        (cooling.ram_share * speed_m_s) ** 2 + (fan * cooling.fan_air_m_s) ** 2 + cooling.still_air_m_s**2
    )


@formula(source="cylinder-cross-flow", where="local exponent over 2 to 15 m/s", air_m_s=Span(0, 20))
def conductance(*, base_W_K: float, flow_W_K: float, exponent: float, air_m_s: float) -> float:
    """Heat given to the air per kelvin, in W/K: mount, radiation and free draught, plus the flow."""
    return base_W_K + flow_W_K * math.pow(air_m_s, exponent)


@formula(source="thermal-network", where="two-body form, coil and stator")
def winding_rate(
    *, heat_W: float, winding_degC: float, can_degC: float, winding_to_can_K_W: float, winding_J_K: float
) -> float:
    """How fast the winding warms, in K/s."""
    return (heat_W - (winding_degC - can_degC) / winding_to_can_K_W) / winding_J_K


@formula(source="thermal-network", where="two-body form, coil and stator")
def can_rate(
    *,
    heat_W: float,
    winding_degC: float,
    can_degC: float,
    winding_to_can_K_W: float,
    conductance_W_K: float,
    air_degC: float,
    can_J_K: float,
) -> float:
    """How fast the can warms, in K/s."""
    from_winding_W = (winding_degC - can_degC) / winding_to_can_K_W
    return (heat_W + from_winding_W - conductance_W_K * (can_degC - air_degC)) / can_J_K


@formula(source="thermal-network", where="one body")
def body_rate(
    *, heat_W: float, body_degC: float, air_degC: float, conductance_W_K: float, capacity_J_K: float
) -> float:
    """How fast a single body (controller, pack) warms, in K/s."""
    return (heat_W - conductance_W_K * (body_degC - air_degC)) / capacity_J_K
