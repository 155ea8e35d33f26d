"""What a linkage does between its ends: wheel angles by pulse, Ackermann, where it stops, what it takes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.chassis.linkage import Steered, Steering
from snugfast.physics.chassis.pulses import CENTRE_us, PULSES_us, check_pulse
from snugfast.physics.validation import require_not_negative, require_positive

LEAST_TRANSMISSION_rad = math.radians(30.0)
POOR_TRANSMISSION_rad = math.radians(40.0)
STOP_SHORT_us = 10.0
STEP_us = 5.0
HALVINGS = 40


class Side(Enum):
    """Which way the car is steered."""

    LEFT = "left"
    RIGHT = "right"


class Stops(Enum):
    """What ends the useful travel of one side."""

    WHEEL = "the wheel reaches its stop"
    SHAFT = "the driveshaft reaches its joint’s limit"
    PUSH = "the rod pushes along its arm instead of across it"
    LOCKS = "the linkage locks"
    RADIO = "the radio goes no further"


@dataclass(frozen=True, slots=True)
class Drive:
    """How a servo answers the radio: so far a microsecond, and which way a longer pulse steers."""

    rad_per_us: float
    longer_is: Side = Side.LEFT
    centre_us: float = CENTRE_us
    shortest_us: float = PULSES_us.low
    longest_us: float = PULSES_us.high

    def __post_init__(self) -> None:
        require_positive(servo_travel_rad_per_us=self.rad_per_us)
        for name, pulse in (
            ("Centre", self.centre_us),
            ("Shortest pulse", self.shortest_us),
            ("Longest pulse", self.longest_us),
        ):
            check_pulse(name, pulse)
        if not self.shortest_us < self.centre_us < self.longest_us:
            raise ImpossibleInput(
                f"A centre of {self.centre_us:g} µs is not between "
                f"{self.shortest_us:g} and {self.longest_us:g} µs.",
                "Give the shorter pulse first.",
            )


@formula(source="gillespie-ackermann", where="ch. 6: cot δo − cot δi = track / wheelbase")
def ackermann_outer(*, inner_rad: float, kingpin_track_m: float, wheelbase_m: float) -> float:
    """The angle of the outer wheel at which neither front tyre scrubs in a slow corner, in rad."""
    require_positive(kingpin_track_m=kingpin_track_m, wheelbase_m=wheelbase_m)
    if inner_rad == 0.0:
        return 0.0
    return math.atan(1.0 / (1.0 / math.tan(inner_rad) + kingpin_track_m / wheelbase_m))


@formula(source="ackermann-share", where="100 · (inner − outer) / (inner − ideal outer)")
def ackermann_percent(*, inner_rad: float, outer_rad: float, ideal_outer_rad: float) -> float:
    """How much of the ideal difference between the wheels there is; 0 is parallel steering, 100 ideal."""
    if abs(inner_rad - ideal_outer_rad) < 1e-9:  # straight ahead there is no difference to share
        return 0.0
    return 100.0 * (inner_rad - outer_rad) / (inner_rad - ideal_outer_rad)


@formula(source="automotive-chassis-engineering", where="example E2.1, p. 82")
def scrub_torque(*, grip: float, load_N: float, kingpin_offset_m: float, patch_length_m: float) -> float:
    """The torque that turns a standing tyre about its kingpin, M = μ·W·√(d² + (a/3)²). Newton metres.

    `kingpin_offset_m` is from the kingpin line to the middle of the tyre on the ground, `patch_length_m` how
    much of the tyre stands on it.
    """
    require_not_negative(grip=grip, load_N=load_N, kingpin_offset_m=kingpin_offset_m)
    require_positive(patch_length_m=patch_length_m)
    return grip * load_N * math.hypot(kingpin_offset_m, patch_length_m / 3.0)


@formula(source="virtual-work", where="torque in · turn in = torque out · turn out, less friction")
def horn_torque(*, wheel_torque_Nm: float, ratios: tuple[float, float], efficiency: float) -> float:
    """What the servo must give so that both wheels get their torque, Σ M·|dδ/dφ| / η. Newton metres."""
    require_positive(efficiency=efficiency)
    return wheel_torque_Nm * sum(abs(ratio) for ratio in ratios) / efficiency


@formula(source="cross-joint-geometry", where="cos β = cos(up and down) · cos(steer)")
def shaft_bend(*, drop_rad: float, steer_rad: float) -> float:
    """The bend of a driveshaft's outer joint with the arm dropped and the wheel steered, in rad."""
    return math.acos(math.cos(drop_rad) * math.cos(steer_rad))


