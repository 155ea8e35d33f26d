"""A motor at the bench: worked values and laws.

Authority: *by hand* from the motor note's relations; the GUM for uncertainties; laws.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.leads.motor_bench import (
    Volts,
    combined,
    kv_spun,
    kv_without_load,
    ohm_at_20,
    spread,
    star_windings,
    torque_left,
)


def test_speed_without_load_names_rpm_per_volt_and_forgetting_the_drop_names_less() -> None:
    """*By hand*: 26 896.32 rpm on 10 V, 3.2 A through 12 mΩ."""
    assert kv_without_load(rpm=26896.32, volts_V=10.0, current_A=3.2, ohm=0.012) == pytest.approx(2700.0)
    assert kv_without_load(rpm=26896.32, volts_V=10.0, current_A=0.0, ohm=0.0) == pytest.approx(2689.632)


@pytest.mark.parametrize(("by", "kv"), [(Volts.PEAK, 2619), (Volts.SIX_STEP, 2743), (Volts.METER, 3704)])
def test_three_ways_of_naming_it_differ_by_two_fifths(by: Volts, kv: float) -> None:
    """*By hand*: 1000 rpm give 0.27 V."""
    assert kv_spun(rpm=1000.0, rms_V=0.27, by=by) == pytest.approx(kv, abs=0.6)


def test_the_way_that_is_used_is_the_one_that_running_without_load_gives() -> None:
    """*Law*: six-step rectified sine of a motor of kV has the mean V = n/kV, worked out by integration."""
    kv, rpm, steps = 2700.0, 1000.0, 6000
    peak_V = rpm / kv / (3.0 / math.pi)
    # the three line voltages, the largest of which a bridge shows at each moment
    mean = 0.0
    for n in range(steps):
        angle = 2.0 * math.pi * n / steps
        mean += max(
            abs(peak_V * math.sin(angle + shift)) for shift in (0.0, 2 * math.pi / 3, 4 * math.pi / 3)
        )
    assert mean / steps == pytest.approx(rpm / kv, rel=1e-5)
    assert kv_spun(rpm=rpm, rms_V=peak_V / math.sqrt(2.0)) == pytest.approx(kv)


def test_three_pairs_that_are_not_alike() -> None:
    """*By hand*: 0.270, 0.268, 0.241 V are 11.2 % apart."""
    assert spread((0.270, 0.268, 0.241)) == pytest.approx(0.112, abs=5e-4)


def test_the_odd_winding_behind_three_readings() -> None:
    """*By hand*: 12.0, 12.1, 13.9 mΩ give 6.9, 5.1, 7.0."""
    found = star_windings(ab_ohm=0.0120, bc_ohm=0.0121, ca_ohm=0.0139)
    assert [ohm * 1e3 for ohm in found] == pytest.approx([6.9, 5.1, 7.0])


@settings(max_examples=30)
@given(windings=st.tuples(*[st.floats(1e-3, 0.1)] * 3))
def test_windings_come_back_from_their_pairs(windings: tuple[float, float, float]) -> None:
    """*Law*: pairs in series."""
    a, b, c = windings
    assert star_windings(ab_ohm=a + b, bc_ohm=b + c, ca_ohm=c + a) == pytest.approx(windings)


def test_a_warm_winding_at_20_degrees() -> None:
    """*By hand*: 12.9 mΩ at 38 °C."""
    assert ohm_at_20(ohm=0.0129, degC=38.0) * 1e3 == pytest.approx(12.05, abs=5e-3)


def test_uncertainties_add_as_squares_and_weak_magnets_pull_less() -> None:
    """*Published rule*: JCGM 100, 5.1.6. *Law*: volts per speed is torque per ampere."""
    assert combined([0.03, 0.04]) == pytest.approx(0.05)
    assert torque_left(kv_now=2970.0, kv_then=2700.0) == pytest.approx(1 / 1.1)


def test_a_resistance_that_takes_all_the_volts_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="its own leads"):
        kv_without_load(rpm=10000.0, volts_V=7.4, current_A=40.0, ohm=0.2)
