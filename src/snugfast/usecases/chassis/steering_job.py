"""Steering set at the bench: the job in order, and what is kept of it per car and radio."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.units import read_number
from snugfast.core.vocabulary import CHECK_STEERING_SWEEP, MODE_STEERING_END
from snugfast.facts.model import Build, Place
from snugfast.physics.chassis.pulses import check_pulse
from snugfast.records.entries import Answer, Checked, Done, SteeringSet, TravelUnit
from snugfast.records.ledger import CarRecord
from snugfast.records.moments import read_moment
from snugfast.usecases.chassis.lengths import tidy
from snugfast.usecases.chassis.steering_past import SteeringPast, steering_of
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

WHOLE_JOB = ("local-rules", "radio-order", "stand-clear", "motor-disarmed")
CONCERNED = ("transmitter", "receiver", "gyro")
USUAL_DEG_PER_US = 0.09


class Heard(Enum):
    """What the servo did at full lock."""

    QUIET = "quiet at both ends from the start"
    CURED = "hummed, quiet now"
    HUMS = "still hums at an end"


@dataclass(frozen=True, slots=True)
class Step:
    """One step of the job: what to do, what good feels and sounds like, what bad does."""

    key: str
    name: str
    do: str
    good: str
    bad: str = ""
    cautions: tuple[Caution, ...] = ()
    adults_only: bool = False


@dataclass(frozen=True, slots=True)
class SteeringJob:
    """The job for one car, and what was set before."""

    car: str
    steps: tuple[Step, ...]
    cautions: tuple[Caution, ...]
    past: SteeringPast
    radio: str  # the one to go on with


@dataclass(frozen=True, slots=True)
class SteeringSaid:
    """What was set, as typed; empty means not said."""

    car: str
    radio: str = ""
    left: str = ""
    right: str = ""
    centre: str = ""
    heard: str = ""
    done: tuple[str, ...] = ()
    words: str = ""
    when: str = ""
    id: UUID | None = None
    check_id: UUID | None = None


def steering_job(workshop: Workshop, car_name: str) -> SteeringJob:
    """The steps for this car, with what was set on it before. Raises BadInput for a car without a servo."""
    car, build = car_and_build(workshop, car_name)
    servo = _servo(car, build)
    past = steering_of(workshop, car)
    return SteeringJob(
        car=car.name,
        steps=tuple(steps_of(workshop, build, servo)),
        cautions=cautions_of(workshop.facts, WHOLE_JOB),
        past=past,
        radio=past.radios[0] if past.radios else "",
    )


def draft_steering(workshop: Workshop, said: SteeringSaid) -> Draft:
    """The entries of steering that was set: the end points, and the check of the servo at full lock.

    The check is what moves the belief that end points are wrong. Raises BadInput for what is no end point.
    """
    car, build = car_and_build(workshop, said.car)
    servo = _servo(car, build)
    if not said.radio.strip():
        raise BadInput(
            "End points belong to one radio.", "Give it a name you will know again, as “pistol” or “stick”."
        )
    heard = _heard(said.heard)
    unit, ends = _ends(said)
    moment = read_moment(said.when, now=workshop.now(), zone=workshop.zone)
    fact = SteeringSet(
        car=car.id,
        radio=said.radio.strip(),
        unit=unit,
        left=ends["left"],
        right=ends["right"],
        centre=ends["centre"],
        was_quiet=heard is Heard.QUIET,
        quiet=heard is not Heard.HUMS,
        done=tuple(step for step in said.done if step.strip()),
        words=said.words.strip(),
    )
    typed = " ".join(
        f"{name} {getattr(said, name).strip()}" for name in ("left", "right") if getattr(said, name)
    )
    entries = [
        workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=said.id, typed=typed)
    ]
    if CHECK_STEERING_SWEEP in workshop.facts.checks:
        found = () if heard is Heard.QUIET else (_hummed(servo, heard),)
        checked = Checked(car=car.id, check=CHECK_STEERING_SWEEP, answers=found)
        entries.append(
            workshop.entry(checked, happened_at=moment.at, precision=moment.precision, id=said.check_id)
        )
    return Draft.told_now(workshop, entries)


def draft_lengths(
    workshop: Workshop, car_name: str, measured: Mapping[str, str], *, id: UUID | None = None
) -> Draft:
    """The entry of a linkage that was measured, lengths as typed. Those of before that are not typed stay."""
    car, build = car_and_build(workshop, car_name)
    _servo(car, build)
    said = {**steering_of(workshop, car).measured, **tidy(measured)}
    if not said:
        raise BadInput("No length was given.", "Measure the linkage first.")
    entry = workshop.entry(SteeringSet(car=car.id, measured=said), id=id)
    return Draft.told_now(workshop, (entry,))


def _servo(car: CarRecord, build: Build) -> Place:
    servos = build.of_role("servo")
    if not servos:
        raise BadInput(f"The build of {car.name} has no steering servo.", "Add it to the build first.")
    return servos[0]


def _hummed(servo: Place, heard: Heard) -> Answer:
    done = Done.PUT_RIGHT if heard is Heard.CURED else Done.LEFT
    return Answer("buzzes at full lock", MODE_STEERING_END, servo.key, "", done)


def _heard(words: str) -> Heard:
    wanted = words.strip().casefold()
    meant = {
        "quiet": Heard.QUIET,
        "cured": Heard.CURED,
        "fixed": Heard.CURED,
        "hums": Heard.HUMS,
        "buzzes": Heard.HUMS,
        **{one.value: one for one in Heard},
    }
    if wanted not in meant:
        raise BadInput(
            f"What the servo did at full lock: “{words}” is not one of the answers."
            if wanted
            else "What the servo did at full lock was not entered.",
            "Say quiet (both ends, from the start), fixed (it hummed, quiet now) or hums (still).",
        )
    return meant[wanted]


def _ends(said: SteeringSaid) -> tuple[TravelUnit, dict[str, float | None]]:
    typed = {name: getattr(said, name).strip() for name in ("left", "right", "centre")}
    if not typed["left"] or not typed["right"]:
        raise BadInput(
            "Both end points are needed: one side does not say where the other ends.",
            "Read both off the radio: 92 % and 88 %, or 1720 µs and 1280 µs.",
        )
    read = {name: read_travel(name, text) for name, text in typed.items() if text}
    units = {read[name][1] for name in ("left", "right")}
    if len(units) > 1:
        raise BadInput(
            "One end point is in per cent and the other in µs.", "Give both as the radio shows them."
        )
    (unit,) = units
    return unit, {name: read[name][0] if name in read else None for name in typed}


def read_travel(name: str, text: str) -> tuple[float, TravelUnit]:
    """An end point or centre as the radio shows it. Raises BadInput or ImpossibleInput for what is none."""
    match = re.fullmatch(r"([+-]?[\d.,]+)\s*(%|per ?cent|µs|μs|us|ms)?", text.casefold().replace("−", "-"))
    if match is None:
        raise BadInput(f"{name}: “{text}” is no end point.", "Write 92 % or 1720 µs, as the radio shows it.")
    value, unit = read_number(match.group(1), where=name), match.group(2) or ""
    if unit == "ms":
        value, unit = value * 1e3, "µs"
    if not unit:
        unit = "%" if abs(value) <= 200.0 else "µs"
    if unit in ("µs", "μs", "us"):
        if name != "centre" or abs(value) > 300.0:
            check_pulse(f"{name.capitalize()}", value)
        return value, TravelUnit.MICROSECONDS
    if name == "centre":
        return value, TravelUnit.PERCENT
    if not 0.0 <= abs(value) <= 200.0:
        raise BadInput(f"{name}: {value:g} % is no end point of a radio.", "Radios go to 120 or 150 %.")
    return abs(value), TravelUnit.PERCENT


def steps_of(workshop: Workshop, build: Build, servo: Place) -> list[Step]:
    """The steps of the job for a build, in order."""
    stalled, low_throttle, lost = (
        cautions_of(workshop.facts, (key,)) for key in ("stalled-servo", "stand-low-throttle", "radio-lost")
    )
    teeth = servo.sizes.get("spline_teeth")
    horns = build.of_role("servo_horn")
    saver = bool(build.of_role("servo_saver"))
    screw = ""
    if horns and horns[0].sizes.get("key_mm"):
        screw = f" ({horns[0].sizes['key_mm']:g} mm hex driver)"
    rods = " (left and right, ball to ball)" if build.of_role("steering_link") else ""
    between = ""
    if isinstance(teeth, float) and teeth > 0:
        half_deg = 180.0 / teeth
        between = (
            f" Its {teeth:.0f} teeth are {2 * half_deg:.1f}° apart: the nearest leaves up to "
            f"{half_deg:.0f}°, "
            f"about {round(half_deg / USUAL_DEG_PER_US / 5) * 5:.0f} µs, for the sub-trim."
        )
    steps = [
        Step(
            "model",
            "Right model, trims to zero",
            "Body off, car on its stand, front wheels straight by eye. Motor out of mesh. Transmitter on: "
            "select "
            "this car’s model; steering trim and sub-trim to zero, dual rate to 100 %, both end points "
            "down to "
            "about half. Then battery in.",
            "The servo goes to its middle and is quiet.",
            "It hums already: something holds the steering, or the trim isn’t zero.",
        ),
        Step(
            "horn",
            "Horn square to its link",
            f"Battery out. Horn screw out{screw}, horn off. Battery in: the servo finds its middle. "
            "Battery out "
            f"again, horn back on the tooth that leaves it nearest to square with its link.{between} Hold "
            "the horn "
            "while you tighten the screw.",
            "The horn slides on by hand and stands square to the link.",
            "You have to turn the horn to get it on: next tooth. Turning it against the gears breaks them.",
        ),
        Step(
            "sub_trim",
            "Sub-trim for the rest",
            "Battery in. A few clicks of sub-trim until the horn is exactly square. Leave the trim at "
            "zero: it is "
            "for driving.",
            "Horn square, trim zero, servo quiet.",
            "More sub-trim than the next tooth would need: go back and use that tooth.",
        ),
        Step(
            "links",
            "Steering rods the same length",
            f"Battery out. Measure both rods{rods} and set them alike, with the horn still square. Then "
            "turn both "
            "by the same amount until the wheels are straight or have your toe.",
            "Same length to 0.2 mm, and both wheels at the same angle to the car.",
            "One wheel straight and the other not with equal rods: an arm, an axle or a rod is bent.",
        ),
        Step(
            "left",
            "Left end point",
            "Battery in, wheels clear. Steer full left and raise that end point click by click. Listen "
            "two seconds "
            "at most at each. At the first hum, or when a knuckle meets its stop, steer back, take it "
            "down until "
            "the servo is quiet, and one or two clicks more.",
            "Full lock, and the servo falls silent. A digital servo may sing faintly, as it does at centre.",
            "A hum that stays: the servo is stalled there"
            + (", and the servo saver hides it: watch its spring." if saver else "."),
            stalled,
        ),
        Step(
            "right",
            "Right end point",
            "The same to the right. The two numbers need not be alike; the wheel angles should be.",
            "Inner wheel turned about as far as on the other side, and silence.",
            "One side much shorter: the horn is a tooth off, or the drag link is too long or short.",
            stalled,
        ),
        Step(
            "free",
            "Nothing rubs, nothing binds",
            "Battery out. By hand, from wheel to wheel at both locks and with the suspension up and down: "
            "tyre to "
            "arm and body, rods to chassis"
            + (", driveshafts in their cups." if build.of_role("drive_shaft") else "."),
            "Free all the way, a trace of slop at most.",
            "A shaft that binds or pops out at full lock with the arm hanging: less end point, or less "
            "droop.",
        ),
        Step(
            "ground",
            "On the ground",
            "Battery in, wheels on the ground, car still. Full left, full right, two seconds each.",
            "A hum while the tyres scrub that stops when you steer back; the wheels get all the way there.",
            "Wheels that stop well short: the servo is weak, or its voltage drops.",
            stalled,
        ),
        Step(
            "throttle",
            "Throttle: neutral, full, brake",
            "Car back on its stand. Throttle trim to zero, throttle end points to 100 %. Teach the ESC as "
            "its "
            "maker says: neutral first, then full throttle, then full brake. Only then motor back in "
            "mesh, and "
            "set the mesh.",
            "The ESC takes each in turn; at neutral the motor stands still.",
            "It creeps at neutral, or brake is reverse: teach it again.",
            low_throttle,
            adults_only=True,
        ),
        Step(
            "note",
            "Write it down, then failsafe",
            "Read both end points and the sub-trim off the radio into the boxes below, with the radio’s "
            "name. "
            "Test the failsafe before the car drives.",
            "Numbers saved; with the transmitter off the motor stops.",
            "",
            lost,
        ),
    ]
    return steps
