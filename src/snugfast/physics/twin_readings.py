"""What an owner can read off a car, and what the twin says would be read."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.driving_styles import Does, Phase
from snugfast.physics.gearing import Question, SPRINT_s
from snugfast.physics.knobs import Knob, turned
from snugfast.physics.powertrain import comfortable_step
from snugfast.physics.runs import Entry, Run, ShouldStop, drive

_Driver = Callable[..., list[Run]]
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
                return "It is not said that it was read on the motor can."
            if self.after_stop_s is None:
                return (
                    "It is not said how long after the stop it was read; a can warms and cools quickly then."
                )
        if self.sort is Sort.LAP_TIME and self.value <= 0.0:
            return "No lap is that short."
        return ""


def predict(
    outing: Outing,
    wanted: Sequence[tuple[Sort, float]],
    factors: Sequence[Mapping[Knob, float]],
    *,
    executor: Executor | None = None,
    should_stop: ShouldStop = lambda: False,
) -> NDArray[np.float64]:
    """What would be read, for each set of factors. `wanted` pairs a sort with the seconds after the stop.

    A lap time is that of the style's own lap. Returns shape (sets of factors, wanted), in the unit of each
    sort.
    """
    questions = [turned(outing.question, one) for one in factors]

    def driven(entries: list[Entry], for_s: float, step_s: float | None = None) -> list[Run]:
        return drive(entries, for_s=for_s, step_s=step_s, executor=executor, should_stop=should_stop)

    sorts = {sort for sort, _ in wanted}
    whole = sprints = laps = None
    if sorts & {Sort.CAN_TEMPERATURE, Sort.CHARGE_USED}:
        whole = driven([q.entry(q.car, stop_on_charge=False) for q in questions], outing.lasted_s)
    if Sort.TOP_SPEED in sorts:
        sprint = (Phase(Does.FULL, at_most_s=SPRINT_s),)
        sprints = driven([q.entry(q.car, sprint) for q in questions], SPRINT_s)
    if Sort.LAP_TIME in sorts:
        step_s = min(LAP_STEP_s, *(comfortable_step(q.car, q.place) for q in questions))
        laps = driven([q.entry(q.car, laps=LAPS_TIMED) for q in questions], LAPS_TIMED_s, step_s)
    columns = []
    for sort, after_s in wanted:
        if sort is Sort.CAN_TEMPERATURE and whole is not None:
            columns.append(_can_after(questions, whole, after_s, driven_for=driven))
        elif sort is Sort.CHARGE_USED and whole is not None:
            columns.append(
                [
                    (q.full_share - run.end.charge_share) * q.car.pack.capacity_Ah * 3600.0
                    for q, run in zip(questions, whole, strict=True)
                ]
            )
        elif sort is Sort.TOP_SPEED and sprints is not None:
            columns.append([run.top_speed_m_s for run in sprints])
        elif laps is not None:
            columns.append([run.lasted_s / max(run.laps, 1) for run in laps])
    return np.array(columns).T


def _can_after(
    questions: list[Question], runs: list[Run], after_s: float, *, driven_for: _Driver
) -> list[float]:
    """Can temperatures some seconds after the car was stopped."""
    if after_s <= 0.0:
        return [run.end.can_degC for run in runs]
    rest = (Phase(Does.WAIT, at_most_s=after_s),)
    entries = [
        q.entry(q.car, rest, start=replace(run.end, speed_m_s=0.0), stop_on_charge=False)
        for q, run in zip(questions, runs, strict=True)
    ]
    return [run.end.can_degC for run in driven_for(entries, after_s)]
