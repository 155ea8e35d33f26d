"""What a chosen set of checks is worth, and what each of them adds to the others."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from snugfast.upkeep.choosing import AtStake
from snugfast.upkeep.worth import Cover


def together(covers: Mapping[str, Cover], chosen: Iterable[str]) -> float:
    """The chance that at least one of these checks sees it."""
    missed = 1.0
    for key in chosen:
        if key in covers:
            missed *= 1.0 - covers[key].detection
    return 1.0 - missed


class SheetSums:
    """What a chosen set is worth over all that is at stake, and what each check adds to the others."""

    def __init__(self, stakes: Sequence[AtStake], chosen: Iterable[str]) -> None:
        keys = set(chosen)
        self.worth = 0.0
        self._lost: dict[str, float] = {}
        for stake in stakes:
            bits = {key: 1 << bit for bit, key in enumerate(stake.checks) if key in keys}
            mask = sum(bits.values())
            self.worth += stake.worth[mask]
            for key, bit in bits.items():
                self._lost[key] = self._lost.get(key, 0.0) + stake.worth[mask] - stake.worth[mask ^ bit]

    def lost_without(self, key: str) -> float:
        """What leaving this one check out of the set would lose."""
        return self._lost.get(key, 0.0)
