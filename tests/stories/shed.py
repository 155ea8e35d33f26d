"""The demo workshop for tests: made once, and copied for each story that writes to it."""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from uuid import UUID

from snugfast.app.demo import Demo, make_demo
from snugfast.records.entries import Entry, Fact
from snugfast.records.ledger import Ledger
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.beliefs.stories import beliefs_about
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop

NOW = datetime(2026, 11, 25, 17, 0, tzinfo=UTC)


class Clock:
    """A clock that goes when it is told to, and a millisecond further with each look at it."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        """The time."""
        self.at += timedelta(milliseconds=1)
        return self.at


@cache
def demo() -> Demo:
    """The demo as it is shipped, for reading only."""
    folder = Path(tempfile.mkdtemp(prefix="demo-shed-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return make_demo(folder, now=NOW)


@contextmanager
def shed(folder: Path) -> Iterator[tuple[Workshop, Clock]]:
    """A copy of the demo to write to, and its clock."""
    made = demo().workshop
    copy = folder / "shed.sqlite"
    made.store.back_up(copy)
    clock = Clock(NOW)
    with Store.open(file_url(copy), clock=clock) as store:
        yield Workshop(store, made.facts, clock, made.author, made.zone), clock


@contextmanager
def shed_from(entries: Sequence[Entry], folder: Path) -> Iterator[Workshop]:
    """A new workshop that the entries arrive in, in the order given."""
    made = demo().workshop
    clock = Clock(NOW)
    with Store.create(file_url(folder / "arrived.sqlite"), clock=clock) as store:
        with store.work() as work:
            work.journal.add_all(entries)
            work.commit()
        yield Workshop(store, made.facts, clock, made.author, made.zone)


def journal(workshop: Workshop) -> tuple[Entry, ...]:
    """Every entry, in order of arrival."""
    with workshop.store.reading() as reads:
        return tuple(row.entry for row in reads.entries_after(0))


def position(workshop: Workshop) -> int:
    """How many entries have arrived."""
    with workshop.store.reading() as reads:
        return reads.position()


def facts_of(workshop: Workshop, kind: type[Fact]) -> list[Entry]:
    """The entries that say one kind of thing."""
    return [entry for entry in journal(workshop) if isinstance(entry.fact, kind)]


def ledger_of(workshop: Workshop) -> Ledger:
    """The ledger as it stands."""
    with workshop.store.reading() as reads:
        return ledger_now(reads)


def told(workshop: Workshop) -> tuple[Ledger, dict[UUID, Story]]:
    """The ledger, and the story of every car and pack, as they stand."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        members = [*ledger.cars, *ledger.packs]
        return ledger, {member: beliefs_about(workshop, reads, ledger, member) for member in members}


def ran(workshop: Workshop, car: str, pack: str, *, hits: str = "", when: str = "") -> tuple[Entry, ...]:
    """Keep a quarter of an hour on gravel."""
    run = RunSaid(car=car, packs=(pack,), minutes="13", ground="gravel", hits=hits, when=when)
    entries = draft_runs(workshop, (run,)).entries
    keep(workshop, entries)
    return entries
