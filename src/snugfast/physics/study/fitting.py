"""Fitting the twin to the owner's own readings.

A few knobs, each a factor on something that tables only guess, start at one with a spread from their bands.
Readings pull on them by least squares; a reading that does not fit is shown, not absorbed. What the readings
cannot tell apart is said. Lap times are compared by their logarithms, with one number for each track that is
found along with the knobs and is none of them.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import BadInput
from snugfast.numerics.robust_fit import RobustFit, robust_fit
from snugfast.physics.powertrain.runs import Progress, ShouldStop
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.lap_times import TRACK_SPREAD, LapsTold, laps_told
from snugfast.physics.study.twin_readings import Outing, Reading, Sort, predict
from snugfast.physics.study.twin_slopes import TwinModel, nudged, slopes_of

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Checked:
    """A reading beside what the twin said before and says after the fit.

    A lap time is that of the owner's track; before the fit, of the track that suits the untouched twin best.
    """

    reading: Reading
    before: float
    after: float
    after_spread: float
    fits: bool

    @property
    def off_by(self) -> float:
        """How far the reading lies from the fitted twin, in standard deviations of the reading."""
        return (self.reading.value - self.after) / self.reading.spread


@dataclass(frozen=True, slots=True)
class Turned:
    """A knob after the fit: its factor with a band of one standard deviation, and what the readings said."""

    knob: Knob
    factor: float
    low: float
    high: float
    learned: float

    @property
    def is_told(self) -> bool:
        """Whether the readings say anything worth naming about this knob."""
        return self.learned >= 0.2


@dataclass(frozen=True, slots=True)
class Fit:
    """The fitted twin. `alike` lists pairs of knobs that the readings cannot tell apart.

    `log_factors` and `log_covariance` are of the knobs alone, whatever the tracks are.
    """

    knobs: tuple[Turned, ...]
    readings: tuple[Checked, ...]
    unused: tuple[tuple[Reading, str], ...]
    laps: tuple[LapsTold, ...]
    alike: tuple[tuple[Knob, Knob], ...]
    converged: bool
    log_factors: tuple[float, ...]
    log_covariance: tuple[tuple[float, ...], ...]

    @property
    def factors(self) -> dict[Knob, float]:
        """Each knob's factor, to turn a car by."""
        return {turned.knob: turned.factor for turned in self.knobs}


OUTLYING = 3.0
ALIKE = 0.7
NEAR_ENOUGH = 0.1  # of what is known by then: a fit that would move less than that is at rest


def fit(
    readings: Sequence[Reading],
    spreads: Mapping[Knob, float],
    *,
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = lambda: False,
) -> Fit:
    """Turn the knobs in `spreads` (standard deviation of the logarithm of each factor) to suit the readings.

    Raises BadInput when no reading can be used, and Stopped when asked to stop.
    """
    used = [reading for reading in readings if not reading.unused_because]
    if not used:
        raise BadInput(
            "None of these readings can be used.",
            "Read the can with the spot and the seconds after the stop, or the charge put back.",
        )
    knobs = list(spreads)
    model = TwinModel(used, knobs, executor, should_stop)
    most_steps = 12
    calls = itertools.count(1)

    def slopes(at: Numbers) -> Numbers:
        if progress is not None:
            progress(min(next(calls) / (most_steps + 1), 0.99))
        return model.slopes(at)

    untouched = np.zeros(len(knobs))
    found = robust_fit(
        model.predict,
        slopes,
        model.observed,
        model.spread,
        prior=np.array([*untouched, *model.tracks_that_suit(untouched)]),
        prior_spread=np.array([*(spreads[knob] for knob in knobs), *(TRACK_SPREAD for _ in model.tracks)]),
        most_steps=most_steps,
        tolerance=NEAR_ENOUGH,
    )
    if progress is not None:
        progress(1.0)
    of_knobs = len(knobs)
    return Fit(
        knobs=_turned_knobs(knobs, spreads, found),
        readings=_checked(used, model.as_read(found.before), model, found),
        unused=tuple((reading, reading.unused_because) for reading in readings if reading.unused_because),
        laps=laps_told(
            used,
            knobs,
            [float(x) for x in found.parameters[of_knobs:]],
            np.asarray(np.linalg.inv(found.covariance), np.float64),
            found.jacobian * (np.sqrt(found.weights) / model.spread)[:, None],
        ),
        alike=_alike(knobs, found),
        converged=found.converged,
        log_factors=tuple(float(x) for x in found.parameters[:of_knobs]),
        log_covariance=tuple(tuple(float(x) for x in row[:of_knobs]) for row in found.covariance[:of_knobs]),
    )


def _turned_knobs(knobs: list[Knob], spreads: Mapping[Knob, float], found: RobustFit) -> tuple[Turned, ...]:
    out = []
    for n, knob in enumerate(knobs):
        at, spread = float(found.parameters[n]), math.sqrt(float(found.covariance[n, n]))
        out.append(
            Turned(
                knob=knob,
                factor=math.exp(at),
                low=math.exp(at - spread),
                high=math.exp(at + spread),
                learned=1.0 - spread / spreads[knob],
            )
        )
    return tuple(out)


def _checked(used: list[Reading], before: Numbers, model: TwinModel, found: RobustFit) -> tuple[Checked, ...]:
    spread = np.sqrt(np.einsum("ij,jk,ik->i", found.jacobian, found.covariance, found.jacobian))
    after = model.as_read(found.predictions)
    spread = spread * np.where(model.laps, after, 1.0)
    return tuple(
        Checked(
            reading=reading,
            before=float(before[n]),
            after=float(after[n]),
            after_spread=float(spread[n]),
            fits=bool(abs(reading.value - after[n]) <= OUTLYING * reading.spread),
        )
        for n, reading in enumerate(used)
    )


def _alike(knobs: list[Knob], found: RobustFit) -> tuple[tuple[Knob, Knob], ...]:
    covariance = found.covariance[: len(knobs), : len(knobs)]
    spread = np.sqrt(np.diag(covariance))
    correlation = covariance / np.outer(spread, spread)
    return tuple(
        (knobs[i], knobs[j])
        for i, j in itertools.combinations(range(len(knobs)), 2)
        if abs(correlation[i, j]) >= ALIKE
    )


@dataclass(frozen=True, slots=True)
class Band:
    """A prediction of the fitted twin with one standard deviation either way."""

    value: float
    spread: float


def predicted_with_band(
    found: Fit, outing: Outing, sort: Sort, *, after_stop_s: float = 0.0, executor: Executor | None = None
) -> Band:
    """What the fitted twin says of another outing, and how sure it is given what it was fitted to."""
    knobs = [one.knob for one in found.knobs]
    got = predict(
        outing,
        [(sort, after_stop_s)],
        [found.factors, *nudged(knobs, np.array(found.log_factors))],
        executor=executor,
    )
    slopes = slopes_of(got[1:])[0]
    variance = float(slopes @ np.array(found.log_covariance) @ slopes)
    return Band(value=float(got[0, 0]), spread=math.sqrt(max(variance, 0.0)))
