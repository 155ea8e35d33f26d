"""A disk whose power can be cut: what it is told is noted, and any state it may be left in is laid out.

The notes are taken between SQLite and the operating system (a VFS of `apsw`, which brings a SQLite of its
own). The store's own code runs above it: the same engine, settings, statements and migrations; only the
driver that SQLAlchemy talks to is another. What was left is opened by the SQLite that Python brings.

How a disk is taken to behave: what was written before a file was last synced is there. Each write since then
may have arrived or not, in any order, whole, in part (to a sector's edge) or as rubbish; each new length
likewise. Of the names in a folder, those made or deleted before the folder was last synced are settled; of
the later changes to one name any number, from the first on, may have arrived. A folder is synced when a
journal in it is synced for the first time, or when SQLite asks for it with a deletion: that is what its own
code for this operating system does.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import apsw
import pytest
from sqlalchemy import create_engine

from snugfast.records.store import engines

SECTOR = 512


@dataclass(frozen=True, slots=True)
class Made:
    """A file was made."""

    name: str
    is_journal: bool


@dataclass(frozen=True, slots=True)
class Written:
    """Bytes were written to a file."""

    name: str
    offset: int
    data: bytes


@dataclass(frozen=True, slots=True)
class Cut:
    """A file was cut to a length."""

    name: str
    length: int


@dataclass(frozen=True, slots=True)
class Synced:
    """A file was written through."""

    name: str


@dataclass(frozen=True, slots=True)
class Deleted:
    """A name was taken out of the folder, and the folder perhaps synced."""

    name: str
    folder_synced: bool


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """The store said that something was kept."""

    number: int


Note = Made | Written | Cut | Synced | Deleted | Acknowledged


class NotedDisk(apsw.VFS):
    """Passes everything on to the operating system, and notes it."""

    def __init__(self) -> None:
        self.notes: list[Note] = []
        self.name = f"noted-{id(self):x}"
        super().__init__(self.name, "")

    def xOpen(self, name: Any, flags: list[int]) -> apsw.VFSFile:
        path = name.filename() if isinstance(name, apsw.URIFilename) else name
        if path is not None and (not Path(path).exists() or self._made_outside(path)):
            is_journal = bool(flags[0] & apsw.SQLITE_OPEN_MAIN_JOURNAL)
            self.notes.append(Made(Path(path).name, is_journal))
        return _NotedFile(self.notes, name, path, flags)

    def _made_outside(self, path: str) -> bool:
        """Whether the store made this empty file itself, for its owner only, before SQLite opened it."""
        name = Path(path).name
        return Path(path).stat().st_size == 0 and not any(
            isinstance(note, Made) and note.name == name for note in self.notes
        )

    def xDelete(self, name: str, sync_folder: bool) -> None:
        super().xDelete(name, sync_folder)
        self.notes.append(Deleted(Path(name).name, bool(sync_folder)))


class _NotedFile(apsw.VFSFile):
    def __init__(self, notes: list[Note], name: Any, path: str | None, flags: list[int]) -> None:
        super().__init__("", name, flags)
        self._notes = notes if path is not None else []  # nameless files are gone after a cut anyway
        self._name = Path(path).name if path is not None else ""

    def xWrite(self, data: bytes, offset: int) -> None:
        super().xWrite(data, offset)
        self._notes.append(Written(self._name, offset, bytes(data)))

    def xTruncate(self, length: int) -> None:
        super().xTruncate(length)
        self._notes.append(Cut(self._name, length))

    def xSync(self, flags: int) -> None:
        super().xSync(flags)
        self._notes.append(Synced(self._name))


@dataclass(slots=True)
class _File:
    """One file: what is settled, and what came since."""

    settled: bytearray = field(default_factory=bytearray)
    since: list[Written | Cut] = field(default_factory=list)
    folder_unsynced: bool = False


class Disk:
    """What a disk holds after a number of notes, as far as it is settled, and what it may hold besides."""

    def __init__(self) -> None:
        self._files: list[_File] = []
        self._now: dict[str, int] = {}  # names as the running program sees them
        self._settled: dict[str, int] = {}  # names as the folder was last synced
        self._changes: dict[str, list[int | None]] = {}  # since then, by name

    def hold(self, name: str, content: bytes) -> None:
        """A file that has been there all along."""
        self._files.append(_File(settled=bytearray(content)))
        self._now[name] = self._settled[name] = len(self._files) - 1

    def take(self, note: Note) -> None:
        """Let one more thing happen."""
        match note:
            case Made(name, is_journal):
                self._files.append(_File(folder_unsynced=is_journal))
                self._now[name] = len(self._files) - 1
                self._changes.setdefault(name, []).append(self._now[name])
            case Written(name) | Cut(name):
                self._files[self._now[name]].since.append(note)
            case Synced(name):
                file = self._files[self._now[name]]
                for one in file.since:
                    _apply(file.settled, one)
                file.since.clear()
                if file.folder_unsynced:
                    file.folder_unsynced = False
                    self._sync_folder()
            case Deleted(name, folder_synced):
                del self._now[name]
                self._changes.setdefault(name, []).append(None)
                if folder_synced:
                    self._sync_folder()
            case Acknowledged():
                pass

    def left(self, chance: random.Random | None, *, arrived: bool) -> dict[str, bytes]:
        """Every file with its bytes after a cut: of the unsettled all (`arrived`), nothing, or by chance."""
        names = dict(self._settled)
        for name, changes in self._changes.items():
            count = chance.randint(0, len(changes)) if chance else len(changes) * arrived
            if count:
                last = changes[count - 1]
                names.pop(name, None)
                if last is not None:
                    names[name] = last
        return {name: self._content(self._files[number], chance, arrived) for name, number in names.items()}

    def _content(self, file: _File, chance: random.Random | None, arrived: bool) -> bytes:
        content = bytearray(file.settled)
        since = [one for one in file.since if (chance.random() < 0.5 if chance else arrived)]
        if chance and chance.random() < 0.5:
            chance.shuffle(since)
        for one in since:
            _apply(content, _harmed(one, chance) if chance else one)
        return bytes(content)

    def _sync_folder(self) -> None:
        self._settled = dict(self._now)
        self._changes.clear()


def _apply(content: bytearray, change: Written | Cut) -> None:
    if isinstance(change, Cut):
        del content[change.length :]
        content.extend(bytes(change.length - len(content)))
        return
    content.extend(bytes(max(0, change.offset - len(content))))
    content[change.offset : change.offset + len(change.data)] = change.data


def _harmed(change: Written | Cut, chance: random.Random) -> Written | Cut:
    """As it arrived: mostly whole, else its beginning, its end, or rubbish in its place."""
    if isinstance(change, Cut) or chance.random() < 0.6:
        return change
    name, offset, data = change.name, change.offset, change.data
    edge = min(len(data), (chance.randint(0, len(data)) // SECTOR) * SECTOR)
    return chance.choice(
        (
            Written(name, offset, data[:edge]),
            Written(name, offset + edge, data[edge:]),
            Written(name, offset, chance.randbytes(len(data))),
        )
    )


def cuts(
    notes: list[Note], *, states: int, seed: int, there: Mapping[str, bytes] | None = None
) -> Iterator[tuple[int, dict[str, bytes]]]:
    """For a cut after each note: how many were taken, and some states that the disk may be left in.

    Always among them: nothing unsettled arrived, and all of it did. `there` is what was there before.
    """
    chance = random.Random(seed)
    disk = Disk()
    for name, content in (there or {}).items():
        disk.hold(name, content)
    for taken, note in enumerate(notes, 1):
        disk.take(note)
        yield taken, disk.left(None, arrived=False)
        yield taken, disk.left(None, arrived=True)
        for _ in range(states):
            yield taken, disk.left(chance, arrived=True)


def through(disk: NotedDisk, monkeypatch: pytest.MonkeyPatch, *, synchronous: str = "EXTRA") -> None:
    """Let the store's engines talk to SQLite through this disk; perhaps with a weaker setting than theirs."""

    def noted_engine(url: Any, **options: Any) -> Any:
        return create_engine(url, module=_driver(disk, synchronous), **options)

    monkeypatch.setattr(engines, "create_engine", noted_engine)


