"""Least squares with a prior, that lets no single reading pull too hard.

Gauss–Newton steps on Huber's loss (weights fall with the distance beyond a corner), each step halved until
the whole cost falls. The curvature at the end gives the covariance. Slopes are asked for once a step only,
for they cost many times what a prediction does.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]
Predict = Callable[[Numbers], Numbers]
"""Predictions (n) at given parameters."""
SlopesAt = Callable[[Numbers], Numbers]
"""Their Jacobian (n, parameters) at given parameters."""

CORNER = 1.345
"""Huber's corner in standard deviations: 95 % as good as least squares when all readings are sound."""


@dataclass(frozen=True, slots=True, eq=False)
class RobustFit:
    """Where the fit ended. `weights` are 1 for readings that fit; `converged` says how it ended.

    `before` are the predictions at the prior.
    """

    parameters: Numbers
    covariance: Numbers
    before: Numbers
    predictions: Numbers
    jacobian: Numbers
    weights: Numbers
    steps: int
    converged: bool


def robust_fit(
    predict: Predict,
    slopes: SlopesAt,
    observed: Numbers,
    spread: Numbers,
    *,
    prior: Numbers,
    prior_spread: Numbers,
    start: Numbers | None = None,
    most_steps: int = 15,
    tolerance: float = 1e-3,
) -> RobustFit:
    """Parameters that suit both readings and prior, by Huber's loss on the readings.

    `observed` and `spread` have shape (n,), `prior`, `prior_spread` and `start` shape (parameters,). Begins
    at the prior where no start is given. Ends when a step is shorter than `tolerance` standard deviations of
    what is known by then, or after `most_steps`.
    """
    at = prior.astype(np.float64)
    before = predictions = predict(at)
    if start is not None:
        at = start.astype(np.float64)
        predictions = predict(at)
    jacobian = slopes(at)
    cost = _cost(observed, spread, predictions, at, prior, prior_spread)
    converged = False
    steps = 0
    while steps < most_steps and not converged:
        steps += 1
        step, length = _step(observed, spread, predictions, jacobian, at, prior, prior_spread)
        for _ in range(6):
            trial = at + step
            trial_predictions = predict(trial)
            trial_cost = _cost(observed, spread, trial_predictions, trial, prior, prior_spread)
            if trial_cost <= cost:
                break
            step, length = step / 2.0, length / 2.0
        else:
            converged = True  # no downhill left at the resolution of the model
            break
        converged = length < tolerance
        at, predictions, cost = trial, trial_predictions, trial_cost
        jacobian = slopes(at)
    weights = huber_weights((observed - predictions) / spread)
    return RobustFit(
        parameters=at,
        covariance=np.asarray(np.linalg.inv(_curvature(jacobian, spread, weights, prior_spread)), np.float64),
        before=before,
        predictions=predictions,
        jacobian=jacobian,
        weights=weights,
        steps=steps,
        converged=converged,
    )


def huber_weights(distance: Numbers) -> Numbers:
    """Weight of each reading by its distance in standard deviations: 1 inside the corner, falling outside."""
    size = np.abs(distance)
    return np.minimum(1.0, CORNER / np.maximum(size, 1e-12))


def _cost(
    observed: Numbers,
    spread: Numbers,
    predictions: Numbers,
    at: Numbers,
    prior: Numbers,
    prior_spread: Numbers,
) -> float:
    size = np.abs((observed - predictions) / spread)
    loss = np.where(size <= CORNER, 0.5 * size**2, CORNER * (size - 0.5 * CORNER))
    return float(loss.sum() + 0.5 * (((at - prior) / prior_spread) ** 2).sum())


def _curvature(jacobian: Numbers, spread: Numbers, weights: Numbers, prior_spread: Numbers) -> Numbers:
    scaled = jacobian * (np.sqrt(weights) / spread)[:, None]
    return scaled.T @ scaled + np.diag(1.0 / prior_spread**2)


def _step(
    observed: Numbers,
    spread: Numbers,
    predictions: Numbers,
    jacobian: Numbers,
    at: Numbers,
    prior: Numbers,
    prior_spread: Numbers,
) -> tuple[Numbers, float]:
    """The step downhill, and its length in standard deviations of what is known now."""
    distance = (observed - predictions) / spread
    weights = huber_weights(distance)
    downhill = jacobian.T @ (weights * distance / spread) - (at - prior) / prior_spread**2
    curvature = _curvature(jacobian, spread, weights, prior_spread)
    step = np.asarray(np.linalg.solve(curvature, downhill), np.float64)
    return step, float(np.sqrt(step @ curvature @ step))
