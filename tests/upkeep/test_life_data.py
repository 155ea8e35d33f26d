"""Weibull fits. *Worked*: NIST/SEMATECH e-Handbook 8.4.1.3. *Against*: lives fitted by four programs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.life_data import Lifetimes, fit_weibull
from tests.upkeep.upkeep_golden import golden

SETS = golden("lives")["sets"]


def lives_of(name: str) -> Lifetimes:
    return Lifetimes(tuple(SETS[name]["failed"]), tuple(SETS[name]["still_running"]))


def test_the_handbooks_twenty_units_give_its_printed_numbers() -> None:
    """Printed: 606.5280, 1.7208, log likelihood −75.135, AIC 154.27, mean 540.737, spread 323.806."""
    fit = fit_weibull(lives_of("nist_8_4_1_3"))
    assert fit.scale == pytest.approx(606.5280, abs=1e-3)
    assert fit.shape == pytest.approx(1.7208, abs=5e-5)
    assert fit.log_likelihood == pytest.approx(-75.135, abs=5e-4)
    assert fit.aic == pytest.approx(154.27, abs=5e-3)
    assert fit.mean == pytest.approx(540.737, abs=1e-3)
    assert fit.standard_deviation == pytest.approx(323.806, abs=1e-3)
    assert fit.failures == 10
    assert not fit.wears_out


@pytest.mark.parametrize("name", SETS)
def test_published_lives_are_fitted_as_by_the_other_programs(name: str) -> None:
    fit = fit_weibull(lives_of(name))
    assert fit.shape == pytest.approx(SETS[name]["shape"], rel=1e-6)
    assert fit.scale == pytest.approx(SETS[name]["scale"], rel=1e-6)
    assert fit.log_likelihood == pytest.approx(SETS[name]["log_likelihood"], abs=1e-8)


def log_likelihood(lives: Lifetimes, shape: float, scale: float) -> float:
    """Written out once more, without logarithms put together."""
    failed, running = np.array(lives.failed_at), np.array(lives.still_running_at)
    density = shape / scale * (failed / scale) ** (shape - 1) * np.exp(-((failed / scale) ** shape))
    return float(np.log(density).sum() - ((running / scale) ** shape).sum())


@pytest.mark.slow
@given(
    failed=st.lists(st.floats(1.0, 1000.0), min_size=2, max_size=12, unique=True),
    running=st.lists(st.floats(1.0, 1000.0), max_size=12),
    unit=st.floats(0.01, 100.0),
)
def test_no_law_beside_the_fit_is_likelier_and_units_do_not_matter(
    failed: list[float], running: list[float], unit: float
) -> None:
    lives = Lifetimes(tuple(failed), tuple(running))
    fit = fit_weibull(lives)
    if fit.shape < 50.0:
        for turn in (0.99, 1.01):
            assert log_likelihood(lives, fit.shape * turn, fit.scale) <= fit.log_likelihood + 1e-9
            assert log_likelihood(lives, fit.shape, fit.scale * turn) <= fit.log_likelihood + 1e-9
        scaled = fit_weibull(Lifetimes(tuple(x * unit for x in failed), tuple(x * unit for x in running)))
        assert scaled.shape == pytest.approx(fit.shape, rel=1e-5)
        assert scaled.scale == pytest.approx(fit.scale * unit, rel=1e-5)


@pytest.mark.slow
def test_the_bands_hold_a_known_truth_about_as_often_as_they_say() -> None:
    """*Law*: 400 seeded records of 40 lives, censored at their 70 % point; 95 % within sampling error."""
    rng = np.random.default_rng(5)
    held = 0
    for _ in range(400):
        lives = 100.0 * rng.weibull(2.0, 40)
        over = lives <= 110.0
        fit = fit_weibull(Lifetimes(tuple(lives[over]), (110.0,) * int((~over).sum())))
        held += fit.shape_band[0] <= 2.0 <= fit.shape_band[1]
    assert 0.91 <= held / 400 <= 0.98


@pytest.mark.parametrize("lives", [Lifetimes(()), Lifetimes((5.0,)), Lifetimes((5.0, 5.0))])
def test_lives_that_fit_no_one_law_are_refused(lives: Lifetimes) -> None:
    with pytest.raises(ImpossibleInput, match="fit no one Weibull law"):
        fit_weibull(lives)


def test_a_life_below_zero_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="not above zero"):
        Lifetimes((5.0, -1.0))
