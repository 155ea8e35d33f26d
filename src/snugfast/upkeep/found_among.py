"""One part of several was found, nobody knows which: what that says of it and of the others together.

The parts are independent before the look, and not after it: was it the one that was found before, the others
are good; was it another and a false alarm, that one is still there. Lots know of no such ties. But parts that
nobody named are alike to all that comes after, so it only counts how many of them are defective: they are
given the presences that leave the mean number and the chance of none as they are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]
HALVINGS = 50
LEAST = 1e-200


@dataclass(frozen=True, slots=True)
class Look:
    """How likely a look finds one part, and passes it over; each a number, or one per lot and grid point."""

    seen: float  # found, when it is defective
    missed: float
    alarm: Floats  # found, when it is good
    quiet: Floats


def found_among(
    presences: Floats, counts: Floats, giver: int, look: Look, *, named: bool
) -> tuple[Floats, Floats]:
    """(presence of the found part, (points,); of a part of each lot afterwards, (lots, points)).

    `presences` (lots, points) and `counts` (lots,) are before the look; each lot but the `giver` has one
    part, and takes one of the giver's in its stead as far as its own was the one found. When the found part
    has a name from now on, the others keep what each has by itself, as it is worked on alone;
    the chance of none is kept still, so the named one carries a hair more than its own.
    """
    found = look.seen * presences + look.alarm * (1.0 - presences)
    passed = np.maximum(look.missed * presences + look.quiet * (1.0 - presences), LEAST)
    each = np.maximum(counts[:, None] * found / passed, LEAST)
    each /= each.sum(axis=0)  # chance that the part was one of this lot
    bad = look.seen * presences / np.maximum(found, LEAST)
    still = look.missed * presences / passed
    others = (1.0 - each) * still + each * still[giver]
    others[giver] = still[giver]
    mean = (each * bad).sum(axis=0)
    singles = np.arange(len(counts)) != giver
    good = 1.0 - still
    # None of the found part and the single lots: of those, the found one's place is the giver's part's.
    all_good = good[singles].prod(axis=0)
    swapped = all_good * good[giver] / np.maximum(good, LEAST)
    none = ((1.0 - bad) * each * np.where(singles[:, None], swapped, all_good)).sum(axis=0)
    if named:
        alone = 1.0 - none / np.maximum((1.0 - others[singles]).prod(axis=0), LEAST)
        return np.clip(np.maximum(mean, alone), 0.0, 1.0), others
    return _with_none(mean, others, singles, none)


def _with_none(
    mean: Floats, others: Floats, singles: NDArray[np.bool_], none: Floats
) -> tuple[Floats, Floats]:
    """The presences of the same mean number with this chance of none; as they are where that is likelier."""
    rest = others[singles]
    total = mean + rest.sum(axis=0)
    low, high = np.maximum(total - 1.0, 0.0) / np.maximum(rest.sum(axis=0), LEAST), np.ones_like(mean)
    low = np.minimum(low, 1.0)
    for _ in range(HALVINGS):
        share = 0.5 * (low + high)
        here = (1.0 - total + share * rest.sum(axis=0)) * (1.0 - share * rest).prod(axis=0)
        low, high = np.where(here < none, share, low), np.where(here < none, high, share)
    after = others.copy()
    after[singles] = high * rest
    return np.clip(total - high * rest.sum(axis=0), 0.0, 1.0), after
