"""One severity for a driver over everything, one error for each mode of the tables, learned from all rows.

A row's rate multiplier is r = s·e·k. The severity s is the driver's, the same in every row; the error e is
the table's, the same wherever its mode stands; k is the row's own, gamma with mean one, as the filter has it.
Given r the filter of a row is exact and knows nothing of the three, so its posterior over r is all it takes:
with L(r) ∝ w(r)/p(r), a row is F(z) = Σ w(r)·p(r | z)/p(r) times as likely if s·e is z. Exactly on the grids,

    P(s | all) ∝ p(s)·Π_m Σ_e p(e)·Π_rows F(s·e),

and each row's weights are then those of the mean over what z is left for its mode. Nothing is kept between
two questions, and sums are exact (Shewchuk's), so no order of rows, modes or cars changes a bit.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import fsum

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from snugfast.upkeep.beliefs import Beliefs
from snugfast.upkeep.grid import Grid, delay_prior, rate_prior

Floats = NDArray[np.float64]

STEP = 0.25  # of the logarithm, for both
SEVERITIES = tuple(np.exp(STEP * np.arange(-13, 11)).tolist())
ERRORS = tuple(np.exp(STEP * np.arange(-7, 8)).tolist())
BOTH = tuple(np.exp(STEP * np.arange(-20, 18)).tolist())  # each severity times each error


@dataclass(frozen=True, slots=True)
class Doubt:
    """How far drivers, and rows of the table, lie apart: standard deviations of the logarithm.

    `severity_mean` is how hard a driver nothing is known of is on cars, as a multiple of the one whom the
    tables mean. Errors have mean one.
    """

    severity_log_sd: float
    error_log_sd: float
    severity_mean: float = 1.0

    def priors(self) -> tuple[Floats, Floats]:
        """(chance of each severity, chance of each error)."""
        by_severity = _lognormal(SEVERITIES, self.severity_log_sd, self.severity_mean)
        return by_severity, _lognormal(ERRORS, self.error_log_sd)


@dataclass(frozen=True, slots=True)
class Severity:
    """What all rows together say of the driver, and of each mode."""

    chances: Floats  # of each of SEVERITIES
    of_mode: Mapping[str, Floats]  # log of how likely each of BOTH is, for what a mode's rows have in common

    @property
    def mean(self) -> float:
        """How hard this driver is on cars, as a multiple of the driver the tables mean."""
        return float((self.chances * np.array(SEVERITIES)).sum())


def taught(beliefs: Beliefs, shapes: Sequence[float]) -> Floats:
    """(rows, BOTH): log of how many times as likely each row's past is, were it driven that much harder.

    `shapes` are the gamma shapes that the rows' rates began with.
    """
    by_rate = beliefs.weights.reshape(len(beliefs), len(beliefs.grid.rates), -1).sum(axis=2)
    ratios = _ratios(beliefs.grid, shapes)
    return np.asarray(np.log(np.maximum((by_rate[:, None, :] * ratios).sum(axis=2), 1e-300)))


def severity(rows: Iterable[tuple[str, Floats]], doubt: Doubt) -> Severity:
    """What the rows say together; each is its mode and what it taught, one row of `taught`."""
    modes: dict[str, list[Floats]] = {}
    for mode, log_likelihood in rows:
        modes.setdefault(mode, []).append(log_likelihood)
    by_severity, by_error = doubt.priors()
    names = sorted(modes)
    together = np.array([exactly(modes[mode]) for mode in names]).reshape(len(names), len(BOTH))
    given = _log_mean(together, by_error)
    log_chances = exactly([np.log(np.maximum(by_severity, 1e-300)), *given])
    without = log_chances - given
    spread = _spread(np.exp(without - without.max(axis=1, keepdims=True)), by_error)
    of_mode = np.log(np.maximum(spread, 1e-300)) + together
    chances = _normal(log_chances)
    return Severity(chances, dict(zip(names, of_mode, strict=True)))


def allowing_for(
    beliefs: Beliefs, shapes: Sequence[float], modes: Sequence[str], logs: Floats, told: Severity
) -> Beliefs:
    """The beliefs of some rows with what all rows together say; `logs` is what these rows taught."""
    without = np.array([told.of_mode[mode] for mode in modes]).reshape(len(modes), len(BOTH)) - logs
    share = np.exp(without - without.max(axis=1, keepdims=True))
    times = (share[:, :, None] * _ratios(beliefs.grid, shapes)).sum(axis=1)
    weights = beliefs.weights * np.repeat(times, len(beliefs.grid.delays), axis=1)
    return replace(beliefs, weights=weights / weights.sum(axis=1, keepdims=True))


def _ratios(grid: Grid, shapes: Sequence[float]) -> Floats:
    """(rows, BOTH, rates): p(r | z)/p(r)."""
    return np.array([_ratio(grid, float(shape)) for shape in shapes]).reshape(
        len(shapes), len(BOTH), len(grid.rates)
    )


@lru_cache(maxsize=256)
def _ratio(grid: Grid, shape: float) -> Floats:
    means = np.clip(np.array(BOTH), 1.5 * min(grid.rates), 0.7 * max(grid.rates))
    shapes = np.full(len(BOTH), shape)
    return np.asarray(
        rate_prior(grid, spread_shape=shapes, mean=means) / rate_prior(grid, spread_shape=shapes[:1])
    )


@lru_cache(maxsize=8)
def _lognormal(points: tuple[float, ...], log_sd: float, mean: float = 1.0) -> Floats:
    scaled = tuple(point / mean for point in points)
    return np.asarray(delay_prior(Grid((1.0,), scaled), log_sd=np.array([log_sd]))[0])


def _log_mean(logs: Floats, by_error: Floats) -> Floats:
    """(modes, SEVERITIES): log Σ_e p(e)·exp(logs at s·e)."""
    windows = sliding_window_view(logs, len(ERRORS), axis=1)
    most = windows.max(axis=2, keepdims=True)
    return np.asarray(np.log((by_error * np.exp(windows - most)).sum(axis=2)) + most[:, :, 0])


def _spread(by_severity: Floats, by_error: Floats) -> Floats:
    """(modes, BOTH): how likely each product is, of severities weighed like this and an error."""
    spread = np.zeros((len(by_severity), len(BOTH)))
    for at, chance in enumerate(by_error.tolist()):
        spread[:, at : at + len(SEVERITIES)] += chance * by_severity
    return spread


def exactly(several: Sequence[Floats]) -> Floats:
    """The sum of some arrays, right to the last bit whatever their order."""
    return np.array([fsum(each) for each in zip(*(one.tolist() for one in several), strict=True)])


def _normal(logs: Floats) -> Floats:
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum())
