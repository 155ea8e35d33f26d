"""What the twin says of an owner's readings, and how that changes when a knob is turned a little."""

from __future__ import annotations

import math
from collections.abc import Sequence
from concurrent.futures import Executor

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.knobs import Knob
from snugfast.physics.lap_times import is_lap, laps_on, tracks_of
from snugfast.physics.runs import ShouldStop
from snugfast.physics.twin_readings import Reading, predict

Numbers = NDArray[np.float64]

NUDGE = 0.03  # of the logarithm


class TwinModel:
    """Predictions of all readings and their slopes by each knob, from one batch of cars per outing.

    Parameters are the logarithms of the knobs' factors, then those of the tracks' numbers. A lap time is
    predicted as a logarithm, to which its track's number adds; all else in the unit of its sort.
    """

    def __init__(
        self, used: list[Reading], knobs: list[Knob], executor: Executor | None, should_stop: ShouldStop
    ) -> None:
        self.used = used
        self.knobs = knobs
        self.executor = executor
        self.should_stop = should_stop
        self.outings = list(dict.fromkeys(id(reading.outing) for reading in used))
        self.tracks = tracks_of(used)
        self.on_track = {track: laps_on(track, used) for track in self.tracks}
        self.laps = np.array([is_lap(reading) for reading in used])
        read = np.array([reading.value for reading in used])
        self.observed = np.log(read, out=read.copy(), where=self.laps)
        self.spread = np.array([reading.spread for reading in used]) / np.where(self.laps, read, 1.0)
        self.last: tuple[Numbers, Numbers, Numbers] | None = None

    def tracks_that_suit(self, log_factors: Numbers) -> list[float]:
        """The number of each track that suits its lap times best when the knobs stand like this.

        It is where a track's number is looked for first. Nothing is known of it beforehand.
        """
        off_by = self.observed - self._driven(log_factors)[0]
        return [float(np.median(off_by[self.on_track[track]])) for track in self.tracks]

    def as_read(self, predictions: Numbers) -> Numbers:
        """Predictions in the unit in which they are read: a lap time in seconds."""
        said: Numbers = np.exp(predictions, out=predictions.copy(), where=self.laps)
        return said

    def __call__(self, parameters: Numbers) -> tuple[Numbers, Numbers]:
        """Predictions, shape (readings,), and their slopes, shape (readings, parameters)."""
        of_knobs = len(self.knobs)
        values, by_knob = self._driven(parameters[:of_knobs])
        tracks = np.array([self.on_track[track] for track in self.tracks], np.float64)
        tracks = tracks.reshape(len(self.tracks), len(self.used)).T
        return values + tracks @ parameters[of_knobs:], np.hstack([by_knob, tracks])

    def _driven(self, log_factors: Numbers) -> tuple[Numbers, Numbers]:
        """What the twin says on its own laps, and the slopes by each knob; driven once for the same knobs."""
        if self.last is not None and np.array_equal(self.last[0], log_factors):
            return self.last[1:]
        values = np.zeros(len(self.used))
        slopes = np.zeros((len(self.used), len(self.knobs)))
        factors = nudged(self.knobs, log_factors)
        for outing in self.outings:
            places = [n for n, reading in enumerate(self.used) if id(reading.outing) == outing]
            wanted = [(self.used[n].sort, self.used[n].after_stop_s or 0.0) for n in places]
            got = predict(
                self.used[places[0]].outing,
                wanted,
                factors,
                executor=self.executor,
                should_stop=self.should_stop,
            )
            values[places] = got[0]
            slopes[places] = slopes_of(got)
        slopes[self.laps] /= values[self.laps, None]
        values = np.log(values, out=values.copy(), where=self.laps)
        self.last = (log_factors.copy(), values, slopes)
        return values, slopes


def nudged(knobs: Sequence[Knob], log_factors: Numbers) -> list[dict[Knob, float]]:
    """Factors as they are, then each knob a little up and a little down."""
    shifts = [np.zeros(len(knobs))]
    for n in range(len(knobs)):
        for sign in (1.0, -1.0):
            shift = np.zeros(len(knobs))
            shift[n] = sign * NUDGE
            shifts.append(shift)
    return [
        {knob: math.exp(x) for knob, x in zip(knobs, log_factors + shift, strict=True)} for shift in shifts
    ]


def slopes_of(got: Numbers) -> Numbers:
    """Central differences, shape (wanted, knobs)."""
    slopes: Numbers = ((got[1::2] - got[2::2]) / (2.0 * NUDGE)).T
    return slopes
