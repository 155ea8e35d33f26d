"""Backups: a whole second store, taken by the database's own means and looked through before it counts.

Never a file copy: a copy taken while someone writes loses rows and still looks sound.
"""

from __future__ import annotations

import itertools
import os
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from pathlib import Path

from snugfast.core.errors import RefusedAction
from snugfast.core.findings import Finding
from snugfast.records.store.engines import WAIT_MS, Address, make_private
from snugfast.records.store.troubles import StoreDamaged, StoreNotThere, StoreTrouble, told_in_words


class NoBackupFromHere(RefusedAction):
    """This kind of store is backed up by other means."""


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup that was verified: where it is, its size, and how many rows each table holds."""

    path: Path
    size_bytes: int
    rows: Mapping[str, int]


def back_up(address: Address, to: Path) -> Backup:
    """Copy a store into a new file while others go on writing, and verify the copy before it gets its name.

    Raises StoreDamaged when the copy does not verify, NoBackupFromHere for PostgreSQL and for a store in
    memory, RefusedAction when the file is there already. When killed it leaves a `.part` file and nothing
    under the name.
    """
    if address.file is None:
        raise NoBackupFromHere(
            "Snugfast backs up SQLite files; a database server has its own means.",
            "Use pg_dump in its custom format, and bring it back with pg_restore.",
        )
    if to.exists():
        raise RefusedAction(f"{to} is there already.", "Name a file that is not there yet.")
    if not to.parent.is_dir():
        raise StoreNotThere(f"{to.parent} is not a folder.", "Make the folder, or name another.")
    return _take(address.file, to)


def back_up_before(file: Path, revision: str) -> Path:
    """The backup taken before a store is upgraded: beside it, under a name that was free."""
    for number in itertools.count(1):
        to = file.with_name(f"{file.name}.before-{revision}.{number}")
        if not to.exists():
            break
    return _take(file, to).path


def verify(file: Path) -> tuple[Finding, ...]:
    """Look a SQLite store through, pages and keys. Empty means sound. Raises StoreTroubles but for damage."""
    way_out = "restore a backup"
    try:
        with told_in_words(str(file)), closing(_open(file)) as connection:
            pages = [str(line) for (line,) in connection.execute("PRAGMA integrity_check") if line != "ok"]
            orphans = connection.execute("PRAGMA foreign_key_check").fetchall()
    except StoreDamaged:
        return (Finding(where=str(file), problem="its pages do not hang together", way_out=way_out),)
    return (
        *(Finding(where=str(file), problem=page, way_out=way_out) for page in pages),
        *(
            Finding(where=f"{file}, table {child}", problem=f"row {row} has no {parent}", way_out=way_out)
            for child, row, parent, _ in orphans
        ),
    )


def row_counts(connection: sqlite3.Connection) -> dict[str, int]:
    """How many rows each table holds."""
    names = connection.execute("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").fetchall()
    return {name: connection.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for (name,) in names}


def _take(file: Path, to: Path) -> Backup:
    part = to.with_name(to.name + ".part")
    try:
        with told_in_words(str(to)):
            part.unlink(missing_ok=True)
        with told_in_words(str(file)), closing(_open(file)) as source:
            source.execute("BEGIN")  # so that the count and the copy see the same moment
            rows = row_counts(source)
            with told_in_words(str(to)):
                make_private(part)
            with told_in_words(str(to)), closing(sqlite3.connect(part)) as copy:
                source.backup(copy)  # in one go: page by page, each foreign write would make it start again
                copied = row_counts(copy)
    except StoreTrouble:
        part.unlink(missing_ok=True)  # half a copy would only take room on a disk that has none
        raise
    findings = verify(part)
    if findings or copied != rows:
        what = findings[0].sentence if findings else "rows are missing"
        raise StoreDamaged(
            f"The backup of {file} does not verify: {what}.",
            f"Keep {part} to look at, check the disk, and take the backup again.",
        )
    with told_in_words(str(to)):
        write_through(part)
        part.rename(to)
        write_through(to.parent)
    return Backup(path=to, size_bytes=to.stat().st_size, rows=rows)


def _open(file: Path) -> sqlite3.Connection:
    if not file.is_file():
        told = "is no file" if file.exists() else "is not there"
        raise StoreNotThere(f"{file} {told}.", "Check the path.")
    connection = sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
    connection.execute(f"PRAGMA busy_timeout={WAIT_MS}")
    return connection


def write_through(path: Path) -> None:
    """Have the disk hold it before anyone relies on it. Windows can't do that for a folder, and need not."""
    if path.is_dir() and os.name == "nt":
        return
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
