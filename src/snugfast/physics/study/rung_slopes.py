"""How much each guessed number moves what a rung does: its speed, its temperatures, the rate of its charge.

Every number is driven a little up and a little down on a few rungs, the anchors; between anchors the slopes
are interpolated along the logarithm of the final drive. All are slopes of logarithms by logarithms, and
temperatures count above the air.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.powertrain.runs import Driving, Outcome, Run
from snugfast.physics.study.gearing import HURRY, Question, SETTLES_AFTER_s, SPRINT_s, for_ever, sprint
from snugfast.physics.study.knobs import Knob, turned

Numbers = NDArray[np.float64]

NUDGE = 0.05  # of the logarithm
ROW_EVERY_s = 10.0  # hurried: a row for every 100 s of driving
ROWS = round(SETTLES_AFTER_s / ROW_EVERY_s) - 1  # the first is that of the start
PARTS = 4  # winding, can, controller, pack
STEADY = slice(2, 4)  # controller and pack


@dataclass(frozen=True, slots=True)
class Slopes:
    """What the numbers move on one rung, the numbers along the last axis.

    `settled` has shape (4, numbers) for winding, can, controller and pack, not a number where no anchor
    settles; `peak` is the same for the highest temperature so far, after each of the `seconds`, shape
    (seconds, 4, numbers).
    """

    top_speed: Numbers
    charge_rate: Numbers
    settled: Numbers
    seconds: Numbers
    peak: Numbers


def numbers_turned(question: Question, knobs: Sequence[Knob]) -> list[tuple[Question, Question]]:
    """The question with each number a little up and a little down."""
    up, down = math.exp(NUDGE), math.exp(-NUDGE)
    return [(turned(question, {knob: up}), turned(question, {knob: down})) for knob in knobs]


class SlopesAlong:
    """The slopes along a ladder, begun at its anchors at once and read when wanted."""

    def __init__(
        self,
        turned_both_ways: Sequence[tuple[Question, Question]],
        anchors: Iterable[float],
        driving: Driving,
    ) -> None:
        """`anchors` are final drives, in any order."""
        self._anchors = sorted(set(anchors))
        self._numbers = len(turned_both_ways)
        self._air_degC = turned_both_ways[0][0].place.air.temperature_degC
        asked = [
            (one, replace(one.car, final_drive=drive))
            for drive in self._anchors
            for pair in turned_both_ways
            for one in pair
        ]
        self._settling = driving.begin(
            [for_ever(one, car) for one, car in asked], for_s=SETTLES_AFTER_s, trace_every_s=ROW_EVERY_s
        )
        self._sprints = driving.begin([sprint(one, car) for one, car in asked], for_s=SPRINT_s)

    def at(self, final_drives: Sequence[float]) -> list[Slopes]:
        """The slopes at some final drives, from those of the anchors."""
        along = np.log(self._anchors)
        settling = self._settling.runs
        speed = self._slopes(np.array([run.top_speed_m_s for run in self._sprints.runs]))
        rate = self._slopes(np.array([run.drawn_Ah / run.lasted_s for run in settling]))
        settled = self._slopes(np.array([_settled_rises(run, self._air_degC) for run in settling]))
        peak = _carried_on(self._slopes(_rows([_peak_rises(run, self._air_degC) for run in settling])))
        # Hurried, a controller swings within a lap as it does not in life; a pack is empty before it settles.
        steady = np.broadcast_to(settled[:, None, STEADY], peak[:, :, STEADY].shape)
        peak[:, :, STEADY] = np.where(np.isfinite(steady), steady, peak[:, :, STEADY])
        seconds = np.arange(1.0, ROWS + 1.0) * (ROW_EVERY_s * HURRY)
        return [
            Slopes(
                top_speed=_between(along, speed, math.log(drive)),
                charge_rate=_between(along, rate, math.log(drive)),
                settled=_between(along, settled, math.log(drive)),
                seconds=seconds,
                peak=_between(along, peak, math.log(drive)),
            )
            for drive in final_drives
        ]

    def _slopes(self, told: Numbers) -> Numbers:
        """(anchors · numbers · 2, …) as slopes of logarithms, (anchors, …, numbers)."""
        with np.errstate(invalid="ignore", divide="ignore"):
            logs = np.log(told).reshape(len(self._anchors), self._numbers, 2, *told.shape[1:])
            slopes = (logs[:, :, 0] - logs[:, :, 1]) / (2.0 * NUDGE)
        return np.moveaxis(slopes, 1, -1)


def _settled_rises(run: Run, air_degC: float) -> tuple[float, ...]:
    if run.outcome is Outcome.BURNT:
        return (math.nan,) * PARTS
    means = (run.mean_winding_degC, run.mean_can_degC, run.mean_controller_degC, run.mean_pack_degC)
    return tuple(mean - air_degC for mean in means)


def _peak_rises(run: Run, air_degC: float) -> Numbers:
    """The highest rise so far of the four parts, row by row after the first, (rows, 4)."""
    return np.maximum.accumulate(run.rises_K(air_degC)[1:], axis=0)


def _rows(traces: Sequence[Numbers]) -> Numbers:
    """Traces as one array, (traces, rows, …); not a number once burnt."""
    rows = np.full((len(traces), ROWS, *traces[0].shape[1:]), math.nan)
    for n, trace in enumerate(traces):
        rows[n, : len(trace)] = trace[:ROWS]
    return rows


def _carried_on(slopes: Numbers) -> Numbers:
    """(anchors, rows, …): where a row has none, because the winding burnt, those of the row before."""
    filled = slopes.copy()
    for n in range(1, filled.shape[1]):
        filled[:, n] = np.where(np.isfinite(filled[:, n]), filled[:, n], filled[:, n - 1])
    return filled


def _between(along: Numbers, slopes: Numbers, at: float) -> Numbers:
    """Slopes at a place between the anchors, from those that have any; past the last, the last one's."""
    flat = slopes.reshape(len(along), -1)
    known = np.isfinite(flat)
    values = [
        float(np.interp(at, along[here], column[here])) if here.any() else math.nan
        for column, here in zip(flat.T, known.T, strict=True)
    ]
    return np.array(values).reshape(slopes.shape[1:])
