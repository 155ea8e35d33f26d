"""What lap times tell of a car, although the twin's lap is not the owner's track.

The owner's lap is taken to be the twin's lap times a number that belongs to the track and that nobody knows.
So one lap time tells the length of the track and nothing of the car; lap times of two set-ups on one track
tell how much faster one is than the other, and that is of the car.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.twin_readings import Reading, Sort

Numbers = NDArray[np.float64]

TRACK_SPREAD = math.log(10.0)
"""One standard deviation of the logarithm of a track's number: a lap may well be ten times the twin's, or a
tenth of it (elicited; wide on purpose, so that it pulls on nothing)."""

WORTH_NAMING = 0.02
"""How much surer of some knob lap times have to make us before it is said that they tell something."""


@dataclass(frozen=True, slots=True)
class LapsTold:
    """What the lap times of one track told: `surer` is the share by which the best told knob's band shrank.

    `times_the_twins` is the owner's lap over the twin's.
    """

    track: str
    laps: int
    times_the_twins: float
    best: Knob
    surer: float

    @property
    def tell_something(self) -> bool:
        """Whether these lap times say anything of the car."""
        return self.surer >= WORTH_NAMING


def is_lap(reading: Reading) -> bool:
    """Whether a reading is a lap time."""
    return reading.sort is Sort.LAP_TIME


def tracks_of(readings: Sequence[Reading]) -> list[str]:
    """The tracks on which laps were timed, each once."""
    return list(dict.fromkeys(reading.track for reading in readings if is_lap(reading)))


def laps_on(track: str, readings: Sequence[Reading]) -> NDArray[np.bool_]:
    """Which readings are lap times of that track, shape (readings,)."""
    return np.array([is_lap(reading) and reading.track == track for reading in readings])


def laps_told(
    readings: Sequence[Reading],
    knobs: Sequence[Knob],
    scales: Sequence[float],
    inverse_covariance: Numbers,
    rows: Numbers,
) -> tuple[LapsTold, ...]:
    """What each track's lap times told of the knobs.

    `scales` are the logarithms found for the tracks; `rows`, shape (readings, parameters), are the weighted
    slopes whose squares add up to the curvature `inverse_covariance`, shape (parameters, parameters).
    """
    told = []
    with_laps = _spreads(inverse_covariance)
    for track, scale in zip(tracks_of(readings), scales, strict=True):
        here = laps_on(track, readings)
        without = _spreads(inverse_covariance - rows[here].T @ rows[here])
        surer = 1.0 - with_laps[: len(knobs)] / without[: len(knobs)]
        best = int(np.argmax(surer))
        told.append(
            LapsTold(
                track=track,
                laps=int(here.sum()),
                times_the_twins=math.exp(scale),
                best=knobs[best],
                surer=float(surer[best]),
            )
        )
    return tuple(told)


def _spreads(inverse_covariance: Numbers) -> Numbers:
    return np.sqrt(np.diag(np.linalg.inv(inverse_covariance)))
