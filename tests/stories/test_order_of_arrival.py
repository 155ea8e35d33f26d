"""However the entries of the demo arrive, the same stands and the same is believed, to the last bit."""

from __future__ import annotations

from pathlib import Path
from random import Random

import pytest

from snugfast.records.ledger_form import ledger_bytes
from snugfast.usecases.beliefs.story_form import story_bytes
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.keeping import redo, undo
from snugfast.usecases.shared.workshop import Workshop
from tests.stories.shed import demo, journal, ran, shed, shed_from, told

pytestmark = pytest.mark.slow


def as_bytes(workshop: Workshop) -> tuple[bytes, dict[object, bytes]]:
    """What stands and what is believed, to the last bit."""
    ledger, stories = told(workshop)
    return ledger_bytes(ledger), {member: story_bytes(story) for member, story in stories.items()}


def test_shuffled_arrival_gives_the_same_ledger_and_the_same_beliefs(tmp_path: Path) -> None:
    entries = list(journal(demo().workshop))
    Random(5).shuffle(entries)
    with shed_from(entries, tmp_path) as shuffled:
        assert as_bytes(shuffled) == as_bytes(demo().workshop)


def test_projections_dropped_and_worked_out_again_come_out_equal(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, clock):
        bench_sheet(workshop, Asked(minutes=20))  # keeps projections of every car, with a season in them
        clock.at = clock.at.replace(hour=18)
        ran(workshop, "Bramble", "Ember 2", hits="a few")
        carried_on = as_bytes(workshop)
        with workshop.store.work() as work:
            work.projections.drop_all()
            work.commit()
        assert as_bytes(workshop) == carried_on


def test_undo_takes_a_run_out_of_every_belief_and_redo_brings_it_back(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, _):
        before = as_bytes(workshop)
        ran(workshop, "Bramble", "Ember 2", hits="many")
        with_it = as_bytes(workshop)
        undo(workshop)
        after_undo = as_bytes(workshop)
        redo(workshop)
        assert after_undo[1] == before[1]
        assert as_bytes(workshop) == with_it
        assert with_it[1] != before[1]


def test_a_run_written_down_late_counts_as_if_it_had_been_written_down_in_time(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, _):
        ran(workshop, "Bramble", "Ember 2", when="2026-08-20 15:00", hits="a few")
        late = as_bytes(workshop)
        in_order = sorted(journal(workshop), key=lambda entry: entry.order)
        (tmp_path / "other").mkdir()
        with shed_from(in_order, tmp_path / "other") as other:
            assert as_bytes(other) == late
