"""Finding the way in the journal: kinds by a word, days by a date, and one entry with its whole chain."""

from __future__ import annotations

from collections import Counter
from datetime import UTC, datetime
from typing import Any

import pytest

from snugfast.core.errors import BadInput
from snugfast.records.codec import KINDS
from snugfast.records.store import Store
from snugfast.usecases.journal.filter import KIND_WORDS, day_begins, day_ends, kinds_meant
from snugfast.usecases.journal.keeping import keep, redo, undo, withdraw
from snugfast.usecases.journal.marks import entry_marked, journal_lines
from snugfast.usecases.journal.page import Does, entry_page
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.telling import mark_of
from tests.records.making import clock, identity
from tests.records.making import ran as a_run
from tests.usecases.bench import ran, with_truck, workshop_in_memory

NOW = datetime(2026, 5, 2, 23, 30, tzinfo=UTC)  # in Vienna it is the third already


def test_every_kind_of_entry_is_found_under_one_word() -> None:
    listed = Counter(kind for kinds in KIND_WORDS.values() for kind in kinds)
    assert listed == Counter(list(KINDS))


def test_a_word_that_is_no_kind_has_a_way_out() -> None:
    assert kinds_meant(" Runs ") == ("ran", "caught_up")
    assert kinds_meant("") == ()
    with pytest.raises(BadInput, match="runs"):
        kinds_meant("submarines")


def test_a_day_is_the_workshops_own() -> None:
    said: dict[str, Any] = {"now": NOW, "zone": "Europe/Vienna"}
    assert day_begins("today", **said) == datetime(2026, 5, 2, 22, tzinfo=UTC)
    assert day_ends("today", **said) == datetime(2026, 5, 3, 22, tzinfo=UTC)
    assert day_begins("2026-12-24", **said) == datetime(2026, 12, 23, 23, tzinfo=UTC)
    assert day_begins("", **said) is None
    with pytest.raises(BadInput):
        day_begins("soon", **said)


@pytest.mark.parametrize("zone", ["UTC", "Pacific/Apia", "America/St_Johns"])
def test_the_ends_of_the_calendar_are_days_too(zone: str) -> None:
    said: dict[str, Any] = {"now": NOW, "zone": zone}
    assert day_ends("9999-12-31", **said) is None
    for text in ("9999-12-31", "0001-01-01"):
        begins = day_begins(text, **said)
        assert begins is not None and begins.tzinfo is UTC
    assert day_ends("9999-12-30", **said) is not None


def test_days_and_kinds_narrow_the_journal_down() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for _ in range(3):
            clock.on(days=1)
            ran(workshop)
        assert len(journal_lines(workshop, kind="runs", since="2026-05-04")) == 2
        assert len(journal_lines(workshop, kind="runs", until="2026-05-03")) == 1
        assert len(journal_lines(workshop, kind="cars and packs")) == 2


def test_one_entry_shows_its_whole_chain_with_times_and_authors() -> None:
    with workshop_in_memory() as (workshop, clock):
        with workshop.store.work() as work:
            work.people.add(workshop.author, "Ada")
            work.commit()
        with_truck(workshop)
        ran(workshop)
        first = entry_marked(workshop, journal_lines(workshop, kind="runs")[0].mark)
        clock.on(minutes=30)
        again = draft_runs(workshop, (RunSaid("Bramble", ("Bramble pack",), "15"),), replaces=first)
        keep(workshop, again.entries)
        undo(workshop)
        redo(workshop)
        chains = [entry_page(workshop, one.id).chain for one in (first, again.entries[0])]
        assert chains[0] == chains[1]
        assert [link.does for link in chains[0]] == [
            Does.SAYS,
            Does.CORRECTS,
            Does.TAKES_BACK,
            Does.BRINGS_BACK,
        ]
        assert {link.line.author for link in chains[0]} == {"Ada"}
        assert [link.line.recorded_at for link in chains[0]] == sorted(
            link.line.recorded_at for link in chains[0]
        )
        assert [link.line.state for link in chains[0]] == ["corrected", "", "withdrawn", ""]


def test_only_what_still_stands_is_told_to_rest_on_an_entry() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for _ in range(2):
            clock.on(hours=1)
            ran(workshop)
        run = journal_lines(workshop, kind="runs")[0]
        car = next(line for line in journal_lines(workshop, kind="cars and packs") if "Bramble" in line.text)
        assert entry_page(workshop, car.id).resting_count == 2
        withdraw(workshop, run.id)
        assert entry_page(workshop, car.id).resting_count == 1


def test_an_entry_is_found_by_its_mark_on_either_database(engine_url: str) -> None:
    with Store.create(engine_url, clock=clock) as store:
        with store.work() as work:
            work.journal.add_all(a_run(number) for number in range(20))
            work.commit()
        with store.reading() as reads:
            for digits in (mark_of(identity(7)).lstrip("#"), identity(7).hex):
                found = reads.entry_ending(digits)
                assert found is not None
                assert found.entry == a_run(7)
            assert reads.entry_ending("%") is None
