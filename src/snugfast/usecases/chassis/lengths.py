"""The lengths of a steering linkage as a person measures and types them."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.units import Kind, read_number, read_quantity
from snugfast.physics.chassis.linkage import HornPlane, Layout, Linkage
from snugfast.physics.chassis.steering import Drive, Side

mm = 1e-3
LONGEST_m = 1.5


@dataclass(frozen=True, slots=True)
class Measure:
    """One thing to measure: its name as typed, its words, and what stands in where nobody measured."""

    key: str
    label: str
    hint: str = ""
    usual: str = ""  # taken when nothing was typed
    choices: tuple[str, ...] = ()
    layouts: tuple[Layout, ...] = tuple(Layout)


CRANKS = (Layout.BELLCRANK, Layout.RACK)
SIDES = ("left", "right")
BEHIND = ("behind the axle", "in front of the axle")
LINKAGE = (
    Measure("layout", "How the servo steers", choices=tuple(one.value for one in Layout)),
    Measure("horn_swings", "The servo horn", choices=tuple(one.value for one in HornPlane)),
    Measure("wheelbase", "Wheelbase", "Front axle to rear axle: 280 mm"),
    Measure(
        "kingpins", "Between the kingpins", "Left to right front kingpin, at the height of the rods: 190 mm"
    ),
    Measure("arm", "Steering arm", "Kingpin to the ball of the steering rod: 22 mm"),
    Measure("balls", "Between the two outer balls", "Across the car, wheels straight: 176 mm"),
    Measure("arm_points", "The outer balls are", choices=BEHIND, usual=BEHIND[0]),
    Measure("horn", "Servo horn", "Middle of the servo’s shaft to the ball: 18 mm"),
    Measure("servo_behind", "Servo shaft behind the front axle", "With a minus in front of it: 95 mm"),
    Measure("servo_left", "Servo shaft left of the middle", "With a minus to the right: 2 mm", usual="0 mm"),
    Measure(
        "servo_up",
        "Horn shaft above the bellcrank’s ball",
        "Upright horns; empty when the drag link lies level",
        layouts=(*CRANKS, Layout.AXLE),
    ),
    Measure("crank_behind", "Bellcrank pivot behind the front axle", "45 mm", layouts=CRANKS),
    Measure(
        "crank_left",
        "Bellcrank pivot left of the middle",
        "Of two, the middle between them",
        "0 mm",
        (),
        CRANKS,
    ),
    Measure(
        "crank_in",
        "Bellcrank pivot to the drag link’s ball",
        "To the left; with a minus to the right: 20 mm",
        layouts=CRANKS,
    ),
    Measure(
        "crank_out",
        "Bellcrank pivot to the inner balls",
        "Forward; with a minus backward: 25 mm",
        layouts=CRANKS,
    ),
    Measure(
        "inner",
        "Between the two inner balls",
        "Across the car: 16 mm",
        layouts=(*CRANKS, Layout.DIRECT),
    ),
    Measure("rods_up", "Outer balls above the inner ones", "At ride height: 0 mm", usual="0 mm"),
    Measure(
        "drag",
        "Drag link",
        "Ball to ball; empty: as long as straight wheels need",
        layouts=(*CRANKS, Layout.AXLE),
    ),
    Measure("rod_left", "Left steering rod", "Ball to ball; empty: so that the wheel stands straight"),
    Measure("rod_right", "Right steering rod", "Ball to ball; of a tie rod across, its length"),
)
SERVO = (
    Measure("travel", "Servo turns in 100 µs", "In degrees; measure the horn at two pulses", usual="9"),
    Measure("longer", "A longer pulse steers", choices=SIDES, usual="left"),
    Measure(
        "full", "100 % on this radio is", "In µs from centre: 500 on some, 400 on others", usual="500 µs"
    ),
    Measure("wheel_stop", "Inner wheel at its stop", "In degrees, where the knuckle meets the carrier: 30"),
    Measure("shaft_limit", "Driveshaft joint takes", "In degrees, before it binds; only driven front wheels"),
    Measure("droop", "Driveshaft hangs down", "In degrees with the arm fully dropped", usual="0"),
    Measure("mass", "Car with battery", "2.4 kg; empty: what its build says"),
    Measure("torque", "Servo torque on its label", "9 kg·cm or 0.9 N·m"),
    Measure("torque_at", "At", "The voltage beside it: 6 V"),
    Measure("supply", "Voltage of the receiver", "What the ESC gives it: 6 V"),
    Measure("stall", "Servo’s current when stalled", "From its data; empty: what such servos draw", usual=""),
)
ALL = (*LINKAGE, *SERVO)
NAMES = {one.key: one for one in ALL}


def tidy(measured: Mapping[str, str]) -> dict[str, str]:
    """What was typed, blanks left out. Raises NotKnown for a name that is none of these."""
    for key in measured:
        if key not in NAMES:
            near = get_close_matches(key, NAMES, n=3)
            hint = f"Did you mean {' or '.join(near)}?" if near else f"There are {', '.join(NAMES)}."
            raise NotKnown(f"No length is called “{key}”.", hint)
    return {key: text.strip() for key, text in measured.items() if text.strip()}


def layout_of(measured: Mapping[str, str]) -> Layout:
    """Which layout was chosen; one bellcrank when nobody said."""
    return Layout(_choice(measured, "layout", tuple(one.value for one in Layout)))


def missing(measured: Mapping[str, str]) -> tuple[Measure, ...]:
    """What still has to be measured before anything can be worked out."""
    layout = layout_of(measured)
    needed: tuple[str, ...] = ("wheelbase", "kingpins", "arm", "balls", "horn", "servo_behind")
    if layout in CRANKS:
        needed += ("crank_behind", "crank_in", "crank_out", "inner")
    if layout is Layout.DIRECT:
        needed += ("inner",)
    return tuple(NAMES[key] for key in needed if not measured.get(key, "").strip())


def read_linkage(measured: Mapping[str, str]) -> Linkage:
    """The linkage these lengths are. Raises BadInput for what is no length, and what is missing."""
    gone = missing(measured)
    if gone:
        listed = ", ".join(f"{one.label[:1].lower()}{one.label[1:]} ({one.key})" for one in gone)
        raise BadInput("Some lengths are still missing.", f"Measure {listed}.")
    layout = layout_of(measured)
    horn_plane = HornPlane(_choice(measured, "horn_swings", tuple(one.value for one in HornPlane)))
    arm_m, kingpins_m, balls_m = (_above_zero(measured, key) for key in ("arm", "kingpins", "balls"))
    inset_m = 0.5 * (kingpins_m - balls_m)
    if abs(inset_m) >= arm_m:
        raise BadInput(
            f"With {kingpins_m / mm:g} mm between the kingpins and {balls_m / mm:g} mm between the outer "
            "balls, a "
            f"steering arm of {arm_m / mm:g} mm does not reach.",
            "Measure these three again, at the height of the rods.",
        )
    ahead_m = math.sqrt(arm_m**2 - inset_m**2)
    behind = _choice(measured, "arm_points", BEHIND) == BEHIND[0]
    horn_m = _above_zero(measured, "horn")
    level = -horn_m if horn_plane is not HornPlane.FLAT else 0.0
    crank = layout in CRANKS
    inner_z_m = 0.0
    return Linkage(
        layout=layout,
        wheelbase_m=_above_zero(measured, "wheelbase"),
        kingpin_track_m=kingpins_m,
        arm_end_m=(-ahead_m if behind else ahead_m, -inset_m),
        servo_m=(
            -_length(measured, "servo_behind"),
            _length(measured, "servo_left"),
            _length(measured, "servo_up") if measured.get("servo_up", "").strip() else level + inner_z_m,
        ),
        horn_m=horn_m,
        horn_plane=horn_plane,
        crank_m=(-_length(measured, "crank_behind"), _length(measured, "crank_left"), 0.0)
        if crank
        else (0.0, 0.0, 0.0),
        crank_in_m=_length(measured, "crank_in") if crank else 0.0,
        crank_out_m=_length(measured, "crank_out") if crank else _horn_ahead(measured, ahead_m, behind),
        stud_half_m=0.5 * _length(measured, "inner") if measured.get("inner", "").strip() else 0.0,
        arm_height_m=_length(measured, "rods_up"),
        tie_left_m=_maybe(measured, "rod_left"),
        tie_right_m=_maybe(measured, "rod_right"),
        drag_m=_maybe(measured, "drag"),
    )


def read_drive(measured: Mapping[str, str]) -> Drive:
    """How the servo answers the radio."""
    degrees = read_degrees(measured, "travel")
    assert degrees is not None
    if not math.radians(2.0) <= degrees <= math.radians(30.0):
        raise BadInput(
            f"A servo that turns {math.degrees(degrees):g}° in 100 µs is none we know.",
            "Most turn about 9°: 45° for 500 µs. Give degrees for 100 µs.",
        )
    return Drive(degrees / 100.0, Side(_choice(measured, "longer", SIDES)))


def read_full(measured: Mapping[str, str]) -> float:
    """How many µs from centre 100 % is."""
    text = measured.get("full", "").strip() or NAMES["full"].usual
    full_us = read_number(re.sub(r"\s*(µs|us|μs)$", "", text), where="full")
    if not 100.0 <= full_us <= 1000.0:
        raise BadInput(
            f"100 % of {full_us:g} µs is no radio’s.", "Give the µs from centre to 100 %: 500 or 400."
        )
    return full_us


def read_degrees(measured: Mapping[str, str], key: str) -> float | None:
    """An angle in degrees, as rad; None where nothing was typed and nothing is usual."""
    text = measured.get(key, "").strip() or NAMES[key].usual
    if not text:
        return None
    return math.radians(read_number(re.sub(r"\s*(°|deg|degrees)$", "", text), where=key))


def _choice(measured: Mapping[str, str], key: str, choices: tuple[str, ...]) -> str:
    text = measured.get(key, "").strip() or NAMES[key].usual or choices[0]
    wanted = text.casefold()
    exact = [one for one in choices if one.casefold() == wanted]
    begins = exact or [one for one in choices if wanted in one.casefold()]
    if len(begins) != 1:
        raise BadInput(f"{key}: “{text}” is none of the choices.", f"Choose from {', '.join(choices)}.")
    return begins[0]


def _length(measured: Mapping[str, str], key: str) -> float:
    text = measured.get(key, "").strip() or NAMES[key].usual
    length_m = read_quantity(text, Kind.LENGTH, default_unit="mm", where=NAMES[key].label)
    if abs(length_m) > LONGEST_m:
        raise BadInput(
            f"{NAMES[key].label}: {length_m:g} m is longer than any car here.", "Give millimetres: 22 mm."
        )
    return length_m


def _above_zero(measured: Mapping[str, str], key: str) -> float:
    length_m = _length(measured, key)
    if length_m <= 0.0:
        raise BadInput(
            f"{NAMES[key].label}: {measured[key]} cannot be.", "Measure from centre to centre; above zero."
        )
    return length_m


def _maybe(measured: Mapping[str, str], key: str) -> float | None:
    return _above_zero(measured, key) if measured.get(key, "").strip() else None


def _horn_ahead(measured: Mapping[str, str], ahead_m: float, behind: bool) -> float:
    """Which way a horn that carries the rods points: from the servo towards the outer balls."""
    servo = -_length(measured, "servo_behind")
    rods = -ahead_m if behind else ahead_m
    return 1.0 if rods >= servo else -1.0
