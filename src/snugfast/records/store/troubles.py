"""What can go wrong with a store, in words with a way out."""

from __future__ import annotations

import errno
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, OperationalError

from snugfast.core.errors import RefusedAction, SnugfastError


class StoreTrouble(SnugfastError):
    """The store cannot do it now; the records are as they were before."""


class StoreNotThere(StoreTrouble):
    """Nothing can be opened at that place."""


class StoreAlreadyThere(RefusedAction):
    """A store would be made where one is."""


class NotAStore(StoreTrouble):
    """Something else than a Snugfast store."""


class StoreTooNew(StoreTrouble):
    """A newer program made this store."""


class StoreBusy(StoreTrouble):
    """Another process holds it."""


class StoreFull(StoreTrouble):
    """No space is left where it stands."""


class StoreReadOnly(StoreTrouble):
    """It may be read but not written."""


class StoreDamaged(StoreTrouble):
    """The database says its own file is broken."""


class StoreGone(StoreTrouble):
    """The database server went away in the middle; whether the last piece of work was kept is not known."""


class DriverMissing(StoreTrouble):
    """The library for this kind of database is not installed."""


_SQLITE: dict[int, tuple[type[StoreTrouble], str, str]] = {
    sqlite3.SQLITE_BUSY: (
        StoreBusy,
        "Another program is using the store and did not let go of it.",
        "Close the other one, or wait a moment and try again.",
    ),
    sqlite3.SQLITE_FULL: (
        StoreFull,
        "The disk is full, so nothing was saved.",
        "Make room on the disk and try again.",
    ),
    sqlite3.SQLITE_READONLY: (
        StoreReadOnly,
        "The store may only be read, so nothing was saved.",
        "Give yourself the right to write the file and its folder, or copy it to where you have it.",
    ),
    sqlite3.SQLITE_CANTOPEN: (
        StoreNotThere,
        "The store cannot be opened.",
        "Check that its folder is there and that you may read and write in it.",
    ),
    sqlite3.SQLITE_NOTADB: (
        NotAStore,
        "The file is not a database.",
        "Check the path; if it should be your store, restore a backup.",
    ),
    sqlite3.SQLITE_CORRUPT: (
        StoreDamaged,
        "The file of the store is damaged.",
        "Keep a copy of it as it is, then restore the newest backup.",
    ),
    sqlite3.SQLITE_IOERR: (
        StoreTrouble,
        "The disk did not read or write what it was told to, so nothing was saved.",
        "Check the disk and its free space, then try again.",
    ),
    sqlite3.SQLITE_PERM: (
        StoreNotThere,
        "The store may not be opened.",
        "Give yourself the right to read and write the file.",
    ),
}
_SQLITE[sqlite3.SQLITE_LOCKED] = _SQLITE[sqlite3.SQLITE_BUSY]

# SQLSTATE codes, PostgreSQL documentation, appendix A.
_POSTGRES: dict[str, tuple[type[StoreTrouble], str, str]] = {
    "53100": _SQLITE[sqlite3.SQLITE_FULL],
    "25006": (
        StoreReadOnly,
        "The database server only lets this be read, so nothing was saved.",
        "Connect to a server and as a user that may write.",
    ),
    "42501": (
        StoreReadOnly,
        "The database server does not let this user do that.",
        "Ask whoever runs the server for the right to use these tables.",
    ),
    **dict.fromkeys(
        ("57P01", "57P02", "57P03", "08000", "08001", "08003", "08004", "08006", "08007"),
        (
            StoreGone,
            "The database server went away.",
            "When it is back, look in the journal whether what you sent is there, and send it again if not.",
        ),
    ),
    "53300": (
        StoreBusy,
        "The database server takes no more connections just now.",
        "Wait a moment and try again.",
    ),
    "55P03": _SQLITE[sqlite3.SQLITE_BUSY],
    "40P01": _SQLITE[sqlite3.SQLITE_BUSY],
    "XX001": (
        StoreDamaged,
        "The database server says its data are damaged.",
        "Tell whoever runs the server, and restore the newest backup.",
    ),
}

_NO_ROOM = _SQLITE[sqlite3.SQLITE_FULL]
_NO_RIGHT = (
    StoreReadOnly,
    "Nothing may be written there, so nothing was saved.",
    "Give yourself the right to write there, or name another folder.",
)
_SYSTEM: dict[int | None, tuple[type[StoreTrouble], str, str]] = {
    errno.ENOSPC: _NO_ROOM,
    errno.EDQUOT: _NO_ROOM,
    errno.EFBIG: _NO_ROOM,
    errno.EACCES: _NO_RIGHT,
    errno.EPERM: _NO_RIGHT,
    errno.EROFS: _NO_RIGHT,
}


@contextmanager
def told_in_words(place: str) -> Iterator[None]:
    """Turn what a database driver or the disk raises into a StoreTrouble that names the place."""
    try:
        yield
    except (DBAPIError, sqlite3.Error, OSError) as error:
        trouble = _SYSTEM.get(error.errno) if isinstance(error, OSError) else _trouble(error)
        if trouble is None:
            raise
        kind, sentence, way_out = trouble
        raise kind(f"{place}: {sentence}", way_out) from error


def _trouble(error: DBAPIError | sqlite3.Error) -> tuple[type[StoreTrouble], str, str] | None:
    cause = error.orig if isinstance(error, DBAPIError) else error
    if isinstance(cause, sqlite3.Error):
        extended: int | None = getattr(cause, "sqlite_errorcode", None)
        return None if extended is None else _SQLITE.get(extended & 0xFF)
    state: str | None = getattr(cause, "sqlstate", None)
    if state is None and isinstance(error, DBAPIError) and error.connection_invalidated:
        return _POSTGRES["57P01"]
    if state is None and isinstance(error, OperationalError):
        return (
            StoreNotThere,
            "The database server does not answer.",
            "Check that it runs and that the address is right.",
        )
    return _POSTGRES.get(state or "")
