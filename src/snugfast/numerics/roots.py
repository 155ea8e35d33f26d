"""Roots of many rising functions at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


def rising_root(
    function: Callable[[Floats], Floats], *, low: Floats | float, high: Floats | float, steps: int = 64
) -> Floats:
    """Where rising functions cross zero, one root per entry, by halving between `low` and `high`.

    Always the same number of halvings, so an entry's root never depends on its neighbours. An entry without a
    root inside ends at the nearer end. 64 halvings leave nothing between two floats of the same size.
    """
    below, above = np.broadcast_arrays(np.asarray(low, float), np.asarray(high, float))
    below, above = below.copy(), above.copy()
    for _ in range(steps):
        middle = 0.5 * (below + above)
        under = function(middle) < 0.0
        below = np.where(under, middle, below)
        above = np.where(under, above, middle)
    return np.asarray(0.5 * (below + above))
