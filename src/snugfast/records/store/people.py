"""Names of people, apart from the journal so that a person can be erased."""

from __future__ import annotations

from uuid import UUID

from sqlalchemy import Connection, insert, select, update

from snugfast.core.errors import NotKnown, WrongData
from snugfast.records.shapes import Notes, Text
from snugfast.records.store import schema


class People:
    """The names inside one piece of work."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def add(self, person: UUID, name: str) -> bool:
        """Add a person. False, and nothing changes, for one who is known by whatever name or was erased."""
        _refuse_unstorable(name)
        person_c = schema.person.c
        known = self._connection.execute(select(person_c.id).where(person_c.id == person)).first()
        if known is None:
            self._connection.execute(insert(schema.person).values(id=person, name=name))
        return known is None

    def rename(self, person: UUID, name: str) -> None:
        """Give a person another name. Raises NotKnown for somebody unknown or erased."""
        _refuse_unstorable(name)
        self._set(person, name)

    def erase(self, person: UUID) -> None:
        """Forget a name for good; the entries stay, written by nobody in particular.

        The row stays without a name, so that a merge does not bring it back. Backups taken before still hold
        it. Raises NotKnown for somebody unknown or erased already.
        """
        self._set(person, None)

    def _set(self, person: UUID, name: str | None) -> None:
        known = schema.person.c
        changed = self._connection.execute(
            update(schema.person).where(known.id == person, known.name.is_not(None)).values(name=name)
        )
        if changed.rowcount == 0:
            raise NotKnown("Nobody is known under that identity.", "Choose from the list of people.")


def _refuse_unstorable(name: str) -> None:
    notes = Notes("name")
    Text().write(name, notes)
    if isinstance(name, str) and not name.strip():
        notes.wrong("the name is empty", "write a name")
    if notes.found:
        raise WrongData("The name cannot be saved", notes.found)
