"""A motor of which only the label is known: what its can and its rpm per volt let one guess.

Two windings of one can differ in rpm per volt and share two numbers: torque per root of copper heat, and
idle torque. So the can gives these two with a band, the label gives the winding, and the rest follows.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain.heat import Cooling, MotorHeat
from snugfast.physics.powertrain.motor import Motor, motor_constant

IDLE_SPEED_rad_s = 25_000 * math.pi / 30
FLOW_EXPONENT = 0.56


@dataclass(frozen=True, slots=True)
class CanSize:
    """A can as its table has it: heat of the bare can, and the two numbers of its windings (a guess)."""

    winding_J_K: float
    can_J_K: float
    still_K_W: float
    wind_5_K_W: float
    winding_to_can_K_W: float
    rotor_kgm2: float
    size_Nm_sqrtW: float
    idle_Nm: float


def motor_from_label(can: CanSize, *, kv_rpm_V: float, brush_drop_V: float = 0.0) -> Motor:
    """The motor that such a can and label commonly are.

    Resistance from torque per root of copper heat, R = Kt²/size²; idle current from the idle torque at
    25 000 rpm. Raises ImpossibleInput when the label cannot be.
    """
    if kv_rpm_V <= 0.0:
        raise ImpossibleInput("A motor's rpm per volt is above zero.", "Read it off the label, or count it.")
    constant_Vs = motor_constant(kv_rpm_V=kv_rpm_V)
    resistance_ohm = (constant_Vs / can.size_Nm_sqrtW) ** 2
    idle_A = can.idle_Nm / constant_Vs
    return Motor(
        kv_rpm_V=kv_rpm_V,
        resistance_ohm=resistance_ohm,
        idle_current_A=idle_A,
        idle_test_V=constant_Vs * IDLE_SPEED_rad_s + idle_A * resistance_ohm,
        rotor_inertia_kgm2=can.rotor_kgm2,
        brush_drop_V=brush_drop_V,
    )


def heat_of_can(
    can: CanSize, *, ram_share: float, mount_factor: float = 1.0, iron_in_winding: float = 0.25
) -> MotorHeat:
    """The can's heat: what it holds and what it gives off, through its mount and into the air it gets.

    Drawn through the computed values for still air and for 5 m/s with the exponent of cross-flow.
    """
    still_W_K = mount_factor / can.still_K_W
    moving_W_K = mount_factor / can.wind_5_K_W
    return MotorHeat(
        winding_J_K=can.winding_J_K,
        can_J_K=can.can_J_K,
        winding_to_can_K_W=can.winding_to_can_K_W,
        iron_in_winding=iron_in_winding,
        cooling=Cooling(
            base_W_K=still_W_K,
            flow_W_K=(moving_W_K - still_W_K) / math.pow(5.0, FLOW_EXPONENT),
            exponent=FLOW_EXPONENT,
            ram_share=ram_share,
        ),
    )
