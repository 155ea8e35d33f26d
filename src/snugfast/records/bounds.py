"""How far a value of an entry can reach at all, told once, beside its field.

Far wider than what may be typed (`rules`): outside these bounds nothing can be worked out with a value, so an
entry that holds one is not read but shown as unreadable. They never become narrower, for what was once kept
has to stay readable.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

EARLIEST, LATEST = datetime(1900, 1, 1, tzinfo=UTC), datetime(2200, 1, 1, tzinfo=UTC)
LONGEST_TEXT = 20_000  # letters of anything typed


@dataclass(frozen=True, slots=True)
class Within:
    """A number from `low` to `high`, ends included; without `low` itself where it must lie above it."""

    low: float
    high: float
    above: bool = False

    def holds(self, number: float) -> bool:
        """Whether the number lies inside."""
        return (self.low < number if self.above else self.low <= number) and number <= self.high

    @property
    def words(self) -> str:
        """For a way out: “above 0, up to 10”."""
        if self.above:
            return f"above {self.low:g}, up to {self.high:g}"
        return f"{self.low:g} to {self.high:g}"


@dataclass(frozen=True, slots=True)
class AtMost:
    """A text of so many letters, or a list of so many items."""

    count: int


@dataclass(frozen=True, slots=True)
class IsBuild:
    """A table that can be folded as a build: its places, if it has any, are tables that each have a key."""


@dataclass(frozen=True, slots=True)
class IsSettings:
    """A table whose known settings are what they have to be: three letters, minutes' worth, a zone's name."""
