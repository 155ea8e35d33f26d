"""Bringing a backup back, with a look before, and an untouched copy of what it replaces."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Mapping
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Connection

from snugfast.core.errors import RefusedAction
from snugfast.records.entries import Unreadable
from snugfast.records.ledger import fold
from snugfast.records.standing import standing
from snugfast.records.store.backup import back_up, row_counts, verify, write_through
from snugfast.records.store.engines import Address, address_of, engine_for, file_url
from snugfast.records.store.reads import Reads
from snugfast.records.store.troubles import StoreDamaged, StoreNotThere, StoreTrouble, told_in_words
from snugfast.records.store.upgrading import revision_in


@dataclass(frozen=True, slots=True)
class Look:
    """What a store file holds, seen from outside."""

    path: Path
    rows: Mapping[str, int]
    newest: str
    findings: tuple[str, ...]
    unreadable: tuple[str, ...] = ()  # entries this program cannot read; they are restored with the rest


@dataclass(frozen=True, slots=True)
class Restored:
    """What was done: the backup now in place, and where what it replaced is kept."""

    restored: Path
    replaced: Path | None


def look_at(file: Path) -> Look:
    """What a store file holds, and whether it is sound. Raises StoreTroubles for what is no store."""
    if not file.is_file():
        raise StoreNotThere(f"{file} is not there.", "Check the path.")
    findings = verify(file)
    if findings:
        return Look(file, {}, "", tuple(finding.sentence for finding in findings))
    engine = engine_for(address_of(file_url(file)), "read")
    try:
        with told_in_words(str(file)), engine.connect() as connection:
            revision_in(connection)  # refuses what is no store, or from a newer program
            unreadable = _entries_that_do_not_read(connection)
    except StoreTrouble:
        raise
    except Exception as error:  # whatever a damaged row makes the reading of it raise
        return Look(file, {}, "", (f"Its entries do not read: {type(error).__name__}: {error}"[:300],))
    finally:
        engine.dispose()
    with (
        told_in_words(str(file)),
        closing(sqlite3.connect(f"{file.absolute().as_uri()}?mode=ro", uri=True)) as raw,
    ):
        rows = row_counts(raw)
        newest = raw.execute("SELECT max(recorded_at) FROM entry").fetchone()[0] if "entry" in rows else None
    return Look(file, rows, str(newest or ""), (), unreadable)


def _entries_that_do_not_read(connection: Connection) -> tuple[str, ...]:
    """Read every entry and see what stands, as the first command after it would; raises where that fails."""
    entries = [row.entry for row in Reads(connection).entries_after(0)]
    stands = standing(entries).entries
    fold(stands)
    return tuple(entry.fact.why for entry in stands if isinstance(entry.fact, Unreadable))


def restore(backup: Path, address: Address, *, now: datetime) -> Restored:
    """Put a backup in a store's place, at once or not at all. What was there is kept beside it, untouched.

    Close every other program that uses the store first. Raises StoreDamaged when the backup is not sound,
    RefusedAction for a store that is no file.
    """
    if address.file is None:
        raise RefusedAction(
            "Only a store in a file is restored so.", "Use pg_restore on the database server."
        )
    target = address.file
    look = look_at(backup)
    if look.findings:
        raise StoreDamaged(f"{backup} is not sound: {look.findings[0]}.", "Use another backup.")
    if backup.resolve() == target.resolve():
        raise RefusedAction("That is the store itself.", "Name a backup.")
    part = target.with_name(f"{target.name}.restoring")
    replaced = None
    with told_in_words(str(target)):
        part.unlink(missing_ok=True)
        back_up(address_of(file_url(backup)), part)
        if target.exists():
            replaced = _free_name(target, now)
            _settle(target)
            _keep_untouched(target, replaced)
        _put_aside(target.with_name(f"{target.name}-journal"), now)
        part.replace(target)  # from one moment to the next it is the other file
        write_through(target.parent)
    return Restored(target, replaced)


def _settle(target: Path) -> None:
    """Wait for a writer, and let an unfinished write be rolled back. A damaged file is left as it is."""
    opened = sqlite3.connect(target, timeout=5.0, isolation_level=None)
    with told_in_words(str(target)), closing(opened):
        try:
            opened.execute("BEGIN EXCLUSIVE")
        except sqlite3.DatabaseError as error:
            if getattr(error, "sqlite_errorcode", None) == sqlite3.SQLITE_BUSY:
                raise


def _put_aside(journal: Path, now: datetime) -> None:
    """A journal left without its store would be taken for the other file's own, and spoil it."""
    if journal.exists():
        journal.rename(_free_name(journal, now))


def _keep_untouched(target: Path, replaced: Path) -> None:
    """The very same file under a second name; where the disk knows no second names, a copy of its bytes."""
    try:
        replaced.hardlink_to(target)
    except OSError:
        shutil.copy2(target, replaced)


def _free_name(target: Path, now: datetime) -> Path:
    stem = f"{target.name}.replaced-{now:%Y%m%d-%H%M%S}"
    names = (target.with_name(stem if n == 0 else f"{stem}.{n}") for n in range(1000))
    return next(name for name in names if not name.exists())
