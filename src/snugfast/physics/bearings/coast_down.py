"""A car pushed and let roll over a marked length, both ways, with the mesh opened: its rolling resistance.

Rolled one way only, a floor that drops a millimetre in a metre passes for less friction. Rolled both ways the
slope adds on one and takes off on the other, and the mean is free of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.bearings.timed_trials import Measured, product_uncertainty
from snugfast.physics.validation import require_not_negative, require_positive

GRAVITY_m_s2 = 9.80665


@formula(
    source="openstax-university-physics-1", where="ch. 10 key equations, θ = ½αt² run backwards, for a length"
)
def slowing_to_a_stop(*, distance_m: float, time_s: float) -> float:
    """How hard a car slowed from a mark until it stood by itself, 2s/t². Metres per second squared."""
    require_positive(distance_m=distance_m, time_s=time_s)
    return 2.0 * distance_m / time_s**2


@formula(
    source="openstax-university-physics-1", where="ch. 10 key equations, mean speed (ω₀+ω)/2, for a length"
)
def slowing_between_marks(*, first_m: float, first_s: float, second_m: float, second_s: float) -> float:
    """How hard a car slowed over two lengths in a row, from the time of each. Metres per second squared.

    The mean speed of each length is its speed at half its time; the two stand half of both times apart.
    """
    require_positive(first_m=first_m, first_s=first_s, second_m=second_m, second_s=second_s)
    return (first_m / first_s - second_m / second_s) / ((first_s + second_s) / 2.0)


@formula(
    source="openstax-university-physics-1",
    where="ch. 11 key equations, 1 + I/(m·r²)",
)
def rolling_coefficient(*, slowing_m_s2: float, rotating_share: float) -> float:
    """Rolling resistance as a share of the weight, a(1+κ)/g: turning wheels must be stopped too.

    `rotating_share` κ is the sum of I/r² of all that turns, over the mass of the car.
    """
    require_not_negative(rotating_share=rotating_share)
    return slowing_m_s2 * (1.0 + rotating_share) / GRAVITY_m_s2


@dataclass(frozen=True, slots=True)
class PushRoll:
    """Rolling coefficient and floor slope from a roll each way; the slope is positive downhill going out."""

    coefficient: Measured
    slope_rad: Measured


def push_roll(*, out_m_s2: Measured, back_m_s2: Measured, rotating_share: Measured) -> PushRoll:
    """Rolling resistance free of the floor's slope, from how hard the car slowed out and back.

    Out: a = g(c·cos s − sin s)/(1+κ); back with + in place of −. Their mean gives c (cos s is one to a part
    in ten thousand on any floor one would use), their half difference the slope. κ is common to both ways, so
    its uncertainty does not shrink with the mean. Raises ImpossibleInput when the mean is not a slowing.
    """
    mean = Measured(
        (out_m_s2.value + back_m_s2.value) / 2.0, math.hypot(out_m_s2.uncertainty, back_m_s2.uncertainty) / 2
    )
    if mean.value <= 0.0:
        raise ImpossibleInput("Out and back together the car did not slow.", "Time both ways again.")
    heavier = Measured(1.0 + rotating_share.value, rotating_share.uncertainty)
    coefficient = rolling_coefficient(slowing_m_s2=mean.value, rotating_share=rotating_share.value)
    half = (back_m_s2.value - out_m_s2.value) / 2.0
    slope_sine = rolling_coefficient(slowing_m_s2=half, rotating_share=rotating_share.value)
    slope_error = heavier.value / GRAVITY_m_s2 * mean.uncertainty
    return PushRoll(
        coefficient=Measured(coefficient, coefficient * product_uncertainty((mean, 1.0), (heavier, 1.0))),
        slope_rad=Measured(math.asin(slope_sine), math.hypot(slope_error, slope_sine * heavier.relative)),
    )
