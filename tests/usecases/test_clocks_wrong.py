"""A clock that was wrong once stops nothing, loses nothing, and is said.

Authority: laws of this project.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from snugfast.core.ids import compose
from snugfast.records.entries import Ran
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.journal.keeping import last_standing, redo, undo
from snugfast.usecases.safekeeping.backups import (
    back_up_if_due,
    back_up_now,
    backup_folder,
    superfluous,
    taken_in,
)
from snugfast.usecases.safekeeping.self_check import CompiledTwin, State, self_check
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, facts, ran, with_truck

FAR = timedelta(days=5 * 365)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[tuple[Workshop, Clock]]:
    clock = Clock()
    with Store.create(file_url(tmp_path / "workshop.sqlite"), clock=clock) as store:
        workshop = Workshop(store, facts(), clock, compose(1, bytes(10)), "UTC")
        with_truck(workshop)
        clock.on(days=1)
        ran(workshop)
        yield workshop, clock


def states(workshop: Workshop, what: str) -> list[tuple[State, str]]:
    lines = self_check(workshop, lambda: CompiledTwin(Path("compiled"), 0.8))
    return [(line.state, line.seen) for line in lines if line.what == what]


def test_a_backup_from_the_future_stops_no_daily_one_and_is_said(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    clock.now += FAR
    ahead = back_up_now(workshop).backup.path
    clock.now -= FAR
    for _ in range(3):
        clock.on(days=1)
        assert back_up_if_due(workshop) is not None
        assert back_up_if_due(workshop) is None
    assert ahead.exists()
    assert any(ahead.name in seen for _, seen in states(workshop, "backups"))
    assert any(state is State.SOUND for state, _ in states(workshop, "backups"))


def test_the_backup_just_taken_is_never_let_go(bench: tuple[Workshop, Clock]) -> None:
    """The daily one and one by hand may fall in the same second."""
    workshop, clock = bench
    moment = clock.now
    for _ in range(12):
        clock.now = moment
        named = back_up_now(workshop).backup.path
        assert named.exists()
    assert len(taken_in(backup_folder(workshop))) == 1


def test_of_one_second_the_last_is_the_newest() -> None:
    at = datetime(2026, 5, 1, 9, tzinfo=UTC)
    paths = [Path(f"2026-05-01T090000Z{end}.sqlite") for end in ("", ".1", ".2", ".10")]
    gone = superfluous(dict.fromkeys(paths, at), at)
    assert set(paths) - set(gone) == {paths[3]}


def test_undo_takes_back_what_arrived_last_and_redo_follows(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    clock.on(days=1)
    ran(workshop, minutes="11")
    clock.now -= timedelta(hours=3)  # set back: what comes now is recorded before what is here
    ran(workshop, minutes="7")
    with workshop.store.reading() as reads:
        latest = reads.entries_after(0)[-1].entry
    assert last_standing(workshop).id == latest.id
    told = undo(workshop).told
    assert isinstance(latest.fact, Ran) and latest.fact.running_min == 7.0
    assert redo(workshop).told == told
    assert last_standing(workshop).id == latest.id


def test_what_was_recorded_in_days_to_come_is_said(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    clock.now += FAR
    ran(workshop)
    clock.now -= FAR
    ((state, seen),) = states(workshop, "clock")
    assert state is State.TROUBLE and "203" in seen
    clock.on(days=1)
    ran(workshop)
    ((state, seen),) = states(workshop, "clock")
    assert state is State.LOOK and "a clock was wrong once" in seen
