"""Road and tyres against the closed forms (golden file powertrain_closed_forms.json)."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain import road, tyres


def test_slope_pulls_by_its_sine() -> None:
    """Against: closed form V12: 10 % on 1.90 kg pulls 1.85464982 N."""
    _, pull_N = road.slope_forces(mass_kg=1.90, grade=0.10, gravity_m_s2=9.81)
    assert pull_N == pytest.approx(1.85464982, rel=1e-8)


@pytest.mark.parametrize(("area", "force"), [(0.0084, 2.01), (0.0152, 3.65), (0.0149, 3.58), (0.0264, 6.33)])
def test_air_force_at_20_m_s_by_size_of_car(area: float, force: float) -> None:
    """Against: closed forms V11 (printed to two decimals)."""
    got = road.air_force(density_kg_m3=1.2, drag_area_m2=area, speed_m_s=20.0, head_wind_m_s=0.0)
    assert got == pytest.approx(force, abs=0.012)


def test_tail_wind_faster_than_the_car_pushes_it() -> None:
    """Law."""
    assert road.air_force(density_kg_m3=1.2, drag_area_m2=0.01, speed_m_s=2.0, head_wind_m_s=-5.0) < 0.0


def test_rolling_force_is_coefficient_times_load_against_the_motion() -> None:
    """Law; the first number is c0 of closed form V1."""
    got = road.rolling_force(
        load_N=1.90 * 9.81, rolling=0.030, rolling_per_speed_s_m=0.0, speed_m_s=15.0, turning=1.0
    )
    assert got == pytest.approx(0.55917, rel=1e-9)
    back = road.rolling_force(
        load_N=18.0,
        rolling=0.03,
        rolling_per_speed_s_m=0.001,
        speed_m_s=-2.0,
        turning=road.turning_sign(-2.0),
    )
    assert back == pytest.approx(-18.0 * 0.032)


@pytest.mark.parametrize(("rear", "static", "force"), [(True, 0.6, 11.4525847), (False, 0.6, 8.97741201)])
def test_driven_share_gives_the_push_of_a_two_wheel_drive(rear: bool, static: float, force: float) -> None:
    """Against: closed form V9: µ 0.90, 1.90 kg, wheelbase 0.260 m, height 0.035 m."""
    share = road.driven_share(static_share=static, grip=0.9, height_m=0.035, wheelbase_m=0.260, rear=rear)
    assert 0.9 * share * 1.90 * 9.81 == pytest.approx(force, rel=1e-8)


def test_a_car_that_would_go_over_backwards_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="go over"):
        road.driven_share(static_share=0.6, grip=1.5, height_m=0.2, wheelbase_m=0.26, rear=True)


def test_moving_mass_counts_wheels_and_rotor() -> None:
    """Against: closed form V8: factor 1.09478904."""
    got = road.moving_mass(
        mass_kg=1.90,
        inertia_at_wheel_kgm2=1.5e-4 + 1.2e-6 * 6.2**2,
        speed_m_s=0.0,
        radius_m=0.033,
        radius_slope_s=0.0,
    )
    assert got / 1.90 == pytest.approx(1.0947890387, rel=1e-9)


@given(st.floats(0.0, 60.0))
def test_rolling_radius_follows_the_ring_then_levels_out_and_its_slope_is_its_slope(speed: float) -> None:
    """Law: small speeds follow ρv²/E, no speed passes the bound; the slope against a central difference."""
    tyre = tyres.Tyre(radius_m=0.033, growth_s2_m2=1.2e-4, growth_bound=0.06)
    radius_m, slope_s = tyres.rolling_radius(tyre, speed)
    grown = radius_m / 0.033 - 1.0
    assert 0.0 <= grown <= 0.06
    assert grown <= 1.2e-4 * speed**2 * (1.0 + 1e-9) + 1e-15
    ahead, behind = (tyres.rolling_radius(tyre, speed + h)[0] for h in (1e-4, -1e-4))
    assert slope_s == pytest.approx((ahead - behind) / 2e-4, abs=1e-9)


def test_rollout_of_the_worked_car() -> None:
    """Against: closed form V7: 66 mm, 6.2 : 1: 33.4427605 mm per turn; 30 000 rpm is 16.7213803 m/s."""
    per_turn_m = tyres.rollout(radius_m=0.033, final_drive=6.2)
    assert per_turn_m == pytest.approx(0.0334427605, rel=1e-8)
    assert per_turn_m * 30_000 / 60 == pytest.approx(16.7213803, rel=1e-8)


def test_a_tyre_without_size_is_refused() -> None:
    with pytest.raises(ImpossibleInput):
        tyres.Tyre(radius_m=0.0)
    assert math.isfinite(tyres.rolling_radius(tyres.Tyre(0.033), 1e3)[0])
