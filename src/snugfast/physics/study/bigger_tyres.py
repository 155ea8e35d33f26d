"""Bigger tyres: the pinion that brings back the rollout, and the one that brings back the temperature."""

from __future__ import annotations

import math
from concurrent.futures import Executor
from dataclasses import dataclass, replace
from enum import Enum

from snugfast.physics.powertrain.powertrain import Car
from snugfast.physics.powertrain.runs import Progress, ShouldStop
from snugfast.physics.study.gearing import Pair, Question, Rung, climb, final_drive


class HottestOf(Enum):
    """Which temperature a comparison looks at."""

    CAN = "can_degC"
    WINDING = "winding_degC"
    CONTROLLER = "controller_degC"


@dataclass(frozen=True, slots=True)
class BiggerTyre:
    """What a tyre of another size asks of the pinion.

    Teeth are kept with their fraction, to show how far the whole ones are off. `same_heat_teeth` is None when
    none of the pinions tried brings today's temperature back.
    """

    today: Rung
    unchanged: Rung
    same_rollout_teeth: float
    same_heat_teeth: float | None
    rungs: tuple[tuple[int, Rung], ...]

    @property
    def coolest_teeth(self) -> int:
        """The pinion of those tried on which the motor can settles coolest."""
        return min(self.rungs, key=lambda tried: tried[1].settled.can_degC)[0]

    @property
    def why_they_differ(self) -> str:
        """What the two pinions say, in words."""
        if self.same_heat_teeth is None:
            return (
                "No pinion that was tried brings the temperature back to today's: these wheels ask for more "
                "push, and a smaller pinion makes the motor spin faster. "
                f"It runs coolest on {self.coolest_teeth} teeth."
            )
        if self.same_heat_teeth < self.same_rollout_teeth:
            return (
                "At the same rollout the car still has more to push than before: its wheels are heavier to "
                "spin up and it stands higher in the air. "
                "Today's temperature asks for a smaller pinion still."
            )
        return "At the same rollout the motor runs no hotter than today, so the rollout decides."


def bigger_tyre(
    question: Question,
    car_on_tyre: Car,
    pair: Pair,
    *,
    internal_ratio: float,
    look_at: HottestOf = HottestOf.CAN,
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = lambda: False,
) -> BiggerTyre:
    """The pinions that bring back today's rollout and today's settled temperature on another tyre.

    `car_on_tyre` is today's car with the other wheels: radius, mass, inertia, drag. `pair` is fitted today.
    """
    teeth = range(max(6, pair.pinion_teeth // 2), pair.pinion_teeth + 4)
    cars = [
        replace(car_on_tyre, final_drive=final_drive(Pair(z, pair.spur_teeth), internal_ratio)) for z in teeth
    ]
    today_car = replace(question.car, final_drive=final_drive(pair, internal_ratio))
    today, *rungs = climb(
        replace(question, car=today_car),
        [today_car, *cars],
        executor=executor,
        progress=progress,
        should_stop=should_stop,
    )
    heat = [getattr(rung.settled, look_at.value) for rung in rungs]
    return BiggerTyre(
        today=today,
        unchanged=rungs[list(teeth).index(pair.pinion_teeth)],
        same_rollout_teeth=pair.pinion_teeth * question.car.tyre.radius_m / car_on_tyre.tyre.radius_m,
        same_heat_teeth=_crossing(list(teeth), heat, getattr(today.settled, look_at.value)),
        rungs=tuple(zip(teeth, rungs, strict=True)),
    )


def _crossing(teeth: list[int], heat: list[float], wanted: float) -> float | None:
    """Where the temperature, rising with the teeth, passes the wanted one; None when it never does."""
    for n in range(len(teeth) - 1, 0, -1):
        low, high = heat[n - 1], heat[n]
        if low <= wanted < high:
            part = 0.0 if math.isinf(high) else (wanted - low) / (high - low)
            return teeth[n - 1] + part
    return None
