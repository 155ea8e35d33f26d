"""The store keeps what was committed, whole, on SQLite and PostgreSQL alike.

Authority: laws (what goes in comes out; all or nothing), on both engines.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from uuid import uuid4

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from snugfast.core.errors import NotKnown, StaleRecord, WrongData
from snugfast.records.entries import Entry, PartMoved, Ran, SettingsChosen
from snugfast.records.store.journal import AnotherUnderThatId
from snugfast.records.store.reads import PersonRow, ProjectionRow
from snugfast.records.store.store import Store
from tests.records.making import (
    CAR,
    ME,
    OTHER_CAR,
    PACK,
    START,
    car_added,
    clock,
    entries,
    entry,
    pack_added,
    ran,
    withdrawn,
)


@pytest.fixture
def store(engine_url: str) -> Iterator[Store]:
    with Store.create(engine_url, clock=clock) as made:
        yield made


def keep(store: Store, *given: Entry, seen: int | None = None) -> None:
    with store.work() as work:
        work.journal.add_all(given, seen=seen)
        work.commit()


def kept(store: Store) -> tuple[Entry, ...]:
    with store.reading() as reads:
        return tuple(row.entry for row in reads.entries_after(0))


def test_what_was_committed_is_there_and_the_rest_is_not(store: Store) -> None:
    with store.work() as work:
        work.journal.add(car_added(1))
        work.people.add(ME, "Somebody")
        work.commit()
    with store.work() as work:
        work.journal.add(ran(2))
        work.people.rename(ME, "Somebody else")
    with pytest.raises(ZeroDivisionError), store.work() as work:
        work.journal.add(ran(3))
        raise ZeroDivisionError
    assert kept(store) == (car_added(1),)
    with store.reading() as reads:
        assert reads.people() == (PersonRow(id=ME, name="Somebody"),)
        assert reads.position() == 1


def test_it_is_there_after_closing_and_opening(engine_url: str) -> None:
    with Store.create(engine_url, clock=clock) as store:
        keep(store, car_added(1), ran(2))
        with store.reading() as reads:
            workshop = reads.workshop()
    with Store.open(engine_url, clock=clock) as store:
        assert kept(store) == (car_added(1), ran(2))
        with store.reading() as reads:
            assert reads.workshop() == replace(workshop, position=2)


@pytest.mark.slow
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(entries, max_size=5, unique_by=lambda one: one.id))
def test_any_entries_come_back_as_they_were(store: Store, some: list[Entry]) -> None:
    some = [one for one in some if one.id not in {here.id for here in kept(store)}]
    before = kept(store)
    keep(store, *some)
    assert kept(store) == (*before, *some)


def test_a_second_tap_is_one_entry(store: Store) -> None:
    later = replace(ran(1), recorded_at=START.replace(year=2027))
    with store.work() as work:
        assert work.journal.add(ran(1))
        assert not work.journal.add(later)
        work.commit()
    with store.work() as work:
        assert not work.journal.add(later, seen=0), "it was kept already, however old the form is"
        assert work.journal.add_all([later, ran(2), ran(2)]) == 1
        work.commit()
    assert kept(store) == (ran(1), ran(2))


def test_another_entry_under_the_same_identity_is_refused(store: Store) -> None:
    keep(store, ran(1, minutes=10))
    with pytest.raises(AnotherUnderThatId):
        keep(store, ran(2), ran(1, minutes=11))
    with pytest.raises(AnotherUnderThatId):
        keep(store, ran(3, minutes=10), ran(3, minutes=11))
    assert kept(store) == (ran(1, minutes=10),)


def test_a_writer_who_looked_too_long_ago_is_refused(store: Store) -> None:
    keep(store, car_added(1), car_added(2, OTHER_CAR))
    keep(store, entry(3, Ran(car=CAR, packs=(), running_min=1)), seen=2)
    with pytest.raises(StaleRecord):
        keep(store, ran(4), seen=2)
    keep(store, entry(5, Ran(car=OTHER_CAR, packs=(), running_min=1)), seen=2)
    assert [one.id for one in kept(store)] == [car_added(n).id for n in (1, 2, 3, 5)]


def test_what_a_writer_adds_does_not_make_his_own_view_stale(store: Store) -> None:
    with store.work() as work:
        work.journal.add(car_added(1), seen=0)
        work.journal.add(ran(2), seen=0)
        work.commit()
    assert len(kept(store)) == 2


def test_a_withdrawal_is_stale_when_the_car_of_its_entry_moved(store: Store) -> None:
    keep(store, car_added(1), ran(2))
    keep(store, ran(3))
    with pytest.raises(StaleRecord):
        keep(store, withdrawn(4, ran(2)), seen=2)
    keep(store, withdrawn(4, ran(2)), seen=3)


def test_the_records_of_a_car_hold_all_that_decides_what_stands(store: Store) -> None:
    wrong_car = ran(2)
    moved_to_other = ran(3, OTHER_CAR, replaces=wrong_car.id)
    undone = withdrawn(4, moved_to_other)
    redone = withdrawn(5, undone)
    keep(store, car_added(1), wrong_car, moved_to_other, undone, redone, ran(6, OTHER_CAR))
    with store.reading() as reads:
        assert reads.entries_of([CAR]) == (car_added(1), wrong_car, moved_to_other, undone, redone)
        assert reads.entries_of([OTHER_CAR]) == (wrong_car, moved_to_other, undone, redone, ran(6, OTHER_CAR))
        assert len(reads.entries_of([CAR, OTHER_CAR])) == 6
        assert reads.entries_of([]) == ()


@pytest.mark.slow
@given(order=st.permutations(range(6)), cut=st.integers(0, 6))
@settings(max_examples=25, deadline=None)
def test_subjects_are_shared_in_whatever_order_entries_arrive(order: list[int], cut: int) -> None:
    first = ran(1)
    second = ran(2, OTHER_CAR, replaces=first.id)
    undone = withdrawn(3, second)
    every = [first, second, undone, withdrawn(4, undone), ran(5), entry(6, SettingsChosen(values={}))]
    shuffled = [every[n] for n in order]
    with Store.create("sqlite://", clock=clock) as store:
        keep(store, *shuffled[:cut])
        keep(store, *shuffled[cut:])
        with store.reading() as reads:
            assert reads.entries_of([CAR]) == tuple(every[:5])
            assert reads.entries_of([OTHER_CAR]) == tuple(every[:4])
            assert reads.entries_of([reads.workshop().id]) == tuple(every[5:])


def test_a_late_arrival_shows_what_it_draws_in_as_new(store: Store) -> None:
    """A projection of a car at some position has to hear of a withdrawal that only now concerns it."""
    keep(store, car_added(1), withdrawn(3, ran(2)))
    with store.reading() as reads:
        assert reads.entries_of([CAR]) == (car_added(1),)
        position = reads.position()
    keep(store, ran(2))
    with store.reading() as reads:
        news = reads.entries_after(position, CAR)
        assert {row.entry for row in news} == {withdrawn(3, ran(2)), ran(2)}
        assert reads.entries_after(position) == news
        assert reads.position(CAR) == 3


def test_what_arrived_after_a_position(store: Store) -> None:
    keep(store, car_added(1), car_added(2, OTHER_CAR), ran(3), ran(4, OTHER_CAR), pack_added(5))
    with store.reading() as reads:
        assert [row.position for row in reads.entries_after(2)] == [3, 4, 5]
        assert [row.entry for row in reads.entries_after(1, CAR)] == [ran(3)]
        assert reads.position() == 5
        assert reads.position(CAR) == 3
        assert reads.position(uuid4()) == 0
        assert reads.entries_after(5) == ()


def test_one_entry_by_its_identity(store: Store) -> None:
    keep(store, ran(1))
    with store.reading() as reads:
        row = reads.entry(ran(1).id)
        assert row is not None
        assert (row.position, row.entry) == (1, ran(1))
        assert reads.entry(uuid4()) is None


def test_the_journal_is_searched_in_pages(store: Store) -> None:
    keep(store, car_added(1), *(ran(n, typed=f"run {n}% über Ärger") for n in range(2, 9)), pack_added(9))
    with store.reading() as reads:
        newest = reads.search(limit=3)
        assert [row.position for row in newest] == [9, 8, 7]
        last = newest[-1].entry
        assert [row.position for row in reads.search(limit=3, before=(last.happened_at, last.id))] == [
            6,
            5,
            4,
        ]
        assert [row.position for row in reads.search(text="ÄRGER 4%")] == [4]
        assert reads.search(text="4_") == ()
        assert reads.search(text="running_min") == (), "names of fields are not words"
        assert [row.position for row in reads.search(text="grey TRUCK")] == [1]
        assert [row.position for row in reads.search(kinds=["pack_added", "car_added"])] == [9, 1]
        assert len(reads.search(subject=PACK)) == 8
        since, until = ran(3).happened_at, ran(5).happened_at
        assert [row.position for row in reads.search(since=since, until=until)] == [4, 3]


def test_a_part_that_moved_is_among_the_records_of_both_cars(store: Store) -> None:
    move = entry(1, PartMoved(from_car=CAR, from_place="motor", to_car=OTHER_CAR, to_place="motor"))
    keep(store, move)
    with store.reading() as reads:
        assert reads.entries_of([CAR]) == reads.entries_of([OTHER_CAR]) == (move,)


def test_an_erased_person_stays_erased(store: Store) -> None:
    with store.work() as work:
        assert work.people.add(ME, "Somebody")
        assert not work.people.add(ME, "Another name")
        work.people.rename(ME, "Some Body")
        work.journal.add(ran(1))
        work.commit()
    with store.work() as work:
        assert work.reads.people() == (PersonRow(id=ME, name="Some Body"),)
        work.people.erase(ME)
        assert not work.people.add(ME, "Somebody"), "a merge must not bring the name back"
        with pytest.raises(NotKnown):
            work.people.rename(ME, "Somebody")
        work.commit()
    with store.reading() as reads:
        assert reads.people() == (PersonRow(id=ME, name=None),)
    assert kept(store) == (ran(1),)


@pytest.mark.parametrize("name", ["", "  ", "a\x00b"])
def test_a_name_has_to_be_one(store: Store, name: str) -> None:
    with pytest.raises(WrongData), store.work() as work:
        work.people.add(ME, name)


def test_a_projection_is_replaced_and_dropped(store: Store) -> None:
    with store.work() as work:
        work.projections.put("ledger", CAR, position=1, fingerprint="a", payload=b"\x00one")
        work.projections.put("ledger", CAR, position=2, fingerprint="b", payload=b"two")
        assert work.reads.projection("ledger", CAR) == ProjectionRow(2, "b", b"two")
        assert work.reads.projection("ledger", OTHER_CAR) is None
        work.projections.drop_all()
        assert work.reads.projection("ledger", CAR) is None
        work.commit()


def test_an_entry_that_cannot_be_kept_is_refused_with_reasons(store: Store) -> None:
    for broken in (
        replace(ran(1), happened_at=START.replace(tzinfo=None)),
        replace(ran(1), typed="a\x00b"),
        ran(1, minutes=float("nan")),
    ):
        with pytest.raises(WrongData):
            keep(store, broken)
    assert kept(store) == ()


@pytest.mark.slow
def test_ten_thousand_entries_in_one_go_and_no_more_questions_than_for_few(store: Store) -> None:
    """Statements grow with handfuls of 500, never with entries; reading takes as many as for one."""

    def read(expected: int) -> int:
        with store.reading() as reads, store.counting() as count:
            assert len(reads.entries_of([CAR])) == expected
        return count.statements

    with store.counting() as few:
        keep(store, car_added(0))
    read_few = read(1)
    with store.counting() as many:
        keep(store, *(ran(n) for n in range(1, 10_001)))
    assert many.statements - few.statements < 10_000 / 100
    assert read(10_001) == read_few
