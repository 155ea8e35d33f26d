"""Which part sits in which place of a car: fitted, moved, rebuilt. Ledger and beliefs both ask here."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any
from uuid import UUID

from snugfast.core.ids import derived
from snugfast.records.entries import PartFitted, PartMoved


@dataclass(frozen=True, slots=True)
class Roster:
    """The part in each place of one car, and those lying aside because another one was moved in.

    What lies aside goes back in when the part that took its place is moved on, the last one first.
    """

    parts: Mapping[str, UUID] = field(default_factory=dict)
    aside: Mapping[str, tuple[UUID, ...]] = field(default_factory=dict)

    def with_part(self, place: str, part: UUID) -> Roster:
        """A part was fitted: the one it took the place of is gone for good."""
        rest = {key: parts for key, parts in self.aside.items() if key != place}
        return Roster({**self.parts, place: part}, rest)

    def rebuilt(self, car: UUID, build: Mapping[str, Any], root: UUID) -> Roster:
        """The build was edited: places that stayed keep their parts, new or renamed ones have new parts."""
        keys = [place["key"] for place in build.get("place", ())]
        return replace(self, parts={key: self.parts.get(key) or _new(root, car, key) for key in keys})

    def taken_out(self, place: str, car: UUID, root: UUID) -> Roster:
        """The part of a place was moved away: what lay aside goes back in, else there is a new one."""
        waiting = self.aside.get(place, ())
        back = waiting[-1] if waiting else _new(root, car, place)
        return Roster({**self.parts, place: back}, {**self.aside, place: waiting[:-1]})

    def moved_in(self, place: str, part: UUID) -> Roster:
        """A part was moved in: the one that sat there lies aside."""
        there = self.parts.get(place)
        waiting = self.aside.get(place, ()) + ((there,) if there else ())
        return Roster({**self.parts, place: part}, {**self.aside, place: waiting})


def first_roster(car: UUID, build: Mapping[str, Any]) -> Roster:
    """The parts that a car comes with."""
    return Roster().rebuilt(car, build, car)


def after_move(rosters: Mapping[UUID, Roster], move: PartMoved, entry: UUID) -> Mapping[UUID, Roster]:
    """The rosters of the two cars after a part was moved, by car; empty when there was nothing to move."""
    giver = rosters.get(move.from_car)
    if giver is None or move.to_car not in rosters or move.from_place not in giver.parts:
        return {}
    part = giver.parts[move.from_place]
    after = {move.from_car: giver.taken_out(move.from_place, move.from_car, entry)}
    taker = after.get(move.to_car, rosters[move.to_car])
    return {**after, move.to_car: taker.moved_in(move.to_place, part)}


def build_with(build: Mapping[str, Any], fitted: PartFitted) -> Mapping[str, Any]:
    """The build after a part was fitted: where the part brought sizes of its own, its place has them now."""
    if not fitted.sizes or fitted.spots:
        return build
    return {**build, "place": [_place_with(place, fitted) for place in build.get("place", ())]}


def _place_with(place: Mapping[str, Any], fitted: PartFitted) -> Mapping[str, Any]:
    if place["key"] != fitted.place:
        return place
    return {**place, "part": fitted.name, "sizes": {**place.get("sizes", {}), **fitted.sizes}}


def _new(root: UUID, car: UUID, place: str) -> UUID:
    return derived(root, f"{car}/{place}")
