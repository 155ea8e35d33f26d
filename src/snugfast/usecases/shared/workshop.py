"""The workshop a use-case works in: store, tables, clock and hand, filled by `app`."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from hashlib import sha256
from typing import TYPE_CHECKING, Any
from uuid import UUID

from snugfast.core.ids import mint
from snugfast.facts.load import read_build
from snugfast.facts.model import Build, Facts
from snugfast.records.entries import Entry, Fact, Precision

if TYPE_CHECKING:
    from snugfast.records.store.store import Store


@dataclass(slots=True)
class Workshop:
    """Cars, packs, people, stock and settings that belong together, and what is needed to work on them.

    `now` is the only clock; a test or the demo hands in its own. `author` is who is at the bench.
    """

    store: Store
    facts: Facts = field(repr=False)
    now: Callable[[], datetime]
    author: UUID
    zone: str = "UTC"
    read_only: bool = False
    _builds: dict[str, Build] = field(default_factory=dict, repr=False)
    _facts_mark: str = ""

    def build(self, document: Mapping[str, Any]) -> Build:
        """The build a document describes; the same document is read once."""
        key = json.dumps(document, sort_keys=True)
        if key not in self._builds:
            build = read_build(document, where="build", facts=self.facts)
            self._builds[key] = _with_traits_of_its_starter(build, self.facts)
        return self._builds[key]

    @property
    def facts_mark(self) -> str:
        """Changes when any row that a belief rests on changes, so that what was worked out is worked anew."""
        if not self._facts_mark:
            facts = self.facts
            rows = (
                facts.modes,
                facts.checks,
                facts.access,
                facts.assumptions,
                facts.treatments,
                facts.stress,
                facts.overload,
                facts.duty,
            )
            self._facts_mark = sha256(repr(rows).encode()).hexdigest()[:16]
        return self._facts_mark

    def assume(self, key: str) -> float:
        """One of our own numbers, by its key in the table of assumptions."""
        return self.facts.assumptions[key].value

    def new_id(self) -> UUID:
        """A fresh identity, ordered by time."""
        return mint(self.now())

    def entry(
        self,
        fact: Fact,
        *,
        happened_at: datetime | None = None,
        precision: Precision = Precision.MINUTE,
        id: UUID | None = None,
        replaces: Entry | None = None,
        typed: str = "",
    ) -> Entry:
        """An entry by the person at the bench, recorded now."""
        now = self.now()
        return Entry(
            id=id or self.new_id(),
            happened_at=happened_at or now,
            recorded_at=now,
            author=self.author,
            fact=fact,
            precision=precision,
            zone=self.zone,
            replaces=replaces.id if replaces else None,
            typed=typed,
        )


def _with_traits_of_its_starter(build: Build, facts: Facts) -> Build:
    """The build, with what it does not say of itself as the starter build says it came from.

    Tables ask for traits that a build written by an older program could not say yet; without them its checks
    would leave the sheet without a word.
    """
    if facts.traits.keys() <= build.traits.keys() or build.key not in facts.starters:
        return build
    return replace(build, traits={**facts.starters[build.key].traits, **build.traits})
