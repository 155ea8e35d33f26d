"""Scores of forecasts; *against* an independent program, and *law*."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.scoring import score
from tests.upkeep.upkeep_golden import golden

GOLDEN = golden("scoring")


def test_fifty_forecasts_score_as_in_the_independent_program() -> None:
    result = score(forecasts=GOLDEN["forecast"], outcomes=GOLDEN["outcome"])
    assert result.brier == pytest.approx(0.126, rel=1e-12)
    assert result.reliability == pytest.approx(0.003, rel=1e-9)
    assert result.resolution == pytest.approx(0.0486, rel=1e-9)
    assert result.uncertainty == pytest.approx(0.1716, rel=1e-12)
    assert result.skill == pytest.approx(GOLDEN["skill"], rel=1e-12)
    assert result.log_score == pytest.approx(GOLDEN["log_score_nats"], rel=1e-12)
    assert result.base_rate_log_score == pytest.approx(GOLDEN["base_rate_log_score"], rel=1e-12)
    corrected = GOLDEN["bias_corrected"]
    assert result.unbiased_reliability == pytest.approx(corrected["reliability"], rel=1e-9)
    assert result.unbiased_resolution == pytest.approx(corrected["resolution"], rel=1e-9)
    assert result.unbiased_uncertainty == pytest.approx(corrected["uncertainty"], rel=1e-9)
    for group, row in zip(result.groups, GOLDEN["reliability_table"], strict=True):
        assert (group.count, group.observed) == (row["n"], pytest.approx(row["observed"]))
        assert group.forecast == pytest.approx(row["forecast"])


@given(
    pairs=st.lists(
        st.tuples(st.sampled_from([0.0, 0.1, 0.3, 0.5, 0.9, 1.0]), st.booleans()), min_size=1, max_size=80
    )
)
def test_the_parts_add_up_exactly_when_groups_hold_one_chance(pairs: list[tuple[float, bool]]) -> None:
    result = score(forecasts=[p for p, _ in pairs], outcomes=[o for _, o in pairs])
    assert abs(result.within) < 1e-12
    assert sum(group.count for group in result.groups) == len(pairs)


def test_forecasts_that_are_true_chances_become_reliable() -> None:
    """*Law*: 200 000 seeded forecasts that are the true chances."""
    rng = np.random.default_rng(8)
    chance = rng.beta(1.0, 12.0, 200_000)
    came = rng.random(chance.size) < chance
    result = score(forecasts=chance.tolist(), outcomes=came.tolist(), edges=[0.02, 0.05, 0.1, 0.2, 0.3])
    assert result.reliability < 1e-5
    assert result.log_score < result.base_rate_log_score
    skewed = score(
        forecasts=(chance**0.7).tolist(), outcomes=came.tolist(), edges=[0.02, 0.05, 0.1, 0.2, 0.3]
    )
    assert skewed.reliability > 1e-3


@pytest.mark.parametrize(("forecasts", "outcomes"), [([], []), ([0.5], []), ([1.5], [True])])
def test_forecasts_that_cannot_be_scored_are_refused(forecasts: list[float], outcomes: list[bool]) -> None:
    with pytest.raises(ImpossibleInput):
        score(forecasts=forecasts, outcomes=outcomes)
