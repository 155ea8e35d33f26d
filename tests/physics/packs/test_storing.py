"""Until the next outing. Authority: worked figures for the numbers, laws for the advice."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput, RefusedAction
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry, NoTable
from snugfast.physics.packs.reasons import Level, Reason
from snugfast.physics.packs.storing import Deed, StorageAdvice, Stored, storage_advice, stored_J
from snugfast.physics.packs.verdict import Cleared, Verdict, Withheld
from tests.physics.pack_tables import (
    AH_C,
    DAY_S,
    ageing_views,
    band_of,
    kelvin,
    product_curve,
    product_limits,
    toml,
)

CURVE, LIMITS, VIEWS = product_curve(), product_limits().cell, ageing_views()
OWN = band_of(toml("self_discharge.toml")["bare_pack"])
GOOD = Cleared(Level.USE, ())


def advice(
    charge: float,
    days: float,
    *,
    storage_function: bool = True,
    degC: float = 20.0,
    width: float = 0.0,
    verdict: Verdict = GOOD,
    chemistry: Chemistry = Chemistry.LITHIUM_POLYMER,
) -> StorageAdvice:
    pack = Stored(
        chemistry=chemistry,
        charge=Band(max(charge - width, 0.0), charge, min(charge + width, 1.0)),
        capacity_C=5 * AH_C,
        cells=2,
        stand_s=days * DAY_S,
        temperature_K=kelvin(degC),
        self_discharge=OWN,
        move_A=0.5,
        has_storage_function=storage_function,
    )
    return storage_advice(verdict=verdict, pack=pack, views=VIEWS, curve=CURVE, limits=LIMITS)


def test_from_full_to_storage_takes_the_worked_charge_and_time() -> None:
    """5 Ah from 4.20 to 3.80 V: 2.40 Ah out, 4.8 h at 0.5 A (worked)."""
    way = advice(1.0, 14).published.way
    assert way.deed is Deed.STORAGE_CHARGE
    assert way.move_C / AH_C == pytest.approx(-2.40, abs=0.005)
    assert way.move_s / 3600 == pytest.approx(4.8, abs=0.01)


def test_energy_is_said_and_storage_charge_holds_half_of_it() -> None:
    full = stored_J(charge=1.0, capacity_C=5 * AH_C, cells=2, curve=CURVE)
    half = stored_J(charge=CURVE.charge_at(3.80), capacity_C=5 * AH_C, cells=2, curve=CURVE)
    assert full / 3600 == pytest.approx(37.0 * 1.032, rel=2e-3)  # label energy, and the 3.2 % it leaves out
    assert half / full == pytest.approx(0.501, abs=1e-3)


def test_with_a_storage_function_both_views_agree() -> None:
    for charge in (0.1, 0.3, 0.8, 1.0):
        told = advice(charge, 14)
        assert told.published.way.deed is told.practice.way.deed is Deed.STORAGE_CHARGE
        assert not told.differ


def test_without_one_a_full_pack_is_the_place_where_the_views_differ() -> None:
    told = advice(1.0, 14, storage_function=False)
    assert told.differ
    assert told.published.way.deed is Deed.DRIVE_DOWN
    assert told.practice.way.deed is Deed.LEAVE
    assert "better than a low one" in told.practice.why


def test_without_one_a_low_pack_is_filled_part_of_the_way_or_full() -> None:
    told = advice(0.1, 14, storage_function=False)
    assert told.published.way.deed is Deed.CHARGE_PART
    assert told.published.way.move_C > 0
    assert told.practice.way.deed is Deed.CHARGE_FULL


@pytest.mark.parametrize("charge", [0.2, 0.52, 1.0])
def test_before_an_outing_tomorrow_the_pack_is_left(charge: float) -> None:
    told = advice(charge, 1)
    assert told.published.way.deed is told.practice.way.deed is Deed.LEAVE


def test_at_storage_charge_it_is_left() -> None:
    told = advice(0.5, 30)
    assert told.published.way.deed is told.practice.way.deed is Deed.LEAVE


def test_a_nearly_empty_pack_is_not_left_even_for_a_day() -> None:
    told = advice(0.018, 1.9, storage_function=False, degC=40)
    assert told.published.way.deed is Deed.CHARGE_PART
    assert told.practice.way.deed is Deed.CHARGE_FULL


def test_a_long_warm_stand_asks_for_more_than_storage_charge() -> None:
    way = advice(0.5, 250, degC=25).published.way
    assert way.charge > CURVE.charge_at(3.80)
    assert way.lasts_s >= 2 * 250 * DAY_S


def test_when_not_even_full_lasts_it_is_said() -> None:
    told = advice(0.5, 400, degC=25).published
    assert told.way.charge == 1.0
    assert "top it up" in told.why


def test_full_costs_more_than_storage_charge_and_both_are_bands_with_names() -> None:
    _leave, stored, full = advice(0.9, 30).ways
    assert full.cost.low > stored.cost.low
    assert full.cost.high > 3 * stored.cost.high
    assert all(opinion.name for opinion in full.cost.opinions)


@given(st.floats(0.02, 1.0), st.floats(0.5, 150), st.booleans(), st.floats(0, 25))
def test_what_the_published_view_favours_lasts_twice_the_stand(
    charge: float, days: float, storage_function: bool, degC: float
) -> None:
    way = advice(charge, days, storage_function=storage_function, degC=degC).published.way
    assert way.lasts_s >= 2 * days * DAY_S or way.charge == 1.0
    assert 0.0 <= way.charge <= 1.0


def test_a_withheld_pack_is_not_stored() -> None:
    swollen = Withheld(Level.DO_NOT_CHARGE, (Reason(Level.DO_NOT_CHARGE, "Swollen.", "None."),))
    with pytest.raises(RefusedAction, match="Swollen"):
        advice(0.5, 30, verdict=swollen)


def test_an_outing_in_the_past_is_refused() -> None:
    with pytest.raises(BadInput, match="in the past"):
        advice(0.5, -1)


def test_another_chemistry_gets_no_advice_from_this_table() -> None:
    with pytest.raises(NoTable, match="high-voltage"):
        advice(0.5, 30, chemistry=Chemistry.HIGH_VOLTAGE_LITHIUM)
