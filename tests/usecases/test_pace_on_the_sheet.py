"""The owner's own pace on the sheet. Authority: law (a quicker hand gets more done), by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest

from snugfast.records.entries import SheetDone
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.pace import pace_words
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.bench.shown import draft_sheet_done, planned_min, shown_of, with_skipped
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, ran, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow


def sheet_of(workshop: Workshop) -> Sheet:
    return bench_sheet(workshop, Asked(("Bramble",), minutes=20.0))


def done_in(workshop: Workshop, clock: Clock, minutes: float, planned: float | None) -> None:
    """A sheet worked through in so many minutes."""
    began = clock.now
    clock.on(minutes=minutes)
    with workshop.store.reading() as reads:
        car = next(iter(ledger_now(reads).cars))
    keep(workshop, [workshop.entry(SheetDone((car,), began, 20.0, planned))])


def test_three_quick_sheets_put_more_on_the_next_one_and_say_so() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        ran(workshop, minutes="14", ground="gravel", hits="6")
        clock.on(hours=2)
        before = sheet_of(workshop)
        assert before.pace.times == 1.0 and pace_words(before.pace) == ""
        for _ in range(3):
            done_in(workshop, clock, 12.0, 20.0)
        done_in(workshop, clock, 2.0, None)  # lines were skipped: says nothing
        after = sheet_of(workshop)
        # ln 0.6 · 3/0.16 / (1/0.09 + 3/0.16) = −0.3207, so 0.73
        assert after.pace.times == 0.73
        assert pace_words(after.pace) == "You are about 1.4 times as quick as the table (3 sheets)."
        line, same = before.lines[0], after.lines[0]
        assert same.minutes == pytest.approx(0.73 * line.minutes, abs=0.02)
        assert len(after.checks) > len(before.checks)
        assert after.minutes <= 20.0 + 1e-9
        for _ in range(4):
            undo(workshop)
        assert sheet_of(workshop).pace.times == 1.0


def test_what_a_sheet_took_is_held_against_the_table_and_not_against_the_pace() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        ran(workshop, minutes="14", ground="gravel", hits="6")
        for _ in range(3):
            done_in(workshop, clock, 12.0, 20.0)
        sheet = sheet_of(workshop)
        shown = shown_of(sheet)
        with workshop.store.reading() as reads:
            ledger = ledger_now(reads)
        planned = planned_min(shown, ledger)
        assert planned == pytest.approx(sheet.minutes / 0.73, rel=1e-9)
        assert planned_min(with_skipped(shown, [shown.lines[0].number]), ledger) is None
        clock.on(minutes=15)
        entries = [
            entry
            for line in shown.lines
            for one in line.checks
            for entry in draft_found(
                workshop,
                FoundSaid(
                    "Bramble", one.check, ("sound",), pack=ledger.packs[one.pack].name if one.pack else ""
                ),
            ).entries
        ]
        (done,) = draft_sheet_done(workshop, shown, entries)
        assert isinstance(done.fact, SheetDone) and done.fact.planned_min == pytest.approx(planned, abs=1e-6)
        assert done.happened_at - done.fact.began_at < timedelta(minutes=16)
