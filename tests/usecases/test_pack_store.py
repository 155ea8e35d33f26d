"""What to do until the next outing: both views, costs as bands with names, energy, mAh and minutes.

Authority: worked figures of the ageing models (two weeks full at 25 °C cost 0.2 to 1.6 % of the capacity,
depending on model and age), label arithmetic, and the trade's facts.
"""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput, RefusedAction, WrongData
from snugfast.physics.packs.storing import Deed
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.register import draft_charger_left
from snugfast.usecases.packs.store import StoreAdvice, StoreAsked, store_advice
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def advice(packs: Bench, until: str = "14 days", **more: str) -> StoreAdvice:
    return store_advice(packs.workshop, StoreAsked(PACK, until, **more))


def no_storage_function(packs: Bench) -> None:
    keep(packs.workshop, draft_charger_left(packs.workshop, "Twin").entries)


def test_the_storage_function_is_the_right_way_by_both_views(packs: Bench) -> None:
    packs.charged()
    told = advice(packs)
    assert told.practice.deed is told.published.deed is Deed.STORAGE_CHARGE
    assert not told.differ
    assert "storage function" in told.practice.why


def test_without_a_storage_function_the_views_differ_and_both_are_told(packs: Bench) -> None:
    packs.charged()
    no_storage_function(packs)
    told = advice(packs)
    assert told.differ
    assert told.practice.deed is Deed.LEAVE
    assert "full pack is better than a low one" in told.practice.why
    assert told.published.deed is Deed.DRIVE_DOWN
    assert "age faster" in told.published.why
    taken = {one.key: one for one in told.disagreements}
    assert {"full_or_low", "self_discharge", "a_year_full"} == set(taken)
    assert any("5 % from full" in view.says for view in taken["self_discharge"].views)


def test_a_low_pack_without_a_storage_function_is_charged_full_by_practice(packs: Bench) -> None:
    packs.measured("3.60 3.60 3.60", rested="90")
    no_storage_function(packs)
    told = advice(packs, "60 days")
    assert told.practice.deed is Deed.CHARGE_FULL
    assert "Low voltage is worst" in told.practice.why
    assert told.published.deed is Deed.CHARGE_PART


def test_two_weeks_full_cost_a_fifth_of_a_percent_to_one_and_a_half(packs: Bench) -> None:
    packs.charged()
    leave = next(way for way in advice(packs, shelf="25").ways if way.deed is Deed.LEAVE)
    assert leave.cost.low == pytest.approx(0.0015, abs=0.0002)
    assert leave.cost.high == pytest.approx(0.0159, abs=0.0005)
    assert len(leave.opinions) == 2
    assert any("extrapolate" in text for text in leave.cautions)


def test_energy_charge_moved_and_minutes_are_said_for_every_way(packs: Bench) -> None:
    """From full to 3.80 V a 5 Ah pack gives 2.40 Ah: 4.8 h at 0.5 A. Half charge holds half the energy."""
    packs.charged()
    told = advice(packs, amps="0.5 A")
    leave, store, full = told.ways
    share = -store.move.value / 5.0
    assert share == pytest.approx(0.48, abs=0.01)
    assert store.minutes.value / 3600.0 == pytest.approx(4.8, rel=0.02)
    assert store.energy.value / full.energy.value == pytest.approx(0.501, abs=0.005)
    assert leave.move.value == 0.0
    assert leave.lasts.value > store.lasts.value


def test_a_year_full_brings_the_handbook_in_and_widens_the_band(packs: Bench) -> None:
    """4.6 % by one model, 5.1 % by another, 20 % by the handbook."""
    packs.charged()
    leave = next(way for way in advice(packs, "365 days", shelf="25").ways if way.deed is Deed.LEAVE)
    highs = sorted(opinion.high for opinion in leave.opinions)
    assert highs == [
        pytest.approx(0.0457, abs=0.001),
        pytest.approx(0.051, abs=0.001),
        pytest.approx(0.20, abs=0.002),
    ]


def test_near_the_outing_a_pack_is_left_as_it_is(packs: Bench) -> None:
    packs.charged()
    told = advice(packs, "1 day")
    assert told.published.deed is told.practice.deed is Deed.LEAVE


def test_a_damaged_pack_is_not_stored_and_gets_no_number(packs: Bench) -> None:
    packs.charged()
    packs.looked("swollen")
    with pytest.raises(RefusedAction, match="puffed"):
        advice(packs)


def test_nothing_is_said_of_a_pack_nobody_knows_or_an_outing_that_is_past(packs: Bench) -> None:
    with pytest.raises(BadInput, match="Nothing says how full"):
        advice(packs)
    packs.charged()
    with pytest.raises(WrongData, match="is past"):
        advice(packs, "2026-04-01")
    with pytest.raises(WrongData, match="until when is missing"):
        advice(packs, "")
    with pytest.raises(WrongData, match="moves nothing"):
        advice(packs, amps="0 A")
