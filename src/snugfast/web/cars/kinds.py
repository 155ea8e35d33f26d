"""The kinds of car to start from, as pictures to tap."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID

from snugfast.facts.load import load_facts
from snugfast.facts.model import Build, Facts
from snugfast.records.entries import Entry
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.drawings import KINDS, kind_drawing
from snugfast.web.sheet.form import sheet_of

HISTORIES = (("new", "new"), ("second-hand", "second-hand"), ("unknown", "don’t know"))


@dataclass(frozen=True, slots=True)
class Kind:
    """One starter build: its picture, what it is called, what tells it from the next."""

    key: str
    drawing: str
    name: str
    rest: str
    description: str


def kinds_of(starters: Mapping[str, Build]) -> tuple[Kind, ...]:
    """The starter builds, the commonest kind of car first."""
    order = tuple(KINDS.values())
    found = []
    for key, build in starters.items():
        name, _, rest = build.name.partition(", ")
        drawing = kind_drawing(key, build.traits.get("car_kind", ""))
        found.append(Kind(key, drawing, name, rest, build.description))
    return tuple(sorted(found, key=lambda kind: order.index(kind.drawing)))


def shipped_kinds() -> tuple[Kind, ...]:
    """The kinds there are before there is a workshop."""
    facts: Facts = load_facts()
    return kinds_of(facts.starters)


def draft_first_car(
    workshop: Workshop, *, name: str, kind: str, history: str = "new", when: str = "", id: UUID | None = None
) -> Entry:
    """A car from the picture of its kind and a name. Raises BadInput or NotKnown."""
    build = starter(workshop, kind)
    return draft_car(workshop, name, build, history=history, when=when, from_starter=kind, id=id)


def first_sheet(name: str) -> str:
    """The address of the first sheet of a car that was just added."""
    return sheet_of(name)
