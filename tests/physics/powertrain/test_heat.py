"""Heat against closed forms: two bodies, one body, copper that heats itself."""

from __future__ import annotations

import math

import numpy as np
import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.numerics.stepping import march
from snugfast.physics.powertrain import heat, motor
from tests.physics.powertrain_golden import golden_json


def two_bodies(heat_W: float) -> object:
    def rates(_t: float, x: np.ndarray) -> np.ndarray:
        return np.array(
            [
                heat.winding_rate(
                    heat_W=heat_W,
                    winding_degC=x[0],
                    can_degC=x[1],
                    winding_to_can_K_W=0.45,
                    winding_J_K=14.0,
                ),
                heat.can_rate(
                    heat_W=0.0,
                    winding_degC=x[0],
                    can_degC=x[1],
                    winding_to_can_K_W=0.45,
                    conductance_W_K=1 / 2.5,
                    air_degC=25.0,
                    can_J_K=80.0,
                ),
            ]
        )

    return rates


@pytest.mark.parametrize("seconds", [1, 5, 10, 30, 60, 120, 300])
def test_winding_rate_and_can_rate_step_up_as_the_closed_form(seconds: int) -> None:
    """Against: closed form T1, 20 W into the winding from 25 °C."""
    wanted = golden_json("closed_forms")[f"T1_t{seconds}"]
    got = march(two_bodies(20.0), np.array([25.0, 25.0]), until=float(seconds), step=0.25)
    assert got == pytest.approx([wanted["Tw"], wanted["Tc"]], abs=1e-6)


def test_a_motor_cools_as_the_closed_form() -> None:
    """Against: closed form T2, power off after 300 s, 300 s later."""
    hot = march(two_bodies(20.0), np.array([25.0, 25.0]), until=300.0, step=0.25)
    cool = march(two_bodies(0.0), hot, until=300.0, step=0.25)
    assert cool == pytest.approx([35.6064403, 35.3232544], abs=1e-6)


@pytest.mark.parametrize(
    ("air_m_s", "settled", "tau"), [(None, 69.4444444, 422.222), (6.0, 42.6697971, 167.863073)]
)
def test_body_rate_settles_the_controller_as_the_closed_form(
    air_m_s: float | None, settled: float, tau: float
) -> None:
    """Against: closed forms T3, fan off and on; the fan's W/K from `conductance`."""
    flow = 0.0 if air_m_s is None else 0.05
    per_K = heat.conductance(base_W_K=0.09, flow_W_K=flow, exponent=0.56, air_m_s=air_m_s or 1.0)
    rates = lambda _t, x: np.array(  # noqa: E731
        [heat.body_rate(heat_W=4.0, body_degC=x[0], air_degC=25.0, conductance_W_K=per_K, capacity_J_K=38.0)]
    )
    at_tau = march(rates, np.array([25.0]), until=tau, step=0.5)[0]
    assert at_tau == pytest.approx(25.0 + (settled - 25.0) * (1 - math.exp(-1)), abs=1e-4)


def test_copper_that_heats_itself_settles_where_the_feedback_says() -> None:
    """Against: closed form M11: 30 A, 12 mΩ, 2.5 K/W at 25 °C rise 30.7985882 K, not 27.53 K."""

    def rates(_t: float, x: np.ndarray) -> np.ndarray:
        ohm = motor.warm_resistance(resistance_ohm=0.012, copper_per_K=0.00393, winding_degC=float(x[0]))
        return np.array(
            [
                heat.body_rate(
                    heat_W=900.0 * ohm, body_degC=x[0], air_degC=25.0, conductance_W_K=0.4, capacity_J_K=10.0
                )
            ]
        )

    settled = march(rates, np.array([25.0]), until=1000.0, step=1.0)[0]
    assert settled - 25.0 == pytest.approx(30.7985882, abs=1e-6)


def test_air_speed_adds_driving_air_fan_and_draught_as_squares() -> None:
    """Law."""
    cooling = heat.Cooling(0.1, 0.1, 0.56, ram_share=0.2, fan_air_m_s=3.0, still_air_m_s=0.05)
    got = heat.air_speed(cooling, speed_m_s=20.0, fan=1.0)
    assert got == pytest.approx(math.sqrt(16.0 + 9.0 + 0.0025))


def test_a_stopped_fan_cools_less_than_no_fan() -> None:
    """Law: the dead fan stands in the way of the driving air."""
    cooling = heat.Cooling(0.09, 0.05, 0.56, ram_share=0.25, fan_air_m_s=6.0)
    without = heat.air_speed(cooling, speed_m_s=10.0, fan=0.0)
    jammed = heat.air_speed(heat.with_fan_stopped(cooling), speed_m_s=10.0, fan=1.0)
    assert jammed < without < heat.air_speed(cooling, speed_m_s=10.0, fan=1.0)


def test_bodies_that_cannot_hold_or_lose_heat_are_refused() -> None:
    with pytest.raises(ImpossibleInput):
        heat.Cooling(0.0, 0.1, 0.56, 0.2)
    with pytest.raises(ImpossibleInput):
        heat.ControllerHeat(0.0, heat.Cooling(0.1, 0.1, 0.56, 0.2))
    with pytest.raises(ImpossibleInput):
        heat.MotorHeat(14.0, 80.0, 0.0, 0.25, heat.Cooling(0.1, 0.1, 0.56, 0.2))