def _driver(disk: NotedDisk, synchronous: str) -> Any:
    """As much of Python's database interface (PEP 249) as SQLAlchemy asks of a SQLite driver."""
    errors = ("Error", "DatabaseError", "OperationalError", "IntegrityError", "ProgrammingError")
    version = apsw.sqlite_lib_version()
    return SimpleNamespace(
        paramstyle="qmark",
        sqlite_version=version,
        sqlite_version_info=tuple(int(part) for part in version.split(".")),
        connect=lambda path, **_: _Connection(apsw.Connection(path, vfs=disk.name), synchronous),
        **dict.fromkeys(errors, apsw.Error),
    )


class _Connection:
    def __init__(self, inner: apsw.Connection, synchronous: str) -> None:
        self._inner = inner
        self._synchronous = synchronous
        self.isolation_level: str | None = None

    def cursor(self) -> _Cursor:
        return _Cursor(self._inner)

    def execute(self, sql: str) -> _Cursor:
        cursor = self.cursor()
        cursor.execute(sql.replace("synchronous=EXTRA", f"synchronous={self._synchronous}"))
        return cursor

    def create_function(self, *_: object, **__: object) -> None:
        """Our statements ask for no function of Python's."""

    def commit(self) -> None:
        if self._inner.in_transaction:
            self._inner.execute("COMMIT")

    def rollback(self) -> None:
        if self._inner.in_transaction:
            self._inner.execute("ROLLBACK")

    def close(self) -> None:
        self._inner.close()


class _Cursor:
    """Fetches everything at once, so that no half-read statement holds a lock."""

    arraysize = 1

    def __init__(self, connection: apsw.Connection) -> None:
        self._connection = connection
        self._rows: list[tuple[Any, ...]] = []
        self.description: tuple[tuple[Any, ...], ...] | None = None
        self.rowcount = -1
        self.lastrowid: int | None = None

    def execute(self, sql: str, parameters: Any = ()) -> None:
        def describe(cursor: apsw.Cursor, _: str, __: object) -> bool:
            columns = cursor.get_description()
            self.description = tuple((name, kind, *[None] * 5) for name, kind in columns) or None
            return True

        cursor = self._connection.cursor()
        cursor.exec_trace = describe  # before the first row, so that a question that finds nothing has it too
        self._rows = list(cursor.execute(sql, tuple(parameters)))
        self.rowcount = self._connection.changes()
        self.lastrowid = self._connection.last_insert_rowid()

    def executemany(self, sql: str, several: Any) -> None:
        for parameters in several:
            self.execute(sql, parameters)

    def fetchall(self) -> list[tuple[Any, ...]]:
        rows, self._rows = self._rows, []
        return rows

    def fetchmany(self, size: int = 1) -> list[tuple[Any, ...]]:
        rows, self._rows = self._rows[:size], self._rows[size:]
        return rows

    def fetchone(self) -> tuple[Any, ...] | None:
        return self._rows.pop(0) if self._rows else None

    def close(self) -> None:
        self._rows = []
