"""What a build says of its sizes, and what each number of its twin rests on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from snugfast.core.errors import NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build
from snugfast.usecases.twin import tables

SAID = Origin("mine", "the build of the car")
FROM_KIND = "guessed from the kind of car"


@dataclass(frozen=True, slots=True)
class TwinNumber:
    """One number that went into the twin; `estimated` when neither the build nor a reading says it."""

    name: str
    figure: Figure
    how: str
    estimated: bool


class BuildRead:
    """A build that is read place by place; `numbers` and `notes` gather what was taken from where."""

    def __init__(self, build: Build) -> None:
        self.build = build
        self.kind = tables.kind_of(build)
        self.numbers: list[TwinNumber] = []
        self.notes: list[str] = []

    def size(self, role: str, name: str) -> float | None:
        """A size of the first place of that role which has it, as the build has it (mm, A, teeth)."""
        for place in self.build.of_role(role):
            value = place.sizes.get(name)
            if isinstance(value, float):
                return value
        return None

    def metres(self, role: str, name: str) -> float | None:
        """A size in mm, in metres."""
        value = self.size(role, name)
        return None if value is None else value * 1e-3

    def needed(self, role: str, name: str, words: str) -> float:
        """A size without which there is no twin. Raises NotKnown, saying where to put it."""
        value = self.size(role, name)
        if value is None:
            raise NotKnown(
                f"The build does not say {words}.",
                f"Measure it and add {name} to the sizes of the {role.replace('_', ' ')} in the build.",
            )
        return value

    def note(self, name: str, figure: Figure, how: str, estimated: bool) -> None:
        """Keep what a number of the twin rests on."""
        self.numbers.append(TwinNumber(name, figure, how, estimated))

    def said(self, name: str, value: float, unit: str) -> Figure:
        """A number that the build says."""
        figure = Figure(value, unit, origins=(SAID,))
        self.note(name, figure, "the build says it", False)
        return figure


def notes_of(numbers: Sequence[TwinNumber]) -> str:
    """How much of a twin is guessed, in one sentence."""
    guessed = sum(one.estimated for one in numbers)
    return f"{guessed} of {len(numbers)} numbers of this car model are estimates." if guessed else ""
