"""Heat of a pack. Authority: a worked table, and the law that energy adds up."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.packs.heat import (
    PackBody,
    current_for_rise_A,
    resistive_heat_W,
    reversible_heat_W,
    rise_after_K,
    steady_rise_K,
    time_to_rise_s,
)

HALF_CHARGE_V_PER_K = -0.000248
PACK = PackBody(
    cells=2,
    resistance_ohm=0.006,
    mass_kg=0.28,
    heat_capacity_J_per_kgK=1000,
    surface_m2=0.022366,
    to_air_W_per_m2K=10,
)


def heats(amps: float, cells: int = 2, ohm: float = 0.006) -> tuple[float, float]:
    resistive = resistive_heat_W(current_A=amps, resistance_ohm=ohm)
    reversible = reversible_heat_W(
        current_A=amps, cells=cells, temperature_K=298.15, entropy_V_per_K=HALF_CHARGE_V_PER_K
    )
    return resistive, resistive + reversible


@pytest.mark.parametrize(
    ("amps", "resistive_W", "reversible_W", "only_K_min", "both_K_min"),
    [(30, 2.7, 2.22, 1.25, 2.27), (60, 10.8, 4.44, 4.98, 7.03), (100, 30.0, 7.39, 13.85, 17.26)],
)
def test_one_cell_warms_as_worked(
    amps: float, resistive_W: float, reversible_W: float, only_K_min: float, both_K_min: float
) -> None:
    resistive, both = heats(amps, cells=1, ohm=0.003)
    assert resistive == pytest.approx(resistive_W, abs=0.01)
    assert both - resistive == pytest.approx(reversible_W, abs=0.01)
    assert resistive / 130 * 60 == pytest.approx(only_K_min, abs=0.01)
    assert both / 130 * 60 == pytest.approx(both_K_min, abs=0.01)


@pytest.mark.parametrize(
    ("amps", "steady", "after_300", "after_600"),
    [
        (30, (24.14, 43.98), (5.14, 9.37), (9.19, 16.75)),
        (60, (96.58, 136.25), (20.58, 29.03), (36.77, 51.88)),
    ],
)
def test_a_pack_of_two_warms_as_worked(
    amps: float,
    steady: tuple[float, float],
    after_300: tuple[float, float],
    after_600: tuple[float, float],
) -> None:
    assert PACK.time_constant_s == pytest.approx(1251.9, abs=0.1)
    for heat_W, rise, early, late in zip(heats(amps), steady, after_300, after_600, strict=True):
        assert steady_rise_K(PACK, heat_W) == pytest.approx(rise, abs=0.03)
        assert rise_after_K(PACK, heat_W, 300) == pytest.approx(early, abs=0.01)
        assert rise_after_K(PACK, heat_W, 600) == pytest.approx(late, abs=0.01)


@pytest.mark.parametrize(("amps", "only_s", "both_s"), [(30, math.inf, 1989), (60, 563, 372)])
def test_the_time_to_35_kelvin_is_the_worked_one(amps: float, only_s: float, both_s: float) -> None:
    only_W, both_W = heats(amps)
    assert time_to_rise_s(PACK, only_W, 35) == pytest.approx(only_s, rel=2e-3)
    assert time_to_rise_s(PACK, both_W, 35) == pytest.approx(both_s, rel=2e-3)


@pytest.mark.parametrize(("entropy", "amps"), [(0.0, 36.1), (HALF_CHARGE_V_PER_K, 25.8)])
def test_the_steady_current_for_35_kelvin_is_the_worked_one(entropy: float, amps: float) -> None:
    found = current_for_rise_A(PACK, rise_K=35, temperature_K=298.15, entropy_V_per_K=entropy)
    assert found == pytest.approx(amps, abs=0.05)


@given(st.floats(1, 120), st.floats(-0.0008, 0.0))
def test_the_steady_current_warms_just_so_far(rise_K: float, entropy: float) -> None:
    amps = current_for_rise_A(PACK, rise_K=rise_K, temperature_K=298.15, entropy_V_per_K=entropy)
    heat_W = resistive_heat_W(current_A=amps, resistance_ohm=0.006) + reversible_heat_W(
        current_A=amps, cells=2, temperature_K=298.15, entropy_V_per_K=entropy
    )
    assert steady_rise_K(PACK, heat_W) == pytest.approx(rise_K)


@given(st.floats(1, 100), st.floats(1, 5000))
def test_what_is_made_is_stored_or_taken_by_the_air(heat_W: float, for_s: float) -> None:
    rise_K = rise_after_K(PACK, heat_W, for_s)
    # ∫(rise) dt over an exponential approach, in closed form
    to_air_J = PACK.air_W_per_K * (steady_rise_K(PACK, heat_W) * for_s - rise_K * PACK.time_constant_s)
    assert PACK.heat_J_per_K * rise_K + to_air_J == pytest.approx(heat_W * for_s, rel=1e-9)


def test_charging_cools_by_the_same_reversible_heat() -> None:
    discharge, charge = (
        reversible_heat_W(current_A=amps, cells=2, temperature_K=298.15, entropy_V_per_K=HALF_CHARGE_V_PER_K)
        for amps in (20, -20)
    )
    assert discharge == -charge > 0


def test_a_pack_without_mass_cannot_be() -> None:
    with pytest.raises(ImpossibleInput):
        PackBody(2, 0.006, 0.0, 1000, 0.02, 10)
