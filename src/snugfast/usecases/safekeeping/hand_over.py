"""Everything of a workshop as plain entries and people, and taking it in again, here or at another bench.

Two stores that parted meet by taking each other in: the same entry counts once, in whatever order it comes,
and what contradicts is shown and never dropped.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.core.errors import SnugfastError, WrongData
from snugfast.core.findings import Finding
from snugfast.records.entries import BuildChanged, CarAdded, Entry, Precision, Ran, subjects
from snugfast.records.ledger import Ledger, fold
from snugfast.records.rules import impossible
from snugfast.records.standing import Standing, standing
from snugfast.usecases.journal.keeping import READ_ONLY
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.people import People
    from snugfast.records.store.reads import Reads

HANDFUL = 500  # identities in one question
MOST_TOLD = 20  # things wrong, at once


@dataclass(frozen=True, slots=True)
class Person:
    """Somebody who writes entries; None for a name that was erased."""

    id: UUID
    name: str | None


@dataclass(frozen=True, slots=True)
class Everything:
    """All that a workshop holds: what is worked out from it is not part of it.

    `lines` are those the entries stand in, and `unread` what some others did not say, where lines that do not
    read were let pass.
    """

    workshop: UUID
    made_at: datetime
    handed_over_at: datetime
    entries: tuple[Entry, ...]
    people: tuple[Person, ...]
    lines: tuple[int, ...] = ()
    unread: tuple[Finding, ...] = ()


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
    left_out: tuple[Finding, ...] = ()


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


def take_in(workshop: Workshop, everything: Everything, *, leave_out: bool = False) -> TakenIn:
    """Add what is not here yet, all or none, judged by the rules of what is typed.

    What contradicts the records here is taken in and told; what cannot be true whatever the records say is
    refused, all of it at once, by its line. With `leave_out` those lines stay out, and are told.

    Raises WrongData with every line that cannot be, AnotherUnderThatId for a clash.
    """
    if workshop.read_only:
        raise READ_ONLY
    with workshop.store.work() as work:
        known = _known(work.reads, everything.entries)
        lines = _impossible_lines(workshop, everything, known)
        if lines and not leave_out:
            raise WrongData(
                "This cannot be taken in", _most([one for line in lines.values() for one in line])
            )
        entries = [entry for number, entry in _numbered(everything) if number not in lines]
        new_people = sum(_add_person(work.people, person) for person in everything.people)
        new = work.journal.add_all(entries)
        journal = [arrived.entry for arrived in work.reads.entries_after(0)]
        found = standing(journal)
        ledger = fold(found.entries)
        if unfit := _unfit_builds(workshop, ledger, _about(entries, known)):
            raise WrongData("This cannot be taken in", _most(unfit))
        work.commit()
    return TakenIn(
        new=new,
        known=len(entries) - new,
        new_people=new_people,
        contradictions=(*_rivals(found), *_overlaps(workshop, found.entries, ledger)),
        left_out=(*everything.unread, *(one for line in lines.values() for one in line)),
    )


def _known(reads: Reads, entries: Sequence[Entry]) -> frozenset[UUID]:
    """Which of these are here already: those were judged when they came."""
    ids = [entry.id for entry in entries]
    handfuls = (ids[start : start + HANDFUL] for start in range(0, len(ids), HANDFUL))
    return frozenset(row.entry.id for some in handfuls for row in reads.entries_with(some))


def _impossible_lines(
    workshop: Workshop, everything: Everything, known: frozenset[UUID]
) -> dict[int, list[Finding]]:
    """What cannot be, by the line of the journal it stands in."""
    found: dict[int, list[Finding]] = {}
    for number, entry in _numbered(everything):
        if entry.id in known:
            continue
        wrong = [*impossible(entry), *_unreadable_build(workshop, entry)]
        if wrong:
            found[number] = [
                replace(one, where=f"line {number}, {one.where}" if one.where else f"line {number}")
                for one in wrong
            ]
    return found


def _numbered(everything: Everything) -> Iterable[tuple[int, Entry]]:
    lines = everything.lines or range(1, len(everything.entries) + 1)
    return zip(lines, everything.entries, strict=True)


def _unreadable_build(workshop: Workshop, entry: Entry) -> Sequence[Finding]:
    if not isinstance(entry.fact, CarAdded | BuildChanged):
        return ()
    try:
        workshop.build(entry.fact.build)
    except WrongData as wrong:
        return wrong.findings
    except SnugfastError as refused:
        return (Finding("build", refused.sentence, refused.way_out),)
    return ()


def _about(entries: Iterable[Entry], known: frozenset[UUID]) -> frozenset[UUID]:
    """Which cars and packs the new ones are about."""
    return frozenset[UUID]().union(*(subjects(one.fact) for one in entries if one.id not in known))


def _unfit_builds(workshop: Workshop, ledger: Ledger, about: frozenset[UUID]) -> list[Finding]:
    """Cars whose build would no longer read with the parts that were fitted to it."""
    found: list[Finding] = []
    for car in (ledger.cars[member] for member in sorted(about & ledger.cars.keys())):
        try:
            workshop.build(car.build)
        except WrongData as wrong:
            found += [replace(one, where=f"{car.name}, {one.where}") for one in wrong.findings]
        except SnugfastError as refused:
            found.append(Finding(car.name, refused.sentence, refused.way_out))
    return found


def _most(findings: Sequence[Finding]) -> list[Finding]:
    """As many as anybody reads, with how many more there are."""
    if len(findings) <= MOST_TOLD:
        return list(findings)
    return [*findings[:MOST_TOLD], Finding("", f"and {len(findings) - MOST_TOLD} more", "")]


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
