"""Backups by a keep rule, restoring, and the self-check."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import RefusedAction
from snugfast.core.ids import compose
from snugfast.records.store.engines import address_of, file_url
from snugfast.records.store.restoring import look_at, restore
from snugfast.records.store.store import Store
from snugfast.records.store.troubles import NotAStore, StoreDamaged
from snugfast.usecases.safekeeping.backups import (
    DAILY,
    MONTHLY,
    WEEKLY,
    back_up_if_due,
    back_up_now,
    superfluous,
    taken_in,
)
from snugfast.usecases.safekeeping.hand_over import hand_over
from snugfast.usecases.safekeeping.self_check import CompiledTwin, State, kind_of_disk, self_check
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, facts, ran, with_truck

Bench = tuple[Workshop, Clock, Path]


def loads() -> CompiledTwin:
    return CompiledTwin(Path("compiled"), 0.8)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """A workshop in a file, with a run in it."""
    clock = Clock()
    file = tmp_path / "workshop.sqlite"
    with Store.create(file_url(file), clock=clock) as store:
        workshop = Workshop(store, facts(), clock, compose(1, bytes(10)), "UTC")
        with_truck(workshop)
        clock.on(days=1)
        ran(workshop)
        yield workshop, clock, file


def test_a_backup_holds_what_stood_and_restoring_brings_it_back(bench: Bench) -> None:
    workshop, clock, file = bench
    backup = back_up_now(workshop).backup
    before = hand_over(workshop).entries
    clock.on(days=1)
    ran(workshop)
    workshop.store.close()
    bytes_before = file.read_bytes()
    done = restore(backup.path, address_of(file_url(file)), now=clock())
    assert done.replaced is not None
    assert done.replaced.read_bytes() == bytes_before
    with Store.open(file_url(file), clock=clock) as store:
        again = Workshop(store, facts(), clock, workshop.author, "UTC")
        assert hand_over(again).entries == before


def test_a_look_tells_how_much_is_in_it(bench: Bench) -> None:
    workshop, _, _ = bench
    look = look_at(back_up_now(workshop).backup.path)
    assert look.rows["entry"] == len(hand_over(workshop).entries)
    assert look.findings == ()


def test_what_is_no_sound_store_is_not_put_in_its_place(bench: Bench, tmp_path: Path) -> None:
    workshop, clock, file = bench
    target = address_of(file_url(file))
    text = tmp_path / "notes.sqlite"
    text.write_text("not a database, but long enough to look like one " * 200)
    broken = back_up_now(workshop, tmp_path / "b").backup.path
    content = bytearray(broken.read_bytes())
    content[4096:40960] = bytes(36864)
    broken.write_bytes(content)
    before = hand_over(workshop).entries
    for path in (text, broken):
        with pytest.raises((NotAStore, StoreDamaged)):
            restore(path, target, now=clock())
    with pytest.raises(RefusedAction, match="the store itself"):
        restore(file, target, now=clock())
    assert hand_over(workshop).entries == before


def test_a_damaged_store_can_be_replaced_and_is_kept(bench: Bench) -> None:
    workshop, clock, file = bench
    backup = back_up_now(workshop).backup
    workshop.store.close()
    file.write_bytes(b"SQLite format 3\x00" + b"\xff" * 5000)
    done = restore(backup.path, address_of(file_url(file)), now=clock())
    assert done.replaced is not None
    assert done.replaced.read_bytes()[16:] == b"\xff" * 5000
    assert look_at(file).findings == ()


def test_a_journal_left_without_its_store_does_not_spoil_what_is_restored(bench: Bench) -> None:
    """Somebody deleted the store after a crash, and left the journal of the write that was under way."""
    workshop, clock, file = bench
    backup = back_up_now(workshop).backup
    before = hand_over(workshop).entries
    workshop.store.close()
    journal = file.with_name(f"{file.name}-journal")
    with closing(sqlite3.connect(file, isolation_level=None)) as unfinished:
        unfinished.execute("PRAGMA cache_size=1")
        unfinished.execute("BEGIN IMMEDIATE")
        unfinished.execute("UPDATE entry SET typed = 'something else', words = hex(randomblob(5000))")
        left = journal.read_bytes()
    file.unlink()
    journal.write_bytes(left)
    restore(backup.path, address_of(file_url(file)), now=clock())
    assert not journal.exists()
    with Store.open(file_url(file), clock=clock) as store:
        assert hand_over(Workshop(store, facts(), clock, workshop.author, "UTC")).entries == before
    assert look_at(file).findings == ()


def test_the_days_backup_is_taken_once_a_day(bench: Bench) -> None:
    workshop, clock, file = bench
    assert back_up_if_due(workshop) is not None
    assert back_up_if_due(workshop) is None
    clock.on(hours=25)
    assert back_up_if_due(workshop) is not None
    assert len(taken_in(file.parent / "backups")) == 2


@given(st.lists(st.integers(0, 500 * 24), min_size=1, max_size=120, unique=True))
def test_the_keep_rule_keeps_the_newest_and_something_old(hours: list[int]) -> None:
    """Law: the newest stays; each of the last days that has any keeps one; the count is bounded."""
    now = datetime(2026, 11, 25, 12, tzinfo=UTC)
    taken = {Path(f"{hour}.sqlite"): now - timedelta(hours=hour) for hour in hours}
    gone = set(superfluous(taken, now))
    kept = set(taken) - gone
    assert max(taken, key=lambda path: taken[path]) in kept
    assert len(kept) <= DAILY + WEEKLY + MONTHLY
    days = sorted({at.date() for at in taken.values()}, reverse=True)[:DAILY]
    assert {taken[path].date() for path in kept} >= set(days)
    months = sorted({(at.year, at.month) for at in taken.values()}, reverse=True)[:MONTHLY]
    assert {(taken[path].year, taken[path].month) for path in kept} >= set(months)
    assert not set(superfluous({path: taken[path] for path in kept}, now))


def test_a_sound_workshop_has_no_trouble(bench: Bench) -> None:
    workshop, _, _ = bench
    back_up_now(workshop)
    lines = self_check(workshop, loads)
    assert {line.state for line in lines} <= {State.SOUND, State.LOOK}
    assert {
        "store",
        "schema",
        "SQLite",
        "journal",
        "what is worked out",
        "clock",
        "space",
        "place",
        "backups",
        "twin",
    } <= {line.what for line in lines}


@pytest.mark.parametrize(
    ("seen", "state", "says"),
    [
        (loads(), State.SOUND, "loads: a first question took 0.8 s"),
        (
            CompiledTwin(Path("compiled"), 6.9, compiled_now=True),
            State.SOUND,
            "just now: a first question took",
        ),
        (CompiledTwin(Path("compiled"), None), State.LOOK, "Not compiled yet in compiled"),
    ],
)
def test_the_compiled_twin_has_its_line(bench: Bench, seen: CompiledTwin, state: State, says: str) -> None:
    (line,) = [line for line in self_check(bench[0], lambda: seen) if line.what == "twin"]
    assert line.state is state
    assert says in line.seen
    assert ("compiled ahead" in line.way_out) == (state is State.LOOK)


@pytest.mark.slow
def test_a_clock_that_went_back_is_said_with_a_way_out(bench: Bench) -> None:
    workshop, clock, _ = bench
    clock.on(days=-3)
    (line,) = [line for line in self_check(workshop, loads) if line.what == "clock"]
    assert line.state is State.TROUBLE
    assert "Set this machine's clock" in line.way_out


def test_a_projection_that_was_tampered_with_is_found_and_can_be_dropped(bench: Bench) -> None:
    from snugfast.usecases.bench.bench_sheet import bench_sheet
    from snugfast.usecases.bench.sheet import Asked
    from snugfast.usecases.shared.ledger import LEDGER, WHOLE_WORKSHOP

    workshop, _, _ = bench
    bench_sheet(workshop, Asked())
    with workshop.store.work() as work:
        kept = work.reads.projection(LEDGER, WHOLE_WORKSHOP)
        assert kept is not None
        payload = kept.payload.replace(b"Bramble", b"Brumble")
        work.projections.put(
            LEDGER, WHOLE_WORKSHOP, position=kept.position, fingerprint=kept.fingerprint, payload=payload
        )
        work.commit()
    assert State.TROUBLE in {
        line.state for line in self_check(workshop, loads) if line.what == "what is worked out"
    }
    with workshop.store.work() as work:
        work.projections.drop_all()
        work.commit()
    assert {line.state for line in self_check(workshop, loads) if line.what == "what is worked out"} == {
        State.SOUND
    }


def test_the_kind_of_disk_is_read_from_the_longest_mount(tmp_path: Path) -> None:
    mounts = tmp_path / "mounts"
    share = tmp_path / "my share"
    share.mkdir()
    escaped = str(share).replace(" ", "\\040")
    mounts.write_text(f"disk / ext4 rw 0 0\nserver:/x {escaped} nfs4 rw 0 0\n")
    assert kind_of_disk(share / "workshop.sqlite", mounts) == "nfs4"
    assert kind_of_disk(tmp_path / "workshop.sqlite", mounts) == "ext4"
    assert kind_of_disk(tmp_path / "workshop.sqlite", tmp_path / "none") == ""


def test_restoring_looks_as_hard_as_the_self_check(bench: Bench, tmp_path: Path) -> None:
    """A backup whose pages hang together and whose entries cannot be read is not put in the store's place."""
    workshop, clock, file = bench
    backup = back_up_now(workshop, tmp_path / "safe").backup.path
    with closing(sqlite3.connect(backup)) as raw, raw:
        raw.execute("UPDATE entry SET happened_at = 'never' WHERE kind = 'ran'")
    look = look_at(backup)
    assert look.findings and "do not read" in look.findings[0]
    with pytest.raises(StoreDamaged):
        restore(backup, address_of(file_url(file)), now=clock())


def test_a_backup_with_an_entry_that_does_not_read_is_said_and_restored(bench: Bench, tmp_path: Path) -> None:
    workshop, clock, file = bench
    backup = back_up_now(workshop, tmp_path / "safe").backup.path
    with closing(sqlite3.connect(backup)) as raw, raw:
        raw.execute("UPDATE entry SET kind = 'from_tomorrow' WHERE kind = 'ran'")
    look = look_at(backup)
    assert look.findings == () and "newer Snugfast" in look.unreadable[0]
    workshop.store.close()
    assert restore(backup, address_of(file_url(file)), now=clock()).restored == file