def steer_within_joint(*, limit_rad: float, drop_rad: float) -> float:
    """How far a wheel may steer before its shaft's joint is at a limit; raises where the drop is enough."""
    if abs(drop_rad) >= limit_rad:
        raise ImpossibleInput(
            f"The shaft already bends {math.degrees(abs(drop_rad)):.0f}° with the wheel straight, and "
            f"its joint takes {math.degrees(limit_rad):.0f}°.",
            "Limit the droop first, or measure its height again.",
        )
    return math.acos(math.cos(limit_rad) / math.cos(drop_rad))


@dataclass(frozen=True, slots=True)
class AtPulse:
    """Both wheels at one pulse, and what would be ideal. Angles to the left are positive."""

    pulse_us: float
    steered: Steered
    inner_rad: float
    outer_rad: float
    ideal_outer_rad: float
    ratio_left: float  # wheel angle per servo angle, here
    ratio_right: float

    @property
    def error_rad(self) -> float:
        """How much further the outer wheel is turned than would be ideal."""
        return self.outer_rad - self.ideal_outer_rad

    @property
    def percent(self) -> float:
        """Ackermann in per cent."""
        return ackermann_percent(
            inner_rad=self.inner_rad, outer_rad=self.outer_rad, ideal_outer_rad=self.ideal_outer_rad
        )


@dataclass(frozen=True, slots=True)
class EndPoint:
    """Where one side should end: the pulse, what would stop it there, and all that was met."""

    side: Side
    pulse_us: float
    first: Stops
    met_us: dict[Stops, float]
    at: AtPulse


class SteeredBy:
    """A linkage driven by a servo, from pulse to wheels."""

    def __init__(self, steering: Steering, drive: Drive) -> None:
        self.steering = steering
        self.drive = drive
        small = steering.at(1e-4)
        if small is None or small.left_rad == 0.0:
            raise ImpossibleInput(
                "With the wheels straight this linkage is locked already.",
                "Measure again: the horn should stand square to its link.",
            )
        self._turn = math.copysign(1.0, small.left_rad)  # servo angle that steers left

    def sign(self, side: Side) -> float:
        """+1 where a longer pulse steers to that side."""
        return 1.0 if side is self.drive.longer_is else -1.0

    def servo_rad(self, pulse_us: float) -> float:
        """How far the horn has turned from square."""
        left = self.sign(Side.LEFT) * (pulse_us - self.drive.centre_us)
        return self._turn * left * self.drive.rad_per_us

    def wheels(self, pulse_us: float) -> Steered | None:
        """Both wheels at a pulse; None where the linkage has locked before."""
        check_pulse("Pulse", pulse_us)
        return self.steering.at(self.servo_rad(pulse_us))

    def at(self, pulse_us: float) -> AtPulse | None:
        """Both wheels at a pulse, held against the ideal."""
        steered = self.wheels(pulse_us)
        if steered is None:
            return None
        to_left = steered.left_rad + steered.right_rad >= 0.0
        inner = steered.left_rad if to_left else -steered.right_rad
        outer = steered.right_rad if to_left else -steered.left_rad
        linkage = self.steering.linkage
        ideal = ackermann_outer(
            inner_rad=inner, kingpin_track_m=linkage.kingpin_track_m, wheelbase_m=linkage.wheelbase_m
        )
        return AtPulse(pulse_us, steered, inner, outer, ideal, *self.ratios(pulse_us))

    def ratios(self, pulse_us: float) -> tuple[float, float]:
        """How far left and right wheel turn for a turn of the servo, here; one-sided at the very end."""
        step = 1e-5
        here = self.servo_rad(pulse_us)
        ahead, behind = self.steering.at(here + step), self.steering.at(here - step)
        middle = self.steering.at(here)
        first, last = (behind or middle), (ahead or middle)
        if first is None or last is None or first is last:
            return (math.inf, math.inf)
        span = last.servo_rad - first.servo_rad
        return ((last.left_rad - first.left_rad) / span, (last.right_rad - first.right_rad) / span)

    def sweep(self, step_us: float = 50.0) -> tuple[AtPulse, ...]:
        """Every so many µs from one end to the other, as far as the linkage closes."""
        drive = self.drive
        reach = max(drive.longest_us - drive.centre_us, drive.centre_us - drive.shortest_us)
        count = int(reach / step_us)
        rows: list[AtPulse] = []
        for way in (-1.0, 1.0):
            side: list[AtPulse] = []
            for number in range(1, count + 1):
                pulse = drive.centre_us + way * number * step_us
                if not drive.shortest_us <= pulse <= drive.longest_us:
                    break
                row = self.at(pulse)
                if row is None:
                    break
                side.append(row)
            rows += reversed(side) if way < 0.0 else side
            if way < 0.0:
                middle = self.at(drive.centre_us)
                assert middle is not None
                rows.append(middle)
        return tuple(rows)

    def end_point(
        self,
        side: Side,
        *,
        wheel_limit_rad: float | None = None,
        shaft_limit_rad: float | None = None,
        short_us: float = STOP_SHORT_us,
    ) -> EndPoint:
        """Where this side should end: before the first thing that stops it, and a little short of it.

        `wheel_limit_rad` is the angle at which the inner wheel meets a stop, `shaft_limit_rad` that at which
        its driveshaft reaches its joint's limit; None where there is none.
        """
        met: dict[Stops, float] = {}
        limits = ((Stops.WHEEL, wheel_limit_rad), (Stops.SHAFT, shaft_limit_rad))
        for stop, limit in limits:
            if limit is not None:
                require_positive(wheel_angle_rad=limit)
                met[stop] = self._first(side, _beyond(side, limit))
        met[Stops.PUSH] = self._first(
            side, lambda steered: steered.transmission_rad <= LEAST_TRANSMISSION_rad
        )
        met[Stops.LOCKS] = self._first(side, lambda _: False)
        met = {stop: pulse for stop, pulse in met.items() if math.isfinite(pulse)}
        drive = self.drive
        met[Stops.RADIO] = drive.longest_us if self.sign(side) > 0.0 else drive.shortest_us
        travel = {stop: abs(pulse - drive.centre_us) for stop, pulse in met.items()}
        first = min(travel, key=lambda stop: travel[stop])
        short = 0.0 if first is Stops.RADIO else short_us
        pulse = drive.centre_us + self.sign(side) * max(travel[first] - short, 0.0)
        at = self.at(pulse)
        assert at is not None
        return EndPoint(side, pulse, first, met, at)

    def _first(self, side: Side, stops: Callable[[Steered], bool]) -> float:
        """The first pulse of a side at which something stops it or it locks; infinite where nothing does.

        A condition that the linkage locks before it is met is met there.
        """
        drive, sign = self.drive, self.sign(side)
        end = drive.longest_us if sign > 0.0 else drive.shortest_us
        clear, pulse = drive.centre_us, drive.centre_us
        while sign * (end - pulse) > 0.0:
            pulse = min(pulse + STEP_us, end) if sign > 0.0 else max(pulse - STEP_us, end)
            if self._stopped(pulse, stops):
                for _ in range(HALVINGS):
                    middle = 0.5 * (clear + pulse)
                    if self._stopped(middle, stops):
                        pulse = middle
                    else:
                        clear = middle
                return pulse
            clear = pulse
        return math.inf

    def _stopped(self, pulse_us: float, stops: Callable[[Steered], bool]) -> bool:
        steered = self.steering.at(self.servo_rad(pulse_us))
        return steered is None or stops(steered)


