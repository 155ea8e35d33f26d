"""Robust least squares against NumPy, SciPy and what must hold."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import minimize

from snugfast.numerics.robust_fit import CORNER, huber_weights, robust_fit

RNG = np.random.default_rng(3)
X = np.column_stack([np.ones(30), np.linspace(0.0, 3.0, 30)])
Y = X @ np.array([1.0, 2.0]) + 0.1 * RNG.standard_normal(30)
SPREAD = np.full(30, 0.1)


def line(at: np.ndarray) -> np.ndarray:
    return X @ at


def curve(at: np.ndarray) -> np.ndarray:
    return at[0] * np.exp(-at[1] * X[:, 1])


def slopes_of_curve(at: np.ndarray) -> np.ndarray:
    decay = np.exp(-at[1] * X[:, 1])
    return np.column_stack([decay, -at[0] * X[:, 1] * decay])


def loss(at: np.ndarray, observed: np.ndarray, prior: np.ndarray, prior_spread: np.ndarray) -> float:
    size = np.abs((observed - curve(at)) / SPREAD)
    huber = np.where(size <= CORNER, size**2 / 2, CORNER * (size - CORNER / 2))
    return float(huber.sum() + (((at - prior) / prior_spread) ** 2).sum() / 2)


def test_sound_readings_give_weighted_least_squares_with_its_covariance() -> None:
    """Against: NumPy's normal equations, a prior too wide to matter and errors inside the corner."""
    sound = X @ np.array([1.0, 2.0]) + np.clip(Y - X @ np.array([1.0, 2.0]), -0.08, 0.08)
    found = robust_fit(line, lambda _: X, sound, SPREAD, prior=np.zeros(2), prior_spread=np.full(2, 1e4))
    assert found.converged
    assert found.parameters == pytest.approx(np.linalg.lstsq(X, sound, rcond=None)[0], abs=1e-6)
    assert found.covariance == pytest.approx(np.linalg.inv(X.T @ X / 0.01), rel=1e-6)


def test_a_curved_model_with_outliers_ends_at_the_least_loss() -> None:
    """Against: SciPy's minimiser on the same loss."""
    observed = curve(np.array([2.0, 0.7])) + 0.05 * RNG.standard_normal(30)
    observed[5] += 3.0
    prior, prior_spread = np.array([1.5, 0.5]), np.array([1.0, 1.0])
    found = robust_fit(
        curve,
        slopes_of_curve,
        observed,
        SPREAD,
        prior=prior,
        prior_spread=prior_spread,
        most_steps=60,
        tolerance=1e-7,
    )
    best = minimize(
        loss, prior, args=(observed, prior, prior_spread), method="Nelder-Mead", options={"xatol": 1e-9}
    )
    assert found.parameters == pytest.approx(best.x, abs=1e-4)
    assert found.weights[5] < 0.1
    assert found.parameters == pytest.approx([2.0, 0.7], abs=0.05)


def test_without_news_the_prior_stays() -> None:
    """Law: a reading with no slope changes nothing."""
    found = robust_fit(
        lambda _: np.zeros(1),
        lambda _: np.zeros((1, 2)),
        np.ones(1),
        np.ones(1),
        prior=np.array([0.3, 0.4]),
        prior_spread=np.array([0.1, 0.2]),
    )
    assert found.parameters == pytest.approx([0.3, 0.4])
    assert np.sqrt(np.diag(found.covariance)) == pytest.approx([0.1, 0.2])


def test_weights_fall_beyond_the_corner() -> None:
    assert huber_weights(np.array([0.0, 1.0, -2.69, 13.45])) == pytest.approx([1.0, 1.0, 0.5, 0.1])


def test_slopes_are_asked_for_once_a_step_and_steps_that_fail_are_halved() -> None:
    """Law: from a far start the first steps overshoot; trials cost predictions, not slopes."""
    asked = {"predictions": 0, "slopes": 0}

    def predict(at: np.ndarray) -> np.ndarray:
        asked["predictions"] += 1
        return np.exp(at)

    def slopes(at: np.ndarray) -> np.ndarray:
        asked["slopes"] += 1
        return np.diag(np.exp(at))

    spread = np.full(1, 1e-3)
    found = robust_fit(
        predict, slopes, np.ones(1), spread, prior=np.full(1, -3.0), prior_spread=np.full(1, 1e3)
    )
    assert found.parameters == pytest.approx([0.0], abs=1e-4)
    assert found.before == pytest.approx([np.exp(-3.0)])
    assert asked["slopes"] == found.steps + 1
    assert asked["predictions"] > found.steps + 1
