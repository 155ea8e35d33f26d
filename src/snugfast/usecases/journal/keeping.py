"""Keeping entries: what contradicts the records is refused as a whole, and undo withdraws, never erases."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from hashlib import sha256
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown, RefusedAction, StaleRecord, WrongData
from snugfast.core.findings import Finding
from snugfast.core.ways_out import Action, WayOut
from snugfast.records.box import taken_by
from snugfast.records.entries import Entry, PackCharged, Precision, Ran, Withdrawn, subjects
from snugfast.records.ledger import Ledger, fold
from snugfast.records.resting import can_bear, depends_on
from snugfast.records.rules import LONGEST_RUN_MIN, contradictions
from snugfast.records.standing import standing
from snugfast.records.store.troubles import StoreGone, StoreTrouble
from snugfast.usecases.shared.ledger import ledger_now, remember_ledger
from snugfast.usecases.shared.telling import mark_of, tell
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.used import USES, with_parts_used

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

FAR_BACK = 500  # arrivals
MOST_NEWS = 5  # entries that came meanwhile, told in a refusal
READ_ONLY = RefusedAction(
    "This workshop is open for reading only.",
    WayOut("Open it for writing, not for reading only", Action.OPEN_FOR_WRITING),
)


@dataclass(frozen=True, slots=True)
class Kept:
    """What was kept: how many entries were new, and the sentences that tell them."""

    new: int
    told: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Undone:
    """What an undo took back (or a redo brought again), by which entry, and how many rest on it."""

    told: str
    by: UUID
    resting_on_it: int


def keep(workshop: Workshop, entries: Sequence[Entry], *, seen: int | None = None) -> Kept:
    """Keep these entries, all or none. A second tap on the same form keeps nothing twice.

    Raises WrongData with everything that contradicts the records, StaleRecord when a car or pack has changed
    since `seen`.
    """
    if workshop.read_only:
        raise READ_ONLY
    if not entries:
        raise BadInput("There is nothing to save.", "Say what happened, and to which car or pack.")
    try:
        return _keep(workshop, entries, seen)
    except StoreGone as gone:
        if _is_here(workshop, entries, gone):
            with workshop.store.reading() as reads:
                ledger = ledger_now(reads)
            return Kept(len(entries), tuple(tell(entry, workshop.facts, ledger) for entry in entries))
        raise StoreGone(
            "The database server went away and is back; nothing of this was saved.", "Send it again."
        ) from gone


def _is_here(workshop: Workshop, entries: Sequence[Entry], gone: StoreGone) -> bool:
    """Whether a server that went away in the middle has kept them, asked by their identities."""
    marks = ", ".join(mark_of(entry.id) for entry in entries)
    try:
        with workshop.store.reading() as reads:
            return len(reads.entries_with(entry.id for entry in entries)) == len(entries)
    except StoreTrouble:
        raise StoreGone(
            f"The database server went away, and whether this was saved ({marks}) cannot be said now.",
            "When it is back, look in the journal; a form sent again saves nothing twice.",
        ) from gone


def _keep(workshop: Workshop, entries: Sequence[Entry], seen: int | None) -> Kept:
    with workshop.store.work() as work:
        _refuse_lost_targets(workshop, work.reads, entries)
        entries = parts_taken(workshop, work.reads, entries)
        ledger = ledger_with(work.reads, entries)
        try:
            new = work.journal.add_all(entries, seen=seen)
        except StaleRecord as stale:
            raise _both_versions(workshop, work.reads, entries, stale, seen or 0) from stale
        remember_ledger(work)
        work.commit()
    return Kept(new, tuple(tell(entry, workshop.facts, ledger) for entry in entries))


def _both_versions(
    workshop: Workshop, reads: Reads, entries: Sequence[Entry], stale: StaleRecord, seen: int
) -> StaleRecord:
    """The refusal with what came meanwhile, newest first, and what was sent."""
    ledger = ledger_now(reads)
    about = [member for entry in entries for member in subjects(entry.fact)] or [reads.workshop().id]
    news = {row.entry.id: row.entry for member in about for row in reads.entries_after(seen, member)}
    told = [tell(entry, workshop.facts, ledger) for entry in reversed(news.values())]
    sent = [tell(entry, workshop.facts, ledger) for entry in entries]
    return StaleRecord(stale.sentence, stale.way_out, stands=told[:MOST_NEWS], sent=sent)


def _refuse_lost_targets(workshop: Workshop, reads: Reads, entries: Sequence[Entry]) -> None:
    """Raise StaleRecord when what one of them corrects was taken back, or corrected by another, meanwhile."""
    for entry in entries:
        if entry.replaces is None or reads.entry(entry.id) is not None:
            continue
        target = reads.entry(entry.replaces)
        if target is None:
            continue
        found = standing([target.entry, *reads.changes_to([target.entry.id])])
        sent = [tell(entry, workshop.facts, ledger_now(reads))]
        if target.entry.id in found.withdrawn:
            raise StaleRecord(
                "What this corrects was taken back meanwhile, so nothing was saved.",
                "Bring it back first, or log it anew.",
                stands=["nothing: it was taken back"],
                sent=sent,
            )
        if target.entry.id in found.superseded:
            now = reads.entry(found.superseded[target.entry.id])
            raise StaleRecord(
                "What this corrects was corrected meanwhile, so nothing was saved.",
                "Look at it as it stands now, and correct that.",
                stands=[tell(now.entry, workshop.facts, ledger_now(reads))] if now else [],
                sent=sent,
            )


def parts_taken(workshop: Workshop, reads: Reads, entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entries with what each takes out of the box of spares; one that says so already stays as it is."""
    if not any(isinstance(entry.fact, USES) for entry in entries):
        return tuple(entries)
    corrected = [reads.entry(entry.replaces) for entry in entries if entry.replaces is not None]
    back = [one for found in corrected if found is not None for one in taken_by(found.entry.fact)]
    return with_parts_used(workshop, ledger_now(reads), entries, back)


