"""Where on a car: the corners and ends to touch on a drawing of it from above, other places as chips."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

CORNERS = ("front left", "front right", "rear left", "rear right")
ENDS = ("front", "rear")
SIDES = ("left", "right")


@dataclass(frozen=True, slots=True)
class Where:
    """The places something can be at, sorted by where they are touched.

    `corners`, `ends` and `sides` stand on the drawing; `others` are named.
    """

    corners: tuple[str, ...]
    ends: tuple[str, ...]
    sides: tuple[str, ...]
    others: tuple[str, ...]

    @classmethod
    def among(cls, names: Iterable[str]) -> Self:
        """The places in their order; an empty name is no place."""
        known = tuple(dict.fromkeys(filter(None, names)))
        corners = tuple(name for name in CORNERS if name in known)
        ends = tuple(name for name in ENDS if name in known)
        sides = tuple(name for name in SIDES if name in known)
        drawn = {*corners, *ends, *sides}
        return cls(corners, ends, sides, tuple(name for name in known if name not in drawn))

    @property
    def drawn(self) -> bool:
        """Whether there is anything to touch on the drawing."""
        return bool(self.corners or self.ends or self.sides)

    @property
    def any(self) -> bool:
        """Whether there is a choice to make at all."""
        return self.drawn or bool(self.others)
