"""How warm a car gets minute by minute in one kind of driving, and what loads it carries meanwhile."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from snugfast.physics.powertrain.runs import drive
from snugfast.physics.study.gearing import Question, for_ever

HURRY = 3.0  # heat capacities are divided by this; three minutes of driving pass in one


@dataclass(frozen=True, slots=True)
class Warming:
    """What one kind of driving does to a car.

    `can_K` and `controller_K` are the highest rises over the air so far, shape (minutes,). Currents are root
    mean squares over the driving: they heat what they pass through with their square.
    """

    can_K: tuple[float, ...]
    controller_K: tuple[float, ...]
    rms_motor_A: float
    rms_pack_A: float


def warming(questions: Sequence[Question], minutes: Sequence[int]) -> list[Warming]:
    """Drive each question's car in its style, from cool parts, with a charge that does not fall.

    `minutes` are whole and rise. A winding that would burn stops the driving; the rise of that moment then
    stands for the minutes after it.
    """
    every_s = 60.0 / HURRY
    entries = [replace(for_ever(one, one.car), hurry=HURRY) for one in questions]
    runs = drive(entries, for_s=(minutes[-1] + 1.0) * every_s, trace_every_s=every_s)
    warm = []
    for question, run in zip(questions, runs, strict=True):
        so_far = np.maximum.accumulate(run.rises_K(question.place.air.temperature_degC), axis=0)
        _, can, controller, _ = so_far[np.minimum(np.array(minutes, np.intp), len(so_far) - 1)].T
        warm.append(
            Warming(
                can_K=tuple(can.tolist()),
                controller_K=tuple(controller.tolist()),
                rms_motor_A=run.rms_motor_A,
                rms_pack_A=run.rms_pack_A,
            )
        )
    return warm
