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
from snugfast.physics.study.knobs import NOT_READ, Knob
from snugfast.physics.study.lap_times import TRACK_SPREAD, LapsTold, laps_told
from snugfast.physics.study.learned import EffortSpread, Learned
from snugfast.physics.study.twin_readings import Outing, Reading, Sort, predict
from snugfast.physics.study.twin_slopes import TwinModel

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
class Strange:
    """A number pushed further than the tables think likely; `style` says which effort it is."""

    knob: Knob
    factor: float
    deviations: float
    style: str = ""


@dataclass(frozen=True, slots=True)
class Fit:
    """The fitted twin. `alike` lists pairs of knobs that the readings cannot tell apart.

    `learned` is of knobs and efforts alone, whatever the tracks and the single runs are.
    """

    knobs: tuple[Turned, ...]
    readings: tuple[Checked, ...]
    unused: tuple[tuple[Reading, str], ...]
    laps: tuple[LapsTold, ...]
    alike: tuple[tuple[Knob, Knob], ...]
    converged: bool
    learned: Learned
    strange: tuple[Strange, ...]

    @property
    def factors(self) -> dict[Knob, float]:
        """Each knob's factor, to turn a car by."""
        return {turned.knob: turned.factor for turned in self.knobs}


OUTLYING = 3.0
STRANGE = 2.5  # standard deviations of what was thought before
ALIKE = 0.7
STIFF = 1e-3  # an effort that is not let differ
NINE_IN_TEN = 1.645  # standard deviations from the middle to either end of such a band
SURE = 1e-12  # keeps a number that is known in the sums
NEAR_ENOUGH = 0.1  # of what is known by then: a fit that would move less than that is at rest


def fit(
    readings: Sequence[Reading],
    spreads: Mapping[Knob, float],
    *,
    effort_spread: EffortSpread = EffortSpread(),
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = lambda: False,
) -> Fit:
    """Turn the knobs in `spreads` (standard deviation of the logarithm of each factor) to suit the readings.

    How hard it is driven is looked for first, in the charge put back; everything else starts where it was.

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
    most_steps = 8
    calls = itertools.count(1)

    def slopes(at: Numbers) -> Numbers:
        if progress is not None:
            progress(min(next(calls) / (most_steps + 1), 0.99))
        return model.slopes(at)

    untouched = np.zeros(len(knobs))
    tracks = model.tracks_that_suit(untouched)
    efforts = model.first_efforts() if model.styles else np.zeros(1)
    start = untouched.copy()
    if model.styles:
        start[knobs.index(Knob.EFFORT)] = efforts[0]
    found = robust_fit(
        model.predict,
        slopes,
        model.observed,
        model.spread,
        prior=np.array([*untouched, *tracks, *np.zeros(len(efforts) - 1)]),
        prior_spread=np.array(
            [
                *(spreads[knob] for knob in knobs),
                *(TRACK_SPREAD for _ in model.tracks),
                *(max(effort_spread.on_a_ground, STIFF) for _ in model.styles),
                *(max(effort_spread.in_a_run, STIFF) for _ in model.runs),
            ]
        ),
        start=np.array([*start, *tracks, *efforts[1:]]),
        most_steps=most_steps,
        tolerance=NEAR_ENOUGH,
    )
    if progress is not None:
        progress(1.0)
    of_knobs, of_tracks = len(knobs), len(model.tracks)
    learned = _learned(knobs, model, found, effort_spread)
    return Fit(
        knobs=_turned_knobs(knobs, spreads, found),
        readings=_checked(used, model.as_read(found.before), model, found),
        unused=tuple((reading, reading.unused_because) for reading in readings if reading.unused_because),
        laps=laps_told(
            used,
            knobs,
            [float(x) for x in found.parameters[of_knobs : of_knobs + of_tracks]],
            np.asarray(np.linalg.inv(found.covariance), np.float64),
            found.jacobian * (np.sqrt(found.weights) / model.spread)[:, None],
        ),
        alike=_alike(knobs, found),
        converged=found.converged,
        learned=learned,
        strange=_strange(learned, spreads),
    )


def _learned(knobs: list[Knob], model: TwinModel, found: RobustFit, effort_spread: EffortSpread) -> Learned:
    """Knobs and efforts of the ways of driving, without tracks and single runs."""
    of_knobs, styles_from = len(knobs), len(knobs) + len(model.tracks)
    kept = [*range(of_knobs), *range(styles_from, styles_from + len(model.styles))]
    return Learned(
        knobs=tuple(knobs),
        styles=tuple(model.styles),
        log_factors=tuple(float(x) for x in found.parameters[kept]),
        log_covariance=tuple(tuple(float(x) for x in row) for row in found.covariance[np.ix_(kept, kept)]),
        effort_spread=effort_spread,
    )


def _strange(learned: Learned, spreads: Mapping[Knob, float]) -> tuple[Strange, ...]:
    """What lies beyond two and a half of the standard deviations that the tables allow it."""
    found: list[tuple[Knob, float, float, str]] = []
    for knob, at in zip(learned.knobs, learned.log_factors, strict=False):
        if knob is Knob.EFFORT and learned.styles:
            wide = math.hypot(spreads[knob], learned.effort_spread.on_a_ground)
            found += [(knob, on, wide, style) for style in learned.styles for on in [_effort(learned, style)]]
        else:
            found.append((knob, at, spreads[knob], ""))
    return tuple(
        Strange(knob, math.exp(at), at / wide, style)
        for knob, at, wide, style in found
        if abs(at) >= STRANGE * wide
    )


def _effort(learned: Learned, style: str) -> float:
    on = learned.on(style)
    return float(on.log_factors[on.knobs.index(Knob.EFFORT)])


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
    read = [n for n, knob in enumerate(knobs) if knob not in NOT_READ]
    return tuple(
        (knobs[i], knobs[j]) for i, j in itertools.combinations(read, 2) if abs(correlation[i, j]) >= ALIKE
    )


@dataclass(frozen=True, slots=True)
class Band:
    """A prediction of the fitted twin with the ends of a band that holds nine in ten."""

    low: float
    value: float
    high: float


def predicted_with_band(
    found: Fit, outing: Outing, sort: Sort, *, after_stop_s: float = 0.0, executor: Executor | None = None
) -> Band:
    """What the fitted twin says of another outing, and how sure it is given what it was fitted to.

    Each part of what is not known is driven to both ends of its own band, and what that moves is added as
    independent errors are, up and down apart: a tyre that grows twice as much adds more speed than one that
    grows half as much takes.
    """
    on = found.learned.on(outing.question.style.key, one_run=True)
    parts = NINE_IN_TEN * np.linalg.cholesky(on.covariance + SURE * np.eye(len(on.knobs)))
    ends = [on.log_factors + side * part for part in parts.T for side in (1.0, -1.0)]
    factors = [{knob: math.exp(x) for knob, x in zip(on.knobs, end, strict=True)} for end in ends]
    got = predict(outing, [(sort, after_stop_s)], [on.factors, *factors], executor=executor)[:, 0]
    value = float(got[0])
    moved = (got[1:] - value).reshape(-1, 2)
    up, down = (np.linalg.norm(np.maximum(one, 0.0)) for one in (moved.max(axis=1), -moved.min(axis=1)))
    return Band(low=value - float(down), value=value, high=value + float(up))
