"""A workshop in memory with a clock of its own, for the tests of use-cases."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from uuid import UUID

from snugfast.core.ids import compose
from snugfast.facts.load import load_facts
from snugfast.facts.model import Facts
from snugfast.records.store.store import Store
from snugfast.usecases.beliefs.stories import beliefs_about
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop

TRUCK = "truck-1-10-4wd-3s"
MORNING = datetime(2026, 5, 2, 8, 0, tzinfo=UTC)


@cache
def facts() -> Facts:
    """The shipped tables, read once for all tests."""
    return load_facts()


def as_the_tables_mean(tables: Facts) -> Facts:
    """These tables with the driver whom they mean, known for sure: each row then learns by itself.

    For laws of one row, and for what holds on a car that is driven as the tables have it.
    """
    known = tables.assumptions
    sure = {key: replace(known[key], value=0.0) for key in ("severity_log_sd", "table_error_log_sd")}
    return replace(tables, assumptions={**known, **sure})


class Clock:
    """A clock that goes when it is told to, and a millisecond further with each look at it."""

    def __init__(self) -> None:
        self.now = MORNING

    def __call__(self) -> datetime:
        """The time."""
        self.now += timedelta(milliseconds=1)
        return self.now

    def on(self, **span: float) -> None:
        """Let time go on."""
        self.now += timedelta(**span)


@contextmanager
def workshop_in_memory(tables: Facts | None = None) -> Iterator[tuple[Workshop, Clock]]:
    """An empty workshop and its clock, with the shipped tables unless others are handed in."""
    clock = Clock()
    with Store.create("sqlite://", clock=clock) as store:
        yield Workshop(store, tables or facts(), clock, compose(1, bytes(10)), "UTC"), clock


def car_story(workshop: Workshop, name: str = "Bramble") -> tuple[Story, UUID]:
    """The story of a car as it stands, and the car."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        car = car_called(ledger, name)
        return beliefs_about(workshop, reads, ledger, car.id), car.id


def with_truck(workshop: Workshop, name: str = "Bramble") -> None:
    """Add a truck, new from the box, and a pack of its own."""
    keep(workshop, [draft_car(workshop, name, starter(workshop, TRUCK))])
    keep(workshop, [draft_pack(workshop, PackSaid(f"{name} pack", "3", "5000 mAh"))])


def ran(workshop: Workshop, name: str = "Bramble", **said: object) -> None:
    """Keep one run."""
    told = {"minutes": "12", "packs": (f"{name} pack",), **said}
    keep(workshop, draft_runs(workshop, (RunSaid(car=name, **told),)).entries)  # type: ignore[arg-type]
