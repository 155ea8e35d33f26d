"""Marks on formulas: which published relation a function is, where it stands, and where it was tried.

One function, one published relation. The mark names a key of `facts/sources.toml` and the place in it.
Limits are written once, here, and both the documentation and the cautions on results are made from them.
"""

from __future__ import annotations

import inspect
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, ParamSpec, Protocol, TypeVar, cast

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
        marked = cast("Formula[P, R]", function)
        marked.mark = Mark(source=source, where=where, spans=dict(spans))
        return marked

    return put


def outside_spans(function: Formula[..., Any], arguments: dict[str, Any]) -> tuple[str, ...]:
    """One sentence for each scalar argument that lies outside the span the relation was tried in."""
    sentences = []
    for name, span in function.mark.spans.items():
        value = arguments.get(name)
        if isinstance(value, int | float) and not span.holds(float(value)):
            sentences.append(
                f"{name} = {value:g} lies outside {span.low:g} to {span.high:g}, where this was tried."
            )
    return tuple(sentences)
