"""Figures and what they rest on, as pages show them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Self

from snugfast.core.figures import Figure
from snugfast.facts.model import Seen
from snugfast.usecases.pedigree import SEEN_WORDS
from snugfast.usecases.shared.citing import Cited, tell_figure

Pairs = tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class RestsOn:
    """One source under figures: its key for the link, title, place in it, and how it was seen in words."""

    key: str
    title: str
    where: str
    seen: str

    @classmethod
    def of(cls, cited: Cited) -> Self:
        title = f"{cited.title}, {cited.by}" if cited.by else cited.title
        return cls(cited.key, title, cited.where, SEEN_WORDS[Seen(cited.seen)])


def rests_on(sources: Iterable[Cited]) -> tuple[RestsOn, ...]:
    """The lines under the figures of a page."""
    return tuple(RestsOn.of(source) for source in sources)


def told(*named: tuple[str, Figure | None], digits: int = 3) -> Pairs:
    """Named figures in words; what is not known is left out."""
    return tuple((name, tell_figure(figure, digits)) for name, figure in named if figure is not None)
