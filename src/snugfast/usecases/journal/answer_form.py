"""What a form may offer as the answer to a check: what was found and where, as an answer is read."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass

from snugfast.facts.model import Build, Check, Facts, Mode
from snugfast.usecases.shared.applicability import carried_by_pack, fits, pack_modes


@dataclass(frozen=True, slots=True)
class Option:
    """One answer to choose: how it is said to `FoundSaid.words`, and to a person."""

    said: str
    label: str
    mode: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Answers that share a word, or a way to fail."""

    name: str
    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class AnswerForm:
    """The choices of one check on one build: what may be found, and what may have failed."""

    found: tuple[Group, ...]
    failed: tuple[Group, ...]


def answer_form(facts: Facts, build: Build, check: Check, chemistry: str = "") -> AnswerForm:
    """What the form offers, as far as this build can have it, and the pack in hand where there is one."""
    of_packs = {mode.key for mode in pack_modes(facts, chemistry)} if chemistry else None
    here = {
        cover.mode: facts.modes[cover.mode]
        for cover in check.covers
        if _can_have(facts.modes[cover.mode], build, of_packs)
    }
    meant: dict[str, Mode | None] = {}
    for answer in check.answers:
        if not answer.mode or answer.mode in here:
            meant.setdefault(answer.word, here.get(answer.mode))
    return AnswerForm(
        found=tuple(Group(word, tuple(_options(word, mode, build))) for word, mode in meant.items()),
        failed=tuple(
            Group(mode.name, tuple(_options("failed", mode, build, key=mode.key))) for mode in here.values()
        ),
    )


def _can_have(mode: Mode, build: Build, of_packs: Container[str] | None) -> bool:
    if carried_by_pack(mode):
        return of_packs is None or mode.key in of_packs
    return fits(mode.traits, build) and bool(build.of_role(mode.role))


def _options(word: str, mode: Mode | None, build: Build, key: str = "") -> Iterable[Option]:
    """A word alone, or once for each place or spot it can be at."""
    places = () if mode is None or carried_by_pack(mode) else build.of_role(mode.role)
    wheres = places[0].spots if len(places) == 1 else tuple(place.name for place in places)
    name = mode.name if key and mode else word
    if not wheres:
        yield Option(word, name, key)
    for where in wheres:
        yield Option(f"{word} @ {where}", f"{name}: {where}", key)
