"""Beliefs held against event simulations that share no formula with them (*against*; seeded, 4 errors wide).

Parts are drawn defect by defect, checked, put right and failed; among the parts with the same record, the
share with a defect, and the share that fails next, must be what is believed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import pytest

from snugfast.upkeep.beliefs import Beliefs
from snugfast.upkeep.delay_time import failures_per_interval
from snugfast.upkeep.grid import Grid
from snugfast.upkeep.mode_law import NEW, ModeLaw

LAW = ModeLaw(mean_between_defects=100.0, spread_shape=1.5, mean_delay=40.0, sudden_share=0.25)
POINT = Grid((1.0,), (1.0,))
PARTS = 400_000


@dataclass
class Crowd:
    """Many parts of one kind: whether each is defective now, and which are left in the sample."""

    rng: np.random.Generator
    defective: np.ndarray
    left: np.ndarray

    def run(self, span: float) -> np.ndarray:
        """Run them all; gives which failed. Memoryless, so each stretch is drawn afresh."""
        count = self.defective.size
        arises = np.where(self.defective, 0.0, self.rng.exponential(100.0, count))
        sudden = ~self.defective & (self.rng.random(count) < 0.25)
        fails_at = arises + np.where(sudden, 0.0, self.rng.exponential(40.0, count))
        failed = fails_at <= span
        self.defective = (arises <= span) & ~failed
        return failed

    def keep(self, which: np.ndarray) -> None:
        self.left &= which


def test_belief_and_forecast_are_the_shares_among_parts_with_the_same_record() -> None:
    """Run 30, clean check (r 0.7, 5 % false alarms), run 25, found and put right 9 times in 10, run 20."""
    crowd = Crowd(np.random.default_rng(21), np.zeros(PARTS, dtype=bool), np.ones(PARTS, dtype=bool))
    crowd.keep(~crowd.run(30.0))
    crowd.keep(~_says_found(crowd))
    crowd.keep(~crowd.run(25.0))
    crowd.keep(_says_found(crowd))
    crowd.defective = crowd.rng.random(PARTS) < 0.1
    crowd.keep(~crowd.run(20.0))
    now = Beliefs.begin([LAW], [NEW], grid=POINT).ran(exposure=30.0)
    now = now.checked_clean(detection=0.7, false_alarm=0.05).ran(exposure=25.0)
    now = now.found(detection=0.7, false_alarm=0.05).restored(works=0.9).ran(exposure=20.0)
    assert _near(np.exp(now.log_evidence[0]), crowd.left)
    assert _near(now.presence[0], crowd.defective[crowd.left])
    assert _near(now.outlook(exposure=15.0).fail_chance[0], crowd.run(15.0)[crowd.left])


def _says_found(crowd: Crowd) -> np.ndarray:
    return crowd.rng.random(PARTS) < np.where(crowd.defective, 0.7, 0.05)


def _near(chance: float, seen: np.ndarray) -> bool:
    spread = np.sqrt(chance * (1.0 - chance) / seen.size)
    return bool(abs(chance - seen.mean()) < 4.0 * spread)


def test_failures_per_interval_are_those_of_simulated_defects() -> None:
    """Pooled: Poisson defects over 200 000 intervals of 24, each check sees a defect with chance 0.7."""
    rng = np.random.default_rng(2)
    intervals, span = 200_000, 24.0
    born = rng.uniform(0.0, intervals * span, rng.poisson(intervals * span / 400.0))
    fails = born + rng.exponential(30.0, born.size)
    looks_to_find = rng.geometric(0.7, born.size)
    caught = (np.ceil(born / span) + looks_to_find - 1) * span
    count = (fails < caught).sum()
    expected = intervals * failures_per_interval(rate=1 / 400, interval=span, delay=30.0, detection=0.7)
    assert abs(count - expected) < 4.0 * np.sqrt(expected)


@pytest.mark.slow
def test_learning_is_calibrated_on_cars_drawn_from_the_prior() -> None:
    """3 000 cars with rates and delays drawn from the grid's own prior, 40 runs each, a check every third.

    Forecasts of a failure in the next run, put in five groups, must come true as often as they say; and the
    posterior mean of the rate must be right on average in each group of posterior means.
    """
    rng = np.random.default_rng(33)
    cars = 3_000
    law = ModeLaw(150.0, 1.5, 40.0, sudden_share=0.25)
    now = Beliefs.begin([law] * cars, [NEW] * cars)
    point = (now.weights.cumsum(axis=1) < rng.random((cars, 1))).sum(axis=1).clip(max=now.grid.size - 1)
    rate = now.grid.rate_of_point[point] / 150.0
    delay = now.grid.delay_of_point[point] * 40.0
    defective = np.zeros(cars, dtype=bool)
    forecasts, outcomes = [], []
    for run in range(40):
        forecasts.append(now.outlook(exposure=12.0).fail_chance)
        arises = np.where(defective, 0.0, rng.exponential(1.0, cars) / rate)
        sudden = ~defective & (rng.random(cars) < 0.25)
        failed = arises + np.where(sudden, 0.0, rng.exponential(1.0, cars) * delay) <= 12.0
        defective = (arises <= 12.0) & ~failed
        outcomes.append(failed)
        now = _either(now, now.failed_within(exposure=12.0), now.ran(exposure=12.0), failed)
        if run % 3 == 2:
            found = defective & (rng.random(cars) < 0.8)
            now = _either(now, now.found(detection=0.8).restored(), now.checked_clean(detection=0.8), found)
            defective &= ~found
    told, came = np.concatenate(forecasts), np.concatenate(outcomes)
    for group in np.array_split(np.argsort(told), 5):
        spread = np.sqrt((told[group] * (1 - told[group])).sum())
        assert abs(came[group].sum() - told[group].sum()) < 4.0 * spread
    learned = now.rate_multiplier / 150.0
    for group in np.array_split(np.argsort(learned), 5):
        error = rate[group] - learned[group]
        assert abs(error.mean()) < 4.0 * error.std() / np.sqrt(group.size)


def _either(now: Beliefs, yes: Beliefs, no: Beliefs, which: np.ndarray) -> Beliefs:
    pick = which[:, None]
    return replace(
        now,
        weights=np.where(pick, yes.weights, no.weights),
        presences=np.where(pick, yes.presences, no.presences),
        clocks=np.where(pick, yes.clocks, no.clocks),
    )
