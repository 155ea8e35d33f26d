"""Figures: a number that can say its unit, its band, where it comes from and what to beware of."""

from __future__ import annotations

from dataclasses import dataclass, replace


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a number comes from: a key of `facts/sources.toml` and the place in it."""

    source: str
    where: str = ""


@dataclass(frozen=True, slots=True)
class Figure:
    """A value with its unit, band, origins and cautions. `low` and `high` are None when no band is known."""

    value: float
    unit: str
    low: float | None = None
    high: float | None = None
    origins: tuple[Origin, ...] = ()
    cautions: tuple[str, ...] = ()

    def with_band(self, low: float, high: float) -> Figure:
        """The same figure with a band; the ends may come in either order."""
        return replace(self, low=min(low, high), high=max(low, high))