def refuse_contradictions(workshop: Workshop, entries: Sequence[Entry]) -> None:
    """Raise WrongData now for what `keep` would refuse, so that nobody is asked to keep what cannot be."""
    with workshop.store.reading() as reads:
        _refuse_lost_targets(workshop, reads, entries)
        ledger_with(reads, entries)


def ledger_with(reads: Reads, entries: Sequence[Entry]) -> Ledger:
    """The ledger as it would stand with these entries. Raises WrongData with all that contradicts it."""
    ledger = ledger_now(reads)
    findings: list[Finding] = []
    for entry in entries:
        if reads.entry(entry.id) is None:
            findings += contradictions(entry, ledger, _near(reads, entry, entries))
        ledger = fold([entry], ledger)
    if findings:
        raise WrongData("This cannot be saved", findings)
    return ledger


def undo(workshop: Workshop) -> Undone:
    """Withdraw the entry that arrived last here and still stands. Raises NotKnown when there is none."""
    return withdraw(workshop, last_standing(workshop).id)


def last_standing(workshop: Workshop) -> Entry:
    """The entry that arrived last here and still stands, whatever a clock said when it was recorded.

    Raises NotKnown when there is none.
    """
    with workshop.store.reading() as reads:
        recent = _recent(reads)
        stands = {entry.id for entry in standing(reads.related(recent)).entries}
    for entry in reversed(recent):
        if entry.id in stands:
            return entry
    raise NotKnown("There is nothing to undo.", "Log something first.")


def kept_together(workshop: Workshop, with_entry: UUID | None = None) -> tuple[Entry, ...]:
    """What one form or command kept at once and still stands, in order of arrival.

    Without an entry it is what was kept last. Raises NotKnown when there is nothing.
    """
    one = with_entry or last_standing(workshop).id
    with workshop.store.reading() as reads:
        recent = _recent(reads)
        stands = {entry.id for entry in standing(reads.related(recent)).entries}
    mine = next((entry for entry in recent if entry.id == one), None)
    if mine is None:
        return ()
    at = (mine.recorded_at, mine.author)
    return tuple(entry for entry in recent if entry.id in stands and (entry.recorded_at, entry.author) == at)


def withdraw_all(workshop: Workshop, entries: Sequence[Entry], why: str = "") -> tuple[Undone, ...]:
    """Take back what was kept together, the last first, so that nothing rests on what goes."""
    return tuple(withdraw(workshop, entry.id, why) for entry in reversed(entries))


def resting_on(workshop: Workshop, *entries: Entry) -> int:
    """How many later entries, these aside, would not count without them."""
    with workshop.store.reading() as reads:
        resting = {one.id for entry in entries for one in entries_resting_on(reads, entry)}
    return len(resting - {entry.id for entry in entries})


def entries_resting_on(reads: Reads, entry: Entry) -> tuple[Entry, ...]:
    """The standing entries that would not count without this one, in replay order."""
    if not can_bear(entry.fact):
        return ()
    return depends_on(standing(reads.entries_of(subjects(entry.fact))).entries, entry.id)


def redo(workshop: Workshop) -> Undone:
    """Let the entry stand again that was undone last. Raises NotKnown when something was logged since."""
    return withdraw(workshop, _undone_since(workshop)[-1][0].id)


def redo_together(workshop: Workshop) -> tuple[Undone, ...]:
    """Let stand again what was undone last and had been kept together. Raises as `redo` does."""
    undone = _undone_since(workshop)
    _, last = undone[-1]
    mine = [
        by
        for by, told in undone
        if by is undone[-1][0] or (told and last and told.recorded_at == last.recorded_at)
    ]
    return tuple(withdraw(workshop, by.id) for by in reversed(mine))


