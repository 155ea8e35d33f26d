"""What a form on a page needs and a command does not: to be tried before its echo, and to be sent twice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from snugfast.records.box import taken_by
from snugfast.records.entries import Entry
from snugfast.usecases.journal.keeping import READ_ONLY, Kept, keep, parts_taken, refuse_contradictions
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.used import without_parts_used


def try_out(workshop: Workshop, entries: Sequence[Entry]) -> None:
    """See whether these entries could be kept, and keep nothing.

    Raises WrongData with everything that contradicts the records.
    """
    if workshop.read_only:
        raise READ_ONLY
    refuse_contradictions(workshop, entries)


def with_box(workshop: Workshop, draft: Draft) -> Draft:
    """The draft with what its findings take out of the box of spares, told beside the rest."""
    with workshop.store.reading() as reads:
        entries = parts_taken(workshop, reads, draft.entries)
        if entries == draft.entries:
            return draft
        items = ledger_now(reads).stock.items
    told = [
        f"From the box: {one.count} × {items[one.item].name}, {items[one.item].count - one.count} left."
        for entry, before in zip(entries, draft.entries, strict=True)
        if entry != before
        for one in taken_by(entry.fact)
    ]
    return Draft(entries, (*draft.echo, *told))


def keep_form(workshop: Workshop, entries: Sequence[Entry], *, seen: int | None = None) -> Kept:
    """Keep what a form said. A form carries the identity of its entry, so a second tap keeps nothing twice.

    The second tap comes later than the first, and may have read “now” anew: what counts is that it says the
    same. Raises as `keep` does.
    """
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        here = {found.entry.id: found.entry for found in reads.entries_with(entry.id for entry in entries)}
    if entries and all(_said_already(entry, here.get(entry.id)) for entry in entries):
        return Kept(0, tuple(tell(here[entry.id], workshop.facts, ledger) for entry in entries))
    now = workshop.now()
    mine = [replace(entry, author=workshop.author, recorded_at=now) for entry in entries]
    return keep(workshop, mine, seen=seen)


def _said_already(entry: Entry, here: Entry | None) -> bool:
    """Whether the journal has it; what it took out of the box then is not said again by the second tap."""
    if here is None or here.replaces != entry.replaces:
        return False
    return without_parts_used(here.fact) == without_parts_used(entry.fact)
