"""What a finding takes out of the box: the parts it surely used, where the box holds the very same ones.

It stands in the entry of the finding itself, so that taking that back, or correcting it, puts them back.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from uuid import UUID

from snugfast.facts.model import Build, Mode, Place
from snugfast.records.box import BoxItem, taken_by
from snugfast.records.entries import (
    Broke,
    Checked,
    Done,
    Entry,
    Fact,
    Failed,
    FromBox,
    Hunted,
    PartFitted,
    Ran,
)
from snugfast.records.ledger import Ledger
from snugfast.records.roster import build_with
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.kinds import kind_of_item, kind_of_place

USES = (Checked, Failed, Ran, Hunted, PartFitted)
SURELY = 0.995  # of a part: what goes only sometimes is left for the owner to take out


@dataclass(frozen=True, slots=True)
class _Used:
    """So many pieces of the part in a place."""

    place: Place
    pieces: int


def with_parts_used(
    workshop: Workshop, ledger: Ledger, entries: Sequence[Entry], put_back: Iterable[FromBox] = ()
) -> tuple[Entry, ...]:
    """The entries with what each takes out of the box, as far as the box has it.

    `put_back` is what the entries that they correct had taken. An entry that says so already stays as it is.
    """
    if not any(item.is_kept for item in ledger.stock.items.values()):
        return tuple(entries)
    left = Counter({item.id: item.count for item in ledger.stock.items.values() if item.is_kept})
    for one in put_back:
        left[one.item] += one.count
    made = []
    for entry in entries:
        if isinstance(entry.fact, USES) and not taken_by(entry.fact):
            taken = tuple(_taken(workshop, ledger, entry.fact, left))
            if taken:
                entry = replace(entry, fact=replace(entry.fact, from_box=taken))
        for one in taken_by(entry.fact):
            left[one.item] -= one.count
        made.append(entry)
    return tuple(made)


def without_parts_used(fact: Fact) -> Fact:
    """The same, as it was said: what it took out of the box left out."""
    return replace(fact, from_box=()) if isinstance(fact, USES) else fact


def in_box(workshop: Workshop, ledger: Ledger, build: Build, place: Place) -> BoxItem | None:
    """What the box holds of the very part that sits in a place; the fullest of several."""
    return _same(workshop, ledger, build, place, {item.id: item.count for item in ledger.stock.kept()})


def _taken(workshop: Workshop, ledger: Ledger, fact: Fact, left: Counter[UUID]) -> Iterator[FromBox]:
    car = ledger.cars.get(getattr(fact, "car", None))  # type: ignore[arg-type]
    if car is None:
        return
    document = build_with(car.build, fact) if isinstance(fact, PartFitted) and not fact.spots else car.build
    build = workshop.build(document)
    wanted: Counter[UUID] = Counter()
    for used in _used(workshop.facts.modes, build, fact):
        here = {item: count - wanted[item] for item, count in left.items()}
        item = _same(workshop, ledger, build, used.place, here)
        if item is not None and here[item.id] > 0:
            wanted[item.id] += min(used.pieces, here[item.id])
    yield from (FromBox(item, count) for item, count in wanted.items())


def _same(
    workshop: Workshop, ledger: Ledger, build: Build, place: Place, here: Mapping[UUID, int]
) -> BoxItem | None:
    kind = kind_of_place(workshop.facts, build, place)
    same = [
        ledger.stock.items[item]
        for item in here
        if kind_of_item(workshop.facts, ledger.stock.items[item]) == kind
    ]
    return max(same, key=lambda item: here[item.id], default=None)


def _used(modes: Mapping[str, Mode], build: Build, fact: Fact) -> Iterator[_Used]:
    match fact:
        case PartFitted(place=key, spots=spots, second_hand=False):
            place = build.place(key)
            if place is not None:
                each = place.pieces // max(1, len(place.spots))
                yield _Used(place, len(spots) * each if spots else place.pieces)
        case Checked(answers=answers, looked=True):
            for answer in answers:
                if answer.mode and answer.mode in modes and answer.done is not Done.LEFT:
                    mode = modes[answer.mode]
                    yield from _of_mode(mode, build, mode.cure_parts, answer.place, answer.done)
        case Failed(broke=broke) | Hunted(broke=Broke() as broke):
            yield from _of_break(modes, build, broke)
        case Ran(broke=several):
            for broke in several:
                yield from _of_break(modes, build, broke)
        case _:
            return


def _of_break(modes: Mapping[str, Mode], build: Build, broke: Broke) -> Iterator[_Used]:
    if broke.mode and broke.mode in modes and broke.pack is None and broke.done is not Done.LEFT:
        mode = modes[broke.mode]
        yield from _of_mode(mode, build, mode.failure_parts, broke.place, broke.done)


def _of_mode(
    mode: Mode, build: Build, parts: Mapping[str, float], key: str | None, done: Done
) -> Iterator[_Used]:
    """What surely went: the part itself when it was replaced, and whole parts that the work takes."""
    whole = {role: round(share) for role, share in parts.items() if share >= SURELY}
    if done is Done.RENEWED:
        whole[mode.role] = max(1, whole.get(mode.role, 0))
    for role, pieces in whole.items():
        named = build.place(key) if key else None
        here = build.of_role(role)
        place = named if named is not None and named.role == role else here[0] if len(here) == 1 else None
        if place is not None:
            yield _Used(place, pieces)
