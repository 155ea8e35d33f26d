"""The motor room against published problems and against the closed forms written out for them.

The golden file powertrain_closed_forms.json holds the answers with all digits; the problems themselves are
named at each test.
"""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain import motor
from tests.physics.powertrain_golden import golden_car, golden_json

RPM = math.pi / 30


@pytest.mark.parametrize("kv", [1000, 2000, 2700, 3500, 6000])
def test_motor_constant_agrees_with_the_table_by_rpm_per_volt(kv: int) -> None:
    """Against: closed forms M1."""
    wanted = golden_json("closed_forms")[f"M1_Kt_Kv{kv}"]
    wanted = wanted["Kt"] if isinstance(wanted, dict) else wanted
    assert motor.motor_constant(kv_rpm_V=kv) == pytest.approx(wanted, rel=1e-9)


def test_operating_point_of_the_published_permanent_magnet_machine() -> None:
    """Worked: Modelica Standard Library, DC_PermanentMagnet: 100 V, 100 A, 63.66 N·m, 9.5 kW, 95 %."""
    at = motor.operating_point(
        voltage_V=100.0, torque_Nm=63.66, constant_Vs=95.0 / (1425 * RPM), resistance_ohm=0.05
    )
    assert at.current_A == pytest.approx(100.0, abs=0.005)
    assert at.power_out_W == pytest.approx(9500.0, abs=1.0)
    assert at.efficiency == pytest.approx(0.95, abs=1e-4)
    assert at.speed_rad_s / RPM == pytest.approx(1425.0, abs=0.1)


def test_operating_point_of_a_machine_that_gets_hot() -> None:
    """Worked: an exercise: 50 V, 1800 rpm at no torque, 2 Ω, 2 N·m; hot: flux 95 %, copper 125 %."""
    constant = 50.0 / (1800 * RPM)
    cold = motor.operating_point(voltage_V=50.0, torque_Nm=2.0, constant_Vs=constant, resistance_ohm=2.0)
    hot = motor.operating_point(
        voltage_V=50.0,
        torque_Nm=2.0,
        constant_Vs=motor.warm_constant(constant_Vs=constant, magnet_per_K=-0.0005, magnet_degC=120.0),
        resistance_ohm=motor.warm_resistance(resistance_ohm=2.0, copper_per_K=0.0025, winding_degC=120.0),
    )
    assert (cold.current_A, cold.emf_V, cold.speed_rad_s / RPM, cold.efficiency) == pytest.approx(
        (7.53982237, 34.9203553, 1257.13279, 0.698407105), rel=1e-8
    )
    assert (hot.current_A, hot.speed_rad_s / RPM, hot.power_out_W) == pytest.approx(
        (7.93665512, 1142.8432, 239.35652), rel=1e-8
    )


def test_a_load_beyond_stall_is_refused_with_a_way_out() -> None:
    with pytest.raises(ImpossibleInput, match="stalls"):
        motor.operating_point(
            voltage_V=12.0, torque_Nm=0.031, constant_Vs=0.0301557, resistance_ohm=12.0622694
        )


def test_brushes_take_their_volts_from_the_speed_and_none_of_the_current() -> None:
    """Law: a constant drop in series lowers the no-load speed in proportion."""
    plain = motor.operating_point(voltage_V=10.0, torque_Nm=0.01, constant_Vs=0.005, resistance_ohm=0.1)
    brushed = motor.operating_point(
        voltage_V=10.0, torque_Nm=0.01, constant_Vs=0.005, resistance_ohm=0.1, brush_drop_V=1.0
    )
    assert brushed.current_A == plain.current_A
    assert plain.speed_rad_s - brushed.speed_rad_s == pytest.approx(1.0 / 0.005)


@pytest.mark.parametrize(
    ("rpm", "torque", "power"),
    [
        (5000, 0.00578944197, 3.03134473),
        (15000, 0.00831417803, 13.0598803),
        (40000, 0.0146260182, 61.2653217),
    ],
)
def test_idle_torque_grows_with_speed_as_the_split_says(rpm: float, torque: float, power: float) -> None:
    """Against: closed forms M3."""
    m = golden_car()[0].motor
    got = motor.idle_torque(
        hysteresis_torque_Nm=m.hysteresis_torque_Nm,
        eddy_torque_Nms=m.eddy_torque_Nms,
        turning=1.0,
        speed_rad_s=rpm * RPM,
    )
    assert got == pytest.approx(torque, rel=1e-8)
    assert got * rpm * RPM == pytest.approx(power, rel=1e-8)


@pytest.mark.parametrize(
    ("degC", "copper", "magnet"), [(60, 1.1572, 0.952), (100, 1.3144, 0.904), (155, 1.53055, 0.838)]
)
def test_warm_resistance_and_warm_constant_follow_the_tables(
    degC: float, copper: float, magnet: float
) -> None:
    """Against: closed forms M8."""
    warm = motor.warm_resistance(resistance_ohm=1.0, copper_per_K=0.00393, winding_degC=degC)
    assert warm == pytest.approx(copper, rel=1e-9)
    assert motor.warm_constant(constant_Vs=1.0, magnet_per_K=-0.0012, magnet_degC=degC) == pytest.approx(
        magnet
    )


@given(st.floats(20.0, 150.0), st.floats(1.0, 100.0))
def test_a_hotter_motor_stalls_at_fewer_amperes_and_spins_faster_unloaded(degC: float, more: float) -> None:
    """Law: copper gains resistance, magnets lose strength."""

    def stall_and_speed(t: float) -> tuple[float, float]:
        ohm = motor.warm_resistance(resistance_ohm=0.012, copper_per_K=0.00393, winding_degC=t)
        constant = motor.warm_constant(constant_Vs=0.0035, magnet_per_K=-0.0012, magnet_degC=t)
        idle = motor.operating_point(voltage_V=10.0, torque_Nm=0.0, constant_Vs=constant, resistance_ohm=ohm)
        return 10.0 / ohm, idle.speed_rad_s

    cold, hot = stall_and_speed(degC), stall_and_speed(degC + more)
    assert hot[0] < cold[0]
    assert hot[1] > cold[1]


@pytest.mark.parametrize(
    "wrong",
    [{"kv_rpm_V": 0.0}, {"resistance_ohm": -0.01}, {"idle_current_A": -1.0}, {"idle_current_A": 900.0}],
)
def test_a_motor_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    numbers = {"kv_rpm_V": 2700.0, "resistance_ohm": 0.012, "idle_current_A": 3.2, "idle_test_V": 10.0}
    with pytest.raises(ImpossibleInput):
        motor.Motor(**{**numbers, **wrong}, rotor_inertia_kgm2=1e-6)
