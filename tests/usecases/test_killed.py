"""Several processes keep entries at once, and some that keep, hand over, take in or restore are killed.

Authority: laws, with real processes and SIGKILL at random moments: what was acknowledged is there, the rest
is done or not begun, every store and archive that has its name is whole.
"""

from __future__ import annotations

import random
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path

import pytest

from snugfast.exchange.archive import read_archive, write_archive
from snugfast.records.entries import CarAdded, Entry
from snugfast.records.ledger import fold
from snugfast.records.ledger_form import ledger_bytes
from snugfast.records.standing import standing
from snugfast.records.store import Store
from snugfast.records.store.backup import verify
from snugfast.records.store.engines import address_of, file_url
from snugfast.usecases.safekeeping.hand_over import hand_over
from snugfast.usecases.shared.ledger import ledger_now
from tests.records.making import CAR, car_added, clock, entry, identity, ran
from tests.records.test_many_writers import process_saying_ready, rest_of
from tests.usecases.plays import workshop


@contextmanager
def playing(play: str, *arguments: object) -> Iterator[subprocess.Popen[str]]:
    """A process that is about to begin a play."""
    words = [str(argument) for argument in arguments]
    with process_saying_ready([sys.executable, "-m", "tests.usecases.plays", play, *words]) as process:
        yield process


def killed(chance: random.Random, within_s: float, play: str, *arguments: object) -> list[int]:
    """Kill a play at a random moment; gives what it had acknowledged."""
    with playing(play, *arguments) as process:
        time.sleep(chance.uniform(0.0, within_s))  # the moment is the point of the test
        process.kill()
        return rest_of(process)


def made(url: str, *entries: Entry) -> None:
    with Store.create(url, clock=clock) as store, store.work() as work:
        work.journal.add_all(entries)
        work.commit()


def journal(url: str) -> tuple[Entry, ...]:
    """What a sound store holds; the ledger it would go on from equals a fresh one."""
    with Store.open(url, clock=clock) as store, store.reading() as reads:
        rows = reads.entries_after(0)
        told = ledger_now(reads)
    entries = tuple(row.entry for row in rows)
    assert [row.position for row in rows] == list(range(1, len(rows) + 1))
    assert ledger_bytes(told) == ledger_bytes(fold(standing(entries).entries))
    file = address_of(url).file
    assert file is None or verify(file) == ()
    return entries


THE_CAR = entry(1, CarAdded(CAR, "Grey truck", {}))


@pytest.mark.slow
def test_four_benches_keep_at_once_and_lose_nothing(engine_url: str) -> None:
    made(engine_url, THE_CAR)
    with ExitStack() as stack:
        started = [stack.enter_context(playing("keeping", engine_url, 1000 * n, 20)) for n in (1, 2, 3, 4)]
        acknowledged = [number for process in started for number in rest_of(process)]
    assert len(acknowledged) == 80
    assert {one.id for one in journal(engine_url)} == {THE_CAR.id, *map(identity, acknowledged)}


def kill_keepers(url: str, *, kills: int, seed: int) -> None:
    made(url, THE_CAR)
    chance = random.Random(seed)
    acknowledged: list[int] = []
    for kill in range(1, kills + 1):
        acknowledged += killed(chance, 0.4, "keeping", url, 1000 * kill, 500)
        assert {THE_CAR.id, *map(identity, acknowledged)} <= {one.id for one in journal(url)}
    assert acknowledged, "no process lived long enough to acknowledge anything"


def kill_hand_overs(url: str, folder: Path, *, kills: int, seed: int) -> None:
    made(url, car_added(0), *(ran(number) for number in range(1, 1000)))
    there = journal(url)
    chance = random.Random(seed)
    acknowledged: list[int] = []
    for _ in range(kills):
        acknowledged = killed(chance, 0.8, "handing-over", url, folder)
        whole = {int(path.stem) for path in folder.glob("*.zip")}
        assert set(acknowledged) <= whole
        for path in folder.glob("*.zip"):
            assert read_archive(path).entries == there
        for path in folder.iterdir():
            path.unlink()
    assert journal(url) == there


def kill_take_ins(folder: Path, *, kills: int, seed: int) -> None:
    """Two stores that parted; one takes in the other, all of it or nothing."""
    here, there = (file_url(folder / f"{name}.db") for name in ("here", "there"))
    made(here, THE_CAR, *(ran(number) for number in range(2, 50)))
    made(there, THE_CAR, *(ran(number) for number in range(40, 1000)))
    with Store.open(there, clock=clock) as store:
        archive = write_archive(hand_over(workshop(store)), folder / "there.zip").path
    chance = random.Random(seed)
    for kill in range(kills):
        own = folder / f"own-{kill}.db"
        with Store.open(here, clock=clock) as store:
            store.back_up(own)
        done = killed(chance, 0.6, "taking-in", file_url(own), archive)
        count = len(journal(file_url(own)))
        assert count in (49, 999)
        assert count == 999 or not done
        own.unlink()


def kill_restores(folder: Path, *, kills: int, seed: int) -> None:
    """What is there afterwards is the store or the backup, whole; what was replaced is kept, whole."""
    url, backup = file_url(folder / "shed.db"), folder / "backup.db"
    made(url, car_added(0), *(ran(number) for number in range(1, 2000)))
    with Store.open(url, clock=clock) as store:
        store.back_up(backup)
        with store.work() as work:
            work.journal.add(ran(5000))
            work.commit()
    newer = folder / "newer.db"
    with Store.open(url, clock=clock) as store:
        store.back_up(newer)
    chance = random.Random(seed)
    for _ in range(kills):
        done = killed(chance, 0.25, "restoring", url, backup)
        count = len(journal(url))
        assert count in (2000, 2001)
        assert count == 2000 or not done
        for replaced in folder.glob("shed.db.replaced-*"):
            assert len(journal(file_url(replaced))) == 2001
            replaced.unlink()
        (folder / "shed.db").write_bytes(newer.read_bytes())  # nobody has it open


@pytest.mark.slow
def test_killed_while_keeping(sqlite_url: str) -> None:
    kill_keepers(sqlite_url, kills=2, seed=1)


@pytest.mark.slow
def test_killed_while_handing_over(sqlite_url: str, tmp_path: Path) -> None:
    (tmp_path / "archives").mkdir()
    kill_hand_overs(sqlite_url, tmp_path / "archives", kills=2, seed=2)


@pytest.mark.slow
def test_killed_while_taking_in(tmp_path: Path) -> None:
    kill_take_ins(tmp_path, kills=2, seed=3)


@pytest.mark.slow
def test_killed_while_restoring(tmp_path: Path) -> None:
    kill_restores(tmp_path, kills=2, seed=4)


@pytest.mark.soak
def test_killed_many_times_while_keeping(sqlite_url: str) -> None:
    kill_keepers(sqlite_url, kills=20, seed=5)


@pytest.mark.soak
def test_killed_many_times_while_handing_over(sqlite_url: str, tmp_path: Path) -> None:
    (tmp_path / "archives").mkdir()
    kill_hand_overs(sqlite_url, tmp_path / "archives", kills=20, seed=6)


@pytest.mark.soak
def test_killed_many_times_while_taking_in(tmp_path: Path) -> None:
    kill_take_ins(tmp_path, kills=20, seed=7)


@pytest.mark.soak
def test_killed_many_times_while_restoring(tmp_path: Path) -> None:
    kill_restores(tmp_path, kills=20, seed=8)
