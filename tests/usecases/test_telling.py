"""Entries told in sentences, as they are echoed before they are kept. Authority: what a person said."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from snugfast.records.entries import Ran
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.marks import journal_lines, said_again
from snugfast.usecases.journal.run_log import CatchUpSaid, RunSaid, draft_catch_up, draft_runs
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, with_truck, workshop_in_memory

FIRST, SECOND = "2026-10-25 02:30+02:00", "2026-10-25 02:30+01:00"


def run_at(when: str) -> RunSaid:
    return RunSaid("Bramble", minutes="12", when=when)


def after_the_clocks_went_back(clock: Clock, workshop: Workshop) -> None:
    workshop.zone = "Europe/Berlin"
    with_truck(workshop)
    clock.now = datetime(2026, 10, 26, 9, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("typed", "told", "which", "other"),
    [
        ("2026-10-25 02:30", FIRST, "the first time", f"The second is written {SECOND}"),
        (FIRST, FIRST, "the first time", f"The second is written {SECOND}"),
        (SECOND, SECOND, "the second time", f"The first is written {FIRST}"),
    ],
)
def test_a_time_in_the_hour_that_came_twice_says_which_is_meant(
    typed: str, told: str, which: str, other: str
) -> None:
    with workshop_in_memory() as (workshop, clock):
        after_the_clocks_went_back(clock, workshop)
        echo = draft_runs(workshop, (run_at(typed),)).echo
        assert echo[0].startswith(f"{told}: Bramble ran 12 min")
        assert which in echo[1]
        assert other in echo[1]
        (plain,) = draft_runs(workshop, (run_at("2026-10-25 03:30"),)).echo
        assert plain.startswith("2026-10-25 03:30: ")


def test_correcting_a_run_of_that_hour_does_not_move_it() -> None:
    with workshop_in_memory() as (workshop, clock):
        after_the_clocks_went_back(clock, workshop)
        (entry,) = draft_runs(workshop, (run_at(SECOND),)).entries
        keep(workshop, [entry])
        with workshop.store.reading() as reads:
            again = said_again(entry, workshop.facts, ledger_now(reads))
        (typed_anew,) = draft_runs(workshop, (again,)).entries
        assert isinstance(typed_anew.fact, Ran)
        assert typed_anew.happened_at == entry.happened_at == datetime(2026, 10, 25, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    ("said", "told"),
    [
        (("about six", "about May"), "ran about 6 packs since about 2026-05-15, about 72 min in all."),
        (("six", "2026-05-20"), "ran 6 packs since 2026-05-20, about 72 min in all."),
        (("six", "2026-05-20", "10"), "ran 6 packs since 2026-05-20, 60 min in all."),
        (("6", "May 2026", "about 10"), "ran 6 packs since about 2026-05-15, about 60 min in all."),
        (
            ("about 6", "2026-05-20", "10", "about two"),
            "ran about 6 packs since 2026-05-20, about 60 min in all, about 2 of them in fresh water.",
        ),
    ],
)
def test_running_remembered_in_bulk_is_told_as_surely_as_it_was_said(
    said: tuple[str, ...], told: str
) -> None:
    """Minutes that nobody said are taken from the car's habits, and so are only about right."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=60)
        draft = draft_catch_up(workshop, CatchUpSaid("Bramble", *said))
        assert draft.echo[0].endswith(told)
        keep(workshop, draft.entries)
        (line,) = journal_lines(workshop, limit=1)
        assert line.text.endswith(told), "the journal says it the same way"


def test_ground_that_was_remembered_is_told() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        draft = draft_catch_up(workshop, CatchUpSaid("Bramble", "3", since="2026-04-20", ground="gravel"))
        assert "min in all on gravel" in draft.echo[0]
