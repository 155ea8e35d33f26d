"""What all rows teach together: a driver's severity and the errors of the tables.

Authorities: enumeration of every combination on the grids; the closed form of gamma and Poisson (*worked*:
negative binomial); laws (nothing seen changes nothing, no order matters).
"""

from __future__ import annotations

from itertools import product
from math import lgamma, log

import numpy as np
import pytest
from numpy.typing import NDArray

from snugfast.upkeep.beliefs import Beliefs
from snugfast.upkeep.grid import STANDARD_GRID, Grid, rate_prior
from snugfast.upkeep.mode_law import NEW, ModeLaw
from snugfast.upkeep.severity import BOTH, ERRORS, SEVERITIES, Doubt, allowing_for, severity, taught

DOUBT = Doubt(0.8, 0.6)
LAWS = (
    ModeLaw(600.0, 1.5, 30.0, 0.4, 0.1),
    ModeLaw(900.0, 1.2, 60.0, 0.5, 0.3),
    ModeLaw(300.0, 2.0, 20.0, 0.4, 0.0),
)
MODES = ("nut", "screw", "nut")
SHAPES = [law.spread_shape for law in LAWS]


def lived() -> Beliefs:
    """Three rows: one failed twice, one was looked at, one ran on."""
    now = Beliefs.begin(LAWS, [NEW] * 3).ran(exposure=48.0)
    now = now.checked_clean(detection=np.array([0.0, 0.8, 0.0])).ran(exposure=np.array([0.0, 96.0, 96.0]))
    failed = now._rows([0]).failed_within(exposure=12.0).failed_within(exposure=30.0)
    weights = now.weights.copy()
    weights[0] = failed.weights[0]
    return Beliefs(
        now.grid, now.laws, weights, now.presences, now.clocks, now.log_evidence, now.counts, now.row
    )


def together(beliefs: Beliefs, doubt: Doubt = DOUBT) -> Beliefs:
    logs = taught(beliefs, SHAPES)
    return allowing_for(beliefs, SHAPES, MODES, logs, severity(zip(MODES, logs, strict=True), doubt))


def test_the_weights_are_those_of_every_combination_summed_up() -> None:
    """*Against* enumeration: each severity, each error of both modes, each rate of each row."""
    beliefs = lived()
    rates = beliefs.weights.reshape(3, len(STANDARD_GRID.rates), -1).sum(axis=2)
    flat = rate_prior(STANDARD_GRID, spread_shape=np.array(SHAPES))
    by_severity, by_error = DOUBT.priors()
    likelihood = rates / flat
    means = np.clip(np.array(BOTH), 1.5 * min(STANDARD_GRID.rates), 0.7 * max(STANDARD_GRID.rates))
    given = [
        rate_prior(STANDARD_GRID, spread_shape=np.full(len(BOTH), shape), mean=means) for shape in SHAPES
    ]
    expected = np.zeros_like(rates)
    for s, nut, screw in product(range(len(SEVERITIES)), range(len(ERRORS)), range(len(ERRORS))):
        at = (s + nut, s + screw, s + nut)
        joint = [given[row][at[row]] * likelihood[row] for row in range(3)]
        sums = [one.sum() for one in joint]
        chance = by_severity[s] * by_error[nut] * by_error[screw]
        for row in range(3):
            expected[row] += chance * joint[row] * np.prod(sums) / sums[row]
    expected /= expected.sum(axis=1, keepdims=True)
    found = together(beliefs).weights.reshape(3, len(STANDARD_GRID.rates), -1).sum(axis=2)
    assert np.allclose(found, expected, rtol=1e-9, atol=1e-15)


def test_counts_teach_the_severity_that_the_negative_binomial_says() -> None:
    """*Worked*: n failures in x at rate r/b, r gamma with mean s: likelihood s^n/(1 + s·x/(a·b))^(a + n)."""
    fine = Grid(tuple(np.geomspace(1 / 400, 40.0, 150).tolist()), (1.0,))
    law = ModeLaw(100.0, 1.5, 1.0, 0.4, 1.0)  # all of it sudden: each arrival is a failure
    now = Beliefs.begin([law] * 6, [NEW] * 6, grid=fine)
    counts, exposure = [2, 0, 5, 1, 3, 1], 120.0
    for n in range(5):
        at_all = now.failed_at(exposure=np.full(6, 1.0))
        weights = np.where((np.array(counts) > n)[:, None], at_all.weights, now.weights)
        clocks = np.where((np.array(counts) > n)[:, None], at_all.clocks, now.clocks)
        now = Beliefs(fine, now.laws, weights, now.presences, clocks, now.log_evidence, now.counts, now.row)
    ran = exposure - np.array(counts, dtype=float)
    now = now.ran(exposure=ran)
    told = severity([(f"mode {n}", logs) for n, logs in enumerate(taught(now, [1.5] * 6))], Doubt(0.8, 1e-3))
    prior, _ = Doubt(0.8, 1e-3).priors()
    expected = np.array(
        [
            log(chance)
            + sum(n * log(s) - (1.5 + n) * log(1.0 + s * exposure / 150.0) + lgamma(1.5 + n) for n in counts)
            for s, chance in zip(SEVERITIES, prior, strict=True)
        ]
    )
    expected = np.exp(expected - expected.max())
    assert told.chances == pytest.approx(expected / expected.sum(), abs=2e-3)
    assert told.mean > 1.3


def test_nothing_seen_says_nothing() -> None:
    new = Beliefs.begin(LAWS, [NEW] * 3)
    told = severity(zip(MODES, taught(new, SHAPES), strict=True), DOUBT)
    assert told.mean == pytest.approx(1.0, abs=1e-9)
    assert together(new).rate_multiplier == pytest.approx(new.rate_multiplier, rel=0.02)


def test_no_order_of_rows_changes_a_bit() -> None:
    logs = list(zip(MODES, taught(lived(), SHAPES), strict=True)) * 5
    one = severity(logs, DOUBT)
    rng = np.random.default_rng(3)
    for _ in range(5):
        order: NDArray[np.intp] = rng.permutation(len(logs))
        other = severity([logs[n] for n in order], DOUBT)
        assert np.array_equal(one.chances, other.chances)
        assert all(np.array_equal(one.of_mode[mode], other.of_mode[mode]) for mode in MODES)


def test_a_failure_here_makes_one_there_likelier_and_more_so_for_the_same_mode() -> None:
    """Law: what two rows have in common is taught by either."""
    beliefs = lived()
    alone = beliefs.rate_multiplier
    pooled = together(beliefs).rate_multiplier
    assert pooled[1] > alone[1] and pooled[2] > alone[2]
    assert pooled[2] / alone[2] > pooled[1] / alone[1]
