"""The grid of rate and delay multipliers that learning moves weight about on, and how it starts."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from snugfast.numerics.roots import rising_root

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Grid:
    """Multipliers of arrival rate and mean delay; the same for every row, so that rows can be pooled.

    Points are counted rate by rate: point i has the rate multiplier i // delays and the delay multiplier
    i % delays.
    """

    rates: tuple[float, ...]
    delays: tuple[float, ...]

    @property
    def size(self) -> int:
        """How many points there are."""
        return len(self.rates) * len(self.delays)

    @cached_property
    def rate_of_point(self) -> Floats:
        """The rate multiplier of each point, (points,)."""
        return np.repeat(np.array(self.rates), len(self.delays))

    @cached_property
    def delay_of_point(self) -> Floats:
        """The delay multiplier of each point, (points,)."""
        return np.tile(np.array(self.delays), len(self.rates))


STANDARD_GRID = Grid(
    rates=tuple(np.geomspace(1 / 60, 12.0, 13).tolist()),
    delays=tuple(np.exp(np.linspace(-1.0, 1.0, 5)).tolist()),
)


def rate_prior(grid: Grid, *, spread_shape: Floats, mean: Floats | float = 1.0) -> Floats:
    """How likely each rate multiplier is on a car nothing is known about: gamma with mean one, or another.

    The grid is even in the logarithm, so a weight is k^a·e^(−bk). b would be a on a fine grid; here it is
    set so that the mean stays exactly one and a table's mean rate is what a new car starts from.
    `spread_shape` is (rows,); the weights are (rows, rate multipliers) and add up to one in each row.
    """
    rates = np.asarray(grid.rates)
    if rates.size == 1:
        return np.ones((spread_shape.size, 1))
    shape = spread_shape[:, None]

    def weights(tilt: Floats) -> Floats:
        return _normal(shape * np.log(rates) - tilt[:, None] * rates)

    none = np.zeros(spread_shape.shape)
    tilt = rising_root(lambda b: mean - (weights(b) * rates).sum(1), low=none - 5.0, high=none + 500.0)
    return weights(tilt)


def delay_prior(grid: Grid, *, log_sd: Floats) -> Floats:
    """How likely each delay multiplier is: lognormal with this spread and mean exactly one.

    `log_sd` is (rows,); the weights are (rows, delay multipliers) and add up to one in each row.
    """
    delays = np.asarray(grid.delays)
    if delays.size == 1:
        return np.ones((log_sd.size, 1))
    logs = np.log(delays)

    def weights(tilt: Floats) -> Floats:
        return _normal(-0.5 * (logs / log_sd[:, None]) ** 2 + tilt[:, None] * logs)

    none = np.zeros(log_sd.shape)
    tilt = rising_root(lambda t: (weights(t) * delays).sum(1) - 1.0, low=none - 500.0, high=none + 500.0)
    return weights(tilt)


def _normal(log_weights: Floats) -> Floats:
    weights = np.exp(log_weights - log_weights.max(axis=1, keepdims=True))
    return np.asarray(weights / weights.sum(axis=1, keepdims=True))
