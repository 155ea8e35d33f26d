"""Where published views, makers and practice differ about packs: who says what, and how each was seen."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from snugfast.facts.model import Facts
from snugfast.usecases.packs.tables import pack_tables


@dataclass(frozen=True, slots=True)
class ViewTold:
    """What one source says, with its title and how it was seen."""

    says: str
    title: str
    seen: str
    source: str


@dataclass(frozen=True, slots=True)
class Matter:
    """A matter that sources disagree on, and what the sums take."""

    key: str
    question: str
    views: tuple[ViewTold, ...]
    taken: str


def matters(facts: Facts, keys: Collection[str] = ()) -> tuple[Matter, ...]:
    """The matters of these keys, or all of them."""
    return tuple(
        Matter(
            key=one.key,
            question=one.question,
            views=tuple(
                ViewTold(
                    says=view.says,
                    title=facts.sources[view.source].title,
                    seen=facts.sources[view.source].seen.value,
                    source=view.source,
                )
                for view in one.views
            ),
            taken=one.taken,
        )
        for one in pack_tables().disagreements
        if not keys or one.key in keys
    )
