"""The pooled delay-time model.

Authorities: *against* an independent program and its event simulation (golden/upkeep/delay_time.json); *law*.
"""

from __future__ import annotations

from math import exp, inf
from typing import NamedTuple

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.upkeep.delay_time import (
    backlog,
    best_intervals,
    cost_rate,
    defects_alive,
    failures_per_interval,
    found_per_interval,
    pooled_weights,
)
from tests.upkeep.upkeep_golden import golden

GOLDEN = golden("delay_time")
W1 = {"rate": 1 / 400, "delay": 30.0}


class Plan(NamedTuple):
    """How often to look, and what that costs."""

    interval: float
    cost_rate: float


def best(
    *,
    rate: float,
    delay: float,
    detection: float,
    check_cost: float,
    restore_cost: float,
    failure_cost: float,
) -> Plan:
    """The best interval of one mode, and its whole cost rate: every defect is put right or fails."""
    interval, excess = best_intervals(
        rate=np.array([rate]),
        delay=np.array([delay]),
        detection=np.array([detection]),
        check_cost=np.array([check_cost]),
        dearer=np.array([failure_cost - restore_cost]),
    )
    return Plan(float(interval[0]), float(excess[0]) + rate * restore_cost)


MONEY = {"check_cost": 0.5, "restore_cost": 1.0, "failure_cost": 12.0}
rates = st.floats(1e-4, 0.1)
delays = st.floats(1.0, 500.0)
spans = st.floats(0.1, 1000.0)
chances = st.floats(0.05, 1.0)


@pytest.mark.parametrize("detection", [1, 0.9, 0.7, 0.4])
def test_failures_and_finds_between_checks_are_those_of_the_independent_program(detection: float) -> None:
    there = GOLDEN["W1_cost_example"][f"r={detection}"]
    failed = failures_per_interval(**W1, interval=24.0, detection=detection)
    found = found_per_interval(**W1, interval=24.0, detection=detection)
    assert failed == pytest.approx(there["nfail_T24"], rel=1e-12)
    assert found == pytest.approx(there["nfound_T24"], rel=1e-12)


@pytest.mark.parametrize("detection", [1, 0.9, 0.7])
def test_the_best_interval_is_the_one_a_numeric_minimiser_finds(detection: float) -> None:
    there = GOLDEN["W1_cost_example"][f"r={detection}"]
    plan = best(**W1, **MONEY, detection=detection)
    assert plan.interval == pytest.approx(there.get("T_opt_closed", there.get("T_opt")), rel=1e-7)
    assert plan.cost_rate == pytest.approx(there["C_opt"], rel=1e-12)
    assert plan.cost_rate == pytest.approx(
        cost_rate(**W1, **MONEY, detection=detection, interval=plan.interval), rel=1e-12
    )


def test_a_poor_check_is_never_worth_it_and_the_plan_says_so() -> None:
    plan = best(**W1, **MONEY, detection=0.4)
    assert plan.interval == inf
    assert plan.cost_rate == pytest.approx(0.03, rel=1e-12)


@pytest.mark.parametrize("row", GOLDEN["kappa_table"]["rows"], ids=lambda row: f"kappa {row['kappa']}")
def test_with_a_perfect_check_the_best_interval_is_a_gamma_quantile(row: dict[str, float]) -> None:
    plan = best(
        rate=0.01,
        delay=10.0,
        detection=1.0,
        check_cost=row["kappa"] * 0.1 * 5.0,
        restore_cost=2.0,
        failure_cost=7.0,
    )
    assert plan.interval / 10.0 == pytest.approx(row["alphaT"], rel=1e-9)


