"""Spin-down, push-roll, and what a handful of readings can prove."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from scipy import stats

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.bearings.coast_down import (
    GRAVITY_m_s2,
    push_roll,
    rolling_coefficient,
    slowing_between_marks,
    slowing_to_a_stop,
)
from snugfast.physics.bearings.spin_down import drag_from_speeds, drag_from_turns, measured_drag_from_turns
from snugfast.physics.bearings.timed_trials import (
    Change,
    Measured,
    compare_with_baseline,
    effective_degrees,
    mean_of,
    product_uncertainty,
)


@given(inertia=st.floats(1e-6, 1e-3), drag=st.floats(1e-5, 1e-2), start=st.floats(5.0, 300.0))
def test_a_wheel_slowed_evenly_gives_its_drag_back_both_ways(
    inertia: float, drag: float, start: float
) -> None:
    """Law: constant friction stops a wheel after t = Iω/τ and ω²I/2τ radians; both readings return τ."""
    time_s = inertia * start / drag
    turns = inertia * start**2 / (2 * drag) / (2 * math.pi)
    by_speed = drag_from_speeds(inertia_kgm2=inertia, start_rad_s=start, end_rad_s=0.0, time_s=time_s)
    by_turns = drag_from_turns(inertia_kgm2=inertia, turns=turns, time_s=time_s)
    assert by_speed == pytest.approx(drag)
    assert by_turns == pytest.approx(drag)


def test_uncertainty_of_a_spin_is_what_many_spins_scatter() -> None:
    """Against: 200 000 seeded spins with the stated scatter in inertia, turns and time."""
    rng = np.random.default_rng(5)
    inertia, turns, time_s = Measured(4e-5, 2e-6), Measured(30.0, 0.5), Measured(6.0, 0.15)
    stated = measured_drag_from_turns(inertia_kgm2=inertia, turns=turns, time_s=time_s)
    draws = [rng.normal(part.value, part.uncertainty, 200_000) for part in (inertia, turns, time_s)]
    many = 4 * math.pi * draws[1] * draws[0] / draws[2] ** 2
    assert stated.value == pytest.approx(float(many.mean()), rel=0.005)
    assert stated.uncertainty == pytest.approx(float(many.std()), rel=0.02)


def test_spins_that_cannot_be_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="cannot speed up"):
        drag_from_speeds(inertia_kgm2=1e-5, start_rad_s=10.0, end_rad_s=20.0, time_s=1.0)
    with pytest.raises(ImpossibleInput):
        drag_from_turns(inertia_kgm2=1e-5, turns=10.0, time_s=0.0)


@given(
    coefficient=st.floats(0.005, 0.06),
    slope=st.floats(-0.004, 0.004),
    share=st.floats(0.0, 0.2),
)
def test_rolling_both_ways_cancels_the_slope(coefficient: float, slope: float, share: float) -> None:
    """Law: made from the equations of motion on a slope; one way alone is off by the whole slope."""
    out = GRAVITY_m_s2 * (coefficient * math.cos(slope) - math.sin(slope)) / (1 + share)
    back = GRAVITY_m_s2 * (coefficient * math.cos(slope) + math.sin(slope)) / (1 + share)
    found = push_roll(out_m_s2=Measured(out), back_m_s2=Measured(back), rotating_share=Measured(share))
    assert found.coefficient.value == pytest.approx(coefficient, rel=1e-5)
    assert found.slope_rad.value == pytest.approx(slope, abs=1e-12)
    one_way = rolling_coefficient(slowing_m_s2=out, rotating_share=share)
    assert one_way == pytest.approx(coefficient - slope, abs=1e-6)


def test_uncertainty_of_a_push_roll_is_what_many_rolls_scatter() -> None:
    """Against: seeded rolls; the rotating share is common to both ways and does not shrink."""
    rng = np.random.default_rng(6)
    out, back, share = Measured(0.20, 0.008), Measured(0.28, 0.008), Measured(0.08, 0.02)
    found = push_roll(out_m_s2=out, back_m_s2=back, rotating_share=share)
    a, b, k = (rng.normal(part.value, part.uncertainty, 200_000) for part in (out, back, share))
    many_c = (a + b) / 2 * (1 + k) / GRAVITY_m_s2
    many_s = np.arcsin((b - a) / 2 * (1 + k) / GRAVITY_m_s2)
    assert found.coefficient.value == pytest.approx(float(many_c.mean()), rel=0.002)
    assert found.coefficient.uncertainty == pytest.approx(float(many_c.std()), rel=0.02)
    assert found.slope_rad.uncertainty == pytest.approx(float(many_s.std()), rel=0.02)


@given(speed=st.floats(0.8, 3.0), slowing=st.floats(0.05, 0.5))
def test_marks_on_the_floor_give_the_slowing_back(speed: float, slowing: float) -> None:
    """Law: an even slowing through two lengths in a row, and to a stop, is found exactly."""
    stop_s, stop_m = speed / slowing, speed**2 / (2 * slowing)
    assert slowing_to_a_stop(distance_m=stop_m, time_s=stop_s) == pytest.approx(slowing)
    first_s, second_s = 0.3 * stop_s, 0.5 * stop_s
    first_m = speed * first_s - slowing * first_s**2 / 2
    all_s = first_s + second_s
    second_m = speed * all_s - slowing * all_s**2 / 2 - first_m
    found = slowing_between_marks(first_m=first_m, first_s=first_s, second_m=second_m, second_s=second_s)
    assert found == pytest.approx(slowing)


def test_a_car_that_gained_speed_is_sent_back() -> None:
    with pytest.raises(ImpossibleInput, match="Time both ways again"):
        push_roll(out_m_s2=Measured(-0.3), back_m_s2=Measured(0.2), rotating_share=Measured(0.05))


def test_a_wheel_that_rolls_carries_its_turning_mass() -> None:
    """Worked: University Physics, ch. 11, a = mg·sin θ/(m + I/r²); a solid cylinder has I/mr² = ½."""
    assert rolling_coefficient(slowing_m_s2=2 / 3 * GRAVITY_m_s2 * 0.1, rotating_share=0.5) == pytest.approx(
        0.1
    )


def test_degrees_of_freedom_of_the_guide() -> None:
    """Worked: JCGM 100, example H.1.6: four parts with 18, 25.6, 50 and 2 degrees make 16, cut down."""
    found = effective_degrees((25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0))
    assert math.floor(found) == 16


def test_uncertainty_of_products_and_means() -> None:
    """Law: a square doubles the share, factors add in quadrature, a mean of n is √n surer."""
    assert product_uncertainty((Measured(5.0, 0.1), 2.0)) == pytest.approx(0.04)
    pair = product_uncertainty((Measured(1.0, 0.03), 1.0), (Measured(1.0, 0.04), -1.0))
    assert pair == pytest.approx(0.05)
    assert mean_of([4.0, 5.0, 6.0]).value == 5.0
    assert mean_of([4.0, 5.0, 6.0]).uncertainty == pytest.approx(1 / math.sqrt(3))
    with pytest.raises(ImpossibleInput, match="three or more"):
        mean_of([5.0])


@given(
    now=st.lists(st.floats(0.5, 2.0), min_size=2, max_size=8),
    then=st.lists(st.floats(0.5, 2.0), min_size=2, max_size=8),
)
def test_comparison_is_welchs_test_on_logarithms(now: list[float], then: list[float]) -> None:
    """Against: scipy.stats.ttest_ind with unequal variances, where the readings scatter at all."""
    assume(np.std(np.log(now)) > 1e-3 and np.std(np.log(then)) > 1e-3)
    found = compare_with_baseline(now, then, resolution=1e-6)
    other = stats.ttest_ind(np.log(now), np.log(then), equal_var=False)
    band = other.confidence_interval(0.95)
    assert found.p_value == pytest.approx(float(other.pvalue), rel=1e-6, abs=1e-12)
    assert math.log(found.low) == pytest.approx(float(band.low), rel=1e-6, abs=1e-9)
    assert math.log(found.high) == pytest.approx(float(band.high), rel=1e-6, abs=1e-9)


@pytest.mark.parametrize(
    ("now", "change"),
    [
        ([1.5, 1.55, 1.45], Change.MORE),
        ([0.6, 0.62, 0.61], Change.LESS),
        ([1.02, 0.97, 1.04], Change.NOT_SEEN),
    ],
)
def test_change_is_named_only_where_the_scatter_allows(now: list[float], change: Change) -> None:
    found = compare_with_baseline(now, [1.0, 1.05, 0.96, 1.01], resolution=0.02)
    assert found.change is change
    assert change.value in found.sentence
    assert found.low < found.ratio < found.high


def test_equal_readings_prove_nothing_finer_than_the_watch() -> None:
    """Law: with no scatter at all the step of the watch is the scatter."""
    fine = compare_with_baseline([1.01, 1.01], [1.0, 1.0], resolution=0.001)
    coarse = compare_with_baseline([1.01, 1.01], [1.0, 1.0], resolution=0.1)
    assert fine.change is Change.MORE
    # Two readings a side, each uniform over its step: the difference is uncertain by step/√12.
    reach = math.log(coarse.high / coarse.ratio) / float(stats.t.ppf(0.975, 2))
    assert reach == pytest.approx(0.1 / math.sqrt(12))
    assert coarse.change is Change.NOT_SEEN


def test_a_common_factor_in_all_readings_falls_out() -> None:
    """Law: the inertia of the wheel need not be known to compare a wheel with itself."""
    plain = compare_with_baseline([1.2, 1.3, 1.25], [1.0, 1.1, 0.95], resolution=0.01)
    scaled = compare_with_baseline([12.0, 13.0, 12.5], [10.0, 11.0, 9.5], resolution=0.01)
    assert scaled.ratio == pytest.approx(plain.ratio)
    assert scaled.p_value == pytest.approx(plain.p_value)


def test_no_change_is_called_a_change_about_once_in_twenty() -> None:
    """Law: over seeded pairs of sets from one wheel the false calls stay near the level."""
    rng = np.random.default_rng(7)
    sets = np.exp(rng.normal(0.0, 0.05, (600, 2, 4)))
    calls = sum(
        compare_with_baseline(list(now), list(then), resolution=0.001).change is not Change.NOT_SEEN
        for now, then in sets
    )
    assert 12 <= calls <= 48
