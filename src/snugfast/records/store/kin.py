"""Which cars and packs an entry concerns: its own, and those of all that it replaces or withdraws.

A correction may move a run to another car, and a withdrawal names no car at all. So that asking for one car
finds everything that decides what stands about it, entries that refer to each other share their subjects,
whichever of them arrives first.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, or_, select

from snugfast.records.entries import Entry, SettingsChosen, subjects
from snugfast.records.store import schema
from snugfast.records.store.rows import withdrawal_of

_HANDFUL = 500  # identities in one question; both databases would take more


class Kin:
    """New entries and those here that refer to them or are referred to, directly or through others."""

    def __init__(self, connection: Connection, new: Sequence[Entry], *, workshop: UUID) -> None:
        self._connection = connection
        self._own: dict[UUID, set[UUID]] = {}
        self._parent: dict[UUID, UUID] = {}
        for entry in new:
            self._own[entry.id] = _own_subjects(entry, workshop)
            self._join(entry.id, entry.replaces, withdrawal_of(entry))
        self._stored: set[UUID] = set()
        self._fetch(set(self._parent))
        self._shared = self._share()

    def subjects(self) -> list[UUID]:
        """Every car and pack that the new entries concern."""
        return sorted(set[UUID]().union(*self._shared.values()))

    def missing_links(self, position_of: Mapping[UUID, int]) -> list[dict[str, Any]]:
        """The rows that `entry_subject` lacks; an entry that was here is drawn in by the newest arrival."""
        newest: dict[UUID, int] = {}
        for identity, position in position_of.items():
            root = self._root(identity)
            newest[root] = max(newest.get(root, 0), position)
        return [
            {"entry": identity, "subject": subject, "position": position_of.get(identity, newest[root])}
            for identity, own in self._own.items()
            if (root := self._root(identity)) in newest
            for subject in sorted(self._shared[root] - (own if identity in self._stored else set()))
        ]

    def _fetch(self, frontier: set[UUID]) -> None:
        """Go from reference to reference until nobody new turns up."""
        asked: set[UUID] = set()
        while frontier:
            asked |= frontier
            for identity, replaces, withdraws in self._referring(frontier):
                self._stored.add(identity)
                self._own.setdefault(identity, set())
                self._join(identity, replaces, withdraws)
            frontier = set(self._parent) - asked
        link = schema.entry_subject.c
        for ids in in_handfuls(self._stored):
            for identity, subject in self._connection.execute(
                select(link.entry, link.subject).where(link.entry.in_(ids))
            ):
                self._own[identity].add(subject)

    def _referring(self, ids: set[UUID]) -> Iterator[tuple[UUID, UUID | None, UUID | None]]:
        entry = schema.entry.c
        for some in in_handfuls(ids):
            rows = self._connection.execute(
                select(entry.id, entry.replaces, entry.withdraws).where(
                    or_(entry.id.in_(some), entry.replaces.in_(some), entry.withdraws.in_(some))
                )
            )
            yield from ((row.id, row.replaces, row.withdraws) for row in rows)

    def _share(self) -> dict[UUID, set[UUID]]:
        shared: dict[UUID, set[UUID]] = {}
        for identity, own in self._own.items():
            shared.setdefault(self._root(identity), set()).update(own)
        return shared

    def _join(self, identity: UUID, *others: UUID | None) -> None:
        self._parent.setdefault(identity, identity)
        for other in others:
            if other is not None:
                self._parent.setdefault(other, other)
                self._parent[self._root(other)] = self._root(identity)

    def _root(self, identity: UUID) -> UUID:
        while (parent := self._parent[identity]) != identity:
            self._parent[identity] = identity = self._parent[parent]
        return identity


def in_handfuls(ids: Iterable[UUID]) -> Iterator[list[UUID]]:
    """Identities in lists short enough for one question."""
    every = list(ids)
    for start in range(0, len(every), _HANDFUL):
        yield every[start : start + _HANDFUL]


def _own_subjects(entry: Entry, workshop: UUID) -> set[UUID]:
    """The cars and packs of an entry; the workshop itself for what is about all of it."""
    return {workshop} if isinstance(entry.fact, SettingsChosen) else set(subjects(entry.fact))
