"""How long something lasts before it is too hot: passes at full speed, and a controller without its fan."""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from snugfast.physics.driving_styles import Does, Phase, Style
from snugfast.physics.gearing import FanState, Question
from snugfast.physics.powertrain import Car
from snugfast.physics.runs import Alarm, drive


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


def passes_until_hot(question: Question, car: Car) -> Passes:
    """How many passes of the style a car stands before something is too hot, and the pause it needs then.

    A pass that was begun when the limit came is not counted.
    """
    ran = drive([question.entry(car, stop_on_heat=True)], for_s=question.style.minutes * 60.0)[0]
    alarm = ran.first_alarm
    if alarm is None:
        return Passes(ran.laps, None, ran.top_speed_m_s, 0.0, math.nan)
    column = {Alarm.WINDING: 5, Alarm.CAN: 6, Alarm.CONTROLLER: 7, Alarm.PACK: 8}.get(alarm[0])
    if column is None:
        return Passes(ran.laps, alarm[0], ran.top_speed_m_s, math.inf, math.nan)
    hot = (ran.end.winding_degC, ran.end.can_degC, ran.end.controller_degC, ran.end.pack_degC)[column - 5]
    resume = hot - COOLS_BY_K
    rest = (Phase(Does.WAIT, at_most_s=LONGEST_PAUSE_s),)
    stopped = replace(ran.end, speed_m_s=0.0)
    cooled = drive(
        [question.entry(car, rest, start=stopped, stop_on_charge=False)],
        for_s=LONGEST_PAUSE_s,
        trace_every_s=5.0,
    )[0]
    below = (cooled.trace[:, column] <= resume).nonzero()[0]
    pause_s = float(below[0]) * 5.0 if below.size else math.inf
    return Passes(ran.laps, alarm[0], ran.top_speed_m_s, pause_s, resume)


@dataclass(frozen=True, slots=True)
class FanStopped:
    """One style with the fan as it should be and with the fan stopped: seconds to the controller's limit."""

    style: Style
    running_s: float
    stopped_s: float
    running_top_degC: float
    stopped_top_degC: float


def fan_stopped(
    question: Question, styles: Sequence[Style], *, executor: Executor | None = None
) -> list[FanStopped]:
    """How long the controller lasts with its fan stopped, style by style."""
    entries = [
        replace(question, style=style, fan=fan).entry(question.car)
        for style in styles
        for fan in (FanState.RUNNING, FanState.STOPPED)
    ]
    ran = drive(entries, for_s=max(style.minutes for style in styles) * 60.0, executor=executor)
    return [
        FanStopped(
            style=style,
            running_s=running.alarms_s[Alarm.CONTROLLER],
            stopped_s=stopped.alarms_s[Alarm.CONTROLLER],
            running_top_degC=running.top_controller_degC,
            stopped_top_degC=stopped.top_controller_degC,
        )
        for style, running, stopped in zip(styles, ran[::2], ran[1::2], strict=True)
    ]
