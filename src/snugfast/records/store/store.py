"""The store: open it, read it, and write to it in pieces of work that are kept whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import Any, Self
from uuid import UUID

from sqlalchemy import Connection, event, insert, select

from snugfast.core.ids import mint
from snugfast.records.store import schema
from snugfast.records.store.backup import Backup, back_up
from snugfast.records.store.engines import Address, address_of, engine_for, make_private
from snugfast.records.store.journal import Journal
from snugfast.records.store.people import People
from snugfast.records.store.projections import Projections
from snugfast.records.store.reads import Moment, Reads
from snugfast.records.store.troubles import StoreAlreadyThere, StoreNotThere, told_in_words
from snugfast.records.store.upgrading import revision_in, upgrade


class Work:
    """One piece of work: what it adds is kept at `commit`, and not at all without it.

    While it lasts every other writer waits, so ask people before it and not within.
    """

    def __init__(self, connection: Connection, worked_out: dict[str, tuple[Moment, Any]]) -> None:
        self._connection = connection
        held = select(schema.workshop.c.id, schema.workshop.c.position).with_for_update()
        workshop, began_at = connection.execute(held).one()
        self.began_at: int = began_at
        self.reads = Reads(connection, worked_out)
        self.journal = Journal(connection, began_at=began_at, workshop=workshop)
        self.people = People(connection)
        self.projections = Projections(connection)

    def commit(self) -> None:
        """Keep it all; the disk holds it when this returns. The work is over: begin another for more."""
        try:
            self._connection.commit()
        except BaseException:
            # The library counts the transaction as over, the database does not: let no one else come by it.
            self._connection.invalidate()
            raise
        self._connection.close()


@dataclass(slots=True)
class Count:
    """How many statements went to the database."""

    statements: int = 0


class Store:
    """A workshop's records in one database. Close it, or use it in a `with`."""

    def __init__(self, address: Address, clock: Callable[[], datetime]) -> None:
        """Use `open` or `create` instead."""
        self.address = address
        self.clock = clock
        self._worked_out: dict[str, tuple[Moment, Any]] = {}
        self._worked_out_about: dict[str, tuple[object, Any]] = {}
        self._writer = engine_for(address, "write")
        self._reader = engine_for(address, "read")
        # A database in memory lasts as long as somebody is connected to it.
        self._keeper = self._writer.raw_connection() if address.in_memory else None

    @classmethod
    def open(cls, url: str, *, clock: Callable[[], datetime]) -> Self:
        """Open a store that is there, bringing it up to date first if an older Snugfast made it.

        Raises StoreNotThere, NotAStore, StoreTooNew, UpgradeFailed and the other StoreTroubles.
        """
        address = address_of(url)
        if address.file is not None and not address.file.is_file():
            raise StoreNotThere(f"There is no store at {address.words}.", _MAKE_ONE)
        store = cls(address, clock)
        try:
            store._require_current()
        except BaseException:
            store.close()
            raise
        return store

    @classmethod
    def create(cls, url: str, *, clock: Callable[[], datetime]) -> Self:
        """Make a new store in an empty database or a file that is not there yet, and open it.

        Raises StoreAlreadyThere when there is one, NotAStore when the place holds something else.
        """
        address = address_of(url)
        store = cls(address, clock)
        try:
            if address.file is not None:
                with told_in_words(address.words):
                    make_private(address.file)
            store._make()
        except BaseException:
            store.close()
            raise
        return store

    @contextmanager
    def work(self) -> Iterator[Work]:
        """A piece of work on the newest state; other writers wait. Leaving without `commit` keeps nothing."""
        with told_in_words(self.address.words), self._writer.connect() as connection:
            yield Work(connection, self._worked_out)

    @contextmanager
    def reading(self) -> Iterator[Reads]:
        """Reads that all see the same moment. Keep it short: on SQLite a writer waits for it to end."""
        with told_in_words(self.address.words), self._reader.connect() as connection:
            yield Reads(connection, self._worked_out, leaves=True, about=self._worked_out_about)

    @contextmanager
    def counting(self) -> Iterator[Count]:
        """Count the statements sent meanwhile: a test can tell that they do not grow with the records."""
        count = Count()

        def one_more(*_: object) -> None:
            count.statements += 1

        engines = (self._writer, self._reader)
        for engine in engines:
            event.listen(engine, "before_cursor_execute", one_more)
        try:
            yield count
        finally:
            for engine in engines:
                event.remove(engine, "before_cursor_execute", one_more)

    def back_up(self, to: Path) -> Backup:
        """A verified backup in a new file. Raises as `backup.back_up` does."""
        return back_up(self.address, to)

    def close(self) -> None:
        """Let go of the database."""
        if self._keeper is not None:
            self._keeper.close()
        self._writer.dispose()
        self._reader.dispose()

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def _require_current(self) -> None:
        with told_in_words(self.address.words):
            with self._reader.connect() as connection:
                found = revision_in(connection)
            if found is None:
                raise StoreNotThere(f"{self.address.words} is empty.", _MAKE_ONE)
            if found != schema.REVISIONS[-1]:
                upgrade(self.address)
            with self._reader.connect() as connection:
                if _workshop_in(connection) is None:
                    raise StoreNotThere(f"{self.address.words} was not finished.", _MAKE_ONE)

    def _make(self) -> None:
        with told_in_words(self.address.words):
            with self._reader.connect() as connection:
                if revision_in(connection) is not None and _workshop_in(connection) is not None:
                    raise StoreAlreadyThere(
                        f"There is a store at {self.address.words} already.",
                        "Open it, or name another place.",
                    )
            upgrade(self.address)
            now = self.clock()
            with self._writer.begin() as connection:
                if _workshop_in(connection) is None:  # somebody else may have made it meanwhile
                    row = {"single": 1, "id": mint(now), "made_at": now, "position": 0}
                    connection.execute(insert(schema.workshop).values(row))


def _workshop_in(connection: Connection) -> UUID | None:
    return connection.execute(select(schema.workshop.c.id)).scalar_one_or_none()


_MAKE_ONE = "Check the address, or make a new store there."
