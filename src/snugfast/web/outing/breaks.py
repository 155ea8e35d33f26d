"""“Something broke” as choices: what it was, where on the car, what was done about it."""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.errors import BadInput
from snugfast.facts.model import Build, Facts
from snugfast.usecases.shared.applicability import car_modes, carried_by_pack
from snugfast.web.picker import Where

UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class BreakGroup:
    """What may break at one notch of the drivetrain."""

    name: str
    choices: tuple[tuple[str, str], ...]  # key of the mode, its name


def break_groups(facts: Facts, build: Build) -> tuple[BreakGroup, ...]:
    """What may break on this car, from pack to body."""
    groups: dict[str, dict[str, str]] = {notch: {} for notch in facts.notches}
    for mode, _ in car_modes(facts, build):
        groups.setdefault(facts.roles[mode.role].notch, {})[mode.key] = mode.name
    for mode in facts.modes.values():
        if carried_by_pack(mode):
            groups.setdefault("pack", {})[mode.key] = mode.name
    return tuple(
        BreakGroup(name, tuple(sorted(held.items(), key=lambda one: one[1])))
        for name, held in groups.items()
        if held
    )


def break_where(facts: Facts, build: Build, mode: str) -> Where:
    """Where something of this mode can be on this car."""
    if mode not in facts.modes or carried_by_pack(facts.modes[mode]):
        return Where.among(())
    places = build.of_role(facts.modes[mode].role)
    return Where.among(places[0].spots if len(places) == 1 else [place.name for place in places])


def broke_words(facts: Facts, build: Build, mode: str, at: tuple[str, ...], did: str) -> tuple[str, ...]:
    """What broke as the journal reads it. Raises BadInput where the place or the remedy is missing."""
    if mode == UNKNOWN:
        return (f"{UNKNOWN}: {did}" if did else UNKNOWN,)
    if mode not in facts.modes:
        raise BadInput("Nobody said what broke.", "Choose it from the list, or “I don’t know”.")
    where = break_where(facts, build, mode)
    name = facts.modes[mode].name
    here = (*where.corners, *where.ends, *where.sides, *where.others)
    chosen = [place for place in at if place in here]
    if len(here) > 1 and not chosen:
        raise BadInput(f"{name}: where?", "Touch the place.")
    if not did:
        raise BadInput(f"{name}: what did you do about it?", "Fixed, replaced, or not fixed yet.")
    if not chosen:
        return (f"{mode}: {did}",)
    return tuple(f"{mode} @ {place}: {did}" for place in chosen)
