"""Two workshops go their own ways and meet again; whatever happens, what stands equals a fresh replay.

Authority: a law (the journal is the truth, the order of arrival is irrelevant), told by a hypothesis state
machine against a plain list of everything that was ever acknowledged.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from uuid import UUID

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)
from sqlalchemy import create_engine

from snugfast.core.errors import StaleRecord
from snugfast.records.entries import Entry, Withdrawn, subjects
from snugfast.records.standing import Standing, standing
from snugfast.records.store import Reads, Store
from snugfast.records.store.journal import AnotherUnderThatId
from tests.records.making import CAR, OTHER_CAR, PACK, car_added, clock, pack_added, ran, withdrawn

MEMBERS = (CAR, OTHER_CAR, PACK)
sides = st.integers(0, 1)


class TwoWorkshops(RuleBasedStateMachine):
    """A laptop in the field and the shed's own store."""

    def __init__(self) -> None:
        super().__init__()
        self.stores = [Store.create(url, clock=clock) for url in ("sqlite://", self.second_url())]
        self.known: list[list[Entry]] = [[], []]
        self.on_the_way: list[tuple[int, Entry]] = []
        self.followed: dict[tuple[int, UUID], tuple[int, set[UUID]]] = {
            (side, member): (0, set()) for side in (0, 1) for member in MEMBERS
        }
        self.told_further: list[tuple[int, Standing]] = [(0, standing(()))] * 2
        self.number = 0
        for side in (0, 1):
            for number, entry in enumerate((car_added(1), car_added(2, OTHER_CAR), pack_added(3))):
                self.keep(side, replace(entry, typed=f"beginning {number}"))

    def second_url(self) -> str:
        """Where the second store is made, in an empty database."""
        return "sqlite://"

    def teardown(self) -> None:
        for store in self.stores:
            store.close()

    def next_number(self, late: int) -> int:
        """Identities grow; a late entry happened before others that are here already."""
        self.number += 10
        return 1000 + self.number - 3 * late

    def keep(self, side: int, *entries: Entry, **seen: int) -> None:
        with self.stores[side].work() as work:
            work.journal.add_all(entries, **seen)
            work.commit()
        first_told: dict[UUID, Entry] = {}
        for entry in (*self.known[side], *entries):
            first_told.setdefault(entry.id, entry)
        self.known[side] = list(first_told.values())

    @rule(side=sides, late=st.integers(0, 9), car=st.sampled_from([CAR, OTHER_CAR]), hour=st.integers(0, 200))
    def add(self, side: int, late: int, car: Any, hour: int) -> None:
        self.keep(side, ran(self.next_number(late), car, recorded_at=ran(hour).recorded_at))

    @rule(side=sides, data=st.data(), car=st.sampled_from([CAR, OTHER_CAR]))
    def correct(self, side: int, data: st.DataObject, car: Any) -> None:
        target = data.draw(st.sampled_from(self.known[side]))
        number = self.next_number(0)
        self.keep(side, ran(number, car, minutes=float(number), replaces=target.id))

    @rule(side=sides, data=st.data())
    def withdraw(self, side: int, data: st.DataObject) -> None:
        """Of a run an undo, of an undo a redo."""
        target = data.draw(st.sampled_from(self.known[side]))
        self.keep(side, withdrawn(self.next_number(0), target))

    @rule(side=sides, data=st.data())
    def tap_twice(self, side: int, data: st.DataObject) -> None:
        again = data.draw(st.sampled_from(self.known[side]))
        self.keep(side, replace(again, recorded_at=ran(5000).recorded_at))

    @rule(side=sides, data=st.data())
    def be_refused(self, side: int, data: st.DataObject) -> None:
        """What is refused changes nothing: another entry under the same identity, a view that is too old."""
        again = data.draw(st.sampled_from(self.known[side]))
        with pytest.raises(AnotherUnderThatId):
            self.keep(side, ran(self.next_number(0)), replace(again, typed="something else"))
        with pytest.raises(StaleRecord):
            self.keep(side, ran(self.next_number(0)), seen=0)

    @rule(side=sides, data=st.data())
    def change_one_s_mind(self, side: int, data: st.DataObject) -> None:
        target = data.draw(st.sampled_from(self.known[side]))
        with self.stores[side].work() as work:
            work.journal.add(withdrawn(self.next_number(0), target))

    @rule(data=st.data())
    def send(self, data: st.DataObject) -> None:
        """Everything is sent over; the pieces arrive in any order, some much later."""
        side = data.draw(sides)
        self.on_the_way += [(1 - side, entry) for entry in self.known[side]]
        self.on_the_way = list(data.draw(st.permutations(self.on_the_way)))

    @precondition(lambda self: self.on_the_way)
    @rule(count=st.integers(1, 8))
    def arrive(self, count: int) -> None:
        arriving, self.on_the_way = self.on_the_way[:count], self.on_the_way[count:]
        for side in (0, 1):
            self.keep(side, *(entry for to, entry in arriving if to == side))

    @rule()
    def meet(self) -> None:
        """Everything goes both ways at once; after that both hold the same and agree on what stands."""
        for side in (0, 1):
            self.keep(side, *self.known[1 - side])
        one, other = (self.read(side, lambda reads: reads.entries_after(0)) for side in (0, 1))
        assert standing(row.entry for row in one) == standing(row.entry for row in other)

    @invariant()
    def the_journal_holds_what_was_acknowledged(self) -> None:
        for side in (0, 1):
            rows = self.read(side, lambda reads: reads.entries_after(0))
            assert [row.position for row in rows] == list(range(1, len(rows) + 1))
            assert [row.entry for row in rows] == self.known[side]

    @invariant()
    def each_car_s_records_tell_what_stands_of_it(self) -> None:
        for side in (0, 1):
            fresh = standing(self.known[side]).entries
            for member in MEMBERS:
                own = self.read(side, lambda reads, member=member: reads.entries_of([member]))
                about = [entry for entry in standing(own).entries if member in subjects(entry.fact)]
                assert about == [entry for entry in fresh if member in subjects(entry.fact)]

    @invariant()
    def following_a_car_s_news_misses_nothing(self) -> None:
        """Whoever asks now and then for what is new about a car comes to know all that concerns it."""
        for (side, member), (position, heard) in self.followed.items():
            with self.stores[side].reading() as reads:
                heard |= {row.entry.id for row in reads.entries_after(position, member)}
                self.followed[side, member] = (reads.position(), heard)
                assert heard == {entry.id for entry in reads.entries_of([member])}

    @invariant()
    def what_stands_can_be_told_further_while_nothing_is_corrected(self) -> None:
        """News without a correction or a withdrawal, drawn-in ones included, only adds to what stood."""
        for side, (position, before) in enumerate(self.told_further):
            with self.stores[side].reading() as reads:
                news = [row.entry for row in reads.entries_after(position)]
                now = standing(row.entry for row in reads.entries_after(0))
                self.told_further[side] = (reads.position(), now)
            if not any(entry.replaces or isinstance(entry.fact, Withdrawn) for entry in news):
                told = sorted((*before.entries, *news), key=lambda entry: entry.order)
                assert now.entries == tuple(told)

    def read(self, side: int, ask: Any) -> Any:
        with self.stores[side].reading() as reads:
            assert isinstance(reads, Reads)
            return ask(reads)


