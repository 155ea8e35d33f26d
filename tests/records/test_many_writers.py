"""Several processes write at once, some are killed: what was acknowledged is there, nothing is half there.

Authority: laws, with real processes and SIGKILL. It shows what a dying process leaves, not a power cut.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from snugfast.records.standing import standing
from snugfast.records.store import Store
from snugfast.records.store.backup import row_counts, verify
from snugfast.records.store.engines import address_of
from tests.records.conftest import MakeRevision
from tests.records.making import CAR, clock, ran

ROOT = Path(__file__).parents[2]


@contextmanager
def writing(url: str, sort: str, first: int, how_many: int) -> Iterator[subprocess.Popen[str]]:
    """A writer that is ready to begin."""
    arguments = [url, sort, str(first), str(how_many)]
    with process_saying_ready([sys.executable, "-m", "tests.records.writer", *arguments]) as process:
        yield process


@contextmanager
def process_saying_ready(command: list[str]) -> Iterator[subprocess.Popen[str]]:
    """A process that has said it is ready, killed at the end."""
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as process:
        try:
            assert process.stdout is not None
            assert process.stdout.readline() == "ready\n"
            yield process
        finally:
            process.kill()


def rest_of(process: subprocess.Popen[str]) -> list[int]:
    """Everything that was acknowledged, once the writer has ended."""
    output, _ = process.communicate(timeout=120)
    return [int(line) for line in output.split("\n")[:-1]]


def check(url: str, acknowledged: list[int]) -> None:
    """Every acknowledged entry is there, each with the two that came with it, at positions without a gap."""
    with Store.open(url, clock=clock) as store, store.reading() as reads:
        rows = reads.entries_after(0)
        about = reads.entries_of([CAR])
    assert [row.position for row in rows] == list(range(1, len(rows) + 1))
    assert len(about) == len(rows), "each withdrawal is linked to the car of its run"
    stand = standing(about).entries
    assert 3 * len(stand) == len(rows), "each run came with its undo and redo, or not at all"
    assert {ran(3 * number) for number in acknowledged} <= set(stand)
    file = address_of(url).file
    if file is not None:
        assert verify(file) == ()


@pytest.mark.slow
def test_two_processes_write_and_lose_nothing(engine_url: str) -> None:
    Store.create(engine_url, clock=clock).close()
    with writing(engine_url, "adding", 0, 60) as one, writing(engine_url, "adding", 1000, 60) as other:
        acknowledged = rest_of(one) + rest_of(other)
    assert len(acknowledged) == 120
    check(engine_url, acknowledged)


@pytest.mark.slow
@pytest.mark.parametrize("sort", ["adding", "backing-up"])
def test_a_killed_writer_loses_nothing_it_acknowledged(sqlite_url: str, sort: str) -> None:
    kill_often(sqlite_url, sort, kills=4, seed=1)


@pytest.mark.slow
def test_a_killed_writer_loses_nothing_on_a_server(postgres_url: str) -> None:
    kill_often(postgres_url, "adding", kills=3, seed=2)


@pytest.mark.slow
def test_a_killed_upgrade_is_done_or_not_begun(sqlite_url: str, next_revision: MakeRevision) -> None:
    kill_upgrades(sqlite_url, next_revision, kills=3, seed=4)


@pytest.mark.soak
@pytest.mark.parametrize("sort", ["adding", "backing-up"])
def test_a_hundred_kills_of_each_sort_lose_nothing(sqlite_url: str, sort: str) -> None:
    kill_often(sqlite_url, sort, kills=100, seed=3)


@pytest.mark.soak
def test_a_hundred_kills_while_upgrading_lose_nothing(sqlite_url: str, next_revision: MakeRevision) -> None:
    kill_upgrades(sqlite_url, next_revision, kills=100, seed=5)


def kill_often(url: str, sort: str, *, kills: int, seed: int) -> None:
    """Start a writer, kill it at a random moment, look everything through; again on the same store."""
    Store.create(url, clock=clock).close()
    chance = random.Random(seed)
    acknowledged: list[int] = []
    for kill in range(kills):
        with writing(url, sort, 100_000 * kill, 100_000) as process:
            time.sleep(chance.uniform(0.0, 0.25))  # the moment is the point of the test
            process.kill()
            acknowledged += rest_of(process)
        check(url, acknowledged)
        assert not [path for path in _copies(url) if ".part" not in path.name and verify(path)]
        for path in _copies(url):
            path.unlink()
    assert acknowledged, "no writer lived long enough to acknowledge anything"


UPGRADE = """
import sys
from pathlib import Path
from snugfast.records.store.engines import address_of
from snugfast.records.store.schema import REVISIONS
from snugfast.records.store.upgrading import upgrade
import alembic.command
print("ready", flush=True)
upgrade(address_of(sys.argv[1]), migrations=Path(sys.argv[2]), revisions=(*REVISIONS, "9999"))
"""


def kill_upgrades(url: str, next_revision: MakeRevision, *, kills: int, seed: int) -> None:
    """Upgrade a store and kill it on the way: what is left is the old store or the new one, whole."""
    migrations = next_revision(
        "with op.batch_alter_table('entry') as batch:\n"
        "    batch.add_column(sa.Column('later', sa.Text(), server_default='x', nullable=False))"
    )
    address = address_of(url)
    assert address.file is not None
    with Store.create(url, clock=clock) as store, store.work() as work:
        work.journal.add_all(ran(number) for number in range(2000))
        work.commit()
    old = store.back_up(address.file.with_name("old.db")).path
    chance = random.Random(seed)
    ended: Counter[str] = Counter()
    for _ in range(kills):
        with process_saying_ready([sys.executable, "-c", UPGRADE, url, str(migrations)]) as process:
            time.sleep(chance.uniform(0.0, 0.25))
            process.kill()
        with closing(sqlite3.connect(address.file)) as connection:
            (revision,) = connection.execute("SELECT version_num FROM alembic_version").fetchone()
            columns = [row[1] for row in connection.execute("PRAGMA table_info(entry)")]
            rows = row_counts(connection)
        assert (revision == "9999") == ("later" in columns)
        assert (rows["entry"], rows["entry_subject"]) == (2000, 4000)
        assert verify(address.file) == ()
        assert not [path for path in address.file.parent.glob("*.before-9999.?") if verify(path)]
        ended[revision] += 1
        for path in (address.file, *address.file.parent.glob("*.before-*")):
            path.unlink()
        shutil.copyfile(old, address.file)  # nobody has it open
    assert sum(ended.values()) == kills


def _copies(url: str) -> list[Path]:
    file = address_of(url).file
    return [] if file is None else sorted(file.parent.glob("*.copy-*"))
