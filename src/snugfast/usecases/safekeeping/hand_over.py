"""Everything of a workshop as plain entries and people, and taking it in again, here or at another bench.

Two stores that parted meet by taking each other in: the same entry counts once, in whatever order it comes,
and what contradicts is shown and never dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.records.entries import Entry, Precision, Ran
from snugfast.records.ledger import Ledger, fold
from snugfast.records.standing import Standing, standing
from snugfast.usecases.journal.keeping import READ_ONLY
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.people import People


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who writes entries; None for a name that was erased."""

    id: UUID
    name: str | None


@dataclass(frozen=True, slots=True)
class Everything:
    """All that a workshop holds: what is worked out from it is not part of it."""

    workshop: UUID
    made_at: datetime
    handed_over_at: datetime
    entries: tuple[Entry, ...]
    people: tuple[Person, ...]


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two accounts that cannot both be right. Both stay in the journal until somebody decides."""

    sentence: str
    way_out: str
    entries: tuple[UUID, ...]


@dataclass(frozen=True, slots=True)
class TakenIn:
    """What came of taking in: new entries and people, and what contradicts."""

    new: int
    known: int
    new_people: int
    contradictions: tuple[Contradiction, ...]


def hand_over(workshop: Workshop) -> Everything:
    """Everything, as it stands in the store, in order of arrival."""
    with workshop.store.reading() as reads:
        row = reads.workshop()
        return Everything(
            workshop=row.id,
            made_at=row.made_at,
            handed_over_at=workshop.now(),
            entries=tuple(arrived.entry for arrived in reads.entries_after(0)),
            people=tuple(Person(person.id, person.name) for person in reads.people()),
        )


def take_in(workshop: Workshop, everything: Everything) -> TakenIn:
    """Add what is not here yet, all or none. Raises AnotherUnderThatId for a clash."""
    if workshop.read_only:
        raise READ_ONLY
    with workshop.store.work() as work:
        new_people = sum(_add_person(work.people, person) for person in everything.people)
        new = work.journal.add_all(everything.entries)
        journal = [arrived.entry for arrived in work.reads.entries_after(0)]
        work.commit()
    return TakenIn(
        new=new,
        known=len(everything.entries) - new,
        new_people=new_people,
        contradictions=contradictions_in(workshop, journal),
    )


def contradictions_in(workshop: Workshop, journal: Iterable[Entry]) -> tuple[Contradiction, ...]:
    """What in a journal cannot all be right: rival corrections, and runs that were in two places at once."""
    found = standing(journal)
    ledger = fold(found.entries)
    return (*_rivals(found), *_overlaps(workshop, found.entries, ledger))


def _rivals(found: Standing) -> list[Contradiction]:
    return [
        Contradiction(
            conflict.clash.value, "Look at both and withdraw the one that is wrong.", conflict.entries
        )
        for conflict in found.conflicts
    ]


def _overlaps(workshop: Workshop, entries: Sequence[Entry], ledger: Ledger) -> list[Contradiction]:
    """Runs told to the minute that used one pack, or one car, at the same time."""
    last: dict[UUID, tuple[Entry, Ran]] = {}
    found: list[Contradiction] = []
    for entry in entries:
        ran = entry.fact
        if not isinstance(ran, Ran) or entry.precision is not Precision.MINUTE:
            continue
        begin = entry.happened_at.timestamp() - 60.0 * ran.running_min
        for member in (ran.car, *ran.packs):
            if member in last and last[member][0].happened_at.timestamp() > begin:
                name = _name(ledger, member)
                one = tell(last[member][0], workshop.facts, ledger)
                other = tell(entry, workshop.facts, ledger)
                found.append(
                    Contradiction(
                        f"{name} was in two runs at once: {one} And: {other}",
                        "Correct the time, the car or the pack of one of the two.",
                        (last[member][0].id, entry.id),
                    )
                )
            last[member] = (entry, ran)
    return found


def _name(ledger: Ledger, member: UUID) -> str:
    if member in ledger.cars:
        return ledger.cars[member].name
    return ledger.packs[member].name if member in ledger.packs else "Something"


def _add_person(people: People, person: Person) -> bool:
    return person.name is not None and people.add(person.id, person.name)