@pytest.mark.slow
def test_two_workshops_that_part_and_meet() -> None:
    run_state_machine_as_test(
        TwoWorkshops, settings=settings(max_examples=6, stateful_step_count=15, deadline=None)
    )


@pytest.mark.slow
def test_two_workshops_on_different_databases_that_part_and_meet(postgres_url: str) -> None:
    """One in memory, one on a server whose tables are dropped between the stories."""

    class OneOnAServer(TwoWorkshops):
        def second_url(self) -> str:
            return emptied(postgres_url)

    run_state_machine_as_test(
        OneOnAServer, settings=settings(max_examples=3, stateful_step_count=15, deadline=None)
    )


@pytest.mark.soak
def test_many_stories_on_different_databases(postgres_url: str) -> None:
    class OneOnAServer(TwoWorkshops):
        def second_url(self) -> str:
            return emptied(postgres_url)

    run_state_machine_as_test(
        OneOnAServer, settings=settings(max_examples=30, stateful_step_count=20, deadline=None)
    )


@pytest.mark.soak
def test_many_stories_of_two_workshops() -> None:
    run_state_machine_as_test(
        TwoWorkshops, settings=settings(max_examples=90, stateful_step_count=40, deadline=None)
    )


def emptied(url: str) -> str:
    """The same database without a table in it."""
    engine = create_engine(url)
    with engine.begin() as connection:
        connection.exec_driver_sql("DROP SCHEMA public CASCADE")
        connection.exec_driver_sql("CREATE SCHEMA public")
    engine.dispose()
    return url
