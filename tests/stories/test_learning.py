"""What the workshop has learned by the end of the season, held against the truth it was drawn from."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from snugfast.app.demo.hidden import HiddenRow
from snugfast.usecases.beliefs.story import Story
from tests.stories.shed import demo, told

pytestmark = pytest.mark.slow
ENOUGH = 0.5
"""Defects that the tables, or the truth, expect by now; with fewer there is nothing to learn from."""


@cache
def learned() -> tuple[tuple[HiddenRow, float, float], ...]:
    """Each true row with the rate and delay multiplier that is believed, where both are about one part."""
    ledger, stories = told(demo().workshop)
    names = {car.id: car.name for car in ledger.cars.values()}
    names |= {pack.id: pack.name for pack in ledger.packs.values()}
    rows = []
    for member, story in stories.items():
        for true in demo().hidden.rows[names[member]]:
            rows.append((true, *_believed(story, member, true)))
    return tuple(rows)


def _believed(story: Story, member: object, true: HiddenRow) -> tuple[float, float]:
    scope = story.scope(member)  # type: ignore[arg-type]
    place = true.place.key if true.place else None
    at = scope.where(
        lambda mode, where: mode.key == true.mode.key and (where.key if where else None) == place
    )
    beliefs = story.bank[scope.rows[at]]
    return float(beliefs.rate_multiplier[0]), float(beliefs.delay_multiplier[0])


def _expected(row: HiddenRow) -> float:
    return row.exposure / row.law.mean_between_defects


def test_learned_rates_lie_nearer_the_truth_than_the_tables_do() -> None:
    """*law*, on average over all ways of failing with enough exposure; a single one may have been lucky."""
    much = [(row, rate) for row, rate, _ in learned() if _expected(row) * max(1.0, row.rate_factor) > ENOUGH]
    assert len(much) > 25
    by_tables = np.mean([abs(np.log(row.rate_factor)) for row, _ in much])
    by_learning = np.mean([abs(np.log(rate / row.rate_factor)) for row, rate in much])
    assert by_learning < 0.85 * by_tables


def test_learning_never_does_much_harm_where_there_was_little_to_learn_from() -> None:
    little = [(row, rate) for row, rate, _ in learned() if _expected(row) < 0.1]
    assert len(little) > 40
    moved = np.mean([abs(np.log(rate)) for _, rate in little])
    assert moved < 0.35


def test_what_fails_most_in_truth_is_believed_to_fail_more_than_the_tables_say() -> None:
    often = [(row, rate) for row, rate, _ in learned() if row.defects >= 4]
    assert often
    raised = [rate for row, rate in often if row.rate_factor > 2.0]
    assert all(rate > 1.2 for rate in raised)
