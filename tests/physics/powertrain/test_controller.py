"""The controller: duties against the loop they were solved from, worked losses, impossible controllers."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain import controller
from snugfast.physics.powertrain.controller import Controller, Loop

loops = st.builds(
    Loop,
    open_V=st.floats(6.0, 26.0),
    against_V=st.floats(0.0, 5.0),
    loop_ohm=st.floats(0.003, 0.1),
    pack_ohm=st.floats(0.0, 0.03),
    supply_A=st.floats(0.0, 2.0),
    part_throttle_V=st.floats(0.0, 0.9),
)


def test_motor_current_at_a_fifth_of_sixty_volts() -> None:
    """Worked: Modelica example ChopperStepDown_RL: 60 V at duty 0.2 gives 12 V; 10 Ω take 1.2 A."""
    loop = Loop(60.0, 0.0, 10.0, 0.0, 0.0, 0.0)
    current_A = controller.motor_current_at(loop=loop, duty=0.2)
    assert current_A == pytest.approx(1.2)
    assert 0.2 * current_A == pytest.approx(0.24)


@given(loops, st.floats(0.5, 80.0))
def test_the_duty_for_a_motor_current_gives_that_current(loop: Loop, current: float) -> None:
    """Law: the quadratic's root put back into the loop it came from."""
    duty = controller.duty_for_motor_current(loop, current)
    assume(math.isfinite(duty))
    assert controller.motor_current_at(loop=loop, duty=duty) == pytest.approx(current, rel=1e-7)


@given(loops, st.floats(3.0, 60.0))
def test_the_duty_for_a_battery_current_draws_that_current(loop: Loop, battery: float) -> None:
    """Law: duty times motor current plus the supply is what leaves the pack."""
    assume(loop.open_V - loop.pack_ohm * battery > 4.0)
    duty = controller.duty_for_battery_current(loop, battery)
    drawn = duty * controller.motor_current_at(loop=loop, duty=duty) + loop.supply_A
    assert drawn == pytest.approx(battery, rel=1e-7)


@given(loops, st.floats(0.0, 40.0))
def test_braking_duty_balances_the_loop(loop: Loop, brake: float) -> None:
    """Law: duty · pack voltage is what the motor leaves; a feeding pack shows as a negative duty."""
    free_V = loop.open_V - loop.pack_ohm * loop.supply_A
    left_V = loop.against_V - brake * loop.loop_ohm
    assume(free_V**2 + 4 * loop.pack_ohm * brake * left_V > 0.0)
    duty = controller.braking_duty(loop, brake)
    pack_V = loop.open_V - loop.pack_ohm * (loop.supply_A - duty * brake)
    assert duty * pack_V == pytest.approx(left_V, abs=1e-8)
    assert (duty < 0.0) == (left_V < 0.0)


def test_a_current_no_duty_can_give_is_infinitely_far() -> None:
    assert controller.duty_for_motor_current(Loop(10.0, 0.0, 0.05, 0.05, 0.3, 0.08), 1e4) == math.inf


def test_controller_heat_of_the_worked_bridge() -> None:
    """Against: closed form M10: 40 A in 2 mΩ is 3.2 W; a diode of 0.8 V costs 16 W at half duty."""
    common = {"current_A": 40.0, "resistance_ohm": 0.002, "supply_W": 0.0, "supply_heat_share": 0.2}
    assert controller.controller_heat(duty=0.5, part_throttle_V=0.8, **common) == pytest.approx(19.2)
    assert controller.controller_heat(duty=1.0, part_throttle_V=0.8, **common) == pytest.approx(3.2)


@pytest.mark.parametrize(
    "wrong",
    [{"motor_limit_A": 0.0}, {"battery_limit_A": 0.2}, {"resistance_ohm": -1.0}, {"drag_brake": 1.5}],
)
def test_a_controller_that_cannot_be_is_refused(wrong: dict[str, float]) -> None:
    numbers = {"resistance_ohm": 0.002, "motor_limit_A": 31.0, "battery_limit_A": 28.0, "brake_limit_A": 25.0}
    with pytest.raises(ImpossibleInput):
        Controller(**{**numbers, **wrong})
