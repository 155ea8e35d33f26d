"""Engines: how each kind of database is opened so that nothing is lost.

SQLite: rollback journal, written through to the disk (its folder too) before a commit returns, foreign keys
on, and writers take their lock when they begin (a deferred one would find out too late and lose what was read
meanwhile). Erased names are overwritten in the file. PostgreSQL: reads see one moment, writes wait for the
workshop's row.
"""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Literal
from uuid import uuid4

from sqlalchemy import Connection, Engine, create_engine, event, make_url
from sqlalchemy.engine import URL
from sqlalchemy.exc import ArgumentError, NoSuchModuleError

from snugfast.records.codec import canonical
from snugfast.records.store.troubles import DriverMissing, NotAStore, StoreNotThere

OWNER_ONLY = 0o600
WAIT_MS = 10_000  # for another writer; one writes for milliseconds, a bulk import for seconds

Purpose = Literal["read", "write", "migrate"]


@dataclass(frozen=True, slots=True)
class Address:
    """Where a store is: an SQLAlchemy URL that was looked at."""

    url: URL

    @property
    def is_sqlite(self) -> bool:
        """Whether it is a SQLite file (or SQLite in memory)."""
        return self.url.get_backend_name() == "sqlite"

    @property
    def in_memory(self) -> bool:
        """Whether it is a SQLite database in memory."""
        return self.is_sqlite and self.url.query.get("vfs") == "memdb"

    @property
    def file(self) -> Path | None:
        """The SQLite file; None in memory and for PostgreSQL."""
        if not self.is_sqlite or self.in_memory:
            return None
        return Path(self.url.database or "")

    @property
    def words(self) -> str:
        """The address for a person, without a password."""
        return str(self.file) if self.file else self.url.render_as_string(hide_password=True)


def address_of(url: str) -> Address:
    """Read a store's URL. `sqlite://` is a new store in memory, which lasts as long as it is open.

    Raises NotAStore for what is neither SQLite nor PostgreSQL.
    """
    try:
        read = make_url(url)
        backend = read.get_backend_name()
    except (ArgumentError, NoSuchModuleError) as error:
        raise NotAStore(f"“{url}” is not the address of a store.", _ADDRESSES) from error
    if backend not in ("sqlite", "postgresql"):
        raise NotAStore(f"Snugfast does not keep records in {backend}.", _ADDRESSES)
    if backend == "sqlite" and read.database in (None, "", ":memory:"):
        read = URL.create(
            "sqlite", database=f"file:/snugfast-{uuid4().hex}", query={"vfs": "memdb", "uri": "true"}
        )
    return Address(read)


def file_url(path: Path) -> str:
    """The URL of a store in a SQLite file."""
    return URL.create("sqlite", database=str(path.absolute())).render_as_string(hide_password=False)


def make_private(file: Path) -> None:
    """Make an empty file that only its owner may read, where there is none: a journal is nobody else's."""
    with suppress(FileExistsError):
        os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY, OWNER_ONLY))


def engine_for(address: Address, purpose: Purpose) -> Engine:
    """An engine that reads, writes, or migrates. Nothing is connected yet."""
    if address.is_sqlite:
        return _sqlite_engine(address, purpose)
    try:
        return _postgres_engine(address, purpose)
    except ModuleNotFoundError as error:
        raise DriverMissing(
            "The library that talks to PostgreSQL is not installed.", "Type: pip install 'snugfast[postgres]'"
        ) from error


def _sqlite_engine(address: Address, purpose: Purpose) -> Engine:
    if address.file is not None and not address.file.parent.is_dir():
        raise StoreNotThere(
            f"{address.file.parent} is not a folder.", "Make the folder, or name a path in one that is there."
        )
    engine = create_engine(address.url, json_serializer=canonical, json_deserializer=_read_json)
    settings = (
        f"busy_timeout={WAIT_MS}",
        "journal_mode=DELETE",
        # FULL does not sync the folder after a commit: a power cut may bring the deleted journal back, which
        # then undoes the commit.
        "synchronous=EXTRA",
        # A batch migration drops and remakes tables; with keys on, that would cascade into their children.
        f"foreign_keys={'OFF' if purpose == 'migrate' else 'ON'}",
        "secure_delete=ON",
        f"query_only={'ON' if purpose == 'read' else 'OFF'}",
    )

    @event.listens_for(engine, "connect")
    def set_up(dbapi: Any, record: object) -> None:
        dbapi.isolation_level = None  # we begin, not the driver: it would do so only before it writes
        for setting in settings:
            dbapi.execute(f"PRAGMA {setting}").close()

    begin = "BEGIN" if purpose == "read" else "BEGIN IMMEDIATE"

    @event.listens_for(engine, "begin")
    def begin_so(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine


def _read_json(text: str) -> Any:
    """A kept document; where the file was damaged there, its text, which then reads as no entry at all."""
    try:
        return json.loads(text)
    except (ValueError, RecursionError):
        return text


def _postgres_engine(address: Address, purpose: Purpose) -> Engine:
    isolation = "REPEATABLE READ" if purpose == "read" else "READ COMMITTED"
    engine = create_engine(
        address.url,
        json_serializer=canonical,
        json_deserializer=_read_json,
        isolation_level=isolation,
        pool_pre_ping=True,  # a server that was restarted meanwhile is met again without a word
    )
    begin = "SET TRANSACTION READ ONLY" if purpose == "read" else f"SET LOCAL lock_timeout = {WAIT_MS}"

    @event.listens_for(engine, "begin")
    def begin_so(connection: Connection) -> None:
        connection.exec_driver_sql(begin)

    return engine


_ADDRESSES = "Write sqlite:///path/to/file or postgresql://user@host/name."
