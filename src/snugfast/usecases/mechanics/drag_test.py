"""Friction timed at the bench: a wheel spun by hand, or the car pushed and let roll both ways.

The times are kept in the journal as they were read, and held against the car's own baseline: the newest set
that was said to be one, or else the first. The inertia of the wheel and the lean of the floor then fall out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_number, read_quantity
from snugfast.core.vocabulary import CHECK_MESH_FEEL, CHECK_WHEEL_BEARING_FEEL
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build, Place
from snugfast.physics.bearings.coast_down import (
    push_roll,
    rolling_coefficient,
    slowing_between_marks,
    slowing_to_a_stop,
)
from snugfast.physics.bearings.spin_down import drag_from_turns, measured_drag_from_turns
from snugfast.physics.bearings.timed_trials import (
    Change,
    Comparison,
    compare_with_baseline,
    effective_degrees,
    mean_of,
    product_uncertainty,
)
from snugfast.physics.bearings.timed_trials import Measured as Value
from snugfast.records.entries import Measured, Reading, Trial
from snugfast.records.ledger import CarRecord
from snugfast.records.moments import read_moment
from snugfast.records.standing import standing
from snugfast.usecases.mechanics.bench_estimates import SAID, said_or_estimate
from snugfast.usecases.mechanics.drive_ratios import tyre_radius
from snugfast.usecases.mechanics.timed_words import LEAST_STEP_s, Roll, read_list, read_roll, read_time
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.typed_words import read_spot
from snugfast.usecases.shared.workshop import Workshop

# Our own: how a wheel's mass lies, as a share of mass times tyre radius squared, and how sure that is.
WHEEL_SHAPE = Value(0.75, 0.08)
SHAPE = Origin("elicited-mechanics", "a wheel's inertia: 0.75 (±0.08) of its mass times tyre radius squared")
CAUTIONS = ("power-off", "hot-parts", "local-rules")
ROLLED = (Trial.FREE_SPIN, Trial.PUSH_ROLL)
SPIN_STEPS = (
    "Pack unplugged. The wheel must run free of the drive: drive shaft out, or a corner that is not driven.",
    "Wheel off the ground. Flick it by hand, always alike, and time it until it stands. Three times or more.",
    "Surer: watch the valve or a chalk mark and count its turns too, from any moment until it stands.",
    "Never spin it by the motor for this.",
)
ROLL_STEPS = (
    "Pack unplugged. Loosen the motor screws and open the mesh, so that the motor is not turned.",
    "A hard floor, a mark at the start. Push, let go before it, and time from the mark until the car stands.",
    "If it stops beside the second mark, write length and time: 2.9m/2.1s. With a mark half way: 1.1+1.6.",
    "As often there as back, three times or more each way: the floor's slope falls out of the two together.",
    "Set the mesh again afterwards.",
)


@dataclass(frozen=True, slots=True)
class SpinSaid:
    """A wheel's free spins as typed; empty means not said."""

    car: str
    corner: str
    times: str
    turns: str = ""
    wheel_mass: str = ""
    runs_free: bool = False  # the person has seen to it
    baseline: bool = False
    when: str = ""
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class RollSaid:
    """Rolls over a marked length as typed; empty means not said."""

    car: str
    length: str
    there: str
    back: str
    rotating_share: str = ""
    mesh_closed: bool = False
    baseline: bool = False
    when: str = ""
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class DragResult:
    """What the readings say. `friction` is None where only the comparison has a meaning."""

    car: str
    trial: Trial
    spot: str
    friction: Figure | None
    slope: Figure | None
    comparison: Comparison | None
    baseline_day: str
    sentences: tuple[str, ...]
    checks: tuple[tuple[str, str], ...]  # where to look when there is more friction
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...] = ()


@dataclass(frozen=True, slots=True)
class DragDraft:
    """An entry ready to be kept, and what it would say."""

    draft: Draft
    result: DragResult


@dataclass(frozen=True, slots=True)
class PastTrial:
    """One set of readings of the journal."""

    at: datetime
    fact: Measured


