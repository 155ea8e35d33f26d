"""What measured lengths say of a steering: wheel angles by pulse, where it ends, servo torque."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from snugfast.core.errors import SnugfastError
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.physics.chassis.linkage import Linkage, Steering, arm_angle
from snugfast.physics.chassis.pulses import percent_of_pulse, pulse_of_percent
from snugfast.physics.chassis.steering import (
    AtPulse,
    Drive,
    EndPoint,
    POOR_TRANSMISSION_rad,
    Side,
    SteeredBy,
    Stops,
    ackermann_outer,
    ackermann_percent,
    horn_torque,
    scrub_torque,
    shaft_bend,
    stalled_rise,
    steer_within_joint,
    torque_at_voltage,
)
from snugfast.records.entries import SteeringSet, TravelUnit
from snugfast.usecases.chassis.lengths import read_degrees, read_drive, read_full, read_linkage, tidy
from snugfast.usecases.chassis.steering_past import steering_of
from snugfast.usecases.mechanics.bench_estimates import SAID, mass_of
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

READ_TO_m = 0.5e-3  # how well a length is read with a rule or a caliper held to the middle of a ball
CAUTIONS = ("stand-clear", "motor-disarmed", "stalled-servo", "local-rules")
G_m_s2 = 9.80665
KGF_CM_Nm = 0.0980665
# Our own, until they are measured: how the front stands on the ground, for the torque at standstill.
FRONT_SHARE, GRIP, EFFICIENCY = 0.5, 1.0, 0.8
OFFSET_OF_TRACK, PATCH_OF_TRACK = 0.065, 0.14  # 12 and 26 mm on 190 mm
ESTIMATED = Origin(
    "elicited-chassis",
    "half the weight in front, grip 1, a fifth lost in the balls; offset and patch as on a 1/10 car, by "
    "its track",
)
STALL_A = (1.5, 2.2, 3.0)
READ_TO = Origin("elicited-chassis", "each length read to half a millimetre")
PUSH_LIMIT = Origin("transmission-angle-limits", "stop at 30°, warn below 40°")


@dataclass(frozen=True, slots=True)
class EndAdvice:
    """Where one side should end. The band is what half a millimetre in each length makes of it."""

    side: Side
    pulse: Figure
    percent: Figure
    inner: Figure
    outer: Figure
    first: Stops
    met: tuple[tuple[Stops, Figure], ...]
    sentence: str
    end: EndPoint


@dataclass(frozen=True, slots=True)
class Torque:
    """What the servo must give to turn standing tyres, and what it has."""

    needed: Figure
    has: Figure | None
    sentence: str


@dataclass(frozen=True, slots=True)
class SteeringSums:
    """All that measured lengths say."""

    car: str
    measured: Mapping[str, str]
    by: SteeredBy
    rows: tuple[AtPulse, ...]
    ends: tuple[EndAdvice, EndAdvice]
    torque: Torque | None
    stalled: Figure  # how much warmer in two seconds
    notes: tuple[str, ...]
    set_now: tuple[str, ...]  # the end points saved last, held against these
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...] = ()


@cautioned
def steering_sums(workshop: Workshop, car_name: str, measured: Mapping[str, str]) -> SteeringSums:
    """What these lengths say; those saved for the car stand in for what is not typed.

    Raises BadInput for what is missing or no length, ImpossibleInput for lengths that cannot close.
    """
    car, build = car_and_build(workshop, car_name)
    past = steering_of(workshop, car)
    said = {**past.measured, **tidy(measured)}
    linkage, drive, full_us = read_linkage(said), read_drive(said), read_full(said)
    by = SteeredBy(Steering(linkage), drive)
    wheel = read_degrees(said, "wheel_stop")
    shaft = _shaft_limit(said)
    left, right = (_advice(linkage, drive, side, wheel, shaft, full_us) for side in (Side.LEFT, Side.RIGHT))
    sums = SteeringSums(
        car=car.name,
        measured=said,
        by=by,
        rows=by.sweep(),
        ends=(left, right),
        torque=_torque(build_mass=mass_of(build, said.get("mass", "")), by=by, said=said),
        stalled=_stalled(said),
        notes=tuple(_notes(by, (left, right), said)),
        set_now=tuple(_held_against(past.latest, (left, right), full_us, by)),
        cautions=cautions_of(workshop.facts, CAUTIONS),
    )
    return replace(sums, sources=cited(workshop.facts, sums))


def _shaft_limit(said: Mapping[str, str]) -> float | None:
    limit = read_degrees(said, "shaft_limit")
    drop = read_degrees(said, "droop") or 0.0
    return None if limit is None else steer_within_joint(limit_rad=limit, drop_rad=drop)


def _advice(
    linkage: Linkage, drive: Drive, side: Side, wheel: float | None, shaft: float | None, full_us: float
) -> EndAdvice:
    end = _end(linkage, drive, side, wheel, shaft)
    spread_us = _spread(linkage, drive, side, wheel, shaft, end.pulse_us)
    origins = (*rests_on(arm_angle), PUSH_LIMIT, READ_TO)
    if shaft is not None:
        origins = (*origins, *rests_on(shaft_bend))

    def to_percent(pulse_us: float) -> float:
        return percent_of_pulse(pulse_us=pulse_us, half_range_us=full_us, centre_us=drive.centre_us)

    low, high = end.pulse_us - spread_us, end.pulse_us + spread_us
    percent = Figure(to_percent(end.pulse_us), "%", origins=rests_on(percent_of_pulse)).with_band(
        to_percent(low), to_percent(high)
    )
    pulse = Figure(end.pulse_us, "µs", low, high, origins)
    ideal = rests_on(ackermann_outer, ackermann_percent)
    met = tuple(
        (stop, Figure(at, "µs", origins=origins))
        for stop, at in sorted(end.met_us.items(), key=lambda one: abs(one[1] - drive.centre_us))
        if stop is not Stops.RADIO
    )
    short = "" if end.first is Stops.RADIO else ", 10 µs short of where "
    why = f"{short}{end.first.value}" if short else f": {end.first.value}"
    sentence = (
        f"{side.value.capitalize()}: about {_round(end.pulse_us, 5)} µs ({percent.value:.0f} %){why}. "
        f"The inner wheel is then at {math.degrees(end.at.inner_rad):.0f}°, the outer at "
        f"{math.degrees(end.at.outer_rad):.0f}°."
    )
    return EndAdvice(
        side,
        pulse,
        percent,
        Figure(end.at.inner_rad, "rad", origins=ideal),
        Figure(end.at.outer_rad, "rad", origins=ideal),
        end.first,
        met,
        sentence,
        end,
    )


def _end(linkage: Linkage, drive: Drive, side: Side, wheel: float | None, shaft: float | None) -> EndPoint:
    return SteeredBy(Steering(linkage), drive).end_point(side, wheel_limit_rad=wheel, shaft_limit_rad=shaft)


def _spread(
    linkage: Linkage, drive: Drive, side: Side, wheel: float | None, shaft: float | None, at_us: float
) -> float:
    """How far the end point moves for lengths read to half a millimetre, as independent errors."""
    total = 0.0
    x, y = linkage.arm_end_m
    arm = math.hypot(x, y)
    grown = (arm + READ_TO_m) / arm
    changed = [
        {"horn_m": linkage.horn_m + READ_TO_m},
        {"arm_end_m": (x * grown, y * grown)},
        {"arm_end_m": (x, y - READ_TO_m / 2.0)},
        {"stud_half_m": linkage.stud_half_m + READ_TO_m / 2.0},
    ]
    if linkage.crank_in_m:
        changed += [
            {"crank_in_m": linkage.crank_in_m + math.copysign(READ_TO_m, linkage.crank_in_m)},
            {"crank_out_m": linkage.crank_out_m + math.copysign(READ_TO_m, linkage.crank_out_m)},
        ]
    for change in changed:
        try:
            moved = _end(replace(linkage, **change), drive, side, wheel, shaft)  # type: ignore[arg-type]
        except SnugfastError:
            continue
        total += (moved.pulse_us - at_us) ** 2
    return math.sqrt(total)


def _torque(*, build_mass: Figure, by: SteeredBy, said: Mapping[str, str]) -> Torque:
    track_m = by.steering.linkage.kingpin_track_m
    wheel_Nm = scrub_torque(
        grip=GRIP,
        load_N=build_mass.value * G_m_s2 * FRONT_SHARE / 2.0,
        kingpin_offset_m=OFFSET_OF_TRACK * track_m,
        patch_length_m=PATCH_OF_TRACK * track_m,
    )
    needed_Nm = horn_torque(
        wheel_torque_Nm=wheel_Nm, ratios=by.ratios(by.drive.centre_us), efficiency=EFFICIENCY
    )
    origins = (*rests_on(scrub_torque, horn_torque), ESTIMATED, *build_mass.origins)
    needed = Figure(needed_Nm, "N·m", 0.6 * needed_Nm, 1.6 * needed_Nm, origins)
    has = _has(said)
    told = f"Turning the wheels of the standing car takes about {needed_Nm / KGF_CM_Nm:.1f} kg·cm at the horn"
    only = (
        " That is for standing still on clean ground: ruts, landings and kerbs take far more, and are not "
        "worked out."
    )
    if has is None:
        return Torque(needed, None, f"{told}.{only}")
    share = needed_Nm / has.value
    compared = f"; the servo has {has.value / KGF_CM_Nm:.1f} kg·cm when stalled, so {_percent(share)} of it."
    if share > 0.5:
        compared += " It is weak for this car: it will stall at standstill and steer late."
    return Torque(needed, has, f"{told}{compared}{only}")


def _has(said: Mapping[str, str]) -> Figure | None:
    if not said.get("torque", "").strip():
        return None
    rated_Nm = read_quantity(said["torque"], Kind.TORQUE, default_unit="kgf·cm", where="torque")
    volts = [
        read_quantity(said[key], Kind.VOLTAGE, default_unit="V", where=key)
        for key in ("torque_at", "supply")
        if said.get(key, "").strip()
    ]
    if len(volts) < 2:
        return Figure(rated_Nm, "N·m", origins=(SAID,))
    at_V = torque_at_voltage(rated_Nm=rated_Nm, rated_V=volts[0], supply_V=volts[1])
    return Figure(at_V, "N·m", origins=(SAID, *rests_on(torque_at_voltage)))


def _stalled(said: Mapping[str, str]) -> Figure:
    supply_V = read_quantity(said.get("supply") or "6 V", Kind.VOLTAGE, default_unit="V", where="supply")
    typed = said.get("stall", "").strip()
    amps = (read_quantity(typed, Kind.CURRENT, default_unit="A", where="stall"),) * 3 if typed else STALL_A
    low, usual, high = (stalled_rise(supply_V=supply_V, current_A=amp, seconds=2.0) for amp in amps)
    origins = (*rests_on(stalled_rise), SAID if typed else Origin("servo-stall-currents", "standard servo"))
    return Figure(usual, "K", low, high, origins)


def _notes(by: SteeredBy, ends: tuple[EndAdvice, EndAdvice], said: Mapping[str, str]) -> list[str]:
    notes = []
    straight = by.wheels(by.drive.centre_us)
    assert straight is not None
    toe = math.degrees(straight.left_rad - straight.right_rad)
    if abs(toe) >= 0.2:
        way = "in" if toe < 0.0 else "out"
        notes.append(f"With the rods as measured the wheels toe {way} by {abs(toe):.1f}° in all at centre.")
    for side in ends:
        ratio = max(abs(one) for one in (side.end.at.ratio_left, side.end.at.ratio_right))
        middle = max(abs(one) for one in by.ratios(by.drive.centre_us))
        if math.isfinite(ratio) and ratio > 1.5 * middle:
            notes.append(
                f"Near full {side.side.value} the inner wheel turns {ratio / middle:.1f}× as far per click "
                "as at "
                "centre, and the servo has that much less force on it."
            )
        if side.end.at.steered.transmission_rad < POOR_TRANSMISSION_rad:
            angle = math.degrees(side.end.at.steered.transmission_rad)
            notes.append(
                f"At the {side.side.value} end a rod meets its arm at {angle:.0f}°: slop shows there, and "
                "a hit "
                "can fold the linkage over. A shorter end point is the cure."
            )
    notes += [_ackermann(side) for side in ends]
    left, right = (abs(side.pulse.value - by.drive.centre_us) for side in ends)
    notes += _left_against_right(by, min(left, right))
    if abs(left - right) > 15.0:
        more = "left" if left > right else "right"
        notes.append(
            f"The {more} end point has {abs(left - right):.0f} µs more to go: normal for a drag link that "
            "is not "
            "square, so set each side by itself."
        )
    if not said.get("wheel_stop", "").strip():
        notes.append(
            "Where the knuckles meet their stops was not entered; the servo will find it before the rods do."
        )
    return notes


def _ackermann(side: EndAdvice) -> str:
    at = side.end.at
    error = math.degrees(at.error_rad)
    way = "more" if error >= 0.0 else "less"
    return (
        f"At the {side.side.value} end Ackermann is {at.percent:.0f} %: the outer wheel turns "
        f"{abs(error):.1f}° {way} "
        "than would let both roll freely in a slow corner."
    )


def _left_against_right(by: SteeredBy, travel_us: float) -> list[str]:
    """How the inner wheels differ when both sides are given the same travel."""
    inner = []
    for side in (Side.LEFT, Side.RIGHT):
        at = by.at(by.drive.centre_us + by.sign(side) * travel_us)
        if at is None:
            return []
        inner.append(math.degrees(at.inner_rad))
    apart = abs(inner[0] - inner[1])
    if apart < 0.5:
        return [f"The same travel to both sides turns the wheels alike, to {max(apart, 0.1):.1f}°."]
    more = "left" if inner[0] > inner[1] else "right"
    return [f"The same travel to both sides turns the wheels {apart:.1f}° further to the {more}."]


def _held_against(
    latest: SteeringSet | None, ends: tuple[EndAdvice, EndAdvice], full_us: float, by: SteeredBy
) -> list[str]:
    """The end points saved last, against where the linkage ends."""
    if latest is None:
        return []
    told = []
    for advice, value in zip(ends, (latest.left, latest.right), strict=True):
        if value is None:
            continue
        sign = by.sign(advice.side)
        pulse = value
        if latest.unit is TravelUnit.PERCENT:
            pulse = pulse_of_percent(
                percent=sign * value, half_range_us=full_us, centre_us=by.drive.centre_us
            )
        beyond = sign * (pulse - advice.pulse.value)
        stop = min(abs(figure.value - by.drive.centre_us) for _, figure in advice.met)
        past_stop = abs(pulse - by.drive.centre_us) - stop
        name = f"{advice.side.value.capitalize()} end point on {latest.radio}: {value:g} {latest.unit.value}"
        if past_stop > 0.0:
            told.append(
                f"{name} is past its stop by about {_round(past_stop, 5)} µs: the servo pushes against it."
            )
        elif beyond < -40.0:
            told.append(f"{name} leaves about {_round(-beyond, 5)} µs of steering unused.")
        else:
            told.append(f"{name} fits.")
    return told


def _percent(share: float) -> str:
    return f"{100.0 * share:.0f} %"


def _round(value: float, to: int) -> int:
    return to * round(value / to)
