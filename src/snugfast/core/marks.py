"""Marks on formulas: which published relation a function is, where it stands, and where it was tried.

One function, one published relation. The mark names a key of `facts/sources.toml` and the place in it.
Limits are written once, here, and both the documentation and the cautions on results are made from them.
"""

from __future__ import annotations

import functools
import inspect
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field
from typing import ParamSpec, Protocol, TypeVar, cast

P = ParamSpec("P")
R = TypeVar("R")
R_co = TypeVar("R_co", covariant=True)


@dataclass(frozen=True, slots=True)
class Span:
    """The range in which a relation was tried. Outside it a result carries a caution."""

    low: float
    high: float

    def __post_init__(self) -> None:
        if not self.low <= self.high:
            raise ValueError(f"a span runs upwards, not from {self.low} to {self.high}")

    def holds(self, value: float) -> bool:
        """Whether the value lies inside, ends included."""
        return self.low <= value <= self.high

    def beyond(self, value: float) -> float:
        """How far outside the value lies, as a share of the span; 0 inside."""
        return max(self.low - value, value - self.high, 0.0) / ((self.high - self.low) or 1.0)


@dataclass(frozen=True, slots=True)
class Mark:
    """What a formula is: its source key, the place in that source, and its tried spans by argument."""

    source: str
    where: str
    spans: dict[str, Span]


class Formula(Protocol[P, R_co]):
    """A function that carries a mark."""

    mark: Mark
    __name__: str

    def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R_co: ...


def formula(*, source: str, where: str, **spans: Span) -> Callable[[Callable[P, R]], Formula[P, R]]:
    """Mark a function as one published relation.

    `source` is a key of `facts/sources.toml`; `where` the section, equation or table in it.
    Each further keyword names an argument of the function and the span it was tried in.
    Raises TypeError when a span names no argument.
    """

    def put(function: Callable[P, R]) -> Formula[P, R]:
        unknown = set(spans) - set(inspect.signature(function).parameters)
        if unknown:
            raise TypeError(f"{function.__name__} has no argument {', '.join(sorted(unknown))}")
        mark = Mark(source=source, where=where, spans=dict(spans))
        marked = cast("Formula[P, R]", _noting(function, mark) if spans else function)
        marked.mark = mark
        return marked

    return put


@dataclass(slots=True)
class Left:
    """Which spans were left while somebody watched, with the value that lay farthest outside each."""

    farthest: dict[tuple[str, str], tuple[float, Span]] = field(default_factory=dict)

    def note(self, formula_name: str, argument: str, value: float, span: Span) -> None:
        """Keep the value when none lay farther outside."""
        known = self.farthest.get((formula_name, argument))
        if known is None or span.beyond(value) > span.beyond(known[0]):
            self.farthest[formula_name, argument] = (value, span)

    @property
    def sentences(self) -> tuple[str, ...]:
        """One sentence for each argument that left its span, as a person reads it; the same is said once."""
        told = (_sentence(argument, *outside) for (_, argument), outside in self.farthest.items())
        return tuple(dict.fromkeys(told))


@contextmanager
def watching() -> Iterator[Left]:
    """Notes every span that is left by a formula worked out inside, however deep."""
    left = Left()
    before = _watched.set(left)
    try:
        yield left
    finally:
        _watched.reset(before)
        if (outer := _watched.get()) is not None:
            for (name, argument), (value, span) in left.farthest.items():
                outer.note(name, argument, value, span)


_watched: ContextVar[Left | None] = ContextVar("watched", default=None)


def _noting(function: Callable[P, R], mark: Mark) -> Callable[P, R]:
    """The function, which notes where it leaves a span when somebody watches; else it costs one look."""
    signature = inspect.signature(function)

    @functools.wraps(function)
    def noting(*args: P.args, **kwargs: P.kwargs) -> R:
        left = _watched.get()
        if left is not None:
            arguments = signature.bind(*args, **kwargs).arguments
            for name, span in mark.spans.items():
                value = arguments.get(name)
                if isinstance(value, int | float) and not span.holds(float(value)):
                    left.note(function.__name__, name, float(value), span)
        return function(*args, **kwargs)

    return noting


# How a person reads a unit at the end of a name: the words after the number, factor and shift from SI.
_READ_AS = {
    "K": (" °C", 1.0, -273.15),
    "degC": (" °C", 1.0, 0.0),
    "rad": ("°", 57.29577951308232, 0.0),
    "m_s": (" m/s", 1.0, 0.0),
    "m": (" mm", 1e3, 0.0),
    "V": (" V", 1.0, 0.0),
    "J_per_mol": (" J/mol", 1.0, 0.0),
}


def _sentence(argument: str, value: float, span: Span) -> str:
    unit = next(
        (unit for unit in sorted(_READ_AS, key=len, reverse=True) if argument.endswith(f"_{unit}")), ""
    )
    stem = argument.removesuffix(f"_{unit}") if unit else argument
    words, factor, shift = _READ_AS.get(unit, ("", 1.0, 0.0))
    at, low, high = (f"{each * factor + shift:.3g}{words}" for each in (value, span.low, span.high))
    return f"Less sure than it looks: {stem.replace('_', ' ')} {at}; this was tried for {low} to {high}."
