"""One renewed part, held against the printed example of Aven & Jensen 2013, section 5.5.1 (*worked*).

Both Weibull rates are one. The book's values come partly from simulation, so they are met to its own figures.
"""

from __future__ import annotations

import numpy as np
import pytest

from snugfast.upkeep.delay_time import Renewed, chance_of_failure, share_defective

STEEP = Renewed(defect_rate=1.0, defect_shape=20.0, delay_rate=1.0, delay_shape=30.0)
FLAT = Renewed(defect_rate=1.0, defect_shape=2.0, delay_rate=1.0, delay_shape=3.0)


def test_mean_times_are_the_printed_ones() -> None:
    assert STEEP.mean_to_defect == pytest.approx(0.9735, abs=5e-5)
    assert STEEP.mean_delay == pytest.approx(0.9818, abs=5e-5)
    assert FLAT.mean_to_defect == pytest.approx(0.8862, abs=5e-5)
    assert FLAT.mean_delay == pytest.approx(0.8930, abs=5e-5)


def test_most_defects_and_delays_fall_where_the_book_says() -> None:
    ends = np.array([0.8, 1.1])
    assert -np.diff(STEEP.no_defect(ends))[0] == pytest.approx(0.9873, abs=5e-5)
    assert -np.diff(STEEP.outlasts(ends))[0] == pytest.approx(0.9988, abs=5e-5)


def test_the_safe_intervals_end_where_the_book_says() -> None:
    """Printed: the chance of a failure by 2 is at most 0.2 up to an interval of 1.898."""
    assert chance_of_failure(part=STEEP, interval=1.898, within=2.0) == pytest.approx(0.2, abs=5e-4)
    assert chance_of_failure(part=STEEP, interval=1.91, within=2.0) > 0.2


def test_looking_more_often_can_be_worse() -> None:
    """Printed: a₂(1.5) is near 0 and a₂(1) is more; an independent program gives 0.000011 and 0.131539."""
    seldom = chance_of_failure(part=STEEP, interval=1.5, within=2.0)
    often = chance_of_failure(part=STEEP, interval=1.0, within=2.0)
    assert seldom == pytest.approx(1.101219889543259e-05, rel=1e-6)
    assert often == pytest.approx(0.13153912742877294, rel=1e-8)


@pytest.mark.parametrize("interval", [0.291, 0.3272, 0.3823, 0.508, 0.5727, 1.041, 1.1454])
def test_the_share_of_time_defective_is_the_printed_one(interval: float) -> None:
    """Printed: 0.15 at each of these; 1.041 comes out at 0.1518, the largest difference."""
    assert share_defective(part=STEEP, interval=interval) == pytest.approx(0.15, abs=2e-3)


def test_the_flatter_laws_give_their_printed_limits() -> None:
    """Printed: a₂ ≤ 0.2 up to 0.975 (worked out: 0.2043 there) and b ≤ 0.15 up to 0.313."""
    assert chance_of_failure(part=FLAT, interval=0.975, within=2.0) == pytest.approx(0.2, abs=5e-3)
    assert share_defective(part=FLAT, interval=0.313) == pytest.approx(0.15, abs=5e-4)


def test_chance_and_share_agree_with_a_simulation_of_the_same_part() -> None:
    """*Against* an event simulation with nothing in common; 3 standard errors."""
    rng = np.random.default_rng(17)
    lives, interval, within = 40_000, 0.6, 2.0
    age, safe = np.zeros(lives), np.ones(lives, dtype=bool)
    for _ in range(12):
        defect = age + rng.weibull(2.0, lives)
        failure = defect + rng.weibull(3.0, lives)
        look = age + interval * np.ceil((defect - age) / interval)
        safe &= ~((failure < look) & (failure <= within) & (age < within))
        age = np.minimum(look, failure)
    chance = 1.0 - safe.mean()
    spread = np.sqrt(chance * (1.0 - chance) / lives)
    assert abs(chance_of_failure(part=FLAT, interval=interval, within=within) - chance) < 3 * spread
