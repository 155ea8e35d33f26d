"""A late run or an undo has only the last entries told again, and the outcome is that of telling all."""

from __future__ import annotations

import pytest

from snugfast.records.entries import Entry
from snugfast.records.ledger_form import ledger_bytes
from snugfast.usecases.beliefs import stories as what_stands
from snugfast.usecases.beliefs.stories import beliefs_about, remember
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.story_form import story_bytes
from snugfast.usecases.journal.keeping import undo
from snugfast.usecases.shared import ledger as ledger_kept
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import ran, with_truck, workshop_in_memory


def asked(workshop: Workshop) -> tuple[bytes, bytes]:
    """The ledger and the truck's story as they stand, kept for the next question as a sheet does."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        story = beliefs_about(workshop, reads, ledger, car_called(ledger, "Bramble").id)
        position = reads.position()
    remember(workshop, position, [story])
    return ledger_bytes(ledger), story_bytes(story)


@pytest.mark.slow
def test_what_is_late_or_taken_back_has_only_the_last_entries_told_again(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    for module in (ledger_kept, what_stands):
        monkeypatch.setattr(module, "EARLIER_BY", 4)
    told: list[Entry] = []
    take = Story.take

    def noted(story: Story, entry: Entry) -> None:
        told.append(entry)
        take(story, entry)

    monkeypatch.setattr(Story, "take", noted)
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for _ in range(20):
            clock.on(hours=5)
            ran(workshop)
        before = asked(workshop)
        for change in (lambda: ran(workshop, when=f"{clock.now:%Y-%m-%d 00:10}"), lambda: undo(workshop)):
            change()
            told.clear()
            after = asked(workshop)
            assert 1 <= len(told) <= 8
        assert after == before
        with workshop.store.work() as work:
            work.projections.drop_all()
            work.commit()
        told.clear()
        assert asked(workshop) == before
        assert len(told) == 21
