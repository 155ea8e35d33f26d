"""Wires, contacts and solder: published values, integrals, laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.leads.contacts import (
    clean_contact,
    contact_heat,
    contact_resistance,
    hottest_spot,
)
from snugfast.physics.leads.solder import carried_away, joint_heat, seconds_to_melt
from snugfast.physics.leads.wires import (
    COPPER_PER_K,
    Wire,
    current_for_rise,
    followed,
    gauge_area,
    ohm_per_metre,
    pulse_rate,
    steady_rise,
    thermal_resistance,
    warm_ratio,
    warmed,
    wire_capacity,
)

# IEC 60228 as cable makers' tables quote it: greatest resistance at 20 °C, plain copper, Ω/km.
GREATEST = {
    0.5: (36.0, 39.0),
    0.75: (24.5, 26.0),
    1.0: (18.1, 19.5),
    1.5: (12.1, 13.3),
    2.5: (7.41, 7.98),
    4.0: (4.61, 4.95),
    6.0: (3.08, 3.30),
    10.0: (1.83, 1.91),
    16.0: (1.15, 1.21),
}


def silicone(number: float, outer_mm: float) -> Wire:
    area, outer = gauge_area(number=number), outer_mm * 1e-3
    return Wire(
        ohm_per_metre(area_m2=area),
        thermal_resistance(area_m2=area, outer_m=outer, cover_W_mK=0.2, surface_W_m2K=14.0),
        wire_capacity(area_m2=area, outer_m=outer, cover_kg_m3=1200.0, cover_J_kgK=1200.0),
    )


@pytest.mark.parametrize(
    ("number", "mm2"),
    [(8, 8.3656), (10, 5.2612), (12, 3.3088), (13, 2.6240), (14, 2.0809), (16, 1.3087), (22, 0.3255)],
)
def test_gauge_numbers_have_the_copper_of_the_standard(number: int, mm2: float) -> None:
    """*Worked*: ASTM B 258 as quoted: No. 36 is 0.0050 in, No. 0000 0.4600 in, 39 steps between."""
    assert gauge_area(number=number) * 1e6 == pytest.approx(mm2, rel=2e-4)
    assert math.sqrt(gauge_area(number=36) * 4 / math.pi) / 0.0254 == pytest.approx(0.005)
    assert math.sqrt(gauge_area(number=-3) * 4 / math.pi) / 0.0254 == pytest.approx(0.46)


@pytest.mark.parametrize("mm2", GREATEST)
def test_copper_lies_below_what_the_standard_allows(mm2: float) -> None:
    """*Published*: the greatest resistance allowed is 1 to 7 % (solid) and 8 to 17 % (flexible) above ρ/A."""
    solid, flexible = GREATEST[mm2]
    plain = ohm_per_metre(area_m2=mm2 * 1e-6) * 1e3
    assert 1.0 < solid / plain < 1.08
    assert 1.08 < flexible / plain < 1.17
    assert ohm_per_metre(area_m2=mm2 * 1e-6, strands=1.12) * 1e3 == pytest.approx(flexible, rel=0.045)


@pytest.mark.parametrize(
    ("number", "mohm_m"), [(8, 2.061), (10, 3.277), (12, 5.211), (14, 8.286), (22, 52.96)]
)
def test_resistance_per_metre(number: int, mohm_m: float) -> None:
    """*By hand*: ρ = 1/58 Ω·mm²/m."""
    assert ohm_per_metre(area_m2=gauge_area(number=number)) * 1e3 == pytest.approx(mohm_m, rel=2e-4)


def test_half_a_metre_of_wire_at_three_currents() -> None:
    """*By hand*: 2.605 mΩ; 0.052, 0.156, 0.261 V and 1.04, 9.38, 26.1 W at 20, 60, 100 A."""
    ohm = 0.5 * ohm_per_metre(area_m2=gauge_area(number=12))
    assert ohm * 1e3 == pytest.approx(2.605, abs=5e-4)
    assert [ohm * amperes for amperes in (20, 60, 100)] == pytest.approx([0.052, 0.156, 0.261], abs=5e-4)
    assert [contact_heat(ohm=ohm, rms_A=amperes) for amperes in (20, 60, 100)] == pytest.approx(
        [1.042, 9.379, 26.05], rel=1e-3
    )
    assert warm_ratio(degC=60.0) == pytest.approx(1.157, abs=5e-4)
    assert warm_ratio(degC=90.0) == pytest.approx(1.275, abs=5e-4)


def test_a_textbook_wire_in_its_plastic() -> None:
    """*Worked*: Çengel, Heat and Mass Transfer, ex. 3.9: 3 mm wire, 2 mm cover, 5 m, 80 W in all, 30 °C."""
    found = thermal_resistance(
        area_m2=math.pi * 0.0015**2, outer_m=0.007, cover_W_mK=0.15, surface_W_m2K=12.0
    )
    assert 30.0 + 80.0 / 5.0 * found == pytest.approx(105.0146, abs=5e-4)


def test_a_second_textbook_wire() -> None:
    """*Worked*: Dwivedi, Heat and Mass Transfer, ch. 2 ex. 2.11: 20.698 A warm 1.2 mm copper by 70 K."""
    area = math.pi * 0.0006**2
    found = thermal_resistance(area_m2=area, outer_m=0.0036, cover_W_mK=0.3, surface_W_m2K=10.0)
    assert math.sqrt(70.0 / found * 5.1e7 * area) == pytest.approx(20.698, rel=2e-5)


@pytest.mark.parametrize(
    ("number", "outer_mm", "thermal", "settles_s", "away_A", "rises", "for_40_K"),
    [
        (14, 3.5, 7.105, 128, 65.7, {20: 26.5, 40: 152.0}, 24.0),
        (12, 4.5, 5.677, 168, 92.7, {20: 12.7, 40: 59.3, 60: 187.0}, 33.9),
        (10, 5.5, 4.734, 212, 128.0, {20: 6.5, 40: 28.0, 60: 73.0}, 46.8),
    ],
)
def test_silicone_wires_in_still_air(
    number: int,
    outer_mm: float,
    thermal: float,
    settles_s: float,
    away_A: float,
    rises: dict[int, float],
    for_40_K: float,
) -> None:
    """*Against* a second working-out of the same laws: still air, 25 °C."""
    wire = silicone(number, outer_mm)
    assert wire.thermal_Km_W == pytest.approx(thermal, abs=6e-4)
    assert wire.settles_s == pytest.approx(settles_s, abs=0.6)
    assert math.isinf(steady_rise(wire, current_A=away_A * 1.01, air_degC=25.0))
    assert math.isfinite(steady_rise(wire, current_A=away_A * 0.99, air_degC=25.0))
    for current_A, rise_K in rises.items():
        assert steady_rise(wire, current_A=current_A, air_degC=25.0) == pytest.approx(rise_K, rel=4e-3)
    assert current_for_rise(wire, rise_K=40.0, air_degC=25.0) == pytest.approx(for_40_K, abs=0.06)


@pytest.mark.parametrize(("seconds", "degC"), [(5, 28.2), (10, 31.4), (30, 43.4), (60, 60.1), (300, 145.7)])
def test_a_wire_from_cold_at_sixty_amperes(seconds: float, degC: float) -> None:
    """*Law*: the closed form is what the heat balance integrates to."""
    wire = silicone(12, 4.5)
    found = warmed(wire, from_degC=25.0, current_A=60.0, air_degC=25.0, seconds=seconds)
    assert found == pytest.approx(degC, abs=0.06)

    def balance(_t: float, now: list[float]) -> list[float]:
        heat = 3600.0 * wire.ohm_m * (1.0 + COPPER_PER_K * (now[0] - 20.0))
        return [(heat - (now[0] - 25.0) / wire.thermal_Km_W) / wire.capacity_J_mK]

    integrated = solve_ivp(balance, (0.0, seconds), [25.0], rtol=1e-9, atol=1e-9).y[0, -1]
    assert found == pytest.approx(integrated, abs=1e-4)


@pytest.mark.parametrize(
    ("number", "outer_mm", "rates"), [(12, 4.5, (0.63, 1.76, 7.05)), (14, 3.5, (1.65, 4.59, 18.4))]
)
def test_pulses_that_have_no_time_to_cool(
    number: int, outer_mm: float, rates: tuple[float, float, float]
) -> None:
    wire = silicone(number, outer_mm)
    found = [pulse_rate(wire, current_A=current) for current in (60.0, 100.0, 200.0)]
    assert found == pytest.approx(rates, rel=8e-3)
    ten_ms = warmed(wire, from_degC=20.0, current_A=100.0, air_degC=20.0, seconds=0.01)
    assert (ten_ms - 20.0) / 0.01 == pytest.approx(found[1], rel=1e-3)


def test_bursts_swing_about_what_their_root_mean_square_says() -> None:
    """*Law*: 3 s of 100 A in every 20 s are 38.7 A r.m.s.; the wire hardly notices the bursts."""
    wire = silicone(12, 4.5)
    duty = ([100.0] * 6 + [0.0] * 34) * 100  # half seconds
    temperatures = followed(wire, duty, every_s=0.5, air_degC=25.0)[-40:]
    steady = 25.0 + steady_rise(wire, current_A=100.0 * math.sqrt(3.0 / 20.0), air_degC=25.0)
    assert max(temperatures) - min(temperatures) < 6.5
    assert sum(temperatures) / 40.0 == pytest.approx(steady, rel=0.01)


@settings(max_examples=30)
@given(current_A=st.floats(1.0, 150.0), seconds=st.floats(0.1, 600.0), parts=st.integers(2, 9))
def test_a_while_cut_in_parts_is_the_same_while(current_A: float, seconds: float, parts: int) -> None:
    """*Law*, past runaway too."""
    wire = silicone(14, 3.5)
    whole = warmed(wire, from_degC=30.0, current_A=current_A, air_degC=25.0, seconds=seconds)
    now = 30.0
    for _ in range(parts):
        now = warmed(wire, from_degC=now, current_A=current_A, air_degC=25.0, seconds=seconds / parts)
    assert now == pytest.approx(whole, rel=1e-6)


@settings(max_examples=30)
@given(mm2=st.floats(0.5, 8.0), more=st.floats(1.05, 3.0), current_A=st.floats(5.0, 40.0))
def test_more_copper_is_never_warmer(mm2: float, more: float, current_A: float) -> None:
    """*Law*, with the same thickness of insulation."""

    def rise(area_mm2: float) -> float:
        outer = 2.0 * math.sqrt(area_mm2 / math.pi) * 1e-3 + 2.4e-3
        body = Wire(
            ohm_per_metre(area_m2=area_mm2 * 1e-6),
            thermal_resistance(area_m2=area_mm2 * 1e-6, outer_m=outer, cover_W_mK=0.2, surface_W_m2K=14.0),
            10.0,
        )
        return steady_rise(body, current_A=current_A, air_degC=25.0)

    assert rise(mm2 * more) <= rise(mm2)


def test_contacts_in_volts_watts_and_spots() -> None:
    """*By hand* and *worked*: 14 mV at 20 A; 3 mΩ at 60 A; near 3200 K a volt (after Holm)."""
    assert contact_resistance(drop_V=0.014, current_A=20.0) / contact_resistance(
        drop_V=0.006, current_A=20.0
    ) == pytest.approx(2.333, abs=1e-3)
    assert contact_heat(ohm=0.003, rms_A=60.0) == pytest.approx(10.8)
    assert contact_heat(ohm=0.0005, rms_A=60.0) == pytest.approx(1.8)
    assert hottest_spot(drop_V=0.1, body_degC=24.85) == pytest.approx(164.0, abs=0.6)
    far = hottest_spot(drop_V=5.0, body_degC=25.0) + 273.15
    assert far / 5.0 == pytest.approx(3200.0, rel=2e-3)
    spots = [
        clean_contact(constant_ohm=c, force_N=f, exponent=0.6) for c, f in ((0.08e-3, 20), (0.14e-3, 10))
    ]
    assert [ohm * 1e6 for ohm in spots] == pytest.approx([13.3, 35.2], abs=0.1)


def test_a_thick_wire_wants_power_not_temperature() -> None:
    """*By hand*: 15 mm of 12 AWG, a 3 g cup, 0.5 g of solder by 200 K: 304 J; 12.9 W go down 20 mm."""
    area = 3.31e-6
    heat = joint_heat(area_m2=area, stripped_m=0.015, cup_kg=3e-3, solder_kg=0.5e-3, rise_K=200.0)
    away = carried_away(area_m2=area, length_m=0.020, rise_K=200.0)
    assert heat == pytest.approx(304.0, abs=1.0)
    assert away == pytest.approx(12.9, abs=0.05)
    assert seconds_to_melt(heat_J=heat, iron_W=25.0, away_W=0.0) == pytest.approx(12.2, abs=0.1)
    assert seconds_to_melt(heat_J=heat, iron_W=60.0, away_W=away) < 7.0
    assert math.isinf(seconds_to_melt(heat_J=heat, iron_W=12.0, away_W=away))


def test_copper_thicker_than_its_insulation_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="thicker than 2 mm"):
        thermal_resistance(area_m2=5.3e-6, outer_m=0.002, cover_W_mK=0.2, surface_W_m2K=14.0)