def draft_spin(workshop: Workshop, said: SpinSaid) -> DragDraft:
    """The entry of a wheel's free spins, and what they say against the baseline.

    Raises BadInput for a corner that turns the drive line, and for words that are no times.
    """
    car, build = _car(workshop, said.car)
    corner = _corner(build, said.corner)
    if not said.runs_free and not runs_free(build, corner):
        raise BadInput(
            f"The {corner} wheel turns the drivetrain with it, so its spin would measure that too.",
            WayOut(
                "Take its driveshaft out and say that it runs free, or roll the whole car.",
                Action.ROLL_OR_RUN_FREE,
            ),
        )
    times = [read_time(word) for word in read_list(said.times, "times")]
    turns = (
        [read_number(word, where="turns") for word in read_list(said.turns, "turns")] if said.turns else []
    )
    if turns and len(turns) != len(times):
        raise BadInput(
            f"{len(times)} times and {len(turns)} counts of turns do not pair.", "Give one for each."
        )
    fact = Measured(
        car=car.id,
        trial=Trial.FREE_SPIN,
        spot=corner,
        readings=tuple(
            Reading(corner, time_s, "s", typed=_spin_words(time_s, turns[n] if turns else None))
            for n, time_s in enumerate(times)
        ),
        given={"turns": turns, "step": (2.0 if turns else 1.0) * LEAST_STEP_s * len(times) / sum(times)},
        is_baseline=said.baseline,
    )
    return _drafted(workshop, car, fact, said.when, said.id, _spin_result(build, said, times, turns))


def draft_roll(workshop: Workshop, said: RollSaid) -> DragDraft:
    """The entry of rolls both ways, and what they say against the baseline.

    Raises BadInput for words that are no lengths and times, ImpossibleInput when the car did not slow.
    """
    car, _ = _car(workshop, said.car)
    length_m = read_quantity(said.length, Kind.LENGTH, default_unit="m", where="length")
    if not 0.5 <= length_m <= 30.0:
        raise BadInput(f"A length of {length_m:g} m is no good for this.", "Mark 2 to 5 m on a hard floor.")
    there = [read_roll(word, length_m) for word in read_list(said.there, "there")]
    back = [read_roll(word, length_m) for word in read_list(said.back, "back")]
    if len(there) != len(back):
        raise BadInput(
            f"{len(there)} rolls there and {len(back)} back do not pair.", "Roll as often back as there."
        )
    share = said_or_estimate(
        said.rotating_share, "rotating share", Kind.RATIO, default_unit="%", where="rotating share"
    )
    fact = Measured(
        car=car.id,
        trial=Trial.PUSH_ROLL,
        spot="",
        readings=tuple(
            Reading(way, roll.slowing.value, "m/s²", typed=f"{way} {roll.typed}")
            for pair in zip(there, back, strict=True)
            for way, roll in zip(("there", "back"), pair, strict=True)
        ),
        given={
            "length_m": length_m,
            "mesh": "closed" if said.mesh_closed else "open",
            "step": max(roll.slowing.relative for roll in (*there, *back)),
        },
        is_baseline=said.baseline,
    )
    return _drafted(workshop, car, fact, said.when, said.id, _roll_result(there, back, share))


def past_trials(workshop: Workshop, car_name: str) -> tuple[PastTrial, ...]:
    """What was timed on a car before, oldest first."""
    car, _ = _car(workshop, car_name)
    return _past(workshop, car)


def runs_free(build: Build, corner: str) -> bool:
    """Whether a wheel is known to turn nothing else: the car has drive shafts, and none at that end."""
    ends = {end for place in build.of_role("drive_shaft") for end in _ends(place)}
    return bool(ends) and not any(end in corner for end in ends)


def _ends(place: Place) -> set[str]:
    """At which ends of the car the drive shafts of a place sit; both where it is not said."""
    words = " ".join((*place.spots, place.name, place.part)).casefold()
    return {end for end in ("front", "rear") if end in words} or {"front", "rear"}


