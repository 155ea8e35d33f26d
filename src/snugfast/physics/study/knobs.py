"""The knobs that fitting turns: each a factor on a number that the tables only guess."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from enum import Enum

from snugfast.physics.study.gearing import Question


class Knob(Enum):
    """What can be turned to suit the readings; each is a factor on what the tables say."""

    ROLLING = "rolling resistance"
    AIR_DRAG = "air drag"
    COPPER = "winding resistance"
    IDLE = "idle torque"
    COOLING = "cooling of the motor can"
    RPM_PER_VOLT = "rpm per volt"
    GRIP = "grip"
    WHEEL_SPIN = "wheel spin"


def turned(question: Question, factors: Mapping[Knob, float]) -> Question:
    """The same question put to a car and a ground whose guessed numbers are multiplied by the factors."""

    def of(knob: Knob) -> float:
        return factors.get(knob, 1.0)

    car, ground = question.car, question.place.ground
    motor, cooling = car.motor, car.motor_heat.cooling
    lap = tuple(
        replace(phase, wheel_spin=min(phase.wheel_spin * of(Knob.WHEEL_SPIN), 1.0))
        for phase in question.style.lap
    )
    return replace(
        question,
        car=replace(
            car,
            drag_area_m2=car.drag_area_m2 * of(Knob.AIR_DRAG),
            motor=replace(
                motor,
                kv_rpm_V=motor.kv_rpm_V * of(Knob.RPM_PER_VOLT),
                resistance_ohm=motor.resistance_ohm * of(Knob.COPPER),
                idle_current_A=motor.idle_current_A * of(Knob.IDLE) * of(Knob.RPM_PER_VOLT),
            ),
            motor_heat=replace(
                car.motor_heat,
                cooling=replace(
                    cooling,
                    base_W_K=cooling.base_W_K * of(Knob.COOLING),
                    flow_W_K=cooling.flow_W_K * of(Knob.COOLING),
                ),
            ),
        ),
        place=replace(
            question.place,
            ground=replace(
                ground, rolling=ground.rolling * of(Knob.ROLLING), grip=ground.grip * of(Knob.GRIP)
            ),
        ),
        style=replace(question.style, lap=lap),
    )
