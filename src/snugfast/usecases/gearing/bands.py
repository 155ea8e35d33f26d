"""How sure a twin is of what it says of each rung: every guessed number driven a little up and a little down.

Before a fit the guesses are as wide as the tables say, each by itself; after it they are as the readings left
them, together. A band holds nine in ten. The slopes are worked out at a few rungs and interpolated between.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from snugfast.core.figures import Figure, Origin
from snugfast.physics.powertrain.runs import Driving, Outcome, Run
from snugfast.physics.study.gearing import RUN_ROWS, Question, Rung
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.rung_slopes import Slopes, SlopesAlong, numbers_turned
from snugfast.usecases.gearing.rungs import BURNS_degC, HeatBands, RungBands, charge_lasts_min, ending
from snugfast.usecases.gearing.said import Asked
from snugfast.usecases.twin.tables import COVERS_NINE_IN_TEN

Numbers = NDArray[np.float64]

MODEL = Origin("twin-estimates", "the car model, with every guess driven up and down")
FITTED = Origin("mine", "the car model, fitted to your readings")
HOTTEST_ANCHOR = 1.3  # times the winding's limit above the air: hotter still, small changes make it burn
FEW_ROWS = 6  # of a run that is over at once
FAR_APART = 0.35  # of the logarithm of the final drive, from where another anchor goes between two


def anchors(
    final_drives: Sequence[float], settling: Sequence[Run], chosen: float, question: Question
) -> set[float]:
    """The rungs at which slopes are worked out: the shortest, the chosen, and the tallest that does not burn.

    Where two of them lie far apart, one between them. `settling` are the runs of the `final_drives`.
    """
    air_degC = question.place.air.temperature_degC
    hottest_degC = air_degC + HOTTEST_ANCHOR * (question.limits.winding_degC - air_degC)
    cool = [
        drive
        for drive, run in zip(final_drives, settling, strict=True)
        if run.mean_winding_degC <= hottest_degC
    ]
    tallest = min(cool, default=chosen)
    found = sorted({max(final_drives), chosen, tallest})
    between = (math.sqrt(a * b) for a, b in pairwise(found) if math.log(b / a) > FAR_APART)
    return {*found, *between}


class BandsAlong:
    """The bands of a ladder, begun at its anchors at once and read when the rungs are known."""

    def __init__(self, asked: Asked, question: Question, at: set[float], driving: Driving) -> None:
        """`question` is turned by the fit already, if there is one."""
        fit, twin = asked.fit, asked.twin
        guessed = [knob for knob in Knob if twin.spreads[knob] > 0.0]
        learned = None if fit is None else fit.learned.on(question.style.key)
        fitted = [] if learned is None else list(learned.knobs)
        knobs = [*fitted, *(knob for knob in guessed if knob not in fitted)]
        self._question = question
        self._slopes = SlopesAlong(numbers_turned(question, knobs), at, driving)
        self._origin = FITTED if fit is not None else MODEL
        self._covariance = np.diag([twin.spreads[knob] ** 2 for knob in knobs])
        if learned is not None:
            self._covariance[: len(fitted), : len(fitted)] = learned.covariance

    def of(self, rungs: Sequence[Rung]) -> list[RungBands]:
        """The bands of each rung."""
        along = self._slopes.at([rung.final_drive for rung in rungs])
        return [self._of(rung, slopes) for rung, slopes in zip(rungs, along, strict=True)]

    def _of(self, rung: Rung, slopes: Slopes) -> RungBands:
        run, settled = rung.run, rung.settled
        rises = self._wide(slopes.warmed)
        at_end = self._wide(self._at_end(run, slopes))
        peak = (run.top_winding_degC, run.top_can_degC, run.top_controller_degC, run.top_pack_degC)
        rest = (settled.winding_degC, settled.can_degC, settled.controller_degC, settled.pack_degC)
        settles = math.isfinite(settled.can_degC)
        return RungBands(
            top_speed=self._speed(rung.top_speed_m_s * 3.6, float(self._wide(slopes.top_speed))),
            peak=self._heats(peak, at_end) if settles else HeatBands(),
            settled=self._heats(rest, self._wide(slopes.settled)) if settles else HeatBands(),
            run_time=self._run_time(run, float(self._wide(slopes.charge_rate)), slopes.seconds, rises),
        )

    def _at_end(self, run: Run, slopes: Slopes) -> Numbers:
        """What the numbers move at the end of the run, shape (4, numbers).

        Where the charge ends it, who takes more of it has less time to warm what is not settled by then.
        """
        warmed: Numbers = slopes.warmed[int(np.argmin(np.abs(slopes.seconds - run.lasted_s)))]
        if run.outcome is not Outcome.ALARM or len(run.trace) < FEW_ROWS:
            return warmed
        late = round(0.8 * len(run.trace))
        rises = np.maximum.accumulate(run.rises_K(self._question.place.air.temperature_degC), axis=0)
        with np.errstate(divide="ignore", invalid="ignore"):
            still = np.log(rises[-1] / rises[late]) / math.log((len(rises) - 1) / late)
        less_time: Numbers = np.nan_to_num(still)[:, None] * slopes.charge_rate
        return warmed - less_time

    def _wide(self, slopes: Numbers) -> Numbers:
        """The factor from the middle to the upper end of a band; the last axis of slopes is the numbers.

        All predictions are logarithms, so that a band never goes below rest, or below the air.
        """
        spread = np.sqrt(np.einsum("...k,kl,...l->...", slopes, self._covariance, slopes))
        return np.asarray(np.exp(COVERS_NINE_IN_TEN * spread), np.float64)

    def _speed(self, km_h: float, wide: float) -> Figure:
        return Figure(km_h, "km/h", km_h / wide, km_h * wide, (self._origin,))

    def _heats(self, degC: Sequence[float], wide: Numbers) -> HeatBands:
        air_degC = self._question.place.air.temperature_degC

        def figure(value: float, factor: float) -> Figure | None:
            if not math.isfinite(factor):
                return None
            rise = value - air_degC
            high = min(air_degC + rise * factor, max(BURNS_degC, value))
            return Figure(value, "°C", air_degC + rise / factor, high, (self._origin,))

        return HeatBands(*(figure(one, float(factor)) for one, factor in zip(degC, wide, strict=True)))

    def _run_time(self, run: Run, wide: float, seconds: Numbers, rises: Numbers) -> Figure | None:
        """The earliest of charge and heat: at the low end all wear on it, at the high end all spare it."""
        minutes, _, _ = ending(self._question, run)
        charge = charge_lasts_min(self._question, run)
        if not math.isfinite(minutes):
            return None
        low = min(charge / wide, self._heat_min(run, seconds, rises))
        high = min(charge * wide, self._heat_min(run, seconds, 1.0 / rises))
        return Figure(minutes, "min", min(low, minutes), max(high, minutes), (self._origin,))

    def _heat_min(self, run: Run, seconds: Numbers, factors: Numbers) -> float:
        """Minutes to the first heat limit when all rises are a factor larger; infinite when none comes."""
        limits, air_degC = self._question.limits, self._question.place.air.temperature_degC
        at_s = np.arange(len(run.trace)) * (self._question.style.minutes * 60.0 / RUN_ROWS)
        each = (limits.winding_degC, limits.can_degC, limits.controller_degC, limits.pack_degC)
        rises, first_s = run.rises_K(air_degC), math.inf
        for n, limit_degC in enumerate(each):
            factor = np.interp(at_s, seconds, factors[:, n])
            over = rises[:, n] * factor >= limit_degC - air_degC
            if over.any():
                first_s = min(first_s, float(at_s[int(np.argmax(over))]))
        return first_s / 60.0
