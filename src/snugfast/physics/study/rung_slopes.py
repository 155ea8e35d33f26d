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
READ_EVERY_s = 0.5
READ = 20  # rows read for a row kept: one for every 100 s of driving
ROWS = round(SETTLES_AFTER_s / READ_EVERY_s) // READ - 1  # the first is that of the start
OVER_LAPS, OVER_AT_MOST_s = 3.0, 60.0
PARTS = 4  # winding, can, controller, pack


@dataclass(frozen=True, slots=True)
class Slopes:
    """What the numbers move on one rung, the numbers along the last axis.

    `settled` has shape (4, numbers) for winding, can, controller and pack, not a number where no anchor
    settles; `warmed` is the same after each of the `seconds`, shape (seconds, 4, numbers).
    """

    top_speed: Numbers
    charge_rate: Numbers
    settled: Numbers
    seconds: Numbers
    warmed: Numbers


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
            [for_ever(one, car) for one, car in asked], for_s=SETTLES_AFTER_s, trace_every_s=READ_EVERY_s
        )
        self._sprints = driving.begin([sprint(one, car) for one, car in asked], for_s=SPRINT_s)

    def at(self, final_drives: Sequence[float]) -> list[Slopes]:
        """The slopes at some final drives, from those of the anchors."""
        along = np.log(self._anchors)
        settling = self._settling.runs
        speed = self._slopes(np.array([run.top_speed_m_s for run in self._sprints.runs]))
        rate = self._slopes(np.array([run.drawn_Ah / run.lasted_s for run in settling]))
        settled = self._slopes(np.array([_settled_rises(run, self._air_degC) for run in settling]))
        warmed = _carried_on(self._slopes(np.array([_warmed(run, self._air_degC) for run in settling])))
        seconds = np.arange(1.0, ROWS + 1.0) * (READ * READ_EVERY_s * HURRY)
        return [
            Slopes(
                top_speed=_between(along, speed, math.log(drive)),
                charge_rate=_between(along, rate, math.log(drive)),
                settled=_between(along, settled, math.log(drive)),
                seconds=seconds,
                warmed=_between(along, warmed, math.log(drive)),
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


def _warmed(run: Run, air_degC: float) -> Numbers:
    """How far the four parts have warmed at each row kept, (rows, 4); not a number once the winding burnt.

    Hurried, a part swings within a lap as it does not in life. So each row is a mean over the last laps,
    weighted by Hann's window, in which a swing of that period and its harmonics leave nothing.
    """
    rises = run.rises_K(air_degC)
    over_s = min(OVER_LAPS * run.lasted_s / max(run.laps, 1), OVER_AT_MOST_s)
    window = np.hanning(max(round(over_s / run.row_every_s), 1) + 2)[1:-1]
    weight = np.convolve(np.ones(len(rises)), window)[: len(rises)]
    means = np.array([np.convolve(part, window)[: len(rises)] / weight for part in rises.T]).T
    rows = np.full((ROWS, PARTS), math.nan)
    kept = means[READ::READ][:ROWS]
    rows[: len(kept)] = kept
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
