"""Edges of what the ledger keeps that no story met. Authority: definitions, by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest

from snugfast.records.entries import Fact, PackHurt, Ran, Reading, Wet
from snugfast.records.ledger import fold, overlapping
from tests.records.making import CAR, PACK, START, car_added, entry, pack_added

HOT = PackHurt(PACK, (), hottest_degC=62.0)


def hottest(*facts: Fact) -> float | None:
    told = [entry(10 + 30 * n, fact) for n, fact in enumerate(facts)]
    return fold([car_added(1), pack_added(2), *told]).packs[PACK].marks.hottest_degC


def warm(degC: float) -> Ran:
    reading = Reading("pack", degC, "°C", 60.0)
    return Ran(CAR, (PACK,), 12.0, readings=(reading,))


@pytest.mark.parametrize("later", [61.9, 58.0, 30.0])
def test_a_pack_that_was_very_hot_once_was_very_hot(later: float) -> None:
    """Above 60 °C a cell may be damaged, and cooling down does not mend it."""
    assert hottest(HOT, warm(later)) == 62.0
    assert hottest(warm(62.0), warm(later)) == 62.0
    assert hottest(warm(later), warm(62.0)) == 62.0


def test_a_run_that_begins_as_the_last_one_ends_does_not_overlap_it() -> None:
    """Round minutes: 12 minutes until 18:42 and 12 minutes until 18:54 are one after the other."""
    run = Ran(CAR, (), 12.0)
    first = entry(12, run)
    end = START + timedelta(minutes=24)
    assert overlapping([(first, run)], end, 12.0) == ()
    assert overlapping([(first, run)], end, 12.1) == (first,)
    assert overlapping([(entry(24, run), run)], START + timedelta(minutes=12), 12.0) == ()


def test_damp_is_not_a_wet_run_and_two_runs_of_a_day_are_one_outing() -> None:
    runs = [Ran(CAR, (), 10.0, wet=wet) for wet in (Wet.DAMP, Wet.MUD, Wet.DRY)]
    day = 24 * 60
    told = [entry(10, runs[0]), entry(60, runs[1]), entry(10 + day, runs[2])]
    habits = fold([car_added(1), *told]).cars[CAR].habits
    assert (habits.runs, habits.wet_runs, habits.outings) == (3, 1.0, 2)
