"""What a set of checks is worth, and what each adds to the others. Worked by hand."""

from __future__ import annotations

import pytest

from snugfast.upkeep.choosing import AtStake
from snugfast.upkeep.worth import Cover
from snugfast.usecases.bench.sheet_sums import SheetSums, together

BOTH_SEE = AtStake("a nut", ("nuts", "rock"), (0.0, 3.0, 2.0, 4.0))  # nothing, nuts, rock, both
ONLY_ROCK = AtStake("a bearing", ("rock",), (0.0, 1.5))


def test_a_check_adds_what_the_others_do_not_already_give() -> None:
    """4 with both; 2 without the nuts, 3 without rocking. Rocking sees something else besides: 1.5."""
    sums = SheetSums([BOTH_SEE, ONLY_ROCK], ["nuts", "rock"])
    assert sums.worth == pytest.approx(5.5)
    assert sums.lost_without("nuts") == pytest.approx(2.0)
    assert sums.lost_without("rock") == pytest.approx(1.0 + 1.5)


def test_what_was_not_chosen_counts_nothing() -> None:
    sums = SheetSums([BOTH_SEE, ONLY_ROCK], ["nuts"])
    assert sums.worth == pytest.approx(3.0)
    assert sums.lost_without("nuts") == pytest.approx(3.0)
    assert sums.lost_without("rock") == 0.0


def test_two_checks_miss_what_both_miss() -> None:
    """1 − 0.5 · 0.2."""
    covers = {"nuts": Cover(0.5), "rock": Cover(0.8), "listen": Cover(0.9)}
    assert together(covers, ["nuts", "rock", "gone"]) == pytest.approx(0.9)
