"""A database server that goes away: met again without a word, or said whether the entry was kept.

Authority: PostgreSQL itself, whose connections are ended from another one, and laws of this project.
"""

from __future__ import annotations

from collections.abc import Iterator

import psycopg
import pytest
from sqlalchemy import make_url

from snugfast.core.ids import compose
from snugfast.records.store import store as stores
from snugfast.records.store.store import Store, Work
from snugfast.records.store.troubles import StoreGone
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, facts, with_truck


@pytest.fixture
def bench(postgres_url: str) -> Iterator[tuple[Workshop, str]]:
    clock = Clock()
    with Store.create(postgres_url, clock=clock) as store:
        workshop = Workshop(store, facts(), clock, compose(1, bytes(10)), "UTC")
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, postgres_url


def end_connections(url: str) -> None:
    """End every other connection to the database, as a server that is restarted does."""
    read = make_url(url)
    with psycopg.connect(
        host=str(read.query["host"]), user=read.username, dbname=read.database, autocommit=True
    ) as other:
        other.execute(
            "select pg_terminate_backend(pid) from pg_stat_activity "
            "where datname = current_database() and pid <> pg_backend_pid()"
        )


def entries_of(workshop: Workshop) -> int:
    with workshop.store.reading() as reads:
        return len(reads.entries_after(0))


def a_run(workshop: Workshop) -> RunSaid:
    return RunSaid("Bramble", (), "12")


def test_connections_that_were_ended_meanwhile_are_met_again(bench: tuple[Workshop, str]) -> None:
    workshop, url = bench
    before = entries_of(workshop)
    for _ in range(2):
        end_connections(url)
        keep(workshop, draft_runs(workshop, (a_run(workshop),)).entries)
        end_connections(url)
    assert entries_of(workshop) == before + 2


def test_what_was_ended_before_the_commit_is_said_not_to_be_kept(
    bench: tuple[Workshop, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    workshop, url = bench
    entries = draft_runs(workshop, (a_run(workshop),)).entries
    before = entries_of(workshop)
    commit = Work.commit

    def ended_first(work: Work) -> None:
        end_connections(url)
        commit(work)

    monkeypatch.setattr(stores.Work, "commit", ended_first)
    with pytest.raises(StoreGone, match="nothing of this was saved"):
        keep(workshop, entries)
    monkeypatch.undo()
    assert entries_of(workshop) == before
    assert keep(workshop, entries).new == 1


def test_what_was_kept_before_the_answer_was_lost_is_said_to_be_kept(
    bench: tuple[Workshop, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    workshop, _ = bench
    entries = draft_runs(workshop, (a_run(workshop),)).entries
    before = entries_of(workshop)
    commit = Work.commit

    def answer_lost(work: Work) -> None:
        commit(work)
        raise StoreGone("The database server went away.", "Look in the journal.")

    monkeypatch.setattr(stores.Work, "commit", answer_lost)
    assert keep(workshop, entries).new == 1
    assert entries_of(workshop) == before + 1


def test_when_nobody_can_be_asked_it_is_said_that_it_is_not_known(
    bench: tuple[Workshop, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    workshop, _ = bench
    entries = draft_runs(workshop, (a_run(workshop),)).entries

    def gone(*_: object, **__: object) -> None:
        raise StoreGone("The database server went away.", "Look in the journal.")

    monkeypatch.setattr(stores.Work, "commit", gone)
    monkeypatch.setattr("snugfast.records.store.reads.Reads.entries_with", gone)
    monkeypatch.setattr("snugfast.records.store.journal.Journal.add_all", gone)
    with pytest.raises(StoreGone, match="cannot be said now"):
        keep(workshop, entries)