def _beyond(side: Side, limit_rad: float) -> Callable[[Steered], bool]:
    """Whether the inner wheel is at its limit."""
    if side is Side.LEFT:
        return lambda steered: max(steered.left_rad, steered.right_rad) >= limit_rad
    return lambda steered: min(steered.left_rad, steered.right_rad) <= -limit_rad


@formula(source="dc-motor-note", where="torque falls straight with speed: T = T_stall·(1 − ω/ω0)")
def torque_at_voltage(*, rated_Nm: float, rated_V: float, supply_V: float) -> float:
    """A servo's stall torque at another voltage than that on its label; it goes with the voltage. N·m."""
    require_positive(rated_Nm=rated_Nm, rated_V=rated_V, supply_V=supply_V)
    return rated_Nm * supply_V / rated_V


@formula(source="dc-motor-note", where="I = I0 + (I_stall − I0)·T/T_stall")
def servo_current(*, stall_A: float, idle_A: float, torque_share: float) -> float:
    """What a servo draws while it holds a share of its stall torque, in amperes."""
    require_positive(stall_A=stall_A)
    require_not_negative(idle_A=idle_A, torque_share=torque_share)
    return idle_A + (stall_A - idle_A) * torque_share


@formula(source="stalled-servo-heat", where="adiabatic: V·I/C; C 7 J/K of a small motor is practice")
def stalled_rise(*, supply_V: float, current_A: float, seconds: float, heat_J_per_K: float = 7.0) -> float:
    """How much warmer a stalled servo's motor gets in so many seconds when nothing carries heat off, in K."""
    require_positive(heat_J_per_K=heat_J_per_K)
    require_not_negative(supply_V=supply_V, current_A=current_A, seconds=seconds)
    return supply_V * current_A * seconds / heat_J_per_K


@formula(source="virtual-work", where="play at the horn over its length, times the linkage’s ratio")
def play_at_wheel(*, horn_play_m: float, horn_m: float, ratio: float) -> float:
    """How far a wheel wobbles for play felt at the end of the horn, in rad."""
    require_positive(horn_m=horn_m)
    return horn_play_m / horn_m * abs(ratio)
