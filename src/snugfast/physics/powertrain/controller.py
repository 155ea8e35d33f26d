"""The speed controller: how a thumb becomes a duty, which limit gets in its way, and what heat it costs.

All limits act by lowering the duty, so throttle and limits meet in one minimum.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula

BROWN_OUT = 0.78
"""Of the cut-off: the pack voltage below which the controller takes the throttle back at once (elicited).

2.5 V for a lithium cell. Without it a cold pack would be driven past the point of its greatest power, where
more throttle gives less push; in life the receiver browns out long before.
"""


@dataclass(frozen=True, slots=True)
class Controller:
    """A speed controller as the twin needs it.

    `part_throttle_V` is the voltage lost while the motor current free-wheels; it costs nothing at full
    throttle. `given_back` is the share of the braking that goes back to the pack (0 to 1); the rest is burnt
    in winding and bridge. `drag_brake` is the brake share at neutral throttle. `holds` means that it keeps a
    stopped car in place with current from the pack (position hold); otherwise a stopped motor is only shorted
    and creeps.
    """

    resistance_ohm: float
    motor_limit_A: float
    battery_limit_A: float
    brake_limit_A: float
    part_throttle_V: float = 0.08
    resistance_per_K: float = 0.004
    supply_current_A: float = 0.3
    supply_heat_share: float = 0.2
    given_back: float = 1.0
    drag_brake: float = 0.0
    holds: bool = False
    cutoff_V_per_cell: float = 3.2

    def __post_init__(self) -> None:
        if min(self.motor_limit_A, self.battery_limit_A, self.brake_limit_A) <= 0.0:
            raise ImpossibleInput(
                "A controller's current limits have to be above zero.",
                "Give the largest current it passes; a guess from its label will do.",
            )
        if self.battery_limit_A <= self.supply_current_A:
            raise ImpossibleInput(
                "The receiver and servo would take all the current the controller lets through.",
                "Raise the battery limit or lower the supply current.",
            )
        if self.resistance_ohm < 0.0 or self.part_throttle_V < 0.0:
            raise ImpossibleInput("A controller cannot have a negative resistance.", "Give zero or more.")
        if not 0.0 <= self.drag_brake <= 1.0:
            raise ImpossibleInput("A drag brake is a share from 0 to 1.", "Write 40 % as 0.4.")
        if not 0.0 <= self.given_back <= 1.0:
            raise ImpossibleInput(
                "A brake gives back a share from 0 to 1.", "Write 0 for one that burns it all."
            )

    def most_from_pack_A(self, *, open_V: float, pack_ohm: float, cells: int) -> float:
        """What it takes from a pack: its own limit, or what leaves the pack above a brown-out."""
        least_V = BROWN_OUT * self.cutoff_V_per_cell * cells
        return max(min(self.battery_limit_A, (open_V - least_V) / pack_ohm), self.supply_current_A)


@dataclass(frozen=True, slots=True)
class Loop:
    """The electrical loop at one moment: what drives the current and what stands in its way.

    `open_V` is the pack with no current drawn now; `against_V` is what the motor sets against it (its
    voltage and the brushes'); `loop_ohm` is motor plus controller; `pack_ohm` is the pack's.
    """

    open_V: float
    against_V: float
    loop_ohm: float
    pack_ohm: float
    supply_A: float
    part_throttle_V: float


def duty_for_motor_current(loop: Loop, current_A: float) -> float:
    """The duty that sends a wanted current through the motor.

    Averages of the chopper: duty·V_pack − (1 − duty)·V_part = V_motor + I·R, with the pack sagging under
    duty·I. A quadratic in the duty, written so that it does not cancel. Infinite when no duty gives so much.
    """
    slope_V = loop.open_V - loop.pack_ohm * loop.supply_A + loop.part_throttle_V
    needed_V = loop.part_throttle_V + loop.against_V + current_A * loop.loop_ohm
    inside = slope_V * slope_V - 4.0 * loop.pack_ohm * current_A * needed_V
    if inside < 0.0:
        return math.inf
    return 2.0 * needed_V / (slope_V + math.sqrt(inside))


def duty_for_battery_current(loop: Loop, battery_A: float) -> float:
    """The duty at which the pack gives exactly the largest current the controller allows.

    Infinite when the pack cannot give so much: a cold or aged pack's short circuit may lie below the limit.
    """
    a = loop.open_V - loop.pack_ohm * battery_A + loop.part_throttle_V
    b = loop.part_throttle_V + loop.against_V
    c = (battery_A - loop.supply_A) * loop.loop_ohm
    inside = b * b + 4.0 * a * c
    if a > 0.0:
        return (b + math.sqrt(inside)) / (2.0 * a)
    if b < 0.0 <= inside:  # rolling backwards, the motor helps the pack
        return 2.0 * c / (math.sqrt(inside) - b)
    return math.inf


@formula(source="chopper-average", where="class C average-value chopper, quadrants 1 and 2")
def motor_current_at(*, loop: Loop, duty: float) -> float:
    """The motor current a duty gives, pack sag included, in A; negative when the motor outruns it."""
    free_V = loop.open_V - loop.pack_ohm * loop.supply_A
    driving_V = duty * free_V - (1.0 - duty) * loop.part_throttle_V - loop.against_V
    return driving_V / (loop.loop_ohm + duty * duty * loop.pack_ohm)


def braking_duty(loop: Loop, brake_A: float, *, given_back: float = 1.0) -> float:
    """Current into the pack for one ampere of braking; negative when the pack has to feed the brake.

    The share `given_back` of what the motor's voltage leaves over goes to the pack, at the pack's voltage.
    """
    left_V = given_back * (loop.against_V - brake_A * loop.loop_ohm)
    slope_V = loop.open_V - loop.pack_ohm * loop.supply_A
    inside = slope_V * slope_V + 4.0 * loop.pack_ohm * brake_A * left_V
    return 2.0 * left_V / (slope_V + math.sqrt(max(inside, 0.0)))


@formula(source="mosfet-losses", where="conduction and free-wheel terms")
def controller_heat(
    *,
    current_A: float,
    resistance_ohm: float,
    duty: float,
    part_throttle_V: float,
    supply_W: float,
    supply_heat_share: float,
) -> float:
    """Heat made in the controller, in W.

    Conduction (I²R), what the free-wheel path costs at part throttle (this makes half throttle hot), and the
    loss of its receiver supply.
    """
    conduction_W = current_A * current_A * resistance_ohm
    freewheel_W = (1.0 - duty) * part_throttle_V * current_A
    return conduction_W + freewheel_W + supply_heat_share * supply_W
