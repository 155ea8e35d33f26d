"""The receiver's supply: worked values, limits and laws.

Authority: *by hand* and *law* where nothing else is said: circuits of one resistor solved on paper, and the
discharge of a capacitor integrated step by step. No textbook example with these numbers was found.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.leads.rail import (
    Load,
    Supply,
    capacitance_for,
    limited_volts,
    linear_supply_heat,
    rail_volts,
    ride_through,
    servo_current,
    stalled_resistance,
)

uF = 1e-6


@pytest.mark.parametrize(("current_A", "volts_V"), [(1.0, 5.88), (3.0, 5.64), (5.0, 5.40)])
def test_below_its_limit_the_rail_falls_by_the_resistance(current_A: float, volts_V: float) -> None:
    """*By hand*: 6.0 V behind 0.12 Ω."""
    ohm = volts_V / current_A
    found = rail_volts(supply=Supply(6.0, 0.12, 20.0), load=Load(ohm))
    assert found == pytest.approx(volts_V, rel=1e-12)


def test_two_stalled_servos_on_a_supply_that_is_too_small() -> None:
    """*By hand*: two of 2.4 Ω on 3 A leave 3.6 V, whatever the resistance up to them."""
    supply, load = Supply(6.0, 0.12, 3.0), Load(1.2)
    assert limited_volts(supply=supply, load=load) == pytest.approx(3.6)
    assert rail_volts(supply=supply, load=load) == pytest.approx(3.6)


def test_what_is_short_and_what_is_spare() -> None:
    """*By hand*: two servos of 2.5 A, receiver 0.1 A, fan 0.15 A: 5.25 A in all."""
    servo = stalled_resistance(volts_V=6.0, stall_A=2.5)
    wanted = 6.0 / (servo / 2.0) + 0.25
    assert wanted == pytest.approx(5.25)
    assert (wanted - 3.0, 6.0 - wanted) == pytest.approx((2.25, 0.75))


def test_a_servo_reversed_at_full_speed_draws_nearly_twice_its_stall() -> None:
    """*By hand*: 6 V, 2.4 Ω, running at 0.25 A it makes 5.4 V: (6 + 5.4)/2.4 = 4.75 A, stalled 2.5 A."""
    assert servo_current(volts_V=6.0, servos_ohm=2.4, back_V=6.0 - 0.25 * 2.4) == pytest.approx(4.75)
    assert servo_current(volts_V=6.0, servos_ohm=2.4) == pytest.approx(2.5)


@pytest.mark.parametrize(
    ("size_uF", "short_A", "ms"), [(470, 1.0, 1.175), (1000, 2.25, 1.1111), (4700, 2.25, 5.2222)]
)
def test_a_steady_shortfall_empties_a_capacitor_evenly(size_uF: float, short_A: float, ms: float) -> None:
    """*Law*: with a large resistance the shortfall is steady, and t = C·ΔV/I: 6.0 to 3.5 V."""
    ohm = 1e5
    found = ride_through(capacitance_F=size_uF * uF, ohm=ohm, from_V=6.0, to_V=3.5, end_V=6.0 - short_A * ohm)
    assert found * 1e3 == pytest.approx(ms, rel=1e-4)


def test_twenty_milliseconds_take_a_capacitor_that_nobody_carries() -> None:
    """*By hand*: C = I·t/ΔV = 2.25 A · 20 ms / 2.5 V = 18 000 µF."""
    ohm = 1e5
    found = capacitance_for(seconds=0.020, ohm=ohm, from_V=6.0, to_V=3.5, end_V=6.0 - 2.25 * ohm)
    assert found / uF == pytest.approx(18000.0, rel=1e-4)


def test_a_capacitor_alone_into_a_resistor() -> None:
    """*By hand*: R·C·ln(6.0/3.5) with 1.2 Ω and 4700 µF is 3.04 ms."""
    found = ride_through(capacitance_F=4700 * uF, ohm=1.2, from_V=6.0, to_V=3.5, end_V=0.0)
    assert found * 1e3 == pytest.approx(1.2 * 4.7 * math.log(6.0 / 3.5))
    assert found * 1e3 == pytest.approx(3.04, abs=0.005)


@settings(max_examples=30)
@given(
    ohm=st.floats(0.5, 8.0),
    limit_A=st.floats(0.3, 6.0),
    back_V=st.floats(0.0, 5.0),
    steady_A=st.floats(0.0, 0.25),
)
def test_the_ride_is_what_step_by_step_gives(
    ohm: float, limit_A: float, back_V: float, steady_A: float
) -> None:
    """*Law*: C·dV/dt = I_limit − I_steady − (V + E)/R, integrated by small steps from 6 V."""
    load, supply = Load(ohm, back_V, steady_A), Supply(6.0, 0.0, limit_A)
    end_V = limited_volts(supply=supply, load=load)
    found = ride_through(capacitance_F=0.001, ohm=ohm, from_V=6.0, to_V=3.5, end_V=end_V)
    if end_V > 3.3:
        return  # far out, or never: nothing to step to
    volts, t, step = 6.0, 0.0, found / 200.0
    while volts > 3.5 and t < 2.0 * found:
        volts += step * (limit_A - steady_A - (volts + back_V) / ohm) / 0.001
        t += step
    assert t == pytest.approx(found, rel=2e-2)


def test_what_is_not_short_needs_no_capacitor_and_what_is_low_already_gets_none() -> None:
    assert ride_through(capacitance_F=0.001, ohm=2.0, from_V=6.0, to_V=3.5, end_V=5.0) == math.inf
    assert capacitance_for(seconds=0.02, ohm=2.0, from_V=6.0, to_V=3.5, end_V=5.0) == 0.0
    assert ride_through(capacitance_F=0.001, ohm=2.0, from_V=3.4, to_V=3.5, end_V=1.0) == 0.0
    assert capacitance_for(seconds=0.02, ohm=2.0, from_V=3.4, to_V=3.5, end_V=1.0) == math.inf


@settings(max_examples=30)
@given(ohm=st.floats(0.3, 20.0), limit_A=st.floats(0.5, 20.0), more=st.floats(1.0, 3.0))
def test_a_larger_supply_and_a_lighter_servo_never_lower_the_rail(
    ohm: float, limit_A: float, more: float
) -> None:
    """*Law*."""
    base = rail_volts(supply=Supply(6.0, 0.1, limit_A), load=Load(ohm))
    assert rail_volts(supply=Supply(6.0, 0.1, limit_A * more), load=Load(ohm)) >= base
    assert rail_volts(supply=Supply(6.0, 0.1, limit_A), load=Load(ohm * more)) >= base
    assert 0.0 <= base <= 6.0


@pytest.mark.parametrize(("pack_V", "watts"), [(8.4, 5.1), (12.6, 11.4), (4.8, 0.0)])
def test_a_linear_supply_burns_what_it_drops(pack_V: float, watts: float) -> None:
    """*By hand*: (V_pack − 5 V) · 1.5 A."""
    assert linear_supply_heat(pack_V=pack_V, rail_V=5.0, current_A=1.5) == pytest.approx(watts)


def test_impossible_figures_are_refused() -> None:
    for bad in (
        lambda: Supply(6.0, 0.1, 0.0),
        lambda: Load(0.0),
        lambda: stalled_resistance(volts_V=6.0, stall_A=-1.0),
        lambda: ride_through(capacitance_F=0.0, ohm=1.0, from_V=6.0, to_V=3.5, end_V=0.0),
    ):
        with pytest.raises(ImpossibleInput):
            bad()
