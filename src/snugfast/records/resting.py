"""What rests on an entry: what would lose its footing if it were taken back, so that an undo can say so."""

from __future__ import annotations

from collections.abc import Iterable
from uuid import UUID

from snugfast.records.entries import (
    BoxPart,
    Broke,
    CarAdded,
    ChargerAdded,
    Checked,
    Entry,
    Fact,
    Failed,
    Hunted,
    PackAdded,
    PartFitted,
    PartMoved,
    Ran,
    WorkDone,
    subjects,
)

Spot = tuple[UUID, str]  # a car and a place in it


def can_bear(fact: Fact) -> bool:
    """Whether anything can rest on what an entry says, so that the rest need not be looked through."""
    return isinstance(fact, CarAdded | PackAdded | ChargerAdded | PartFitted | PartMoved | BoxPart)


def depends_on(entries: Iterable[Entry], entry_id: UUID) -> tuple[Entry, ...]:
    """The standing entries that rest on one of them, directly or through others, in replay order.

    On a car or a pack that was added rests all that is about it. On a part that was fitted or moved rests
    what later names its place, until another part goes in there. Empty when nothing does, or when the entry
    itself does not stand. Which places exist only since a change of the build is not looked into.
    """
    ordered = sorted(entries, key=lambda entry: entry.order)
    ahead = [entry for entry in ordered if entry.id == entry_id]
    resting: dict[UUID, Entry] = {}
    while ahead:
        under = ahead.pop()
        for entry in _directly_on(under, ordered):
            if entry.id != entry_id and entry.id not in resting:
                resting[entry.id] = entry
                ahead.append(entry)
    return tuple(entry for entry in ordered if entry.id in resting)


def _directly_on(under: Entry, ordered: list[Entry]) -> list[Entry]:
    match under.fact:
        case CarAdded(car=member) | PackAdded(pack=member) | ChargerAdded(charger=member):
            return [entry for entry in ordered if member in subjects(entry.fact)]
        case BoxPart(item=item):
            return [entry for entry in ordered if item in subjects(entry.fact)]
        case PartFitted(car=car, place=place):
            return _naming((car, place), under, ordered)
        case PartMoved() as moved:
            return _naming((moved.to_car, moved.to_place), under, ordered)
        case _:
            return []


def _naming(spot: Spot, under: Entry, ordered: list[Entry]) -> list[Entry]:
    """Later entries that name the spot, up to and without the next part that fills all of it."""
    found = []
    for entry in ordered:
        if entry.order <= under.order:
            continue
        if spot in _filled_by(entry):
            break
        if spot in _named_by(entry):
            found.append(entry)
    return found


def _filled_by(entry: Entry) -> set[Spot]:
    match entry.fact:
        case PartFitted(car=car, place=place, spots=()):
            return {(car, place)}
        case PartMoved(to_car=car, to_place=place):
            return {(car, place)}
        case _:
            return set()


def _named_by(entry: Entry) -> set[Spot]:
    match entry.fact:
        case Checked(car=car, answers=answers):
            return {(car, answer.place) for answer in answers if answer.place}
        case Failed(car=car, broke=broke) | Hunted(car=car, broke=Broke() as broke):
            return {(car, broke.place)} if broke.place else set()
        case Ran(car=car, broke=several):
            return {(car, broke.place) for broke in several if broke.place}
        case WorkDone(car=car, place=str() as place):
            return {(car, place)}
        case PartFitted(car=car, place=place):
            return {(car, place)}
        case PartMoved(from_car=car, from_place=place):
            return {(car, place)}
        case _:
            return set()
