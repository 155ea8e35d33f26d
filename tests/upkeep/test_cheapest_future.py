"""Which of several checks a mode's future is reckoned with. Authority: law."""

from __future__ import annotations

import numpy as np
import pytest

from snugfast.upkeep.worth import cheapest_checks, future, worth_of_looking

# Two modes: one slow with a thorough, dear check and a quick one; one fast with a single check.
MODES = {
    "rate": np.array([1 / 1500, 1 / 200]),
    "sudden_share": np.array([0.0, 0.08]),
    "delay": np.array([500.0, 18.0]),
    "restore_cost": np.array([600.0, 20.0]),
    "failure_cost": np.array([3100.0, 1390.0]),
}
CHECKS = [[(0.99, 240.0), (0.6, 9.0), (0.2, 6.0)], [(0.97, 7.5)]]


def _one(mode: int, check: tuple[float, float]) -> float:
    picked = {name: values[[mode]] for name, values in MODES.items()}
    return float(future(**picked, detection=np.array([check[0]]), check_cost=np.array([check[1]])).excess[0])


def test_a_modes_future_is_that_of_its_check_with_the_least_cost_in_the_long_run() -> None:
    chosen = cheapest_checks(**MODES, checks=CHECKS)[0]
    for mode, checks in enumerate(CHECKS):
        assert chosen.excess[mode] == pytest.approx(min(_one(mode, check) for check in checks), rel=1e-12)
    assert chosen.detection.tolist() == [0.6, 0.97]


def test_a_thorough_check_that_takes_long_does_not_make_a_quick_one_look_precious() -> None:
    """With the quick check to come again next time, little is lost by leaving it out once."""

    def gain(checks: list[list[tuple[float, float]]]) -> float:
        ahead = cheapest_checks(**{name: values[:1] for name, values in MODES.items()}, checks=checks)[0]
        return float(
            worth_of_looking(
                ahead, presence=np.array([0.08]), exposure=np.array([32.0]), detection=np.array([0.6])
            )[0]
        )

    assert gain([CHECKS[0]]) == pytest.approx(gain([CHECKS[0][1:2]]), rel=1e-12)
    assert gain([CHECKS[0]]) < 0.5 * gain([CHECKS[0][:1]])


def test_more_checks_to_choose_from_never_make_a_future_dearer() -> None:
    fewer = cheapest_checks(**MODES, checks=[CHECKS[0][:1], CHECKS[1]])[0]
    more = cheapest_checks(**MODES, checks=[CHECKS[0], [*CHECKS[1], (0.35, 12.0)]])[0]
    assert (more.excess <= fewer.excess).all()
