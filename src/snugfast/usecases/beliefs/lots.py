"""Which of the like parts of a place stand apart in the beliefs, since something happened to them alone.

A nut is renewed at one corner, a bearing fails at another: from then on that part is a lot by itself. The
rest stay together. A part that nobody gave a spot to can stand apart too: one of those without a name.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from snugfast.upkeep.beliefs import BeliefBank

Floats = NDArray[np.float64]
Which = NDArray[np.bool_]
APART = 1e-3  # of presence or age: lots without a name that differ less are told as one


@dataclass(frozen=True, slots=True)
class Lot:
    """Parts of one row that have been through the same.

    `spot` is empty for parts that nobody named. `left_at` is when a defect was last known to be left here,
    `weighed_at` when it was last taken into account that somebody may have mended it since.
    """

    spot: str = ""
    left_at: datetime | None = None
    weighed_at: datetime | None = None


WHOLE = (Lot(),)


@dataclass
class Lots:
    """The lots of each row of a bank, in the bank's own order; a row that is not here has one lot."""

    bank: BeliefBank
    apart: dict[int, tuple[Lot, ...]] = field(default_factory=dict)

    def of(self, row: int) -> tuple[Lot, ...]:
        """The lots of a row."""
        return self.apart.get(row, WHOLE)

    def without_name(self, row: int) -> list[int]:
        """The lots of a row whose parts nobody named."""
        return [n for n, lot in enumerate(self.of(row)) if not lot.spot]

    def change(self, row: int, lot: int, now: Lot) -> None:
        """Say something else of one lot."""
        lots = list(self.of(row))
        lots[lot] = now
        self.apart[row] = tuple(lots)
        if self.apart[row] == WHOLE:
            del self.apart[row]

    def one(self, row: int, spot: str, spots: Sequence[str], likely: Floats) -> tuple[int, int]:
        """(the lot of one part, the lot it was drawn from): the part at a spot, or one that nobody named.

        `likely` (lots, grid points) is how likely each part was to be the one that this is about. Among parts
        that stand apart already, one without a name is taken to be the likeliest.
        """
        lots = self.of(row)
        counts = self.bank[[row]].counts
        if counts.sum() == 1.0:
            return 0, 0
        if spot in spots:
            for n, lot in enumerate(lots):
                if lot.spot == spot:
                    return n, n
        else:
            spot = ""
            if (known := self._likelier_named(row, lots, likely)) is not None:
                return known, known
        pool = self.without_name(row)
        parent = max(pool, key=lambda n: (counts[n], -n))
        drawn = self.bank.drawn_from(row, pool, likely)
        if drawn == len(lots):
            self.apart[row] = (*lots, Lot(spot))
        else:
            self.change(row, drawn, replace(lots[drawn], spot=spot))
        return drawn, parent

    def any_of(self, row: int, lot: int) -> int:
        """Any one part of a lot, which nobody names; its lot."""
        new = self.bank.part_off(row, lot)
        self.apart[row] = (*self.of(row), Lot())
        return new

    def _likelier_named(self, row: int, lots: Sequence[Lot], likely: Floats) -> int | None:
        """The part with a name that it most likely was; None when it was likelier one of the others."""
        named = [n for n, lot in enumerate(lots) if lot.spot]
        if not named:
            return None
        here = self.bank[[row]]
        chance = here.counts * (here.weights[0] * likely).sum(axis=1)
        best = max(named, key=lambda n: (chance[n], -n))
        others = sum(chance[n] for n in range(len(lots)) if not lots[n].spot)
        return best if len(named) == len(lots) or chance[best] > others else None

    def tidy(self, row: int) -> None:
        """Put a last lot without a name back to its like when it hardly differs."""
        lots = self.of(row)
        if len(lots) < 2 or lots[-1] != Lot():
            return
        here = self.bank[[row]]
        for n, lot in enumerate(lots[:-1]):
            near = abs(here.part_presence[n] - here.part_presence[-1]) < APART
            age, last = here.age[n], here.age[-1]
            steady = here.laws[n, 3] == 1.0
            if lot == Lot() and near and (steady or abs(age - last) <= APART * max(age, 1.0)):
                self.bank.put_together(row, n, len(lots) - 1)
                self.apart[row] = lots[:-1]
                if self.apart[row] == WHOLE:
                    del self.apart[row]
                return

    def keys(self, rows: Sequence[int]) -> Iterator[tuple[int, int]]:
        """(row, lot) of all lots of some rows, in the bank's order."""
        for row in rows:
            for lot in range(len(self.of(int(row)))):
                yield int(row), lot


def mask(size: int, lots: Sequence[int]) -> Which:
    """True for these lots of a row of so many."""
    which = np.zeros(size, dtype=bool)
    which[list(lots)] = True
    return which
