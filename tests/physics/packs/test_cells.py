"""A cell under load. Authority: closed form, SciPy and PyBaMM runs kept in tests/golden/packs."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import watching
from snugfast.physics.packs.cells import (
    Cell,
    CellState,
    after_current,
    discharge_until,
    resistance_factor,
    terminal_voltage,
)
from snugfast.physics.powertrain import cells_circuit
from tests.physics.pack_tables import AH_C, GOLDEN, golden_curve, kelvin, product_curve, rows

CELL = Cell(
    curve=golden_curve("ocv_lco_pouch_ai2020.csv"),
    capacity_C=5.0 * AH_C,
    ohmic_ohm=0.004,
    slow_ohm=0.002,
    slow_s=10.0,
)


@pytest.mark.parametrize("row", rows(GOLDEN / "ecm_const_current_check.csv"))
def test_a_steady_discharge_follows_three_other_solvers(row: dict[str, float]) -> None:
    state = after_current(CELL, CellState(0.95), current_A=row["current_A"], for_s=row["time_s"])
    volts = terminal_voltage(CELL, state, current_A=row["current_A"])
    assert state.charge * 100 == pytest.approx(row["soc_percent"], abs=1e-4)
    assert state.slow_V == pytest.approx(row["v_rc_V"], abs=1e-6)
    for solver in ("v_closed_V", "v_solve_ivp_V", "v_pybamm_V"):
        if row[solver] == row[solver]:  # the other program gives no value at time nought
            assert volts == pytest.approx(row[solver], abs=2e-6)


@pytest.mark.parametrize(
    ("amps", "seconds", "left", "drawn_Ah"), [(5, 3410.04, 0.277, 4.7362), (25, 674.04, 1.384, 4.6808)]
)
def test_the_time_to_three_volts_is_the_golden_one(
    amps: float, seconds: float, left: float, drawn_Ah: float
) -> None:
    stop = discharge_until(CELL, CellState(0.95), current_A=amps, stop_V=3.0)
    assert stop.reached_voltage
    assert stop.time_s == pytest.approx(seconds, abs=0.01)
    assert stop.state.charge * 100 == pytest.approx(left, abs=1e-3)
    assert stop.drawn_C / AH_C == pytest.approx(drawn_Ah, abs=1e-4)


def test_a_pulse_sags_and_recovers_as_in_the_worked_one() -> None:
    """25 A for 10 s from 60 %, then rest; values worked beside the golden files."""
    start = CellState(0.60)
    assert terminal_voltage(CELL, start, current_A=25) == pytest.approx(3.73650, abs=1e-5)
    loaded = after_current(CELL, start, current_A=25, for_s=10)
    assert terminal_voltage(CELL, loaded, current_A=25) == pytest.approx(3.69814, abs=1e-5)
    for seconds, volts in ((1, 3.80115), (10, 3.81812), (30, 3.82818), (60, 3.82967)):
        rested = after_current(CELL, loaded, current_A=0, for_s=seconds)
        assert terminal_voltage(CELL, rested, current_A=0) == pytest.approx(volts, abs=1e-5)


@given(st.floats(0.1, 40), st.floats(0, 60), st.floats(0, 60))
def test_two_short_steps_are_one_long_step(amps: float, first_s: float, second_s: float) -> None:
    start = CellState(0.9, 0.01)
    apart = after_current(
        CELL, after_current(CELL, start, current_A=amps, for_s=first_s), current_A=amps, for_s=second_s
    )
    together = after_current(CELL, start, current_A=amps, for_s=first_s + second_s)
    assert apart.charge == pytest.approx(together.charge, abs=1e-12)
    assert apart.slow_V == pytest.approx(together.slow_V, abs=1e-12)


@given(st.floats(1, 60), st.floats(0.5, 20))
def test_more_current_reaches_the_stop_sooner(amps: float, more_A: float) -> None:
    soft = discharge_until(CELL, CellState(0.9), current_A=amps, stop_V=3.3)
    hard = discharge_until(CELL, CellState(0.9), current_A=amps + more_A, stop_V=3.3)
    assert hard.time_s < soft.time_s


def test_a_stop_voltage_below_the_curve_ends_at_empty_and_says_so() -> None:
    stop = discharge_until(CELL, CellState(0.5), current_A=1.0, stop_V=2.0)
    assert not stop.reached_voltage
    assert stop.time_s == pytest.approx(0.5 * 5 * 3600)


def test_a_cell_already_under_the_stop_voltage_lasts_no_time() -> None:
    assert discharge_until(CELL, CellState(0.05), current_A=200, stop_V=3.3).time_s == 0.0


@pytest.mark.parametrize(
    ("degC", "factor"),
    [
        (-10, 2.924),
        (0, 2.093),
        (5, 1.786),
        (10, 1.533),
        (15, 1.323),
        (20, 1.148),
        (25, 1.0),
        (35, 0.770),
        (45, 0.602),
        (60, 0.428),
    ],
)
def test_resistance_rises_in_the_cold_as_worked(degC: float, factor: float) -> None:
    found = resistance_factor(temperature_K=kelvin(degC), activation_J_per_mol=20000)
    assert found == pytest.approx(factor, abs=6e-4)


def test_measured_cold_resistance_lies_in_the_band_of_the_law() -> None:
    """SimSES tables: a large NMC cell at 0 °C 1.89, a prismatic one at 5 °C 2.006, at 15 °C 1.313."""
    for degC, ratio in ((0, 1.89), (5, 2.006), (15, 1.313)):
        low = resistance_factor(temperature_K=kelvin(degC), activation_J_per_mol=15000)
        high = resistance_factor(temperature_K=kelvin(degC), activation_J_per_mol=30000)
        assert low < ratio < high


def test_hotter_than_the_tables_carries_a_caution() -> None:
    with watching() as left:
        resistance_factor(temperature_K=kelvin(60), activation_J_per_mol=20000.0)
    assert left.sentences


def test_a_cold_cell_sags_deeper() -> None:
    cold = CELL.at_temperature(kelvin(5), activation_J_per_mol=20000)
    state = CellState(0.6)
    assert terminal_voltage(cold, state, current_A=25) < terminal_voltage(CELL, state, current_A=25)
    assert cold.resistance_ohm == pytest.approx(CELL.resistance_ohm * 1.786, rel=1e-3)


def test_a_current_that_would_empty_the_cell_past_its_end_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="outside 0 to 1"):
        after_current(CELL, CellState(0.1), current_A=25, for_s=600)


def test_time_running_backwards_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="backwards"):
        after_current(CELL, CellState(0.1), current_A=1, for_s=-1)


def test_a_cell_without_capacity_is_refused() -> None:
    with pytest.raises(ImpossibleInput):
        Cell(CELL.curve, 0.0, 0.004, 0.002, 10.0)


def test_a_charge_is_no_discharge() -> None:
    with pytest.raises(ImpossibleInput):
        discharge_until(CELL, CellState(0.5), current_A=-1, stop_V=3.3)


def test_nothing_is_as_cold_as_nought_kelvin() -> None:
    with pytest.raises(ImpossibleInput):
        resistance_factor(temperature_K=0.0, activation_J_per_mol=20000)


@pytest.mark.slow
@pytest.mark.parametrize("amps", [5.0, 25.0, 60.0])
def test_the_circuit_of_the_twin_is_this_cell_on_a_smoother_curve(amps: float) -> None:
    """*Against* the plain cell, which the golden discharges hold: the product's own table, both ways."""
    curve = product_curve()
    plain = Cell(curve, 5.0 * AH_C, ohmic_ohm=0.004, slow_ohm=0.002, slow_s=10.0)
    smooth = cells_circuit.curve_through(np.array(curve.charge), np.array(curve.rest_V))
    slow_V, step_s, lasts_s = 0.0, 0.1, 0.93 * 5.0 * AH_C / amps
    for n in range(round(lasts_s / step_s)):
        charge = 0.95 - amps * n * step_s / plain.capacity_C
        volts = smooth.voltage_V(charge) - amps * plain.ohmic_ohm - slow_V
        exact = after_current(plain, CellState(0.95), current_A=amps, for_s=n * step_s)
        off_V = abs(volts - terminal_voltage(plain, exact, current_A=amps))
        assert off_V < (0.8e-3 if charge > 0.1 else 2.5e-3)
        slow_V = _a_step_on(slow_V, amps, step_s)


def _a_step_on(slow_V: float, amps: float, step_s: float) -> float:
    """The middle-point rule on the rate that the twin uses."""

    def rate(volts: float) -> float:
        return cells_circuit.slow_voltage_rate(
            current_A=amps, slow_V=volts, slow_ohm=0.002, capacitance_F=5000.0
        )

    return slow_V + step_s * rate(slow_V + step_s / 2.0 * rate(slow_V))
