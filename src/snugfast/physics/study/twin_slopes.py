"""What the twin says of an owner's readings, and how that changes when a knob is turned a little."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from concurrent.futures import Executor

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.powertrain.runs import ShouldStop
from snugfast.physics.study.knobs import NOT_READ, Knob
from snugfast.physics.study.lap_times import is_lap, laps_on, tracks_of
from snugfast.physics.study.twin_readings import Reading, Sort, predict_all

Numbers = NDArray[np.float64]

NUDGE = 0.03  # of the logarithm


FIRST_EFFORTS = (0.3, 0.45, 0.65, 1.0, 1.5, 2.2, 3.2)
"""Efforts that are driven to find how hard the owner drives, before anything else is turned."""


class TwinModel:
    """Predictions of all readings and their slopes by each parameter, driven together.

    Parameters are logarithms: of the knobs' factors, of the tracks' numbers, of the effort of each way of
    driving, of each outing's own effort. A lap time is predicted as a logarithm, to which its track's number
    adds; all else in the unit of its sort. The slope by an outing's own effort is that by the driver's.
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
        self._driven_in = [used[places[0]].outing.question.style for places in self.places]
        own = [] if Knob.EFFORT not in knobs else [one for one in self._driven_in if not one.all_out]
        self.styles = list(dict.fromkeys(style.key for style in own))
        self.runs = [n for n, style in enumerate(self._driven_in) if style.key in self.styles]
        self._not_read = [n for n, knob in enumerate(knobs) if knob in NOT_READ]
        self._by_not_read: Numbers | None = None

    def tracks_that_suit(self, log_factors: Numbers) -> list[float]:
        """The number of each track that suits its lap times best when the knobs stand like this.

        It is where a track's number is looked for first. Nothing is known of it beforehand.
        """
        if not self.tracks:
            return []
        off_by = self.observed - self._driven([_factors(self.knobs, log_factors)])[0]
        return [float(np.median(off_by[self.on_track[track]])) for track in self.tracks]

    def first_efforts(self) -> Numbers:
        """How hard it was driven, from the charge put back alone: logarithms for driver, styles, outings.

        The driver's is the middle of the ways of driving, each way's the middle of its outings; what is an
        outing's own is left to the fit. Zeros where no charge was put back.
        """
        efforts = np.zeros(1 + len(self.styles) + len(self.runs))
        told = self._driven([{Knob.EFFORT: one} for one in FIRST_EFFORTS])
        found: dict[str, list[float]] = {}
        for n in self.runs:
            for place in self.places[n]:
                if self.used[place].sort is Sort.CHARGE_USED:
                    charges = np.maximum.accumulate(told[:, place])
                    at = np.interp(self.observed[place], charges, np.log(FIRST_EFFORTS))
                    found.setdefault(self._driven_in[n].key, []).append(float(at))
        middles = {style: float(np.median(each)) for style, each in found.items()}
        if middles:
            efforts[0] = np.median(list(middles.values()))
            for style, middle in middles.items():
                efforts[1 + self.styles.index(style)] = middle - efforts[0]
        return efforts

    def as_read(self, predictions: Numbers) -> Numbers:
        """Predictions in the unit in which they are read: a lap time in seconds."""
        said: Numbers = np.exp(predictions, out=predictions.copy(), where=self.laps)
        return said

    def predict(self, parameters: Numbers) -> Numbers:
        """Predictions, shape (readings,)."""
        knobs, tracks, efforts = self._parts(parameters)
        own_laps = self._driven([_factors(self.knobs, knobs)], efforts)[0]
        predictions: Numbers = own_laps + self._of_tracks() @ tracks
        return predictions

    def slopes(self, parameters: Numbers) -> Numbers:
        """How predictions change with each parameter, shape (readings, parameters)."""
        knobs, _, efforts = self._parts(parameters)
        by_knob = self._by_knob(knobs, efforts)
        columns = [by_knob, self._of_tracks()]
        if self.styles:
            by_effort = by_knob[:, self.knobs.index(Knob.EFFORT)]
            columns += [by_effort[:, None] * self._of_styles(), by_effort[:, None] * self._of_runs()]
        return np.hstack(columns)

    def _by_knob(self, log_factors: Numbers, efforts: list[float]) -> Numbers:
        """Slopes by the knobs, shape (readings, knobs).

        Those that are not read hardly move: slopes by them are driven at the first call only.
        """
        driven = [n for n in range(len(self.knobs)) if self._by_not_read is None or n not in self._not_read]
        both_ways = nudged(self.knobs, log_factors)
        got = self._driven([both_ways[2 * n + side] for n in driven for side in (0, 1)], efforts)
        by_knob = np.zeros((len(self.used), len(self.knobs)))
        by_knob[:, driven] = slopes_of(got)
        if self._by_not_read is None:
            self._by_not_read = by_knob[:, self._not_read]
        by_knob[:, self._not_read] = self._by_not_read
        return by_knob

    def _parts(self, parameters: Numbers) -> tuple[Numbers, Numbers, list[float]]:
        """Knobs, tracks, and each outing's effort beside the driver's, no logarithm."""
        ends = np.cumsum([len(self.knobs), len(self.tracks), len(self.styles)])
        knobs, tracks, styles, runs = np.split(parameters, ends)
        own = np.zeros(len(self.places))
        for n, run in zip(self.runs, runs, strict=True):
            own[n] = run + styles[self.styles.index(self._driven_in[n].key)]
        return knobs, tracks, np.exp(own).tolist()

    def _of_styles(self) -> Numbers:
        """One where a reading is of a way of driving, shape (readings, styles)."""
        where = np.zeros((len(self.used), len(self.styles)))
        for n in self.runs:
            where[self.places[n], self.styles.index(self._driven_in[n].key)] = 1.0
        return where

    def _of_runs(self) -> Numbers:
        """One where a reading is of an outing with an effort of its own, shape (readings, runs)."""
        where = np.zeros((len(self.used), len(self.runs)))
        for m, n in enumerate(self.runs):
            where[self.places[n], m] = 1.0
        return where

    def _of_tracks(self) -> Numbers:
        """One where a reading is a lap of a track, shape (readings, tracks)."""
        tracks = np.array([self.on_track[track] for track in self.tracks], np.float64)
        return tracks.reshape(len(self.tracks), len(self.used)).T

    def _driven(self, factors: Sequence[Mapping[Knob, float]], efforts: Sequence[float] = ()) -> Numbers:
        """What the twin says on its own laps, shape (sets of factors, readings)."""
        told = np.zeros((len(factors), len(self.used)))
        asked = [(self.used[places[0]].outing, self._wanted(places)) for places in self.places]
        got = predict_all(
            asked, factors, efforts=efforts, executor=self.executor, should_stop=self.should_stop
        )
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
