"""The packs of the demo are looked after, so that their pages have something to show.

Authority: laws (a pack left plugged in counts down soonest; what was drawn is found again by the trend), and
the truth the season was drawn from.
"""

from __future__ import annotations

from functools import cache
from statistics import median

import pytest

from snugfast.app.demo.pack_care import CHARGER, TIRED
from snugfast.physics.packs.verdict import Withheld
from snugfast.records import entries as said
from snugfast.usecases.packs.state import PacksNow, packs_now
from snugfast.usecases.packs.today import Urgency, today_of
from snugfast.usecases.packs.trend import PackTrend, trend_of
from tests.stories.shed import demo, facts_of


@cache
def packs() -> PacksNow:
    return packs_now(demo().workshop)


def trends() -> list[PackTrend]:
    return [trend_of(seen) for seen in packs().packs]


def test_the_evenings_packs_are_looked_at_charged_read_and_put_away() -> None:
    kinds = (said.PackLooked, said.PackCharged, said.PackMeasured, said.PackStands)
    assert all(len(facts_of(demo().workshop, kind)) >= 10 for kind in kinds)
    charges = [entry.fact for entry in facts_of(demo().workshop, said.PackCharged)]
    assert {charge.finish for charge in charges} >= {said.Finish.FULL, said.Finish.STORAGE}
    assert all(charge.put_in_Ah is None or -3.0 < charge.put_in_Ah < 5.2 for charge in charges)
    (charger,) = facts_of(demo().workshop, said.ChargerAdded)
    assert charger.fact.name == CHARGER.name


def test_every_page_of_a_pack_has_a_verdict_and_the_left_one_counts_down_soonest() -> None:
    states = [seen.state for seen in packs().packs]
    assert all(state.verdict for state in states)
    assert {state.stands for state in states} >= {"unplugged", "plugged in with the switch off"}
    shown = [state for state in states if state.charge is not None]
    assert len(shown) >= 6
    cases = {state.stands: state.case for state in shown if state.case is not None and state.stands}
    left, away = (cases[how].by for how in ("plugged in with the switch off", "unplugged"))
    assert left is not None and away is not None
    assert left < away and (left - packs().at).days <= 10
    today = today_of(demo().workshop, packs())
    assert any(todo.by is not None for todo in today.countdown)
    assert any(todo.urgency is Urgency.TODAY and "Unplug it from Bramble" in todo.what for todo in today.todo)


def test_the_trend_finds_the_pack_that_ages_faster_than_its_likes() -> None:
    """*law*: seeded simulation; the drawn growth of a run lies in the band that the readings give."""
    climbing = {trend.pack_name: trend for trend in trends() if trend.cells}
    (tired,) = TIRED
    assert len(climbing) >= 3 and tired in climbing
    for cell in climbing[tired].cells:
        assert cell.climbs
        assert cell.growth.low is not None and cell.growth.high is not None
        assert cell.growth.low <= TIRED[tired] * cell.as_new.value * 1.05
        assert cell.growth.high >= TIRED[tired] * cell.as_new.value * 0.95
    slopes = {name: max(cell.growth.value for cell in trend.cells) for name, trend in climbing.items()}
    assert max(slopes, key=lambda name: slopes[name]) == tired


def test_counted_charges_find_the_capacity_that_was_drawn() -> None:
    """*law*: a pack is drawn with 93 to 100 % of its label; counting from a rest reading comes near it.

    A single reading on the flat of the curve may be a tenth off; the middle of them is not.
    """
    counted = [(seen.past.counted_Ah, seen.record.capacity_Ah) for seen in packs().packs]
    shares = [share / label for several, label in counted for share in several]
    assert shares
    assert shares == pytest.approx([0.965] * len(shares), abs=0.15)
    assert median(shares) == pytest.approx(0.965, abs=0.05)


def test_a_pack_with_a_belly_was_handed_in_and_none_is_left_among_the_others() -> None:
    assert not [s for s in packs().packs if isinstance(s.judged.standing, Withheld) and s.judged.damaged]
