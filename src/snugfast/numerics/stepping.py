"""One classical fourth-order step, for anything that has a rate."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.float64]


def rk4_step(
    rates: Callable[[float, Numbers], Numbers], time: float, numbers: Numbers, step: float
) -> Numbers:
    """The numbers one step later, by the classical fourth-order Runge–Kutta rule."""
    k1 = rates(time, numbers)
    k2 = rates(time + step / 2, numbers + step / 2 * k1)
    k3 = rates(time + step / 2, numbers + step / 2 * k2)
    k4 = rates(time + step, numbers + step * k3)
    return numbers + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4)


def march(
    rates: Callable[[float, Numbers], Numbers], numbers: Numbers, *, until: float, step: float
) -> Numbers:
    """The numbers after a whole number of equal steps that ends at `until`."""
    count = max(1, round(until / step))
    for n in range(count):
        numbers = rk4_step(rates, n * until / count, numbers, until / count)
    return numbers
