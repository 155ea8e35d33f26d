"""Writing to the journal: entries are added, never changed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from uuid import UUID

from sqlalchemy import Connection, func, insert, select, update

from snugfast.core.errors import RefusedAction, StaleRecord
from snugfast.records.entries import Entry
from snugfast.records.store import schema
from snugfast.records.store.kin import Kin, in_handfuls
from snugfast.records.store.reads import Reads
from snugfast.records.store.rows import row_of, same_entry


class AnotherUnderThatId(RefusedAction):
    """An entry came with the identity of one that says something else."""


class Journal:
    """The journal inside one piece of work, which began when the newest entry had position `began_at`."""

    def __init__(self, connection: Connection, *, began_at: int, workshop: UUID) -> None:
        self._connection = connection
        self._began_at = began_at
        self._workshop = workshop

    def add(self, entry: Entry, *, seen: int | None = None) -> bool:
        """Add one entry. True when it is new, False when it was here already (a second tap).

        `seen` is the position at which the writer looked. Raises StaleRecord when the cars and packs the
        entry is about (or those of what it replaces or withdraws) have moved since, AnotherUnderThatId when
        the identity is taken by something else, WrongData when the entry holds what cannot be saved.
        """
        return self.add_all([entry], seen=seen) == 1

    def add_all(self, entries: Iterable[Entry], *, seen: int | None = None) -> int:
        """Add many entries, in this order of arrival. Returns how many were new. Raises as `add` does."""
        new = self._not_here_yet(entries)
        if not new:
            return 0
        rows = [row_of(entry) for entry in new]
        kin = Kin(self._connection, new, workshop=self._workshop)
        if seen is not None:
            self._refuse_stale(kin.subjects(), seen)
        positions = self._mint_positions(len(new))
        for row, position in zip(rows, positions, strict=True):
            row["position"] = position
        self._connection.execute(insert(schema.entry), rows)
        links = kin.missing_links({entry.id: p for entry, p in zip(new, positions, strict=True)})
        if links:
            self._connection.execute(insert(schema.entry_subject), links)
        return len(new)

    def _not_here_yet(self, entries: Iterable[Entry]) -> list[Entry]:
        new: dict[UUID, Entry] = {}
        for entry in entries:
            _refuse_another(new.setdefault(entry.id, entry), entry)
        for ids in in_handfuls(list(new)):
            for here in Reads(self._connection).entries_with(ids):
                _refuse_another(here.entry, new.pop(here.entry.id))
        return list(new.values())

    def _refuse_stale(self, subjects: Sequence[UUID], seen: int) -> None:
        link = schema.entry_subject.c
        newest = 0
        for some in in_handfuls(subjects):
            # What this piece of work has added itself does not make its writer's view stale.
            moved = select(func.max(link.position)).where(
                link.subject.in_(some), link.position <= self._began_at
            )
            newest = max(newest, self._connection.execute(moved).scalar_one() or 0)
        if newest > seen:
            raise StaleRecord(
                "The records of this car or pack grew after you opened them, so nothing was saved.",
                "Open it again, look at what is new, and enter it once more.",
            )

    def _mint_positions(self, count: int) -> range:
        last = self._connection.execute(
            update(schema.workshop)
            .values(position=schema.workshop.c.position + count)
            .returning(schema.workshop.c.position)
        ).scalar_one()
        return range(last - count + 1, last + 1)


def _refuse_another(here: Entry, entry: Entry) -> None:
    if here is not entry and not same_entry(here, entry):
        raise AnotherUnderThatId(
            f"The journal holds another entry with the identity {entry.id}, so nothing was saved.",
            "Look at both; enter the new one again if it is a different event.",
        )
