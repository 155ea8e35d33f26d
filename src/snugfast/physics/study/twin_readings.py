"""What an owner can read off a car, and what the twin says would be read."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from enum import Enum
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.powertrain.driving_styles import Does, Phase
from snugfast.physics.powertrain.powertrain import comfortable_step
from snugfast.physics.powertrain.runs import Driving, Entry, Outcome, Run, ShouldStop, Traced
from snugfast.physics.study.gearing import Question, SPRINT_s, sprint
from snugfast.physics.study.knobs import Knob, turned

ROW_EVERY_s = 1.0
FEW_ROWS = 20  # of a run too short to have laps
LAPS_TIMED = 4
LAPS_TIMED_s = 600.0
LAP_STEP_s = 0.001
"""A phase ends with a step, in every lap alike. At 10 ms that is as much of a lap as many a set-up makes."""


class Sort(Enum):
    """What was read, and its unit."""

    CAN_TEMPERATURE = "°C"
    CHARGE_USED = "C"
    TOP_SPEED = "m/s"
    LAP_TIME = "s"


class Spot(Enum):
    """Where a thermometer was held."""

    CAN = "on the motor can"
    ELSEWHERE = "somewhere else"


@dataclass(frozen=True, slots=True)
class Outing:
    """One pack's worth of driving: what car, where, which style (in the question), and for how long."""

    question: Question
    lasted_s: float


@dataclass(frozen=True, slots=True)
class Reading:
    """One number read after or during an outing; `spread` is one standard deviation of such a reading.

    A temperature needs its spot and the seconds since the car stopped; the air's is in the outing. A lap time
    belongs to a track: laps of one name were driven round the same one.
    """

    outing: Outing
    sort: Sort
    value: float
    spread: float
    spot: Spot | None = None
    after_stop_s: float | None = None
    track: str = ""

    @property
    def unused_because(self) -> str:
        """Why this reading is left out, or nothing when it counts."""
        if self.sort is Sort.CAN_TEMPERATURE:
            if self.spot is not Spot.CAN:
                return "Nothing says that it was read on the motor can."
            if self.after_stop_s is None:
                return (
                    "How long after the stop it was read is not entered; a can warms and cools quickly then."
                )
        if self.sort is Sort.LAP_TIME and self.value <= 0.0:
            return "No lap is that short."
        return ""


Wanted = Sequence[tuple[Sort, float]]
"""Sorts of readings, each with the seconds after the stop."""


def predict(
    outing: Outing,
    wanted: Wanted,
    factors: Sequence[Mapping[Knob, float]],
    *,
    executor: Executor | None = None,
    should_stop: ShouldStop = lambda: False,
) -> NDArray[np.float64]:
    """What would be read after an outing, for each set of factors; see `predict_all`."""
    return predict_all([(outing, wanted)], factors, executor=executor, should_stop=should_stop)[0]


def predict_all(
    asked: Sequence[tuple[Outing, Wanted]],
    factors: Sequence[Mapping[Knob, float]],
    *,
    efforts: Sequence[float] = (),
    executor: Executor | None = None,
    should_stop: ShouldStop = lambda: False,
) -> list[NDArray[np.float64]]:
    """What would be read after each outing, for each set of factors.

    `efforts` are those of the outings themselves, on top of the factors; all one when left out. All that is
    wanted is driven together, so that threads and lanes are full. A lap time is that of the style's own lap.
    Returns for each outing shape (sets of factors, wanted), in the unit of each sort.
    """
    with Driving(executor=executor, should_stop=should_stop) as driving:
        told = _Told(asked, factors, efforts or [1.0] * len(asked), driving)
        return [
            np.array([told.of(n, sort, after_s) for sort, after_s in wanted]).T
            for n, (_, wanted) in enumerate(asked)
        ]


