"""The rows of a story that one car, or one pack, is made of, and finding some of them."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Clock, Mode, Place

Rows = NDArray[np.intp]


@dataclass(frozen=True)
class Scope:
    """The rows an entry bears on, with the mode and the place of each (a pack's rows have no place).

    Positions are numbers in this scope; `rows` says which row of the bank each is.
    """

    rows: Rows
    modes: tuple[Mode, ...]
    places: tuple[Place | None, ...]

    def where(self, wanted: Callable[[Mode, Place | None], bool]) -> list[int]:
        """The positions that are wanted."""
        pairs = zip(self.modes, self.places, strict=True)
        return [n for n, (mode, place) in enumerate(pairs) if wanted(mode, place)]

    def of_modes(self, keys: Iterable[str]) -> list[int]:
        """The positions of some ways to fail, in order."""
        return sorted(n for key in keys for n in self._by_mode.get(key, ()))

    def on_clock(self, clock: Clock) -> Rows:
        """The positions of what wears by one clock."""
        return self._by_clock[clock]

    def at_place(self, key: str) -> list[int]:
        """The positions of one place."""
        return self.where(lambda _, place: place is not None and place.key == key)

    def at_roles(self, roles: Sequence[str]) -> list[int]:
        """The positions of places of these roles."""
        return self.where(lambda _, place: place is not None and place.role in roles)

    def only(self, positions: Sequence[int]) -> Scope:
        """A scope of some positions."""
        return Scope(
            self.rows[list(positions)],
            tuple(self.modes[n] for n in positions),
            tuple(self.places[n] for n in positions),
        )

    @cached_property
    def _by_mode(self) -> Mapping[str, Sequence[int]]:
        found: dict[str, list[int]] = {}
        for n, mode in enumerate(self.modes):
            found.setdefault(mode.key, []).append(n)
        return found

    @cached_property
    def _by_clock(self) -> Mapping[Clock, Rows]:
        return {
            clock: np.array([n for n, mode in enumerate(self.modes) if mode.clock is clock], np.intp)
            for clock in Clock
        }


@dataclass(frozen=True, slots=True)
class LotsOf:
    """Where the lots of a scope's rows stand in an array of them: from `first[n]` to `first[n + 1]`."""

    first: Rows

    @property
    def size(self) -> int:
        """How many lots there are."""
        return int(self.first[-1])


NOTHING = Scope(np.empty(0, np.intp), (), ())
