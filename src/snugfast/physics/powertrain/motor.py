"""The motor: what a volt, an ampere and a degree do to its speed, torque and losses.

A brushless motor with its controller behaves as the equivalent direct-current motor: one constant, one
resistance. A brushed motor is the same with a voltage lost at the brushes.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula


@dataclass(frozen=True, slots=True)
class Motor:
    """A motor as the twin needs it, all at 20 °C. A brushless motor has no brush drop.

    `hysteresis_share` is the part of the idle current that does not grow with speed. Torque and voltage
    constant are one number, so a motor that makes power out of nothing cannot be written down.
    """

    kv_rpm_V: float
    resistance_ohm: float
    idle_current_A: float
    idle_test_V: float
    rotor_inertia_kgm2: float
    hysteresis_share: float = 0.4
    brush_drop_V: float = 0.0
    copper_per_K: float = 0.00393
    magnet_per_K: float = -0.0012
    magnet_follows_winding: float = 0.5

    def __post_init__(self) -> None:
        for name in ("kv_rpm_V", "resistance_ohm", "idle_test_V"):
            if not getattr(self, name) > 0.0:
                raise ImpossibleInput(
                    f"A motor's {name} cannot be {getattr(self, name):g}.", "Give a number above zero."
                )
        if self.idle_current_A < 0.0 or self.rotor_inertia_kgm2 < 0.0 or self.brush_drop_V < 0.0:
            raise ImpossibleInput(
                "A motor's idle current, rotor inertia and brush drop cannot be negative.",
                "Give zero if it is not known.",
            )
        if self.idle_current_A * self.resistance_ohm >= self.idle_test_V:
            raise ImpossibleInput(
                "This idle current would take the whole test voltage, so the motor could not turn.",
                "Check the idle current, the resistance and the voltage the idle current was read at.",
            )

    @property
    def constant_Vs(self) -> float:
        """Volts per rad/s, the same number as N·m per ampere, at 20 °C."""
        return motor_constant(kv_rpm_V=self.kv_rpm_V)

    @property
    def idle_speed_rad_s(self) -> float:
        """Speed at which the idle current was read."""
        return (self.idle_test_V - self.idle_current_A * self.resistance_ohm) / self.constant_Vs

    @property
    def hysteresis_torque_Nm(self) -> float:
        """The part of the idle torque that is there at any speed."""
        return self.hysteresis_share * self.constant_Vs * self.idle_current_A

    @property
    def eddy_torque_Nms(self) -> float:
        """The part of the idle torque that grows with speed, per rad/s."""
        return (1.0 - self.hysteresis_share) * self.constant_Vs * self.idle_current_A / self.idle_speed_rad_s


@formula(source="dc-motor-note", where="section 1.1, eq. 1 and 2 (torque and voltage constant are equal)")
def motor_constant(*, kv_rpm_V: float) -> float:
    """Turns the label's rpm per volt into the one constant that gives both voltage and torque.

    Returns V·s/rad, which is N·m/A.
    """
    return 60.0 / (2.0 * math.pi * kv_rpm_V)


@formula(
    source="magnet-tables", where="remanence coefficient, grades without suffix", magnet_degC=Span(-20, 150)
)
def warm_constant(*, constant_Vs: float, magnet_per_K: float, magnet_degC: float) -> float:
    """What is left of the motor constant when the magnets are warm.

    Warm magnets are weaker: the motor spins faster at no load and asks more amperes for the same push.
    Returns V·s/rad.
    """
    return constant_Vs * (1.0 + magnet_per_K * (magnet_degC - 20.0))


@formula(source="copper-coefficient", where="coefficient at 20 °C", winding_degC=Span(-50, 200))
def warm_resistance(*, resistance_ohm: float, copper_per_K: float, winding_degC: float) -> float:
    """What the winding resistance has become when the copper is warm, in ohm."""
    return resistance_ohm * (1.0 + copper_per_K * (winding_degC - 20.0))


def magnet_temperature(*, winding_degC: float, can_degC: float, follows_winding: float) -> float:
    """Where the magnets stand between the can and the winding, in °C."""
    return can_degC + follows_winding * (winding_degC - can_degC)


@formula(source="machine-loss-models", where="core loss of direct-current machines")
def idle_torque(
    *, hysteresis_torque_Nm: float, eddy_torque_Nms: float, turning: float, speed_rad_s: float
) -> float:
    """Torque the motor eats itself: iron and bearings.

    One part is there at any speed (hysteresis, friction), one grows with speed (eddy currents).
    `turning` is the smoothed sign of the motion, −1 to 1, so that the torque vanishes at rest. Returns N·m.
    """
    return hysteresis_torque_Nm * turning + eddy_torque_Nms * speed_rad_s


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Where a motor settles on a voltage and a load."""

    current_A: float
    emf_V: float
    speed_rad_s: float
    power_in_W: float
    power_out_W: float

    @property
    def efficiency(self) -> float:
        """Shaft power per electrical power."""
        return self.power_out_W / self.power_in_W


@formula(source="dc-motor-note", where="section 1.1, eq. 1 and 2")
def operating_point(
    *,
    voltage_V: float,
    torque_Nm: float,
    constant_Vs: float,
    resistance_ohm: float,
    brush_drop_V: float = 0.0,
) -> OperatingPoint:
    """The speed and current at which a motor carries a load. Its own idle torque counts as load.

    Raises ImpossibleInput when the load stalls the motor.
    """
    current_A = torque_Nm / constant_Vs
    emf_V = voltage_V - brush_drop_V - current_A * resistance_ohm
    if emf_V < 0.0:
        raise ImpossibleInput(
            f"A load of {torque_Nm:g} N·m stalls this motor at {voltage_V:g} V.",
            "Give a smaller load or a higher voltage.",
        )
    speed_rad_s = emf_V / constant_Vs
    return OperatingPoint(
        current_A=current_A,
        emf_V=emf_V,
        speed_rad_s=speed_rad_s,
        power_in_W=voltage_V * current_A,
        power_out_W=torque_Nm * speed_rad_s,
    )
