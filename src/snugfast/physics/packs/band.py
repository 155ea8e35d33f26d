"""A value with the two ends between which it very likely lies."""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput


@dataclass(frozen=True, slots=True)
class Band:
    """Low end, likely value, high end, all in the unit named by whoever holds the band.

    Raises ImpossibleInput when the three do not stand in order.
    """

    low: float
    likely: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise ImpossibleInput(
                f"A band from {self.low:g} over {self.likely:g} to {self.high:g} is out of order.",
                "Give the low end first and the high end last.",
            )

    @classmethod
    def exactly(cls, value: float) -> Band:
        """A band of no width, for what is known."""
        return cls(value, value, value)

    @property
    def ends(self) -> tuple[float, float, float]:
        """Low, likely, high, for sums that go through all three."""
        return self.low, self.likely, self.high
