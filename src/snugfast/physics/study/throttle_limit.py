"""The throttle travel that keeps a learner's car below a speed."""

from __future__ import annotations

from dataclasses import replace

from scipy.optimize import brentq

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain.powertrain import Demand, moment
from snugfast.physics.study.gearing import Question


def throttle_limit_for(question: Question, speed_m_s: float) -> float | None:
    """The throttle travel that keeps a learner's car at or below a speed on the flat, 0 to 1.

    Worked at the start of the pack, when the car is fastest. None when the car does not reach the speed at
    full throttle, so that no limit is needed.
    """
    if speed_m_s <= 0.0:
        raise ImpossibleInput("A speed limit is above zero.", "Give it like 15 km/h; walking is 5 km/h.")
    state = replace(question.start(), speed_m_s=speed_m_s)

    def pull(throttle: float) -> float:
        return float(moment(question.car, question.place, state, Demand(throttle=throttle)).rates[0])

    if pull(1.0) <= 0.0:
        return None
    return float(brentq(pull, 0.0, 1.0, xtol=1e-4))
