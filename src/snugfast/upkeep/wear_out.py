"""Parts that wear out with nothing to see: at what age to renew them."""

from __future__ import annotations

from dataclasses import dataclass
from math import exp, gamma, inf, isfinite, log

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.numerics.quadrature import integral
from snugfast.numerics.roots import rising_root

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class RenewalPlan:
    """At what age to renew, and what that costs per clock unit; infinite age: run it until it fails."""

    age: float
    cost_rate: float
    run_to_failure_cost_rate: float

    @property
    def never(self) -> bool:
        """Whether renewing by age is not worth it."""
        return not isfinite(self.age)


def mean_life_within(*, shape: float, scale: float, age: float) -> float:
    """Mean exposure until failure or until this age, whichever comes first; Weibull."""
    end = min(age / scale, 40.0 ** (1.0 / shape))  # beyond it nothing is left to add
    # In the square root of the age the law is smooth down to zero, whatever the shape.
    return scale * integral(lambda s: 2.0 * s * np.exp(-(s ** (2.0 * shape))), 0.0, end**0.5, pieces=16)


def renewal_cost_rate(
    *, shape: float, scale: float, age: float, planned_cost: float, failure_cost: float
) -> float:
    """Money per clock unit when the part is renewed at this age or at failure, whichever comes first."""
    reaches = exp(-((age / scale) ** shape))
    spent = planned_cost * reaches + failure_cost * (1.0 - reaches)
    return spent / mean_life_within(shape=shape, scale=scale, age=age)


@formula(source="barlow-hunter-1960", where="age replacement: h(T)·∫R + R(T) = c_f/(c_f − c_p)")
def best_age(*, shape: float, scale: float, planned_cost: float, failure_cost: float) -> RenewalPlan:
    """The age at which renewing costs least in the long run; Weibull lives.

    At that age, hazard times mean life so far plus the chance to get there is c_f/(c_f − c_p), and the cost
    rate is (c_f − c_p)·h. A hazard that does not rise, or a failure no dearer than a planned renewal, has no
    such age.
    Raises ImpossibleInput for a shape, a scale or a cost that is not above zero.
    """
    if min(shape, scale, planned_cost, failure_cost) <= 0.0:
        raise ImpossibleInput("Shape, scale and both costs must be above zero.", "Give positive numbers.")
    to_failure = failure_cost / (scale * gamma(1.0 + 1.0 / shape))
    if shape <= 1.0 or failure_cost <= planned_cost:
        return RenewalPlan(inf, to_failure, to_failure)
    wanted = failure_cost / (failure_cost - planned_cost)

    def above(log_age: Floats) -> Floats:
        lived = exp(float(log_age))
        reaches = exp(-(lived**shape))
        steep = shape * lived ** (shape - 1.0)
        return np.asarray(steep * mean_life_within(shape=shape, scale=1.0, age=lived) + reaches - wanted)

    # Where a life is all but over, (t/scale)^shape = 500, the age and the failure come to the same.
    last = log(500.0) / shape
    age = exp(float(rising_root(above, low=-60.0 / shape, high=last)))
    if log(age) >= last - 1e-6:
        return RenewalPlan(inf, to_failure, to_failure)
    hazard = shape / scale * age ** (shape - 1.0)
    return RenewalPlan(age * scale, (failure_cost - planned_cost) * hazard, to_failure)
