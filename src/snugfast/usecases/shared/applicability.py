"""Which modes and checks of the tables belong to a build, and what carries their clocks."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from dataclasses import replace
from functools import cached_property, lru_cache

from snugfast.facts.model import Build, Check, Facts, Mode, Place
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.usecases.shared.chemistry import taken_as

BUILDS_AT_HAND = 64  # for how many builds it is remembered what belongs to them
PACK_ROLES = frozenset(("pack", "pack_plug"))  # what leaves the car with the pack


def carried_by_pack(mode: Mode) -> bool:
    """Whether a mode's clock travels with a pack from car to car, and not with a part of one car."""
    return mode.role in PACK_ROLES


def fits(traits: Mapping[str, str], build: Build) -> bool:
    """Whether a build has all the traits asked for; several words of one trait are parted by “|”."""
    return all(build.traits.get(name) in wanted.split("|") for name, wanted in traits.items())


def kind_of_car(build: Build) -> str:
    """What kind of car a build is: what it says itself, else what its scale and its drive line say."""
    said = build.traits.get("car_kind", "")
    if said:
        return said
    if build.traits.get("suspension") == "solid axles":
        return "crawler"
    if build.traits.get("drive_line") == "belt":
        return "on-road"
    return {"1/5": "large", "1/8": "buggy 1/8"}.get(build.scale, "truck")


def duty_of(facts: Facts, build: Build) -> Mapping[str, float]:
    """How many times as fast the clock of a mode runs on this kind of car, for the modes it is not once."""
    kind = kind_of_car(build)
    rows = (duty for duty in facts.duty.values() if kind in duty.times)
    return {mode: duty.times[kind] for duty in rows for mode in duty.modes}


def at_duty(mode: Mode, times: float) -> Mode:
    """The mode with its rate and delay as they are where its clock runs so many times as fast."""
    if times == 1.0:
        return mode
    return replace(mode, between_defects=mode.between_defects / times, delay=mode.delay / times)


def car_modes(facts: Facts, build: Build) -> Iterator[tuple[Mode, Place]]:
    """Each mode that a part of this build can fail by, with the place it is in, in table order.

    Rates and delays are those of this kind of car: this is the one place where that is reckoned in.
    """
    return iter(_belonging(_Pair(facts, build)).modes)


def pack_modes(facts: Facts, chemistry: str = Chemistry.LITHIUM_POLYMER.value) -> Iterator[Mode]:
    """Each mode that a pack of this chemistry, as it was booked, can fail by."""
    made_of = taken_as(chemistry).value
    for mode in facts.modes.values():
        if carried_by_pack(mode) and (not mode.chemistries or made_of in mode.chemistries):
            yield mode


def of_pack(facts: Facts, check: Check) -> bool:
    """Whether a check is done on a pack: all that it covers is carried by packs, and it covers something."""
    covered = [facts.modes[cover.mode] for cover in check.covers]
    return bool(covered) and all(carried_by_pack(mode) for mode in covered)


def sees_pack_too(facts: Facts, check: Check) -> bool:
    """Whether a check of the car also looks at the pack: both halves of a plug, the heat of all of it."""
    return not of_pack(facts, check) and any(
        carried_by_pack(facts.modes[cover.mode]) for cover in check.covers
    )


def sees(facts: Facts, check: Check, modes: Container[str]) -> bool:
    """Whether a check of packs is one for a pack with these modes.

    What any pack can have does not decide it where the check also looks for what only some can.
    """
    covered = [cover.mode for cover in check.covers]
    own = [mode for mode in covered if facts.modes[mode].chemistries]
    return any(mode in modes for mode in own or covered)


def car_checks(facts: Facts, build: Build) -> Iterator[Check]:
    """Each check whose places this build has, packs' own checks included, in the order of the tables."""
    return iter(_belonging(_Pair(facts, build)).checks)


def opening(facts: Facts, access: str) -> tuple[str, ...]:
    """The access work that a check behind `access` needs, outermost first."""
    chain: list[str] = []
    while access:
        chain.insert(0, access)
        access = facts.access[access].parent
    return tuple(chain)


def mode_keys(facts: Facts, build: Build) -> frozenset[str]:
    """The modes that this build, or a pack in it, can have."""
    return _belonging(_Pair(facts, build)).keys


def answer_words(check: Check, modes: Container[str]) -> tuple[str, ...]:
    """The words of a check that mean something where these modes can be, each once, in the check's order."""
    words = (answer.word for answer in check.answers if not answer.mode or answer.mode in modes)
    return tuple(dict.fromkeys(words))


class _Pair:
    """These very tables and this very build, whatever others may be equal to them."""

    __slots__ = ("build", "facts")

    def __init__(self, facts: Facts, build: Build) -> None:
        self.facts = facts
        self.build = build

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Pair) and self.facts is other.facts and self.build is other.build

    def __hash__(self) -> int:
        return hash((id(self.facts), id(self.build)))


class _Belonging:
    """What of the tables belongs to a build; never changed once it is made."""

    def __init__(self, facts: Facts, build: Build) -> None:
        self.facts = facts
        self.build = build
        self.modes = tuple(_modes(facts, build))
        own = {mode.key for mode, _ in self.modes}
        self.keys = frozenset(own | {mode.key for mode in facts.modes.values() if carried_by_pack(mode)})

    @cached_property
    def checks(self) -> tuple[Check, ...]:
        """Worked out when they are asked for: beliefs ask for the ways to fail alone."""
        return tuple(_checks(self.facts, self.build))


@lru_cache(BUILDS_AT_HAND)
def _belonging(pair: _Pair) -> _Belonging:
    return _Belonging(pair.facts, pair.build)


def _modes(facts: Facts, build: Build) -> Iterator[tuple[Mode, Place]]:
    duty = duty_of(facts, build)
    for mode in facts.modes.values():
        if not carried_by_pack(mode) and fits(mode.traits, build):
            here = at_duty(mode, duty.get(mode.key, 1.0))
            for place in build.of_role(mode.role):
                yield here, place


def _checks(facts: Facts, build: Build) -> Iterator[Check]:
    for check in facts.checks.values():
        if fits(check.traits, build) and (
            of_pack(facts, check) or any(build.of_role(role) for role in check.roles)
        ):
            yield check
