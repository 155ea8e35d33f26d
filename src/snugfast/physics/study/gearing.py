"""The gearing study: what each final drive does to speed, heat and run time, on this car and ground.

A rung of the ladder is one final drive on one tyre, with the pinion and spur pairs that give it. Every rung
is driven three ways: a sprint from rest, the style until the pack is down, and the style for ever with a pack
that never empties, hurried, to see where the temperatures settle.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain import tyres
from snugfast.physics.powertrain.driving_styles import Does, Phase, Style
from snugfast.physics.powertrain.heat import with_fan_stopped
from snugfast.physics.powertrain.powertrain import Car, Limit, Place, State
from snugfast.physics.powertrain.runs import (
    Alarm,
    Driving,
    Entry,
    Limits,
    Outcome,
    Progress,
    Run,
    ShouldStop,
    drive,
)

SPRINT_s = 25.0
SPRINT = (Phase(Does.FULL, at_most_s=SPRINT_s),)
SPRINT_EVERY_s = 0.2
LAUNCH_s = 1.5
RUN_ROWS = 90
HURRY = 10.0
HALF_FULL = 0.6  # the charge at which driving settles
SETTLES_AFTER_s = 600.0
SETTLED_OVER_s = 200.0
ALIKE_K = 1.5  # no thermometer and no model tells such gears apart


@dataclass(frozen=True, slots=True)
class Pair:
    """A pinion on a spur."""

    pinion_teeth: int
    spur_teeth: int

    def __post_init__(self) -> None:
        if self.pinion_teeth < 1 or self.spur_teeth < 1:
            raise ImpossibleInput("A gear has teeth.", "Count the teeth of pinion and spur.")


def final_drive(pair: Pair, internal_ratio: float) -> float:
    """Turns of the motor for one turn of a wheel."""
    return pair.spur_teeth / pair.pinion_teeth * internal_ratio


class FanState(Enum):
    """What the fan on the controller does."""

    RUNNING = "running"
    OFF = "off"
    STOPPED = "stopped in its place, covering the fins"


@dataclass(frozen=True, slots=True)
class Question:
    """The car as it is today, where and how it is driven, and where driving should end."""

    car: Car
    place: Place
    style: Style
    limits: Limits
    fan: FanState = FanState.RUNNING
    full_share: float = 1.0
    goal_m_s: float | None = None

    def start(self) -> State:
        """A rested car with the charge it starts on."""
        return State.at_rest(air_degC=self.place.air.temperature_degC, charge_share=self.full_share)

    def entry(self, car: Car, lap: tuple[Phase, ...] | None = None, **more: object) -> Entry:
        """This question put to a car, with the fan as it is."""
        if self.fan is FanState.STOPPED:
            cooling = with_fan_stopped(car.controller_heat.cooling)
            car = replace(car, controller_heat=replace(car.controller_heat, cooling=cooling))
        entry = Entry(
            car=car,
            place=self.place,
            start=self.start(),
            lap=lap or self.style.lap,
            fan=1.0 if self.fan is FanState.RUNNING else 0.0,
            limits=self.limits,
        )
        return replace(entry, **more)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Settled:
    """Mean temperatures at which this driving would settle, in °C; infinite where the winding would burn."""

    winding_degC: float
    can_degC: float
    controller_degC: float
    pack_degC: float


@dataclass(frozen=True, slots=True)
class Rung:
    """One final drive and what it does.

    `sprint` is full throttle from rest, `run` the style until the pack is down, `settling` the style hurried
    with a pack that never empties. The first two have traces: `SPRINT_EVERY_s` apart, and `RUN_ROWS` over the
    minutes of the style.
    """

    final_drive: float
    pairs: tuple[Pair, ...]
    is_today: bool
    rollout_m: float
    launch_limit: Limit
    sprint: Run
    run: Run
    settling: Run

    @property
    def top_speed_m_s(self) -> float:
        """Speed at the end of the sprint."""
        return self.sprint.top_speed_m_s

    @property
    def drives(self) -> tuple[Run, ...]:
        """All ways it was driven."""
        return self.sprint, self.run, self.settling

    @property
    def goal_s(self) -> float:
        """Seconds to the speed whose time is wanted; infinite when it is not reached."""
        return self.sprint.goal_s

    @property
    def settled(self) -> Settled:
        """Where the temperatures settle."""
        run = self.settling
        if run.outcome is Outcome.BURNT:
            return Settled(math.inf, math.inf, math.inf, math.inf)
        return Settled(run.mean_winding_degC, run.mean_can_degC, run.mean_controller_degC, run.mean_pack_degC)

    @property
    def ends_by(self) -> tuple[Alarm, float] | None:
        """What ends the driving and after how many seconds; None when the minutes of the style end it."""
        return self.run.first_alarm


def by_ratio(pairs: Iterable[Pair], internal_ratio: float) -> dict[float, tuple[Pair, ...]]:
    """The pairs of each final drive, from the shortest gearing to the tallest."""
    found: dict[float, list[Pair]] = {}
    for pair in pairs:
        found.setdefault(round(final_drive(pair, internal_ratio), 9), []).append(pair)
    return {
        ratio: tuple(sorted(found[ratio], key=lambda pair: pair.pinion_teeth))
        for ratio in sorted(found, reverse=True)
    }


def ladder(
    question: Question,
    pairs: Iterable[Pair],
    *,
    internal_ratio: float,
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = lambda: False,
) -> tuple[Rung, ...]:
    """All rungs these pairs give, from the shortest gearing to the tallest. Pairs of one ratio share a rung.

    Today's rung is the one at the car's own final drive. Raises Stopped when asked to stop.
    """
    of_ratio = by_ratio(pairs, internal_ratio)
    cars = [replace(question.car, final_drive=ratio) for ratio in of_ratio]
    rungs = climb(question, cars, executor=executor, progress=progress, should_stop=should_stop)
    return tuple(replace(rung, pairs=of_ratio[rung.final_drive]) for rung in rungs)


def climb(
    question: Question,
    cars: Sequence[Car],
    *,
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = lambda: False,
) -> list[Rung]:
    """One rung for each car, which may differ from today's in anything: gears, tyres, motor."""
    with Driving(executor=executor, progress=progress, should_stop=should_stop) as driving:
        return Climb(question, cars, driving).rungs()


