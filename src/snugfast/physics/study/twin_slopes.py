"""What the twin says of an owner's readings, and how that changes when a knob is turned a little."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.powertrain.runs import ShouldStop
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.lap_times import is_lap, laps_on, tracks_of
from snugfast.physics.study.twin_readings import Reading, Sort, predict_all

Numbers = NDArray[np.float64]

NUDGE = 0.03  # of the logarithm


class TwinModel:
    """Predictions of all readings and their slopes by each knob, driven together.

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
        outings = dict.fromkeys(id(reading.outing) for reading in used)
        self.places = [[n for n, one in enumerate(used) if id(one.outing) == outing] for outing in outings]
        self.tracks = tracks_of(used)
        self.on_track = {track: laps_on(track, used) for track in self.tracks}
        self.laps = np.array([is_lap(reading) for reading in used])
        read = np.array([reading.value for reading in used])
        self.observed = np.log(read, out=read.copy(), where=self.laps)
        self.spread = np.array([reading.spread for reading in used]) / np.where(self.laps, read, 1.0)

    def tracks_that_suit(self, log_factors: Numbers) -> list[float]:
        """The number of each track that suits its lap times best when the knobs stand like this.

        It is where a track's number is looked for first. Nothing is known of it beforehand.
        """
        if not self.tracks:
            return []
        off_by = self.observed - self._driven([_factors(self.knobs, log_factors)])[0]
        return [float(np.median(off_by[self.on_track[track]])) for track in self.tracks]

    def as_read(self, predictions: Numbers) -> Numbers:
        """Predictions in the unit in which they are read: a lap time in seconds."""
        said: Numbers = np.exp(predictions, out=predictions.copy(), where=self.laps)
        return said

    def predict(self, parameters: Numbers) -> Numbers:
        """Predictions, shape (readings,)."""
        of_knobs = len(self.knobs)
        own_laps = self._driven([_factors(self.knobs, parameters[:of_knobs])])[0]
        predictions: Numbers = own_laps + self._of_tracks() @ parameters[of_knobs:]
        return predictions

    def slopes(self, parameters: Numbers) -> Numbers:
        """How predictions change with each parameter, shape (readings, parameters)."""
        by_knob = slopes_of(self._driven(nudged(self.knobs, parameters[: len(self.knobs)])))
        return np.hstack([by_knob, self._of_tracks()])

    def _of_tracks(self) -> Numbers:
        """One where a reading is a lap of a track, shape (readings, tracks)."""
        tracks = np.array([self.on_track[track] for track in self.tracks], np.float64)
        return tracks.reshape(len(self.tracks), len(self.used)).T

    def _driven(self, factors: Sequence[Mapping[Knob, float]]) -> Numbers:
        """What the twin says on its own laps, shape (sets of factors, readings)."""
        told = np.zeros((len(factors), len(self.used)))
        asked = [(self.used[places[0]].outing, self._wanted(places)) for places in self.places]
        got = predict_all(asked, factors, executor=self.executor, should_stop=self.should_stop)
        for places, of_outing in zip(self.places, got, strict=True):
            told[:, places] = of_outing
        told[:, self.laps] = np.log(told[:, self.laps])
        return told

    def _wanted(self, places: Sequence[int]) -> list[tuple[Sort, float]]:
        return [(self.used[n].sort, self.used[n].after_stop_s or 0.0) for n in places]


def nudged(knobs: Sequence[Knob], log_factors: Numbers) -> list[dict[Knob, float]]:
    """Each knob a little up and a little down, in turn."""
    shifts = NUDGE * np.eye(len(knobs))
    return [_factors(knobs, log_factors + sign * shift) for shift in shifts for sign in (1.0, -1.0)]


def slopes_of(got: Numbers) -> Numbers:
    """Central differences of what nudged knobs gave, shape (wanted, knobs)."""
    slopes: Numbers = ((got[0::2] - got[1::2]) / (2.0 * NUDGE)).T
    return slopes


def _factors(knobs: Sequence[Knob], log_factors: Numbers) -> dict[Knob, float]:
    return {knob: math.exp(x) for knob, x in zip(knobs, log_factors, strict=True)}
