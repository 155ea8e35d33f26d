"""A pack in a car. Authority: worked currents and sag, and each refusal seen to refuse (law)."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.packs.chemistry import Chemistry, NoTable
from snugfast.physics.packs.fit import (
    CarForPack,
    Demand,
    Fit,
    FitRefused,
    Joined,
    PackForCar,
    Plug,
    fit_refusals,
    fit_to_car,
    label_current,
    sag_current,
)
from snugfast.physics.packs.heat import PackBody
from snugfast.physics.packs.reasons import Level, Reason
from snugfast.physics.packs.together import PackToJoin
from snugfast.physics.packs.verdict import Cleared, Withheld
from tests.physics.pack_tables import AH_C, kelvin, product_curve, product_limits

CURVE, LIMITS = product_curve(), product_limits().cell
BODY = PackBody(2, 0.006, 0.28, 1000, 0.022366, 10)
JOIN = PackToJoin(
    "A", "soft 5 Ah", Chemistry.LITHIUM_POLYMER, 2, 5 * AH_C, (3.80, 3.80), Cleared(Level.USE, ())
)
PLUG = Plug("two round pins", 0.0035)
PACK = PackForCar(JOIN, PLUG, (0.139, 0.047, 0.025), 25.0, 0.52, BODY)
CAR = CarForPack(
    chemistries=frozenset({Chemistry.LITHIUM_POLYMER}),
    least_cells=2,
    most_cells=3,
    plug=PLUG,
    tray_m=(0.140, 0.048, 0.026),
    joined=Joined.ALONE,
    packs=1,
    cut_off_V=3.2,
)
DEMAND = Demand(
    current_A=(0, 20, 60, 120), share=(0.4, 0.3, 0.2, 0.1), peak_A=120, run_s=900, air_K=kelvin(20)
)


def fitted(packs: list[PackForCar] | None = None, car: CarForPack = CAR, demand: Demand = DEMAND) -> Fit:
    return fit_to_car(
        packs=packs or [PACK], car=car, demand=demand, curve=CURVE, limits=LIMITS, hot_K=kelvin(55)
    )


def where(packs: list[PackForCar], car: CarForPack = CAR) -> list[str]:
    return [finding.where for finding in fit_refusals(packs, car, LIMITS)]


def test_the_worked_duty_has_the_worked_currents_and_margin() -> None:
    """0/20/60/120 A at 40/30/20/10 %: mean 30 A, rms 47.75 A; 25C of 5 Ah is 125 A, margin 2.62."""
    assert DEMAND.mean_A == pytest.approx(30.0)
    assert DEMAND.rms_A == pytest.approx(47.75, abs=0.005)
    label_A = label_current(capacity_C=5 * AH_C, label_multiple_per_h=25, as_new_ohm=None, now_ohm=0.006)
    assert label_A == pytest.approx(125.0)
    assert label_A / DEMAND.rms_A == pytest.approx(2.62, abs=0.005)


def test_a_label_ages_with_the_root_of_resistance() -> None:
    aged = label_current(capacity_C=5 * AH_C, label_multiple_per_h=25, as_new_ohm=0.006, now_ohm=0.012)
    assert aged == pytest.approx(125.0 / math.sqrt(2))
    better = label_current(capacity_C=5 * AH_C, label_multiple_per_h=25, as_new_ohm=0.006, now_ohm=0.005)
    assert better == pytest.approx(125.0)


def test_sag_is_the_worked_two_hundred_amperes() -> None:
    """3.80 V, down to 3.20 V, 3 mΩ; at 60 A 95.3 % of the energy arrives."""
    assert sag_current(rest_V=3.80, least_V=3.20, cell_ohm=0.003) == pytest.approx(200.0)
    assert pytest.approx(0.953, abs=5e-4) == 1 - 60 * 0.003 / 3.80


def test_a_pack_that_fits_has_its_margins() -> None:
    fit = fitted()
    assert fit.margin == pytest.approx(min(125 / DEMAND.rms_A, fit.sag_A / 120))
    assert fit.cell_at_peak_V == pytest.approx(CURVE.voltage_at(0.52) - 120 * 0.003)
    assert not fit.cuts_off
    assert fit.rise_K > fit.rise_resistive_K > 0


@given(st.floats(1.01, 5.0))
def test_more_resistance_never_fits_better(times: float) -> None:
    new = fitted()
    worn = fitted([replace(PACK, body=replace(BODY, resistance_ohm=0.006 * times), as_new_ohm=0.006)])
    assert worn.margin < new.margin
    assert worn.cell_at_peak_V < new.cell_at_peak_V
    assert worn.rise_K > new.rise_K
    assert worn.steady_A < new.steady_A
    assert worn.hot_after_s <= new.hot_after_s


def test_a_weak_pack_is_told_to_cut_off_and_to_get_hot() -> None:
    fit = fitted([replace(PACK, body=replace(BODY, resistance_ohm=0.030))])
    assert fit.cuts_off
    assert any("below the cut-off" in caution for caution in fit.cautions)
    assert any("too warm after" in caution for caution in fit.cautions)


def test_in_air_as_hot_as_the_limit_no_current_may_flow_for_ever() -> None:
    fit = fitted(demand=replace(DEMAND, air_K=kelvin(55)))
    assert fit.steady_A == 0.0
    assert fit.hot_after_s == 0.0


def test_packs_side_by_side_share_the_current() -> None:
    both = replace(CAR, joined=Joined.PARALLEL, packs=2)
    pair = [PACK, replace(PACK, join=replace(JOIN, name="B"))]
    assert fitted(pair, both).rms_A == pytest.approx(DEMAND.rms_A / 2)


SWOLLEN = Withheld(Level.DO_NOT_CHARGE, (Reason(Level.DO_NOT_CHARGE, "Swollen.", "None."),))
LOW = Cleared(Level.REST, (Reason(Level.REST, "A cell is below 3.30 V.", "Charge it today."),))


@pytest.mark.parametrize(
    ("pack", "expected"),
    [
        (replace(PACK, plug=Plug("flat blades")), ["A"]),
        (replace(PACK, plug=Plug("two round pins", 0.004)), ["A"]),
        (replace(PACK, size_m=(0.139, 0.047, 0.030)), ["A"]),
        (replace(PACK, join=replace(JOIN, cells=4, rest_V=(3.8,) * 4)), ["cells"]),
        (replace(PACK, join=replace(JOIN, chemistry=Chemistry.HIGH_VOLTAGE_LITHIUM)), ["A"]),
        (replace(PACK, join=replace(JOIN, verdict=SWOLLEN)), ["A"]),
        (replace(PACK, join=replace(JOIN, verdict=LOW)), ["A"]),
    ],
)
def test_what_does_not_belong_in_the_car_is_refused(pack: PackForCar, expected: list[str]) -> None:
    assert where([pack]) == expected
    with pytest.raises(FitRefused):
        fitted([pack])


@pytest.mark.parametrize("cut_off_V", [None, 2.9])
def test_a_car_without_a_working_cut_off_is_refused(cut_off_V: float | None) -> None:
    assert where([PACK], replace(CAR, cut_off_V=cut_off_V)) == ["cut-off"]


def test_a_low_cut_off_is_a_caution() -> None:
    assert any("cut-off is low" in caution for caution in fitted(car=replace(CAR, cut_off_V=3.0)).cautions)


def test_the_wrong_number_and_unlike_packs_are_refused() -> None:
    pair = replace(CAR, joined=Joined.SERIES, packs=2, most_cells=4)
    other = replace(PACK, join=replace(JOIN, name="B", capacity_C=4 * AH_C))
    assert where([PACK], pair) == ["packs"]
    assert where([PACK, other], pair) == ["type"]
    side = replace(pair, joined=Joined.PARALLEL)
    apart = replace(PACK, join=replace(JOIN, name="B", rest_V=(3.9, 3.9)))
    assert where([PACK, apart], side) == ["volts"]
    assert not where([PACK, replace(PACK, join=replace(JOIN, name="B"))], pair)


def test_a_damaged_pack_is_named_once_and_first() -> None:
    pair = replace(CAR, joined=Joined.SERIES, packs=2, most_cells=4)
    damaged = replace(PACK, join=replace(JOIN, name="B", verdict=SWOLLEN))
    assert where([PACK, damaged], pair) == ["B"]


def test_shares_that_do_not_add_up_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="add up to one"):
        replace(DEMAND, share=(0.4, 0.3, 0.2, 0.2))


def test_another_chemistry_gets_no_sum_from_this_table() -> None:
    other = Chemistry.HIGH_VOLTAGE_LITHIUM
    with pytest.raises(NoTable, match="high-voltage"):
        fitted(
            [replace(PACK, join=replace(JOIN, chemistry=other))],
            replace(CAR, chemistries=frozenset({other})),
        )
