"""The pack's circuit against the closed-form pulse, and the curve against its table."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import PchipInterpolator

from snugfast.core.errors import ImpossibleInput
from snugfast.numerics.stepping import march
from snugfast.physics.powertrain import cells_circuit
from tests.physics.powertrain_golden import golden_curve


@pytest.mark.parametrize(("seconds", "volts"), [(1, 11.2486422), (5, 11.15564), (10, 11.0885593)])
def test_slow_voltage_rate_builds_the_pulse(seconds: float, volts: float) -> None:
    """Against: closed form B1: 60 A from 12 V, 12 mΩ, 4.5 mΩ and 1800 F."""

    def rates(_t: float, x: np.ndarray) -> np.ndarray:
        return np.array(
            [
                cells_circuit.slow_voltage_rate(
                    current_A=60.0, slow_V=x[0], slow_ohm=0.0045, capacitance_F=1800.0
                )
            ]
        )

    slow_V = march(rates, np.array([0.0]), until=seconds, step=0.05)[0]
    assert 12.0 - 60.0 * 0.012 - slow_V == pytest.approx(volts, abs=1e-7)


@given(st.floats(0.0, 1.0))
def test_the_strips_follow_the_smooth_curve(charge: float) -> None:
    """Against: the formula of Chen and Rincón-Mora (2006), within 0.02 mV (0.2 mV below 2 % charge)."""
    z = charge
    wanted = -1.031 * math.exp(-35.0 * z) + 3.685 + 0.2156 * z - 0.1178 * z**2 + 0.3201 * z**3
    assert golden_curve().voltage_V(z) == pytest.approx(wanted, abs=2e-4 if z < 0.02 else 2e-5)


def test_the_curve_keeps_a_coarse_table_monotone_and_reads_its_ends() -> None:
    """Law, and against SciPy's monotone interpolation of the same table."""
    z = np.array([0.0, 0.05, 0.1, 0.5, 1.0])
    volts = np.array([3.0, 3.55, 3.64, 3.79, 4.2])
    curve = cells_circuit.curve_through(z, volts, np.array([-5e-4, -7e-4, -5e-4, -2.5e-4, -5e-5]))
    along = np.linspace(-0.1, 1.1, 2001)
    got = np.array([curve.voltage_V(float(x)) for x in along])
    assert np.all(np.diff(got) >= -1e-12)
    assert (got[0], got[-1]) == pytest.approx((3.0, 4.2))
    inside = (along >= 0.0) & (along <= 1.0)
    assert got[inside] == pytest.approx(PchipInterpolator(z, volts)(along[inside]), abs=2e-4)
    assert curve.per_kelvin_V(0.5) == pytest.approx(-2.5e-4)


def test_curves_and_packs_that_cannot_be_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="empty to full"):
        cells_circuit.curve_through(np.array([0.1, 1.0]), np.array([3.0, 4.0]))
    with pytest.raises(ImpossibleInput, match="fall in voltage"):
        cells_circuit.curve_through(np.array([0.0, 0.5, 1.0]), np.array([3.0, 4.0, 3.9]))
    with pytest.raises(ImpossibleInput):
        cells_circuit.Pack(golden_curve(), 0, 5.0, 0.01, 0.005, 1800.0, 300.0, 0.2)
    with pytest.raises(ImpossibleInput):
        cells_circuit.Pack(golden_curve(), 3, 5.0, -0.01, 0.005, 1800.0, 300.0, 0.2)
