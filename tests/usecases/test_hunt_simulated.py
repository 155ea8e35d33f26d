"""Hunts played against a drawn truth, on each starter: minutes to the cause against three habits.

Authority: the bar of this project, a quarter fewer minutes than the best habit. The truth is drawn from what
is believed, so that this judges the order of the tests and not the beliefs.
"""

from __future__ import annotations

import pytest

from tests.usecases.bench import facts
from tests.usecases.hunt_cars import driven
from tests.usecases.hunt_simulation import HABITS, compared

STARTERS = sorted(facts().starters)
BAR = 0.25


def saved(key: str, *, hunts: int) -> tuple[float, str]:
    """(share of minutes saved against the best habit, what each way took)."""
    build, can = driven(key)
    took = compared(facts(), build, can, hunts=hunts, seed=7)
    best = min(took[name][0] for name in HABITS)
    told = ", ".join(
        f"{name} {minutes:.1f} min ({tests:.1f} tests)" for name, (minutes, tests) in took.items()
    )
    return 1.0 - took["ours"][0] / best, f"{key}: {told}"


def test_a_hunt_is_quicker_than_any_habit() -> None:
    share, told = saved("truck-1-10-4wd-3s", hunts=6)
    assert share > 0.0, told


@pytest.mark.soak
@pytest.mark.parametrize("key", STARTERS)
def test_a_hunt_takes_a_quarter_less_than_the_best_habit(key: str) -> None:
    share, told = saved(key, hunts=400)
    print(f"saved {share:.0%}; {told}")
    assert share >= BAR, told