class _Told:
    """The drives that outings with all their sets of factors want, begun at once and read one by one."""

    def __init__(
        self,
        asked: Sequence[tuple[Outing, Wanted]],
        factors: Sequence[Mapping[Knob, float]],
        efforts: Sequence[float],
        driving: Driving,
    ) -> None:
        self._asked = asked
        self._driving = driving
        self._questions = [
            [turned(outing.question, _driven_at(one, effort)) for one in factors]
            for (outing, _), effort in zip(asked, efforts, strict=True)
        ]
        step_s = min(comfortable_step(one.car, one.place) for these in self._questions for one in these)
        self._whole = self._begin(
            {Sort.CAN_TEMPERATURE, Sort.CHARGE_USED},
            lambda one: one.entry(one.car, stop_on_charge=False),
            lambda outing: outing.lasted_s,
            row_every_s=ROW_EVERY_s,
        )
        self._sprints = self._begin({Sort.TOP_SPEED}, lambda one: sprint(one, one.car), lambda _: SPRINT_s)
        self._laps = self._begin(
            {Sort.LAP_TIME},
            lambda one: one.entry(one.car, laps=LAPS_TIMED),
            lambda _: LAPS_TIMED_s,
            step_s=min(LAP_STEP_s, step_s),
        )

    def _begin(
        self,
        sorts: set[Sort],
        entry_of: Callable[[Question], Entry],
        lasts_s: Callable[[Outing], float],
        step_s: float | None = None,
        row_every_s: float = 0.0,
    ) -> Callable[[int], list[Run]]:
        """Begin one kind of drive for every outing that wants a reading of these sorts; runs by outing."""
        wanting = [n for n, (_, wanted) in enumerate(self._asked) if any(sort in sorts for sort, _ in wanted)]
        entries = [entry_of(one) for n in wanting for one in self._questions[n]]
        each_s = [lasts_s(self._asked[n][0]) for n in wanting for _ in self._questions[n]]
        begun = self._driving.begin(entries, for_s=each_s, step_s=step_s, trace_every_s=row_every_s)
        many = len(self._questions[0])
        return lambda n: begun.runs[wanting.index(n) * many : (wanting.index(n) + 1) * many]

    def of(self, n: int, sort: Sort, after_s: float) -> list[float]:
        """What would be read of a sort after an outing, for each set of factors."""
        if sort is Sort.CAN_TEMPERATURE:
            return self._rested[n, after_s] if after_s > 0.0 else [run.end.can_degC for run in self._whole(n)]
        if sort is Sort.CHARGE_USED:
            return [
                _charge_C(run, one.car.pack.capacity_Ah)
                for one, run in zip(self._questions[n], self._whole(n), strict=True)
            ]
        if sort is Sort.TOP_SPEED:
            return [run.top_speed_m_s for run in self._sprints(n)]
        return [run.lasted_s / max(run.laps, 1) for run in self._laps(n)]

    @cached_property
    def _rested(self) -> dict[tuple[int, float], list[float]]:
        """Can temperatures some seconds after the cars were stopped, by outing and seconds."""
        wanted = [
            (n, after_s)
            for n, (_, pairs) in enumerate(self._asked)
            for sort, after_s in pairs
            if sort is Sort.CAN_TEMPERATURE and after_s > 0.0
        ]
        begun = self._driving.begin(
            [
                _at_rest(one, run, after_s)
                for n, after_s in wanted
                for one, run in zip(self._questions[n], self._whole(n), strict=True)
            ],
            for_s=[after_s for n, after_s in wanted for _ in self._questions[n]],
        )
        many = len(self._questions[0])
        cans = [run.end.can_degC for run in begun.runs]
        return {which: cans[m * many : (m + 1) * many] for m, which in enumerate(wanted)}


def _charge_C(run: Run, capacity_Ah: float) -> float:
    """The charge used by then, in C, whatever of a lap the car was in when its time was up.

    A driver stops where he likes, so the end of a run says nothing about its charge; left in, it is a wave
    that no slope follows. A straight line through the second half, weighted by Hann's window, is carried on.
    """
    if run.outcome is not Outcome.TIME_UP or len(run.trace) < FEW_ROWS:
        return run.drawn_Ah * 3600.0
    to_end_s = np.arange(len(run.trace)) * run.row_every_s - run.lasted_s
    drawn_C = (run.trace[0, Traced.CHARGE_SHARE] - run.trace[:, Traced.CHARGE_SHARE]) * capacity_Ah * 3600.0
    late = to_end_s >= -0.5 * run.lasted_s
    weights = np.sin(2.0 * math.pi * to_end_s[late] / run.lasted_s)  # squared by the fit: Hann's window
    line = np.polyfit(to_end_s[late], drawn_C[late], 1, w=weights)
    return float(line[1])


def _driven_at(factors: Mapping[Knob, float], effort: float) -> Mapping[Knob, float]:
    return {**factors, Knob.EFFORT: factors.get(Knob.EFFORT, 1.0) * effort}


def _at_rest(question: Question, run: Run, after_s: float) -> Entry:
    """The car as its run left it, stopped."""
    rest = (Phase(Does.WAIT, at_most_s=after_s),)
    return question.entry(question.car, rest, start=replace(run.end, speed_m_s=0.0), stop_on_charge=False)
