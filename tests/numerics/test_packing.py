"""Packing under several limits at once; *against* every choice there is, and *law*."""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest

from snugfast.numerics.packing import best_packing


def by_every_choice(worth: np.ndarray, uses: np.ndarray, limits: np.ndarray) -> float:
    return max(
        float(worth @ chosen)
        for chosen in (np.array(each) for each in product((0, 1), repeat=len(worth)))
        if (uses @ chosen <= limits + 1e-9).all()
    )


@pytest.mark.parametrize("seed", range(40))
def test_the_best_of_all_choices_is_found_and_proved(seed: int) -> None:
    """Single limits in whole numbers, and one to four limits of any size."""
    rng = np.random.default_rng(seed)
    things, rows = int(rng.integers(2, 11)), int(rng.integers(1, 5))
    worth = rng.uniform(1, 100, things).round(2)
    uses = rng.uniform(0, 30, (rows, things))
    if seed % 2:
        uses = uses.round()
    limits = uses.sum(axis=1) * rng.uniform(0.1, 0.9, rows)
    if seed % 2:
        limits = limits.round()
    packed = best_packing(worth, uses, limits)
    assert (uses[:, packed.taken].sum(axis=1) <= limits + 1e-9).all()
    assert packed.worth == pytest.approx(by_every_choice(worth, uses, limits), abs=1e-9)
    assert packed.gap == 0.0
    assert packed.worth == pytest.approx(float(worth[packed.taken].sum()))


def test_too_few_states_leave_a_gap_that_holds_the_best() -> None:
    rng = np.random.default_rng(4)
    worth, uses = rng.uniform(90, 110, 60), rng.uniform(90, 110, (3, 60))
    limits = uses.sum(axis=1) * 0.45
    quick = best_packing(worth, uses, limits, most_states=3)
    longer = best_packing(worth, uses, limits, most_states=20_000)
    assert quick.gap > 0.0
    assert quick.worth <= longer.worth + 1e-9 <= quick.bound + 1e-9


def test_no_limit_takes_all_and_no_room_takes_what_needs_none() -> None:
    worth, uses = np.array([3.0, 2.0, 0.0]), np.array([[1.0, 0.0, 1.0]])
    assert best_packing(worth, uses, np.array([np.inf])).worth == 5.0
    none = best_packing(worth, uses, np.array([0.0]))
    assert none.taken.tolist() == [False, True, False] and none.gap == 0.0


def test_numbers_below_nothing_are_refused() -> None:
    with pytest.raises(ValueError):
        best_packing(np.array([-1.0]), np.array([[1.0]]), np.array([1.0]))
