"""A gamma rate after counted finds and failures; *against* an independent program, and *law*."""

from __future__ import annotations

from math import exp

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.learning import GammaRate, after_counts, learn_rate
from tests.upkeep.upkeep_golden import golden

GOLDEN = golden("delay_time")["conjugate_pooled"]
RECORD = {"intervals": GOLDEN["dt"], "failed": GOLDEN["failed"], "found": GOLDEN["found"]}
PRIOR = GammaRate(2.0, 400.0)


@pytest.mark.parametrize(
    "case", GOLDEN["cases"], ids=lambda case: f"delay {1 / case['alpha']:.0f}, r {case['r']}"
)
def test_rate_and_likelihood_are_those_of_the_independent_program(case: dict[str, float]) -> None:
    learned = learn_rate(PRIOR, **RECORD, delay=1 / case["alpha"], detection=case["r"])
    assert learned.rate.shape == case["post_shape"]
    assert learned.rate.exposure == pytest.approx(case["post_rate"], rel=1e-12)
    assert learned.rate.mean == pytest.approx(case["post_mean"], rel=1e-12)
    assert learned.log_marginal == pytest.approx(case["log_marginal"], rel=1e-12)
    assert learned.unseen == pytest.approx(case["w_left"], abs=1e-9)


@given(delay=st.floats(1.0, 1000.0))
def test_with_perfect_checks_the_delay_does_not_touch_the_rate(delay: float) -> None:
    learned = learn_rate(PRIOR, **RECORD, delay=delay, detection=1.0)
    assert learned.rate.exposure == pytest.approx(400.0 + sum(GOLDEN["dt"]), rel=1e-12)


def test_the_chances_of_all_counts_of_one_interval_add_up_to_one() -> None:
    """*Law*: the marginal likelihood is a distribution over failures and finds."""
    total = 0.0
    for failed in range(25):
        for found in range(25):
            record = learn_rate(
                PRIOR, intervals=[90.0], failed=[failed], found=[found], delay=60.0, detection=0.7
            )
            total += exp(record.log_marginal)
    assert total == pytest.approx(1.0, abs=1e-9)


def test_the_handbooks_gamma_prior_takes_its_two_failures() -> None:
    """NIST handbook 8.4.6: Gamma(2, 1400) after 2 failures in 1909 hours is Gamma(4, 3309)."""
    after = after_counts(GammaRate(2.0, 1400.0), events=2, exposure=1909.0)
    assert (after.shape, after.exposure) == (4.0, 3309.0)
    assert 1.0 / after.mean == pytest.approx(827.25)
    assert after.spread == pytest.approx(2.0 / 3309.0)


def test_records_that_do_not_pair_up_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="do not pair up"):
        learn_rate(PRIOR, intervals=[10.0], failed=[0, 1], found=[0], delay=10.0, detection=1.0)
    with pytest.raises(ImpossibleInput):
        GammaRate(0.0, 1.0)
