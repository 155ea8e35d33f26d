"""Motors guessed from can and label, against the table they come from and what must hold."""

from __future__ import annotations

import math

import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain.heat import conductance
from snugfast.physics.powertrain.motor_estimates import heat_of_can, motor_from_label
from tests.physics.truck_twin import can, rows


@pytest.mark.parametrize("key", list(rows("can_sizes")))
def test_the_cooling_law_passes_near_the_computed_ten_metres_a_second(key: str) -> None:
    """Against: the column that the law was not drawn through, within 10 % (it is good to 25 %)."""
    cooling = heat_of_can(can(key), ram_share=0.2).cooling
    at_10 = conductance(
        base_W_K=cooling.base_W_K, flow_W_K=cooling.flow_W_K, exponent=cooling.exponent, air_m_s=10.0
    )
    assert 1.0 / at_10 == pytest.approx(float(rows("can_sizes")[key]["wind_10_K_W"]), rel=0.10)


def test_two_windings_of_one_can_make_the_same_torque_per_heat_and_idle_alike() -> None:
    """Law: that is what the can's two numbers mean."""
    slow, fast = (motor_from_label(can("36x60"), kv_rpm_V=kv) for kv in (2000.0, 4000.0))
    for motor in (slow, fast):
        assert motor.constant_Vs / math.sqrt(motor.resistance_ohm) == pytest.approx(
            can("36x60").size_Nm_sqrtW
        )
        assert motor.idle_current_A * motor.constant_Vs == pytest.approx(can("36x60").idle_Nm)
        assert motor.idle_speed_rad_s * 30 / math.pi == pytest.approx(25_000)
    assert fast.resistance_ohm == pytest.approx(slow.resistance_ohm / 4.0)


def test_a_poor_motor_of_a_can_has_more_resistance_than_a_good_one() -> None:
    poor, good = (motor_from_label(can("36x50", guess), kv_rpm_V=3500.0) for guess in ("low", "high"))
    assert poor.resistance_ohm > 2.0 * good.resistance_ohm


def test_a_label_that_cannot_be_is_refused() -> None:
    with pytest.raises(ImpossibleInput):
        motor_from_label(can("36x60"), kv_rpm_V=0.0)