class Climb:
    """Cars on their way up a ladder: begun at once, read when wanted."""

    def __init__(self, question: Question, cars: Sequence[Car], driving: Driving) -> None:
        self.question = question
        self.cars = cars
        goal_m_s = question.goal_m_s or 0.9 * top_speed(question, question.car)
        minutes_s = question.style.minutes * 60.0
        self._settling = driving.begin([for_ever(question, car) for car in cars], for_s=SETTLES_AFTER_s)
        self._runs = driving.begin(
            [question.entry(car) for car in cars], for_s=minutes_s, trace_every_s=minutes_s / RUN_ROWS
        )
        self._sprints = driving.begin(
            [sprint(question, car, goal_m_s=goal_m_s) for car in cars],
            for_s=SPRINT_s,
            trace_every_s=SPRINT_EVERY_s,
        )
        self._launches = driving.begin([question.entry(car, SPRINT) for car in cars], for_s=LAUNCH_s)

    def settling(self) -> list[Run]:
        """Where the temperatures of each car settle, which is known first."""
        return self._settling.runs

    def rungs(self) -> list[Rung]:
        """One rung for each car, without its pairs."""
        today = self.question.car
        return [
            Rung(
                final_drive=car.final_drive,
                pairs=(),
                is_today=math.isclose(car.final_drive, today.final_drive) and car.tyre == today.tyre,
                rollout_m=tyres.rollout(radius_m=car.tyre.radius_m, final_drive=car.final_drive),
                launch_limit=_ruler(launched),
                sprint=sprinted,
                run=ran,
                settling=settling,
            )
            for car, settling, ran, sprinted, launched in zip(
                self.cars,
                self._settling.runs,
                self._runs.runs,
                self._sprints.runs,
                self._launches.runs,
                strict=True,
            )
        ]


def sprint(question: Question, car: Car, **more: object) -> Entry:
    """Full throttle from rest, whatever the pack falls to; whether the ESC would cut off, the run tells."""
    return question.entry(car, SPRINT, stop_on_charge=False, **more)


def for_ever(question: Question, car: Car) -> Entry:
    """The style driven on, hurried, with a pack that never empties: the way to settled temperatures."""
    return question.entry(
        car,
        endless_pack=True,
        hurry=HURRY,
        start=replace(question.start(), charge_share=HALF_FULL),
        stop_on_charge=False,
        mean_from_s=SETTLES_AFTER_s - SETTLED_OVER_s,
    )


def _ruler(run: Run) -> Limit:
    return max(run.ruled_s, key=lambda limit: run.ruled_s[limit])


def top_speed(question: Question, car: Car) -> float:
    """Speed after a sprint on the flat, in m/s."""
    return drive([sprint(question, car)], for_s=SPRINT_s)[0].top_speed_m_s


def one_tooth(today: Rung, other: Rung) -> str:
    """What another rung would change, in one sentence."""
    if today.top_speed_m_s <= 0.0:
        return "This car does not move with today's gears, so nothing can be compared."
    speed = (other.top_speed_m_s / today.top_speed_m_s - 1.0) * 100.0
    can = other.settled.can_degC - today.settled.can_degC
    return (
        f"Top speed {other.top_speed_m_s * 3.6:.0f} km/h ({_signed(speed, 0)} %), "
        f"{_heat_words(can)}, {_time_words(today, other)}."
    )


def _heat_words(can_K: float) -> str:
    if math.isinf(can_K) or math.isnan(can_K):
        return "and the winding would burn if driven on"
    if abs(can_K) < ALIKE_K:
        return "the motor as warm as today once settled"
    return f"motor can {abs(can_K):.0f} K {'hotter' if can_K >= 0 else 'cooler'} once settled"


def _time_words(today: Rung, other: Rung) -> str:
    now, then = (rung.ends_by for rung in (today, other))
    if then is None:
        return "and nothing ends the run before its minutes are up"
    change = "" if now is None else f" ({_signed((then[1] - now[1]) / 60.0, 0)} min)"
    return f"and after about {then[1] / 60.0:.0f} min{change} {then[0].value}"


def _signed(value: float, digits: int) -> str:
    return f"{value:+.{digits}f}".replace("-", "−")
