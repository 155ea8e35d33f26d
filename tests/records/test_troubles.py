"""What goes wrong with a disk, a file or a server is told in words with a way out, and nothing is half kept.

Authority: the real drivers' own errors, provoked here.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Engine, create_engine, event, text

from snugfast.core.errors import SnugfastError
from snugfast.records.store import Store
from snugfast.records.store import engines as engines_module
from snugfast.records.store.backup import verify
from snugfast.records.store.engines import address_of, file_url
from snugfast.records.store.troubles import (
    DriverMissing,
    NotAStore,
    StoreBusy,
    StoreDamaged,
    StoreFull,
    StoreNotThere,
    StoreReadOnly,
    StoreTrouble,
    told_in_words,
)
from tests.records.making import car_added, clock, ran


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """A store with one entry, in a folder whose name needs care in a URL."""
    folder = tmp_path / "season 26? 100% #1"
    folder.mkdir()
    path = folder / "shed.db"
    with Store.create(file_url(path), clock=clock) as store:
        keep(store, 1)
    return path


def keep(store: Store, number: int, *, upto: int | None = None) -> None:
    with store.work() as work:
        work.journal.add_all(ran(n) for n in range(number, (upto or number) + 1))
        work.commit()


def count(file: Path) -> int:
    with Store.open(file_url(file), clock=clock) as store, store.reading() as reads:
        return len(reads.entries_after(0))


@pytest.mark.slow
def test_a_full_disk_keeps_nothing_and_says_so(file: Path) -> None:
    """A limit on pages gives the same error as a disk without room."""

    def little_room(dbapi: Any, _: object) -> None:
        dbapi.execute("PRAGMA max_page_count=40").close()

    event.listen(Engine, "connect", little_room)
    try:
        with Store.open(file_url(file), clock=clock) as store:
            with pytest.raises(StoreFull, match="Make room"):
                keep(store, 2, upto=2000)
            keep(store, 2)
    finally:
        event.remove(Engine, "connect", little_room)
    assert count(file) == 2
    assert verify(file) == ()


def test_a_writer_who_waited_long_enough_is_told(file: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(engines_module, "WAIT_MS", 50)
    with Store.open(file_url(file), clock=clock) as store, Store.open(file_url(file), clock=clock) as other:
        with store.work(), pytest.raises(StoreBusy, match="try again"):
            keep(other, 2)
        with store.reading() as reads:
            assert reads.position() == 1
            with pytest.raises(StoreBusy):  # the commit waits for the reader
                keep(other, 2)
        keep(other, 2)
    assert count(file) == 2


def test_a_writer_on_a_server_does_not_wait_for_ever(
    postgres_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(engines_module, "WAIT_MS", 50)
    with Store.create(postgres_url, clock=clock) as store:
        with store.work(), pytest.raises(StoreBusy, match="try again"):
            keep(store, 1)
        keep(store, 1)


def test_a_reader_cannot_write(engine_url: str) -> None:
    Store.create(engine_url, clock=clock).close()
    address = address_of(engine_url)
    engine = engines_module.engine_for(address, "read")
    with (
        pytest.raises(StoreReadOnly, match=r"may only be read|only lets this be read"),
        told_in_words(address.words),
        engine.begin() as connection,
    ):
        connection.execute(text("delete from person"))
    engine.dispose()


def test_a_file_that_may_not_be_written(file: Path) -> None:
    with (
        pytest.raises(StoreReadOnly),
        told_in_words("here"),
        closing(sqlite3.connect(f"{file.as_uri()}?mode=ro", uri=True)) as connection,
    ):
        connection.execute("DELETE FROM person")


def test_a_file_that_is_no_database(tmp_path: Path) -> None:
    letter = tmp_path / "letter.txt"
    letter.write_text("Dear workshop, " * 400)
    for attempt in (Store.open, Store.create):
        with pytest.raises(NotAStore, match=r"letter\.txt"):
            attempt(file_url(letter), clock=clock)
    assert letter.read_text().startswith("Dear workshop, Dear")


def test_a_damaged_file(file: Path) -> None:
    whole = file.read_bytes()
    with file.open("r+b") as opened:
        opened.seek(4096)
        opened.write(b"\xff" * (len(whole) - 4096))
    with pytest.raises(StoreDamaged, match="restore the newest backup"):
        count(file)


@pytest.mark.parametrize(
    ("attempt", "trouble"),
    [
        (lambda folder: Store.create(file_url(folder / "no-such" / "x.db"), clock=clock), StoreNotThere),
        (lambda folder: Store.create(file_url(folder), clock=clock), StoreNotThere),
        (lambda folder: Store.open(file_url(folder), clock=clock), StoreNotThere),
        (lambda folder: Store.open("shed.db", clock=clock), NotAStore),
        (lambda folder: Store.open("mysql://somewhere/shed", clock=clock), NotAStore),
        (lambda folder: Store.open("nonsense://somewhere/shed", clock=clock), NotAStore),
        (lambda folder: Store.open(f"postgresql://nobody@/shed?host={folder}", clock=clock), StoreNotThere),
        (lambda folder: verify(folder / "x.db"), StoreNotThere),
    ],
)
def test_a_place_where_no_store_can_be(
    tmp_path: Path, attempt: Callable[[Path], object], trouble: type[SnugfastError]
) -> None:
    with pytest.raises(trouble) as told:
        attempt(tmp_path)
    assert told.value.way_out
    assert list(tmp_path.iterdir()) == []


def test_a_password_is_not_shown() -> None:
    with pytest.raises(StoreTrouble) as told:
        Store.open("postgresql://me:hunter2@/shed?host=/nowhere-at-all", clock=clock)
    assert "hunter2" not in str(told.value)


def test_a_missing_driver_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    def missing(*_: object, **__: object) -> None:
        raise ModuleNotFoundError("No module named 'psycopg'")

    monkeypatch.setattr(engines_module, "create_engine", missing)
    with pytest.raises(DriverMissing, match="pip install"):
        Store.open("postgresql://me@/shed", clock=clock)


def test_what_is_no_trouble_of_a_store_stays_what_it_is(sqlite_url: str) -> None:
    engine = create_engine("sqlite://")
    with pytest.raises(Exception, match="no such table") as told, told_in_words("here"):
        engine.connect().execute(text("select * from nowhere"))
    assert not isinstance(told.value, SnugfastError)
    with pytest.raises(KeyError), Store.create(sqlite_url, clock=clock) as store, store.work() as work:
        work.journal.add(car_added(1))
        raise KeyError("a mistake of the caller")
