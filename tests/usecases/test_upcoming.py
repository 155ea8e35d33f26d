"""What lies ahead of a car before its next bench. Authority: law and worked (plain shares, by hand)."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from snugfast.records.entries import Wet
from snugfast.records.ledger import Habits
from snugfast.usecases.beliefs.upcoming import Until, look_ahead
from tests.usecases.bench import facts

NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)
SEEN = Habits(
    runs=20,
    outings=5,
    running_min=300.0,
    hard_hits=40.0,
    wet_runs=5,
    first_run_at=NOW - timedelta(days=42),
    last_run_at=NOW - timedelta(days=2),
)


def usual(key: str) -> float:
    """A shipped estimate."""
    return facts().assumptions[key].value


def test_until_the_next_run_is_one_pack_and_no_days() -> None:
    ahead = look_ahead(facts(), SEEN, until=Until.RUN, now=NOW)
    assert (ahead.packs, ahead.days) == (1.0, 0.0)


def test_an_outing_is_the_habit_of_this_car_weighed_against_the_usual() -> None:
    ahead = look_ahead(facts(), SEEN, until=Until.OUTING, now=NOW)
    weight = usual("habit_runs_weight")
    packs = (20 + usual("habit_packs_per_outing")) / 6
    assert ahead.packs == pytest.approx(packs)
    assert ahead.running_min == pytest.approx(
        packs * (300 + weight * usual("habit_running_min")) / (20 + weight)
    )
    assert ahead.hard_hits == pytest.approx(packs * (40 + weight * usual("habit_hard_hits")) / (20 + weight))
    assert ahead.wet_runs == pytest.approx(packs * (5 + weight * usual("habit_wet_share")) / (20 + weight))
    # five outings have four gaps in 40 days; the usual gap counts as one more
    assert ahead.days == pytest.approx((40 + usual("habit_days_between_outings")) / 5)


def test_what_is_said_of_the_day_ahead_counts_for_more_than_habit() -> None:
    wet = look_ahead(facts(), SEEN, until=Until.OUTING, now=NOW, packs=3.0, wet=Wet.MUD)
    dry = look_ahead(facts(), SEEN, until=Until.OUTING, now=NOW, packs=3.0, wet=Wet.DRY)
    assert (wet.packs, wet.wet_runs) == (3.0, 3.0)
    assert (dry.packs, dry.wet_runs) == (3.0, 0.0)


def test_packs_that_take_turns_share_the_driving_and_each_stands_all_the_days() -> None:
    """*law*: the shares add up to the whole."""
    whole = look_ahead(facts(), SEEN, until=Until.OUTING, now=NOW, packs=3.0)
    each = whole.shared_by(4)
    assert 4 * each.packs == pytest.approx(3.0)
    assert 4 * each.hard_hits == pytest.approx(whole.hard_hits)
    assert 4 * each.running_min == pytest.approx(whole.running_min)
    assert 4 * each.wet_runs == pytest.approx(whole.wet_runs)
    assert each.days == whole.days
    assert each.driving == whole.driving  # a run is as long as it was
    assert whole.shared_by(1) == whole
