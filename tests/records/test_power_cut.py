"""The power is cut at any moment: what was acknowledged is there, nothing is half there, the file is sound.

Authority: a law, on a simulated disk (`power_cut.py` says how it is taken to behave). It proves that the
store's settings and statements ask the disk for enough. It cannot prove that a real disk does what it is
asked, and the SQLite that writes here is the one that comes with `apsw`, not the one that Python brings.
"""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path

import pytest

from snugfast.records.standing import standing
from snugfast.records.store import Store
from snugfast.records.store.backup import row_counts, verify
from snugfast.records.store.engines import address_of, file_url
from snugfast.records.store.schema import REVISIONS
from snugfast.records.store.troubles import StoreNotThere
from snugfast.records.store.upgrading import upgrade
from tests.records.conftest import MakeRevision
from tests.records.making import clock, ran
from tests.records.power_cut import Acknowledged, Note, NotedDisk, cuts, through
from tests.records.writer import add

NAME = "workshop.db"


def notes_of_writing(
    folder: Path, monkeypatch: pytest.MonkeyPatch, *, runs: int, **setting: str
) -> list[Note]:
    """What the disk is told while a store is made and runs are added, each with its undo and redo."""
    disk = NotedDisk()
    folder.mkdir()
    with monkeypatch.context() as patch:
        through(disk, patch, **setting)
        with Store.create(file_url(folder / NAME), clock=clock) as store:
            for number in range(runs):
                add(store, number)
                disk.notes.append(Acknowledged(number))
    return disk.notes


def left_after(
    notes: list[Note], folder: Path, *, states: int, seed: int, there: Mapping[str, bytes] | None = None
) -> Iterator[set[int]]:
    """Lay out each state the disk may be left in, once, and give what had been acknowledged by then."""
    seen = set()
    for taken, files in cuts(notes, states=states, seed=seed, there=there):
        acknowledged = {note.number for note in notes[:taken] if isinstance(note, Acknowledged)}
        state = (frozenset(files.items()), len(acknowledged))
        if state in seen:
            continue
        seen.add(state)
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        for name, content in files.items():
            (folder / name).write_bytes(content)
        yield acknowledged


def lost(folder: Path, acknowledged: set[int]) -> set[int]:
    """Look a left-over store through; gives what was acknowledged and is not there."""
    url = file_url(folder / NAME)
    try:
        store = Store.open(url, clock=clock)
    except StoreNotThere:
        Store.create(url, clock=clock).close()  # it was not finished, and can be made again
        return acknowledged
    with store, store.reading() as reads:
        rows = reads.entries_after(0)
    assert [row.position for row in rows] == list(range(1, len(rows) + 1))
    stand = set(standing(row.entry for row in rows).entries)
    assert 3 * len(stand) == len(rows), "each run came with its undo and redo, or not at all"
    assert verify(folder / NAME) == ()
    return {number for number in acknowledged if ran(3 * number) not in stand}


def upgrade_cut(
    folder: Path, monkeypatch: pytest.MonkeyPatch, next_revision: MakeRevision, *, states: int, seed: int
) -> None:
    """Cut the power while a store is upgraded: what is left is the old store or the new one, whole."""
    url = file_url(folder / NAME)
    with Store.create(url, clock=clock) as store, store.work() as work:
        work.journal.add_all(ran(number) for number in range(40))
        work.commit()
    there = {NAME: (folder / NAME).read_bytes()}
    migrations = next_revision(
        "with op.batch_alter_table('entry') as batch:\n"
        "    batch.add_column(sa.Column('later', sa.Text(), server_default='x', nullable=False))"
    )
    disk = NotedDisk()
    with monkeypatch.context() as patch:
        through(disk, patch)
        upgrade(address_of(url), migrations=migrations, revisions=(*REVISIONS, "9999"))
    disk.notes.append(Acknowledged(1))
    left = folder / "left"
    ended = set()
    for acknowledged in left_after(disk.notes, left, states=states, seed=seed, there=there):
        with closing(sqlite3.connect(left / NAME)) as connection:
            (revision,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            columns = [row[1] for row in connection.execute("PRAGMA table_info(entry)")]
            rows = row_counts(connection)
        assert (revision == "9999") == ("later" in columns)
        assert revision == "9999" or not acknowledged
        assert (rows["entry"], rows["entry_subject"]) == (40, 80)
        assert verify(left / NAME) == ()
        ended.add(revision)
    assert ended == {REVISIONS[-1], "9999"}


@pytest.mark.slow
def test_a_power_cut_loses_nothing_that_was_acknowledged(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    notes = notes_of_writing(tmp_path / "bench", monkeypatch, runs=2)
    for acknowledged in left_after(notes, tmp_path / "left", states=1, seed=1):
        assert lost(tmp_path / "left", acknowledged) == set()


@pytest.mark.slow
def test_a_power_cut_leaves_an_upgrade_done_or_not_begun(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, next_revision: MakeRevision
) -> None:
    upgrade_cut(tmp_path, monkeypatch, next_revision, states=0, seed=2)


@pytest.mark.slow
@pytest.mark.parametrize("synchronous", ["FULL", "OFF"])
def test_the_simulation_notices_what_weaker_settings_lose(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, synchronous: str
) -> None:
    """With FULL the folder is not synced after a commit: the deleted journal may come back and undo it."""
    notes = notes_of_writing(tmp_path / "bench", monkeypatch, runs=1, synchronous=synchronous)
    left = tmp_path / "left"
    states = left_after(notes, left, states=1, seed=1)
    assert any(acknowledged and lost(left, acknowledged) for acknowledged in states)


@pytest.mark.soak
@pytest.mark.parametrize("seed", range(3))
def test_many_power_cuts_lose_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, next_revision: MakeRevision, seed: int
) -> None:
    notes = notes_of_writing(tmp_path / "bench", monkeypatch, runs=6)
    for acknowledged in left_after(notes, tmp_path / "left", states=3, seed=seed):
        assert lost(tmp_path / "left", acknowledged) == set()
    upgrade_cut(tmp_path, monkeypatch, next_revision, states=3, seed=seed)
