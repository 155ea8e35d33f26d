"""The cheapest choice of sets that covers everything, proved to be so (HiGHS)."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array


def cheapest_cover(covers: Sequence[Sequence[int]], costs: ArrayLike, items: int) -> tuple[int, ...]:
    """Which sets to take so that each of `items` things is in one of them, at the least cost.

    `covers` lists for each set the numbers of the things in it, `costs` one positive cost for each set.
    Returns the numbers of the sets taken, rising; nothing is returned for no things. Raises ValueError when
    some thing is in no set, RuntimeError when the solver ends without a proof.
    """
    if items == 0:
        return ()
    rows = [item for cover in covers for item in cover]
    columns = [number for number, cover in enumerate(covers) for _ in cover]
    if set(rows) < set(range(items)):
        raise ValueError(f"in no set: {sorted(set(range(items)) - set(rows))}")
    inside = csr_array((np.ones(len(rows)), (rows, columns)), shape=(items, len(covers)))
    found = milp(
        np.asarray(costs, dtype=np.float64),
        constraints=LinearConstraint(inside, lb=1.0),
        integrality=np.ones(len(covers)),
        bounds=Bounds(0.0, 1.0),
    )
    if found.status != 0:
        raise RuntimeError(f"the cover was not solved: {found.message}")
    return tuple(int(number) for number in np.flatnonzero(found.x > 0.5))
