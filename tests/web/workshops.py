"""A workshop with a short story, told once and copied for each test, and a clock that goes on by itself."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache

from snugfast.core.ids import mint
from snugfast.facts.load import load_facts
from snugfast.facts.model import Facts
from snugfast.records.entries import SettingsChosen
from snugfast.records.store.store import Store
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import as_the_tables_mean

STARTER = "truck-1-10-4wd-3s"
BEGAN = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)


class Clock:
    """A second later each time somebody looks."""

    def __init__(self, at: datetime) -> None:
        self.at = at

    def __call__(self) -> datetime:
        self.at += timedelta(seconds=1)
        return self.at

    def on(self, **further: float) -> None:
        self.at += timedelta(**further)


@cache
def facts() -> Facts:
    """The tables, read once for all tests, with the driver whom they mean: pages are not about the driver."""
    return as_the_tables_mean(load_facts())


def empty_workshop(clock: Clock, url: str = "sqlite://") -> Workshop:
    """A workshop with one person and nothing else."""
    store = Store.create(url, clock=clock)
    workshop = Workshop(store, facts(), clock, mint(clock()), "UTC")
    with store.work() as work:
        work.people.add(workshop.author, "Pip")
        work.journal.add(
            workshop.entry(
                SettingsChosen(
                    {"currency": "CRD", "bench_minute": 15.0, "running_minute": 40.0, "zone": "UTC"}
                )
            )
        )
        work.commit()
    return workshop


def tell_story(clock: Clock, url: str = "sqlite://", *, runs: int = 6) -> Workshop:
    """Two cars, two packs, and some runs of the first car."""
    workshop = empty_workshop(clock, url)
    for name in ("Bramble", "Quarry"):
        keep(workshop, [draft_car(workshop, name, starter(workshop, STARTER))])
    for name in ("Ember 1", "Ember 2"):
        keep(workshop, [draft_pack(workshop, PackSaid(name, "3", "5000"))])
    log_runs(workshop, clock, runs)
    return workshop


def log_runs(workshop: Workshop, clock: Clock, runs: int) -> None:
    """Some runs of the first car, a day apart."""
    for _ in range(runs):
        clock.on(days=1)
        said = RunSaid("Bramble", ("Ember 1",), "13", ground="gravel", hits="a few", when="today")
        keep(workshop, draft_runs(workshop, (said,)).entries)


def reopened(url: str, clock: Clock, *, read_only: bool = False) -> Workshop:
    """A workshop that was told before."""
    store = Store.open(url, clock=clock)
    with store.reading() as reads:
        author = reads.people()[0].id
    return Workshop(store, facts(), clock, author, "UTC", read_only)
