"""Cautions as a door shows them, with where they come from."""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, ParamSpec, TypeVar, cast

from snugfast.core.marks import watching
from snugfast.facts.model import Facts

P = ParamSpec("P")
A = TypeVar("A")


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution as a door shows it, with where it comes from."""

    text: str
    adults_only: bool
    seen: str
    short: str = ""  # for a line; the text where there is none


def cautions_of(facts: Facts, keys: Sequence[str]) -> tuple[Caution, ...]:
    """The cautions of a step."""
    found = [facts.cautions[key] for key in keys]
    return tuple(
        Caution(
            caution.text,
            caution.adults_only,
            facts.sources[caution.pedigree.source].seen.value,
            caution.short or caution.text,
        )
        for caution in found
    )


def cautioned(question: Callable[P, A]) -> Callable[P, A]:
    """A question whose answer has `cautions`: each span that its sums left becomes one of them."""

    @functools.wraps(question)
    def asked(*args: P.args, **kwargs: P.kwargs) -> A:
        with watching() as left:
            answer = question(*args, **kwargs)
        if not left.farthest:
            return answer
        more = tuple(Caution(text, False, "outside the tried range") for text in left.sentences)
        found = cast("Any", answer)
        return cast("A", replace(found, cautions=(*found.cautions, *more)))

    asked.watches_spans = True  # type: ignore[attr-defined]
    return asked
