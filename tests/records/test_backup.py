"""A backup is a whole store of one moment, verified, or it does not get its name.

Authority: laws; SQLite's own integrity check.
"""

from __future__ import annotations

import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

from snugfast.core.errors import RefusedAction
from snugfast.records.store import Store
from snugfast.records.store import backup as backup_module
from snugfast.records.store.backup import NoBackupFromHere, verify
from snugfast.records.store.engines import address_of, file_url
from snugfast.records.store.troubles import StoreDamaged, StoreNotThere
from tests.records.making import ME, car_added, clock, ran


@pytest.fixture
def store(sqlite_url: str) -> Store:
    made = Store.create(sqlite_url, clock=clock)
    with made.work() as work:
        work.journal.add_all([car_added(0), *(ran(n) for n in range(1, 400))])
        work.people.add(ME, "Somebody")
        work.commit()
    return made


@pytest.mark.slow
def test_a_backup_is_the_same_store(store: Store, tmp_path: Path) -> None:
    made = store.back_up(tmp_path / "copy.db")
    assert made.size_bytes == made.path.stat().st_size
    assert (made.rows["entry"], made.rows["person"]) == (400, 1)
    with (
        Store.open(file_url(made.path), clock=clock) as copy,
        copy.reading() as there,
        store.reading() as here,
    ):
        assert there.entries_after(0) == here.entries_after(0)
        assert there.people() == here.people()
        assert there.workshop() == here.workshop()
    assert sorted(path.name for path in tmp_path.iterdir()) == ["copy.db", "workshop.db"]


def test_a_backup_taken_while_others_write_is_of_one_moment(store: Store, tmp_path: Path) -> None:
    """Whoever writes goes on, and each backup holds what was there at some moment, whole."""
    stop = threading.Event()

    def write_on() -> None:
        number = 1000
        while not stop.is_set():
            number += 2
            with store.work() as work:
                work.journal.add_all([ran(number), ran(number + 1)])
                work.commit()

    writer = threading.Thread(target=write_on)
    writer.start()
    try:
        made = [store.back_up(tmp_path / f"copy-{n}.db") for n in range(5)]
    finally:
        stop.set()
        writer.join()
    for one in made:
        with Store.open(file_url(one.path), clock=clock) as copy, copy.reading() as reads:
            positions = [row.position for row in reads.entries_after(0)]
            assert positions == list(range(1, reads.position() + 1))
            assert len(positions) == one.rows["entry"]
            assert len(positions) % 2 == 0


def test_nobody_gets_in_between_the_count_and_the_copy(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A writer who comes just after the rows were counted has to wait until they are copied."""

    def write() -> None:
        with store.work() as work:
            work.journal.add(ran(5000))
            work.commit()

    writer = threading.Thread(target=write)
    count = backup_module.row_counts

    def count_then_let_somebody_write(connection: sqlite3.Connection) -> dict[str, int]:
        counted = count(connection)
        if not writer.ident:
            writer.start()
            writer.join(timeout=0.3)
        return counted

    monkeypatch.setattr(backup_module, "row_counts", count_then_let_somebody_write)
    made = store.back_up(tmp_path / "copy.db")
    writer.join()
    assert made.rows["entry"] == 400
    with store.reading() as reads:
        assert reads.position() == 401


def test_a_backup_does_not_write_over_a_file(store: Store, tmp_path: Path) -> None:
    there = tmp_path / "letters.txt"
    there.write_text("keep me")
    with pytest.raises(RefusedAction):
        store.back_up(there)
    assert there.read_text() == "keep me"
    with pytest.raises(StoreNotThere):
        store.back_up(tmp_path / "no-such-folder" / "copy.db")


def test_a_copy_that_lost_rows_does_not_get_the_name(
    store: Store, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    counts = iter([{"entry": 400}, {"entry": 399}])
    monkeypatch.setattr(backup_module, "row_counts", lambda _: next(counts))
    with pytest.raises(StoreDamaged, match="rows are missing"):
        store.back_up(tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()


def test_a_store_damaged_already_is_noticed_at_the_backup(store: Store, tmp_path: Path) -> None:
    file = store.address.file
    assert file is not None
    with closing(sqlite3.connect(file)) as connection:
        connection.execute("PRAGMA foreign_keys=OFF")
        connection.execute("DELETE FROM entry WHERE position = 7")
        connection.commit()
    (one, *_) = verify(file)
    assert "has no entry" in one.sentence
    with pytest.raises(StoreDamaged, match="does not verify"):
        store.back_up(tmp_path / "copy.db")
    assert not (tmp_path / "copy.db").exists()


def test_broken_pages_are_found(store: Store) -> None:
    file = store.address.file
    assert file is not None
    store.close()
    with closing(sqlite3.connect(file)) as connection:
        (root,) = connection.execute(
            "SELECT rootpage FROM sqlite_schema WHERE name = 'ix_entry_kind'"
        ).fetchone()
        (size,) = connection.execute("PRAGMA page_size").fetchone()
    with file.open("r+b") as opened:
        opened.seek((root - 1) * size)
        opened.write(b"\x5a" * 8)
    assert verify(file) != ()


def test_a_leftover_of_a_killed_backup_is_no_hindrance(store: Store, tmp_path: Path) -> None:
    (tmp_path / "copy.db.part").write_bytes(b"half a file")
    assert store.back_up(tmp_path / "copy.db").rows["entry"] == 400


def test_a_server_is_backed_up_by_its_own_means(postgres_url: str, tmp_path: Path) -> None:
    with Store.create(postgres_url, clock=clock) as store, pytest.raises(NoBackupFromHere, match="pg_dump"):
        store.back_up(tmp_path / "copy.db")
    assert address_of(postgres_url).file is None
    with Store.create("sqlite://", clock=clock) as in_memory, pytest.raises(NoBackupFromHere):
        in_memory.back_up(tmp_path / "copy.db")
