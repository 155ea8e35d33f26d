"""The knobs: numbers that the tables only guess, each turned by a factor, for a fit or for a band."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from enum import Enum

from snugfast.physics.powertrain.driving_styles import driven_harder
from snugfast.physics.powertrain.heat import Cooling
from snugfast.physics.study.gearing import Question


class Knob(Enum):
    """What can be turned. Each is a factor on what the tables say; on the odds of it where it is a share."""

    ROLLING = "rolling resistance"
    AIR_DRAG = "air drag"
    COPPER = "winding resistance"
    IDLE = "idle torque"
    COOLING = "cooling of the motor can"
    RPM_PER_VOLT = "rpm per volt"
    GRIP = "grip"
    WHEEL_SPIN = "wheel spin"
    EFFORT = "how hard it is driven"
    GIVEN_BACK = "braking given back to the pack"
    GEAR_LOSS = "loss in the gears"
    GROWTH = "tyre growth"
    AIR_SHARE = "air under the body"
    IRON_SHARE = "iron loss on the winding side"
    MASS = "mass"
    PACK = "resistance of the pack"
    ESC_RESISTANCE = "resistance of the ESC"
    ESC_PART_THROTTLE = "part-throttle loss of the ESC"
    ESC_COOLING = "cooling of the ESC"


NOT_READ = (
    Knob.ESC_RESISTANCE,
    Knob.ESC_PART_THROTTLE,
    Knob.ESC_COOLING,
    Knob.AIR_SHARE,
    Knob.IRON_SHARE,
    Knob.GROWTH,
)
"""Readings say nothing of them, or nothing that another knob does not say too. A fit takes them along all the
same: what they may have done to a reading is not learned of the others, and no band leaves them out."""

MOST_LOSS = 0.6


def turned(question: Question, factors: Mapping[Knob, float]) -> Question:
    """The same question put to a car, a ground and a driver whose guessed numbers are multiplied."""

    def of(knob: Knob) -> float:
        return factors.get(knob, 1.0)

    car, ground = question.car, question.place.ground
    motor, heat, bridge, fins = car.motor, car.motor_heat, car.controller, car.controller_heat
    lap = tuple(
        replace(phase, wheel_spin=min(phase.wheel_spin * of(Knob.WHEEL_SPIN), 1.0))
        for phase in driven_harder(question.style, of(Knob.EFFORT)).lap
    )
    air_share = of(Knob.AIR_SHARE)
    return replace(
        question,
        car=replace(
            car,
            mass_kg=car.mass_kg * of(Knob.MASS),
            drag_area_m2=car.drag_area_m2 * of(Knob.AIR_DRAG),
            gear_efficiency=1.0 - min((1.0 - car.gear_efficiency) * of(Knob.GEAR_LOSS), MOST_LOSS),
            tyre=replace(
                car.tyre,
                growth_s2_m2=car.tyre.growth_s2_m2 * of(Knob.GROWTH),
                growth_bound=car.tyre.growth_bound * of(Knob.GROWTH),
            ),
            motor=replace(
                motor,
                kv_rpm_V=motor.kv_rpm_V * of(Knob.RPM_PER_VOLT),
                resistance_ohm=motor.resistance_ohm * of(Knob.COPPER),
                idle_current_A=motor.idle_current_A * of(Knob.IDLE) * of(Knob.RPM_PER_VOLT),
            ),
            motor_heat=replace(
                heat,
                iron_in_winding=_at_odds(heat.iron_in_winding, of(Knob.IRON_SHARE)),
                cooling=_cooled(heat.cooling, of(Knob.COOLING), air_share),
            ),
            controller=replace(
                bridge,
                resistance_ohm=bridge.resistance_ohm * of(Knob.ESC_RESISTANCE),
                part_throttle_V=bridge.part_throttle_V * of(Knob.ESC_PART_THROTTLE),
                given_back=_at_odds(bridge.given_back, of(Knob.GIVEN_BACK)),
            ),
            controller_heat=replace(fins, cooling=_cooled(fins.cooling, of(Knob.ESC_COOLING), air_share)),
            pack=replace(car.pack, resistance_ohm=car.pack.resistance_ohm * of(Knob.PACK)),
        ),
        place=replace(
            question.place,
            ground=replace(
                ground, rolling=ground.rolling * of(Knob.ROLLING), grip=ground.grip * of(Knob.GRIP)
            ),
        ),
        style=replace(question.style, lap=lap),
    )


def _at_odds(share: float, factor: float) -> float:
    """A share whose odds are multiplied: it stays between none and all."""
    return share * factor / (1.0 - share + share * factor)


def _cooled(cooling: Cooling, factor: float, air_share: float) -> Cooling:
    return replace(
        cooling,
        base_W_K=cooling.base_W_K * factor,
        flow_W_K=cooling.flow_W_K * factor,
        ram_share=cooling.ram_share * air_share,
    )
