"""Fitting a Weibull law to lives, some of them not over yet."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, gamma, log, sqrt

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.numerics.roots import rising_root

Floats = NDArray[np.float64]
NORMAL_95 = 1.959963984540054


@dataclass(frozen=True, slots=True)
class Lifetimes:
    """Exposure at which parts failed, and exposure so far of those that still run."""

    failed_at: tuple[float, ...]
    still_running_at: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        if any(not 0.0 < life < float("inf") for life in (*self.failed_at, *self.still_running_at)):
            raise ImpossibleInput("A life is not above zero.", "Give each life in the units of its clock.")


@dataclass(frozen=True, slots=True)
class WeibullFit:
    """The most likely Weibull law of a set of lives.

    Bands are 95 % by the normal law in the logarithm, from the curvature of the likelihood: too narrow when
    there are few failures.
    """

    shape: float
    scale: float
    log_likelihood: float
    failures: int
    shape_band: tuple[float, float]
    scale_band: tuple[float, float]

    @property
    def aic(self) -> float:
        """Akaike's criterion, to compare with other laws: less is better."""
        return 4.0 - 2.0 * self.log_likelihood

    @property
    def mean(self) -> float:
        """Mean life."""
        return self.scale * gamma(1.0 + 1.0 / self.shape)

    @property
    def standard_deviation(self) -> float:
        """Spread of the lives."""
        return self.scale * sqrt(gamma(1.0 + 2.0 / self.shape) - gamma(1.0 + 1.0 / self.shape) ** 2)

    @property
    def wears_out(self) -> bool:
        """Whether the whole band of the shape lies above one, so that age alone is a reason to renew."""
        return self.shape_band[0] > 1.0


@formula(source="nist-handbook", where="section 8.4.1.3: maximum likelihood, right-censored Weibull")
def fit_weibull(lives: Lifetimes) -> WeibullFit:
    """Shape and scale that make these lives most likely.

    For a given shape β the scale is (Σx^β/d)^(1/β) with d failures; what is left is one rising function of β.
    Raises ImpossibleInput with fewer than two different failures or lives: then no shape is most likely.
    """
    failed = np.array(lives.failed_at, dtype=float)
    logs = np.log(np.concatenate([failed, np.array(lives.still_running_at, dtype=float)]))
    if failed.size == 0 or np.unique(logs).size < 2:
        raise ImpossibleInput(
            "These lives fit no one Weibull law.", "Give at least one failure and two different lives."
        )
    top, mean_log = logs.max(), np.log(failed).mean()

    def above(log_shape: Floats) -> Floats:
        shape = np.exp(log_shape)[:, None]
        weights = np.exp(shape * (logs - top))
        return np.asarray((weights * logs).sum(1) / weights.sum(1) - 1.0 / shape[:, 0] - mean_log)

    shape = exp(float(rising_root(above, low=np.array([log(1e-3)]), high=np.array([log(1e4)]))[0]))
    log_scale = top + log(np.exp(shape * (logs - top)).sum() / failed.size) / shape
    z = shape * (logs - log_scale)
    z_failed = shape * (np.log(failed) - log_scale)
    likelihood = float((log(shape) - np.log(failed) + z_failed).sum() - np.exp(z).sum())
    sd_scale, sd_shape = _spreads(shape, z, z_failed)
    return WeibullFit(
        shape=shape,
        scale=float(exp(log_scale)),
        log_likelihood=likelihood,
        failures=int(failed.size),
        shape_band=_band(shape, sd_shape),
        scale_band=_band(float(exp(log_scale)), sd_scale),
    )


def _spreads(shape: float, z: Floats, z_failed: Floats) -> tuple[float, float]:
    """Standard deviations of ln scale and ln shape: the inverse of the observed information."""
    w = np.exp(z)
    scale_scale = shape * shape * w.sum()
    scale_shape = -shape * (w * z).sum()
    shape_shape = (w * (z * z + z)).sum() - z_failed.sum()
    size = scale_scale * shape_shape - scale_shape**2
    return float(np.sqrt(shape_shape / size)), float(np.sqrt(scale_scale / size))


def _band(value: float, log_sd: float) -> tuple[float, float]:
    factor = exp(NORMAL_95 * log_sd)
    return value / factor, value * factor
