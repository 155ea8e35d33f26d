"""One severity for whoever drives here, over every car of the workshop (laws of decision 0024)."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from random import Random
from typing import Any
from uuid import UUID

import numpy as np
import pytest

from snugfast.facts.model import Clock as Wears
from snugfast.records.store.store import Store
from snugfast.usecases.beliefs import stories as rooms
from snugfast.usecases.beliefs.driver import Driver, teaches_bytes, teaches_from
from snugfast.usecases.beliefs.stories import Stories, beliefs_about, remember, stories_of
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, ran, with_truck, workshop_in_memory

BRAMBLE, THISTLE = "Bramble", "Thistle"


@contextmanager
def two_trucks() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        for name in (BRAMBLE, THISTLE):
            with_truck(workshop, name)
        yield workshop, clock


def outings(workshop: Workshop, clock: Clock, name: str, many: int, **said: Any) -> None:
    for _ in range(many):
        clock.on(days=7)
        for _ in range(2):
            clock.on(minutes=40)
            ran(workshop, name, minutes="13", hits="1", **said)


def told(workshop: Workshop, *names: str) -> Stories:
    """The stories of some cars, remembered as every question does."""
    with workshop.store.reading() as reads:
        ledger, position = ledger_now(reads), reads.position()
        cars = {car.name: car.id for car in ledger.cars.values()}
        stories = stories_of(workshop, reads, ledger, [cars[name] for name in names])
    remember(workshop, position, stories.told)
    return stories


def driver(workshop: Workshop) -> Driver:
    made = told(workshop, BRAMBLE).driver
    assert made is not None
    return made


def stops(workshop: Workshop, name: str) -> float:
    (one,) = outlooks(workshop, lambda ledger: [car for car in ledger.cars.values() if car.name == name]).cars
    return one.stop_chance.value


def test_what_one_car_goes_through_is_told_of_the_other_and_only_of_what_goes_by_driving() -> None:
    with two_trucks() as (workshop, clock):
        before = stops(workshop, THISTLE)
        outings(workshop, clock, BRAMBLE, 3)
        spared = stops(workshop, THISTLE)
        outings(workshop, clock, BRAMBLE, 2, broke=("lost a wheel nut @ front left", "spur stripped"))
        harder = stops(workshop, THISTLE)
        assert spared < before < harder
        stories = told(workshop, THISTLE)
        (thistle,), (story,) = tuple(stories.of), tuple(stories.of.values())
        scope = story.scope(thistle)
        now = workshop.now()
        pooled, _ = story.as_of(thistle, now)
        story.driver = None
        alone = story.as_of(thistle, now)[0].rate_multiplier
        by_days = np.array([mode.clock is Wears.DAYS for mode in scope.modes])
        assert pooled.rate_multiplier[by_days] == pytest.approx(alone[by_days], rel=1e-12)
        assert (np.abs(pooled.rate_multiplier[~by_days] / alone[~by_days] - 1.0) > 0.01).all()


def test_no_order_of_arrival_changes_a_bit() -> None:
    with two_trucks() as (workshop, clock):
        outings(workshop, clock, THISTLE, 2, broke=("spur stripped",))
        outings(workshop, clock, BRAMBLE, 2)
        with workshop.store.reading() as reads:
            entries = [row.entry for row in reads.entries_after(0)]
        made = driver(workshop)
        for seed in (1, 2):
            Random(seed).shuffle(entries)
            with Store.create("sqlite://", clock=clock) as store:
                with store.work() as work:
                    work.journal.add_all(entries)
                    work.commit()
                other = Workshop(store, workshop.facts, clock, workshop.author, "UTC")
                again = driver(other)
                assert np.array_equal(again.severity.chances, made.severity.chances)
                assert again.expected == made.expected
                for mode, logs in made.severity.of_mode.items():
                    assert np.array_equal(again.severity.of_mode[mode], logs), mode


def test_what_other_cars_taught_is_kept_and_they_are_not_told_again(monkeypatch: pytest.MonkeyPatch) -> None:
    with two_trucks() as (workshop, clock):
        outings(workshop, clock, THISTLE, 1)
        first = told(workshop, BRAMBLE)
        asked: list[UUID] = []

        def heard(*args: Any) -> Any:
            asked.append(args[-1])
            return beliefs_about(*args)

        monkeypatch.setattr(rooms, "beliefs_about", heard)
        again = told(workshop, BRAMBLE)
        assert asked == list(again.of) and len(again.told) == 1
        assert first.driver is not None and again.driver is not None
        assert np.array_equal(first.driver.severity.chances, again.driver.severity.chances)
        outings(workshop, clock, THISTLE, 1)
        asked.clear()
        assert len(told(workshop, BRAMBLE).told) == 2 and len(asked) == 2
        (story,) = again.of.values()
        kept = teaches_from(teaches_bytes(story.teaches))
        assert kept.keys() == story.teaches.keys()
        assert all(np.array_equal(kept[mode], logs) for mode, logs in story.teaches.items())


def test_it_is_said_when_it_is_far_from_the_tables_and_learned_and_from_what() -> None:
    with two_trucks() as (workshop, clock):
        assert driver(workshop).words == ""
        outings(workshop, clock, BRAMBLE, 3)
        outings(workshop, clock, THISTLE, 3)
        said = driver(workshop)
        assert said.severity.mean < 0.5
        assert "less often" in said.words and "6 outings with 2 cars" in said.words


def test_the_driver_begins_as_hits_are_logged_and_new_rows_say_nothing() -> None:
    """Law: before anything was seen the mean is the one that was expected."""
    with two_trucks() as (workshop, clock):
        new = driver(workshop)
        assert new.severity.mean == pytest.approx(new.expected, rel=1e-9) == pytest.approx(0.4)
        clock.on(days=1)
        for _ in range(6):
            clock.on(minutes=40)
            ran(workshop, BRAMBLE, minutes="12", hits="6")
        expected = 0.4 * (3 * 1.2 + 36) / (9 * 12) / (1.2 / 12)
        assert driver(workshop).expected == pytest.approx(min(expected, 1.2))