@given(rate=rates, delay=delays, interval=spans, detection=chances)
def test_what_arises_is_found_or_fails_and_checks_that_find_nothing_change_nothing(
    rate: float, delay: float, interval: float, detection: float
) -> None:
    failed = failures_per_interval(rate=rate, interval=interval, delay=delay, detection=detection)
    found = found_per_interval(rate=rate, interval=interval, delay=delay, detection=detection)
    assert failed + found == pytest.approx(rate * interval, rel=1e-12)
    blind = failures_per_interval(rate=rate, interval=interval, delay=delay, detection=0.0)
    assert blind == pytest.approx(rate * interval, rel=1e-12)


@given(rate=rates, delay=delays, interval=spans, detection=chances)
def test_failures_rise_with_the_interval_and_fall_with_detection(
    rate: float, delay: float, interval: float, detection: float
) -> None:
    now = failures_per_interval(rate=rate, interval=interval, delay=delay, detection=detection)
    later = failures_per_interval(rate=rate, interval=1.1 * interval, delay=delay, detection=detection)
    worse = failures_per_interval(rate=rate, interval=interval, delay=delay, detection=0.9 * detection)
    assert now < later
    assert now <= worse * (1 + 1e-12)


@given(rate=rates, delay=delays, detection=chances, part=st.floats(0.001, 0.95), unit=st.floats(0.01, 100.0))
def test_no_interval_near_the_best_one_is_cheaper_and_the_clock_unit_does_not_matter(
    rate: float, delay: float, detection: float, part: float, unit: float
) -> None:
    money = {"restore_cost": 1.0, "failure_cost": 8.0, "check_cost": part * detection * rate * delay * 7.0}
    plan = best(rate=rate, delay=delay, detection=detection, **money)
    for factor in (0.5, 0.9, 1.1, 2.0):
        other = cost_rate(
            rate=rate, delay=delay, detection=detection, interval=factor * plan.interval, **money
        )
        assert other >= plan.cost_rate * (1 - 1e-12)
    scaled = best(rate=rate / unit, delay=delay * unit, detection=detection, **money)
    assert scaled.interval == pytest.approx(plan.interval * unit, rel=1e-8)


@pytest.mark.parametrize("row", GOLDEN["half_PF"]["rows"], ids=lambda row: f"T/delay {row['T_over_delta']}")
def test_half_the_warning_time_protects_as_little_as_the_other_program_says(row: dict[str, float]) -> None:
    interval = row["T_over_delta"]
    share = failures_per_interval(rate=1.0, interval=interval, delay=1.0) / interval
    assert share == pytest.approx(row["share"], rel=1e-10)


@given(
    intervals=st.lists(st.floats(0.1, 200.0), min_size=1, max_size=8), delay=delays, detection=st.floats(0, 1)
)
def test_unequal_intervals_lose_no_defect(intervals: list[float], delay: float, detection: float) -> None:
    failed, found, left = pooled_weights(intervals=intervals, delay=delay, detection=detection)
    assert failed.sum() + found.sum() + left == pytest.approx(sum(intervals), rel=1e-12)


@pytest.mark.parametrize(
    ("interval", "some"),
    [(5, 0.01144784), (12, 0.02442281), (24, 0.04045909), (48, 0.05810150), (400, 0.07225640)],
)
def test_defects_alive_give_the_worked_chances_of_at_least_one(interval: float, some: float) -> None:
    """Worked: pooled model, a defect in 400 minutes, 30 minutes of delay; P(at least one) = 1 − exp(−λA)."""
    waiting = defects_alive(interval=interval, delay=30.0) / 400.0
    assert 1.0 - exp(-waiting) == pytest.approx(some, abs=5e-9)


@pytest.mark.parametrize(
    ("detection", "found"), [(1.0, 0.04130033), (0.9, 0.03891904), (0.7, 0.03341445), (0.4, 0.02261784)]
)
def test_the_backlog_gives_the_worked_finds_every_24_minutes(detection: float, found: float) -> None:
    """Worked: λ = 1/400, δ = 30; found per interval = λ r B."""
    waiting = backlog(interval=24.0, delay=30.0, detection=detection)
    assert detection * waiting / 400.0 == pytest.approx(found, abs=5e-9)