def friction_figures(fact: Measured) -> list[float]:
    """What is compared: each reading as a figure that grows with friction, in a unit of its own."""
    if fact.trial is Trial.FREE_SPIN:
        turns = fact.given.get("turns") or []
        times = [reading.value for reading in fact.readings]
        if turns:
            return [count / time_s**2 for count, time_s in zip(turns, times, strict=True)]
        return [1.0 / time_s for time_s in times]
    there, back = (
        [reading.value for reading in fact.readings if reading.spot == way] for way in ("there", "back")
    )
    return [(out + home) / 2.0 for out, home in zip(there, back, strict=True)]


Finish = Callable[[Measured], tuple[Figure | None, Figure | None, tuple[str, ...]]]


def _drafted(
    workshop: Workshop, car: CarRecord, fact: Measured, when: str, id: UUID | None, finish: Finish
) -> DragDraft:
    moment = read_moment(when, now=workshop.now(), zone=workshop.zone)
    entry = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=id)
    friction, slope, sentences = finish(fact)
    baseline = _baseline(_past(workshop, car), fact, moment.at)
    comparison, compared = _compared(fact, baseline)
    facts = workshop.facts
    result = DragResult(
        car=car.name,
        trial=fact.trial,
        spot=fact.spot,
        friction=friction,
        slope=slope,
        comparison=comparison,
        baseline_day=f"{baseline.at:%Y-%m-%d}" if baseline else "",
        sentences=(*sentences, compared),
        checks=tuple(
            (key, facts.checks[key].name)
            for key in (CHECK_WHEEL_BEARING_FEEL, CHECK_MESH_FEEL)
            if key in facts.checks and comparison is not None and comparison.change is Change.MORE
        ),
        cautions=cautions_of(facts, CAUTIONS),
    )
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    comparing = Figure(0.0, "1", origins=rests_on(effective_degrees, product_uncertainty))
    result = replace(result, sources=cited(facts, (friction, slope, comparing)))
    return DragDraft(Draft.telling(workshop, ledger, (entry,)), result)


def _past(workshop: Workshop, car: CarRecord) -> tuple[PastTrial, ...]:
    with workshop.store.reading() as reads:
        stands = standing(reads.entries_of([car.id])).entries
    return tuple(
        PastTrial(entry.happened_at, entry.fact)
        for entry in stands
        if isinstance(entry.fact, Measured) and entry.fact.car == car.id and entry.fact.trial in ROLLED
    )


def _baseline(past: Sequence[PastTrial], fact: Measured, at: datetime) -> PastTrial | None:
    """The set these readings are held against: like them in trial, spot and manner, and earlier."""
    if fact.is_baseline:
        return None
    alike = [one for one in past if one.at < at and _manner(one.fact) == _manner(fact)]
    marked = [one for one in alike if one.fact.is_baseline]
    return marked[-1] if marked else alike[0] if alike else None


def _manner(fact: Measured) -> tuple[object, ...]:
    """What must be alike for two sets to be compared."""
    return (fact.trial, fact.spot, bool(fact.given.get("turns")), fact.given.get("mesh"))


def _compared(fact: Measured, baseline: PastTrial | None) -> tuple[Comparison | None, str]:
    if baseline is None:
        return None, "This is the baseline: later readings are held against it."
    now, then = friction_figures(fact), friction_figures(baseline.fact)
    if min(len(now), len(then)) < 2:
        return None, "One reading does not show how much readings scatter: take three or more to compare."
    step = max(float(one.given["step"]) for one in (fact, baseline.fact))
    comparison = compare_with_baseline(now, then, resolution=step)
    return comparison, f"Friction is {comparison.sentence} Baseline of {baseline.at:%Y-%m-%d}."


def _spin_result(build: Build, said: SpinSaid, times: list[float], turns: list[float]) -> Finish:
    def finish(fact: Measured) -> tuple[Figure | None, Figure | None, tuple[str, ...]]:
        time = _mean(times, LEAST_STEP_s)
        sentence = f"{len(times)} spins of {time.value:.1f} ± {time.uncertainty:.1f} s."
        if not turns or not said.wheel_mass.strip():
            return None, None, (sentence,)
        friction = _torque(build, said, time, _mean(turns, 0.5))
        assert friction.high is not None
        spread = friction.high - friction.value
        return (
            friction,
            None,
            (
                sentence,
                f"The bearings and seals drag with {friction.value * 1e3:.2g} ± {spread * 1e3:.1g} mN·m.",
            ),
        )

    return finish


