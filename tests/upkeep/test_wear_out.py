"""Age replacement; *against* an independent program and a simulation of it, and *law*."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.wear_out import best_age, renewal_cost_rate
from tests.upkeep.upkeep_golden import golden

ROWS = golden("lives")["age_replacement"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"shape {row['shape']}, {row['cf']} to {row['cp']}")
def test_the_best_age_and_its_cost_are_those_of_the_independent_program(row: dict[str, float]) -> None:
    plan = best_age(shape=row["shape"], scale=row["scale"], planned_cost=row["cp"], failure_cost=row["cf"])
    assert plan.age == pytest.approx(row["T_opt"], rel=1e-6)
    assert plan.cost_rate == pytest.approx(row["cost_rate"], rel=1e-9)
    assert plan.run_to_failure_cost_rate == pytest.approx(row["run_to_failure"], rel=1e-9)


def test_simulated_lives_cost_what_the_plan_says() -> None:
    """*Against*: 400 000 seeded lives, 3 standard errors."""
    plan = best_age(shape=2.5, scale=1000.0, planned_cost=1.0, failure_cost=5.0)
    lives = 1000.0 * np.random.default_rng(3).weibull(2.5, 400_000)
    spent = np.where(lives < plan.age, 5.0, 1.0)
    lived = np.minimum(lives, plan.age)
    rate = spent.mean() / lived.mean()
    spread = np.std(spent - rate * lived) / lived.mean() / np.sqrt(lives.size)
    assert abs(rate - plan.cost_rate) < 3 * spread


@pytest.mark.slow
@given(shape=st.floats(1.2, 8.0), dearer=st.floats(1.3, 50.0), factor=st.floats(0.2, 5.0))
def test_no_other_age_is_cheaper(shape: float, dearer: float, factor: float) -> None:
    plan = best_age(shape=shape, scale=100.0, planned_cost=1.0, failure_cost=dearer)
    assert plan.cost_rate <= plan.run_to_failure_cost_rate * (1 + 1e-9)
    if not plan.never:
        other = renewal_cost_rate(
            shape=shape, scale=100.0, age=plan.age * factor, planned_cost=1.0, failure_cost=dearer
        )
        assert other >= plan.cost_rate * (1 - 1e-7)


def test_without_wear_or_without_a_dearer_failure_age_is_no_reason() -> None:
    assert best_age(shape=1.0, scale=100.0, planned_cost=1.0, failure_cost=10.0).never
    assert best_age(shape=3.0, scale=100.0, planned_cost=2.0, failure_cost=2.0).never


def test_a_cost_of_nothing_is_refused() -> None:
    with pytest.raises(ImpossibleInput):
        best_age(shape=2.0, scale=1.0, planned_cost=0.0, failure_cost=1.0)
