"""Logging a run works the ledger out once for what is there, and once with the run.

Authority: law, the ledger is a projection of one moment of the journal; it was folded six times.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from snugfast.records import ledger as ledgers
from snugfast.usecases.shared import ledger as kept
from tests.fuzz.season import story_file
from tests.fuzz.typing import type_words


def test_a_run_is_folded_once(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    file = story_file(tmp_path)
    assert type_words(file, "car", "list").code == 0
    worked_out: list[object] = []
    read_from_bytes: list[object] = []
    work_out, from_bytes = kept.ledger_worked_out, kept.ledger_from
    monkeypatch.setattr(kept, "ledger_worked_out", lambda reads: worked_out.append(1) or work_out(reads))
    monkeypatch.setattr(kept, "ledger_from", lambda payload: read_from_bytes.append(1) or from_bytes(payload))
    assert type_words(file, "ran", "Bramble:Ember 1", "12", "gravel", "--yes").code == 0
    assert len(worked_out) == 1
    assert len(read_from_bytes) <= 3  # once to answer; what keeping takes further is read from the store
    assert ledgers.fold is kept.fold


def test_what_was_worked_out_is_not_used_for_another_moment(tmp_path: Path) -> None:
    from snugfast.app.opening import open_workshop
    from snugfast.usecases.journal.keeping import keep, undo
    from snugfast.usecases.journal.run_log import RunSaid, draft_runs

    workshop = open_workshop(str(story_file(tmp_path)))
    with workshop.store:

        def runs() -> int:
            with workshop.store.reading() as reads:
                car = kept.ledger_now(reads).car_named("Bramble")
            assert car is not None
            return car.habits.runs

        before = runs()
        keep(workshop, draft_runs(workshop, (RunSaid("Bramble", (), "12"),)).entries)
        assert runs() == before + 1
        undo(workshop)
        assert runs() == before