def _torque(build: Build, said: SpinSaid, time: Value, turns: Value) -> Figure:
    """The drag in newton metres, from the wheel's mass and the counted turns."""
    radius_m = tyre_radius(build)
    if radius_m is None:
        raise NotKnown("The build does not say how large the tyres are.", "Add outer_mm to the tyres.")
    mass_kg = read_quantity(said.wheel_mass, Kind.MASS, default_unit="g", where="wheel mass")
    if not 1e-3 <= mass_kg <= 5.0:
        raise BadInput(f"A wheel of {mass_kg:g} kg cannot be.", "Weigh wheel and tyre together: 130g.")
    inertia = Value(
        WHEEL_SHAPE.value * mass_kg * radius_m**2, WHEEL_SHAPE.uncertainty * mass_kg * radius_m**2
    )
    drag = measured_drag_from_turns(inertia_kgm2=inertia, turns=turns, time_s=time)
    return Figure(
        drag.value,
        "N·m",
        low=max(0.0, drag.value - drag.uncertainty),
        high=drag.value + drag.uncertainty,
        origins=(*rests_on(drag_from_turns, product_uncertainty), SHAPE, SAID),
    )


def _roll_result(there: Sequence[Roll], back: Sequence[Roll], share: Figure) -> Finish:
    def finish(fact: Measured) -> tuple[Figure | None, Figure | None, tuple[str, ...]]:
        low, high = share.low or share.value, share.high or share.value
        rolled = push_roll(
            out_m_s2=_slowing(there),
            back_m_s2=_slowing(back),
            rotating_share=Value(share.value, (high - low) / 4.0),
        )
        origins = (
            *rests_on(slowing_to_a_stop, slowing_between_marks, rolling_coefficient, product_uncertainty),
            *share.origins,
        )
        coefficient, slope = (
            Figure(
                value.value,
                unit,
                low=value.value - value.uncertainty,
                high=value.value + value.uncertainty,
                origins=origins,
            )
            for value, unit in ((rolled.coefficient, "1"), (rolled.slope_rad, "rad"))
        )
        drop_mm = math.tan(rolled.slope_rad.value) * 1e3
        value, error = rolled.coefficient.value, rolled.coefficient.uncertainty
        sentences = (
            f"Rolling resistance {value:.3f} ± {error:.3f} of the weight.",
            f"The floor drops {drop_mm:.1f} mm in a metre on the way there; the two ways cancel it.",
        )
        return coefficient, slope, sentences

    return finish


def _slowing(rolls: Sequence[Roll]) -> Value:
    """The mean of some rolls: no surer than their scatter, nor than the clock allows."""
    return _mean(
        [roll.slowing.value for roll in rolls],
        math.fsum(roll.slowing.uncertainty for roll in rolls) / len(rolls),
    )


def _mean(readings: Sequence[float], step: float) -> Value:
    """The mean with its standard uncertainty, never below what one step over the root of their number is."""
    floor = step / math.sqrt(len(readings))
    if len(readings) < 2:
        return Value(readings[0], floor)
    mean = mean_of(readings)
    return Value(mean.value, max(mean.uncertainty, floor))


def _spin_words(time_s: float, turns: float | None) -> str:
    return f"{time_s:g} s" if turns is None else f"{time_s:g} s, {turns:g} turns"


def _corner(build: Build, words: str) -> str:
    """The corner a person means, by the spots of the wheels."""
    wheels = next((place for place in build.of_role("wheel") if place.spots), None)
    if wheels is None:
        raise NotKnown("The build does not name its corners.", "Give the wheels spots there: front left …")
    corner = read_spot(words, wheels)
    if not corner:
        raise BadInput(
            "Which wheel did you spin?", WayOut(f"Choose one: {', '.join(wheels.spots)}.", Action.GIVE_CORNER)
        )
    return corner


def _car(workshop: Workshop, name: str) -> tuple[CarRecord, Build]:
    with workshop.store.reading() as reads:
        car = car_called(ledger_now(reads), name)
    return car, workshop.build(car.build)