def _undone_since(workshop: Workshop) -> list[tuple[Entry, Entry | None]]:
    """The withdrawals since something was logged, each with what it took back, in order of arrival."""
    with workshop.store.reading() as reads:
        recent = _recent(reads)
    by_id = {entry.id: entry for entry in recent}
    logged = [n for n, entry in enumerate(recent) if not isinstance(entry.fact, Withdrawn)]
    since = set(map(id, recent[logged[-1] :] if logged else recent))
    undone = [entry for entry in _undoing(recent) if id(entry) in since]
    if not undone:
        raise NotKnown("There is nothing to redo.", "Redo works right after undo.")
    return [(entry, by_id.get(entry.fact.entry)) for entry in undone if isinstance(entry.fact, Withdrawn)]


def withdraw(workshop: Workshop, entry_id: UUID, why: str = "", *, seen: str | None = None) -> Undone:
    """Take one entry back. It stays in the journal, marked as withdrawn; withdrawing that brings it back.

    `seen` is the `withdrawal_seen` of when somebody looked. Raises NotKnown when the journal has no such
    entry, StaleRecord when it was corrected since, or other entries rest on it by now.
    """
    if workshop.read_only:
        raise READ_ONLY
    with workshop.store.work() as work:
        found = work.reads.entry(entry_id)
        if found is None:
            raise NotKnown(
                "There is no such entry in the journal.", WayOut("Look in the journal", Action.SEE_JOURNAL)
            )
        told = found.entry
        if not isinstance(told.fact, Withdrawn) and _is_taken_back(work.reads, told):
            raise RefusedAction(
                "This entry is taken back already.", WayOut("It can be brought back", Action.BRING_BACK)
            )
        if seen is not None and seen != withdrawal_seen(work.reads, told):
            stands = [
                tell(one, workshop.facts, ledger_now(work.reads)) for one in _meanwhile(work.reads, told)
            ]
            raise StaleRecord(
                "It was corrected, or more came to rest on it, after you opened it: nothing was saved.",
                "Open it again and look at what is new.",
                stands=stands,
                sent=["take it back"],
            )
        while isinstance(told.fact, Withdrawn):
            before = work.reads.entry(told.fact.entry)
            if before is None:
                break
            told = before.entry
        resting = entries_resting_on(work.reads, told)
        ledger = ledger_now(work.reads)
        withdrawal = workshop.entry(Withdrawn(entry_id, why))
        work.journal.add(withdrawal)
        remember_ledger(work)
        work.commit()
    return Undone(tell(told, workshop.facts, ledger), withdrawal.id, len(resting))


def withdrawal_seen(reads: Reads, entry: Entry) -> str:
    """What was seen by whoever is asked to take an entry back: its corrections, and what rests on it."""
    corrections = sorted(one.id.hex for one in reads.changes_to([entry.id]) if one.replaces is not None)
    resting = sorted(one.id.hex for one in entries_resting_on(reads, entry))
    return sha256("/".join([*corrections, "", *resting]).encode()).hexdigest()[:16]


def _meanwhile(reads: Reads, entry: Entry) -> list[Entry]:
    """What now stands in its place, and the last of what rests on it."""
    corrected = [one for one in reads.changes_to([entry.id]) if one.replaces is not None]
    return [*corrected[-1:], *entries_resting_on(reads, entry)[-MOST_NEWS:]]


def _is_taken_back(reads: Reads, entry: Entry) -> bool:
    return entry.id in standing([entry, *reads.changes_to([entry.id])]).withdrawn


def _recent(reads: Reads) -> list[Entry]:
    """What arrived last, as far back as anybody undoes step by step, in order of arrival."""
    since = max(0, reads.position() - FAR_BACK)
    return [row.entry for row in reads.entries_after(since) if row.position > since]


def _undoing(recent: Sequence[Entry]) -> list[Entry]:
    """Withdrawals of ordinary entries that are in force, in order of arrival."""
    by_id = {entry.id: entry for entry in recent}
    taken_back = {entry.fact.entry for entry in recent if isinstance(entry.fact, Withdrawn)}
    return [
        entry
        for entry in recent
        if isinstance(entry.fact, Withdrawn)
        and entry.id not in taken_back
        and not (entry.fact.entry in by_id and isinstance(by_id[entry.fact.entry].fact, Withdrawn))
    ]


def _near(reads: Reads, entry: Entry, together: Sequence[Entry]) -> tuple[Entry, ...]:
    """Standing runs of the same car and packs around that time, those logged together included."""
    if not isinstance(entry.fact, Ran | PackCharged) or entry.precision is not Precision.MINUTE:
        return ()
    span = timedelta(minutes=LONGEST_RUN_MIN)
    about = subjects(entry.fact)
    stored = reads.entries_around(about, entry.happened_at - span, entry.happened_at + span)
    stands = standing(stored).entries
    return (*stands, *(other for other in together if other is not entry and other.id < entry.id))
