"""How long something lasts before it is too hot: passes at full speed, and a controller without its fan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from snugfast.physics.powertrain.driving_styles import Does, Phase, Style
from snugfast.physics.powertrain.powertrain import Car
from snugfast.physics.powertrain.runs import Alarm, Driving, Entry, Progress, Run, ShouldStop, Traced, drive
from snugfast.physics.study.gearing import FanState, Question


@dataclass(frozen=True, slots=True)
class Passes:
    """Full-speed passes in a row: how many, what ends them, and how long to wait then.

    `pause_s` is infinite when ten minutes in still air do not bring the part down to `resume_below_degC`.
    """

    passes: int
    ends_by: Alarm | None
    top_speed_m_s: float
    pause_s: float
    resume_below_degC: float


COOLS_BY_K = 20.0
LONGEST_PAUSE_s = 3600.0
PAUSE_EVERY_s = 5.0
HURRY = 20.0  # a standing car cools the same in a twentieth of the time with a twentieth of the heat capacity
COLUMN = {
    Alarm.WINDING: Traced.WINDING_degC,
    Alarm.CAN: Traced.CAN_degC,
    Alarm.CONTROLLER: Traced.CONTROLLER_degC,
    Alarm.PACK: Traced.PACK_degC,
}


def passes_until_hot(
    question: Question,
    cars: Sequence[Car],
    *,
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = lambda: False,
) -> list[Passes]:
    """How many passes of the style each car stands before something is too hot, and the pause it needs then.

    A pass that was begun when the limit came is not counted. Raises Stopped when asked to stop.
    """
    with Driving(executor=executor, progress=progress, should_stop=should_stop) as driving:
        ran = driving.begin(
            [question.entry(car, stop_on_heat=True) for car in cars], for_s=question.style.minutes * 60.0
        ).runs
        cooled = driving.begin(
            [_at_rest(question, car, run) for car, run in zip(cars, ran, strict=True)],
            for_s=LONGEST_PAUSE_s / HURRY,
            trace_every_s=PAUSE_EVERY_s / HURRY,
        ).runs
    return [_passes(run, rest) for run, rest in zip(ran, cooled, strict=True)]


def _at_rest(question: Question, car: Car, run: Run) -> Entry:
    rest = (Phase(Does.WAIT, at_most_s=LONGEST_PAUSE_s),)
    stopped = replace(run.end, speed_m_s=0.0)
    return question.entry(car, rest, start=stopped, stop_on_charge=False, hurry=HURRY)


def _passes(ran: Run, cooled: Run) -> Passes:
    alarm = ran.first_alarm
    if alarm is None:
        return Passes(ran.laps, None, ran.top_speed_m_s, 0.0, math.nan)
    column = COLUMN.get(alarm[0])
    if column is None:
        return Passes(ran.laps, alarm[0], ran.top_speed_m_s, math.inf, math.nan)
    resume_degC = float(cooled.trace[0, column]) - COOLS_BY_K
    below = (cooled.trace[:, column] <= resume_degC).nonzero()[0]
    pause_s = float(below[0]) * PAUSE_EVERY_s if below.size else math.inf
    return Passes(ran.laps, alarm[0], ran.top_speed_m_s, pause_s, resume_degC)


@dataclass(frozen=True, slots=True)
class FanStopped:
    """One style with the fan as it should be and with the fan stopped: seconds to the controller's limit."""

    style: Style
    running_s: float
    stopped_s: float
    running_top_degC: float
    stopped_top_degC: float


def fan_stopped(
    questions: Sequence[Question],
    *,
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = lambda: False,
) -> list[FanStopped]:
    """How long the controller lasts with its fan stopped, for each question: a style on its ground."""
    ran = drive(
        [
            replace(question, fan=fan).entry(question.car)
            for question in questions
            for fan in (FanState.RUNNING, FanState.STOPPED)
        ],
        for_s=[question.style.minutes * 60.0 for question in questions for _ in range(2)],
        executor=executor,
        progress=progress,
        should_stop=should_stop,
    )
    return [
        FanStopped(
            style=question.style,
            running_s=running.alarms_s[Alarm.CONTROLLER],
            stopped_s=stopped.alarms_s[Alarm.CONTROLLER],
            running_top_degC=running.top_controller_degC,
            stopped_top_degC=stopped.top_controller_degC,
        )
        for question, running, stopped in zip(questions, ran[::2], ran[1::2], strict=True)
    ]
