"""The journal a page at a time, and one entry with all that hangs on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import Enum
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.core.errors import NotKnown
from snugfast.core.ways_out import Action, WayOut
from snugfast.records.entries import Checked, Entry, Ran, Withdrawn
from snugfast.records.ledger import Ledger
from snugfast.records.standing import Standing, standing
from snugfast.records.store.rows import kind_of
from snugfast.usecases.journal.keeping import entries_resting_on, withdrawal_seen
from snugfast.usecases.journal.marks import answered_hunts
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import tell, tell_when
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

LINES = 40
MOST_RESTING_TOLD = 12


@dataclass(frozen=True, slots=True)
class JournalAsked:
    """Which part of the journal: words in it, of one car or pack, of some kinds, older than an entry.

    `since` is included, `until` is not.
    """

    text: str = ""
    subject: UUID | None = None
    kinds: tuple[str, ...] = ()
    before: UUID | None = None
    since: datetime | None = None
    until: datetime | None = None


class Does(Enum):
    """What an entry does to another one; the value says so in words."""

    SAYS = "first said"
    CORRECTS = "corrected"
    TAKES_BACK = "taken back"
    BRINGS_BACK = "brought back"


@dataclass(frozen=True, slots=True)
class Line:
    """One entry. `state` is “”, “corrected” or “withdrawn”."""

    id: UUID
    kind: str
    when: str
    what: str
    author: str
    recorded_at: datetime
    state: str
    is_run: bool
    is_withdrawal: bool
    outcome: str = ""  # of a check: “ok”, “found” or “skipped”

    @property
    def told(self) -> str:
        """The entry in one sentence, its day in front."""
        return f"{self.when}: {self.what}"


@dataclass(frozen=True, slots=True)
class JournalPage:
    """Some lines, newest first; `older` is where the next page starts, None at the end."""

    lines: tuple[Line, ...]
    older: UUID | None
    ledger: Ledger


@dataclass(frozen=True, slots=True)
class Link:
    """One entry of a chain: what it did to another of them, and what it says."""

    does: Does
    line: Line


@dataclass(frozen=True, slots=True)
class EntryPage:
    """One entry with what stands in its stead, what it stands for, and what rests on it.

    `chain` is every version of it and all that took one back or brought it again, in the order of recording.
    """

    entry: Entry
    line: Line
    corrected_by: Line | None
    corrects: Line | None
    chain: tuple[Link, ...]
    resting: tuple[str, ...]
    resting_count: int
    ledger: Ledger
    seen: str  # for a withdrawal, so that it is not done to something else than was looked at


def journal_page(workshop: Workshop, asked: JournalAsked) -> JournalPage:
    """A page of the journal, withdrawn and corrected entries included and marked.

    A hunt is one line, however many answers made it; its earlier versions stand on its own page.
    """
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        start = reads.entry(asked.before) if asked.before else None
        rows = reads.search(
            text=asked.text.replace("\x00", " "),
            kinds=asked.kinds,
            subject=asked.subject,
            limit=LINES + 1,
            since=asked.since,
            until=asked.until,
            before=(start.entry.happened_at, start.entry.id) if start else None,
        )
        entries = [row.entry for row in rows[:LINES]]
        telling = _Telling(workshop, ledger, reads, entries)
    older = entries[-1].id if len(rows) > LINES else None
    lines = (telling.line(entry) for entry in entries if entry.id not in telling.answered_hunts)
    return JournalPage(tuple(lines), older, ledger)


def entry_page(workshop: Workshop, entry_id: UUID) -> EntryPage:
    """One entry. Raises NotKnown when the journal has no such entry."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        found = reads.entry(entry_id)
        if found is None:
            raise NotKnown(
                "There is no such entry in the journal.", WayOut("Look in the journal", Action.SEE_JOURNAL)
            )
        entry = found.entry
        kin = sorted(reads.related([entry]), key=lambda one: (one.recorded_at, one.id))
        telling = _Telling(workshop, ledger, reads, kin)
        resting = entries_resting_on(reads, entry)
        seen = withdrawal_seen(reads, entry)
    by_id = {one.id: one for one in kin}
    successor = by_id.get(telling.standing.superseded.get(entry.id, entry.id))
    before = by_id.get(entry.replaces) if entry.replaces else None
    return EntryPage(
        entry=entry,
        line=telling.line(entry),
        corrected_by=telling.line(successor) if successor and successor is not entry else None,
        corrects=telling.line(before) if before else None,
        chain=tuple(Link(_does(one, by_id), telling.line(one)) for one in kin),
        resting=tuple(tell(one, workshop.facts, ledger) for one in resting[:MOST_RESTING_TOLD]),
        resting_count=len(resting),
        ledger=ledger,
        seen=seen,
    )


class _Telling:
    """Turns entries into lines, knowing what became of them."""

    def __init__(self, workshop: Workshop, ledger: Ledger, reads: Reads, entries: Sequence[Entry]) -> None:
        self.facts = workshop.facts
        self.ledger = ledger
        self.names = {person.id: person.name or "somebody" for person in reads.people()}
        related = list(reads.related(entries))
        self.standing = standing(related)
        self.answered_hunts = answered_hunts(related, self.standing)
        self.withdrawn = _withdrawn_by(reads, entries)

    def line(self, entry: Entry) -> Line:
        took_back = self.withdrawn.get(entry.id)
        when = tell_when(entry)
        what = tell(entry, self.facts, self.ledger).removeprefix(f"{when}: ")
        if took_back is not None:
            what = f"{what.rstrip('.')}: “{tell(took_back, self.facts, self.ledger).rstrip('.')}”."
        return Line(
            id=entry.id,
            kind=kind_of(entry),
            when=when,
            what=what,
            author=self.names.get(entry.author, "somebody"),
            recorded_at=entry.recorded_at,
            state=_state(entry.id, self.standing),
            is_run=isinstance(entry.fact, Ran),
            is_withdrawal=isinstance(entry.fact, Withdrawn),
            outcome=_outcome(entry),
        )


def _outcome(entry: Entry) -> str:
    match entry.fact:
        case Checked(looked=False):
            return "skipped"
        case Checked(answers=answers):
            return "found" if answers else "ok"
        case _:
            return ""


def _does(entry: Entry, by_id: Mapping[UUID, Entry]) -> Does:
    if isinstance(entry.fact, Withdrawn):
        target = by_id.get(entry.fact.entry)
        takes_back_a_withdrawal = target is not None and isinstance(target.fact, Withdrawn)
        return Does.BRINGS_BACK if takes_back_a_withdrawal else Does.TAKES_BACK
    return Does.CORRECTS if entry.replaces else Does.SAYS


def _withdrawn_by(reads: Reads, entries: Iterable[Entry]) -> Mapping[UUID, Entry]:
    """What each withdrawal among these took back."""
    taken = {entry.id: entry.fact.entry for entry in entries if isinstance(entry.fact, Withdrawn)}
    if not taken:
        return {}
    found = {row.entry.id: row.entry for row in reads.entries_with(taken.values())}
    return {one: found[other] for one, other in taken.items() if other in found}


def _state(entry_id: UUID, stands: Standing) -> str:
    if entry_id in stands.withdrawn:
        return "withdrawn"
    return "corrected" if entry_id in stands.superseded else ""
