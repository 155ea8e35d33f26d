"""What may be wrong with this car, how likely before anything was seen, and what there is to try on it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from snugfast.facts.hunts import Cause, FaultTest, Symptom, WhereSafe
from snugfast.facts.model import Build, Facts, Place
from snugfast.records.ledger import CarRecord, Ledger, PackRecord
from snugfast.usecases.beliefs.stakes import AtRisk, at_risk, role_prices
from snugfast.usecases.beliefs.stories import remember, stories_of
from snugfast.usecases.beliefs.upcoming import Until, look_ahead
from snugfast.usecases.shared.applicability import car_modes, carried_by_pack, fits, opening, pack_modes
from snugfast.usecases.shared.workshop import Workshop

MOST_PRIOR = 0.9
LEAST_PRIOR = 1e-4


@dataclass(frozen=True, slots=True)
class Believed:
    """One way one part can fail, and the chance that it is there after the run that went wrong."""

    mode: str
    place: Place | None
    chance: float


@dataclass(frozen=True, slots=True)
class CauseHere:
    """A cause as this car can have it. `modes` are those it can fail by, likeliest first, and where."""

    cause: Cause
    prior: float
    modes: tuple[tuple[str, Place | None], ...]
    in_vain_min: float  # what mending it is worth when it was not that


@dataclass(frozen=True, slots=True)
class Possible:
    """All that this car can have and all that can be tried on it, in the order of the tables."""

    causes: Mapping[str, CauseHere]
    tests: Mapping[str, FaultTest]


def causes_of(facts: Facts, build: Build, chemistry: str = "") -> dict[str, tuple[str, ...]]:
    """The causes this build can have, each with the modes of its own that it can fail by."""
    packs = pack_modes(facts, chemistry) if chemistry else pack_modes(facts)
    here = {mode.key for mode, _ in car_modes(facts, build)} | {mode.key for mode in packs}
    roles = {place.role for place in build.places}
    found = {}
    for key, cause in facts.hunt_causes.items():
        modes = tuple(mode for mode in cause.modes if mode in here)
        has_part = not cause.roles or bool(roles & set(cause.roles))
        if has_part and fits(cause.traits, build) and (modes or cause.chance):
            found[key] = modes
    return found


def tests_of(facts: Facts, build: Build, causes: Iterable[str]) -> dict[str, FaultTest]:
    """The tests whose parts this build has, and that can show one of these causes."""
    roles, wanted = {place.role for place in build.places}, set(causes)
    return {
        key: test
        for key, test in facts.hunt_tests.items()
        if fits(test.traits, build)
        and (not test.roles or roles & set(test.roles))
        and any(wanted & set(answer.links) for answer in test.answers)
    }


def opening_of(facts: Facts, build: Build, test: FaultTest) -> tuple[str, ...]:
    """The access work a test needs on this build, outermost first: no cover is opened that is not there."""
    roles = {place.role for place in build.places}
    return tuple(key for key in opening(facts, test.access) if roles & set(facts.access[key].roles))


def way_there(facts: Facts, build: Build, test: FaultTest) -> tuple[tuple[str, float], ...]:
    """What has to be done once before a test, with its minutes: covers, stand, the walk to clear ground."""
    ways = [(key, facts.access[key].minutes) for key in opening_of(facts, build, test)]
    if test.where is WhereSafe.ON_STAND:
        ways.append(("stand", facts.assumptions["hunt_stand_min"].value))
    if test.where is WhereSafe.CLEAR_GROUND:
        ways.append(("ground", facts.assumptions["hunt_ground_min"].value))
    return tuple(ways)


def pack_of_hunt(ledger: Ledger, car: CarRecord) -> PackRecord | None:
    """The pack that is in the car, else the one it has driven with when there is only one."""
    here = [pack for pack in ledger.packs.values() if pack.left_at is None]
    inside = [pack for pack in here if pack.marks.in_car == car.id]
    known = inside or [pack for pack in here if pack.id in car.packs]
    return known[0] if len(known) == 1 else None


def possible(workshop: Workshop, ledger: Ledger, car: CarRecord, pack: PackRecord | None) -> Possible:
    """What this car can have now, by what is believed of it."""
    with workshop.store.reading() as reads:
        position = reads.position()
        members: list[UUID] = [car.id, *([pack.id] if pack else [])]
        stories = stories_of(workshop, reads, ledger, members)
    remember(workshop, position, stories.told)
    build, now = workshop.build(car.build), workshop.now()
    ahead = look_ahead(workshop.facts, car.habits, until=Until.RUN, now=now)
    believed = [
        Believed(risk.mode.key, risk.place, _there(risk))
        for member in members
        for risk in at_risk(stories.of[member], member, car.id, ahead, now)
    ]
    chemistry = pack.chemistry if pack else ""
    minute = float(ledger.settings.get("bench_minute", workshop.assume("bench_minute_minor")))
    return possible_by(workshop.facts, build, believed, bench_minute=minute, chemistry=chemistry)


def possible_by(
    facts: Facts,
    build: Build,
    believed: Iterable[Believed],
    *,
    bench_minute: float,
    chemistry: str = "",
) -> Possible:
    """What this build can have, as likely as these beliefs have it. A pack nobody named is taken as usual."""
    rows_of: dict[str, list[Believed]] = {}
    for one in believed:
        rows_of.setdefault(one.mode, []).append(one)
    unknown_pack = facts.assumptions["hunt_unknown_pack_chance"].value
    again = facts.assumptions["hunt_try_again_min"].value
    prices = role_prices(build)
    share = facts.assumptions["hunt_vain_part_share"].value
    most = facts.assumptions["hunt_vain_most_min"].value
    causes = {}
    for key, modes in causes_of(facts, build, chemistry).items():
        cause = facts.hunt_causes[key]
        rows = sorted((r for mode in modes for r in rows_of.get(mode, [])), key=_chance, reverse=True)
        none = 1.0 - cause.chance
        for row in rows:
            none *= 1.0 - row.chance
        if not chemistry and any(carried_by_pack(facts.modes[mode]) for mode in modes):
            none *= 1.0 - unknown_pack
        part = max((prices.get(role, 0.0) for role in cause.parts), default=0.0)
        causes[key] = CauseHere(
            cause,
            min(MOST_PRIOR, max(LEAST_PRIOR, 1.0 - none)),
            tuple((row.mode, row.place) for row in rows),
            min(most, cause.mend_min + again + share * part / bench_minute),
        )
    return Possible(causes, tests_of(facts, build, causes))


def _there(risk: AtRisk) -> float:
    """Chance that it is there after the run that went wrong: a defect now, or a sudden failure on the way."""
    return 1.0 - (1.0 - risk.presence) * (1.0 - risk.sudden_chance)


def _chance(one: Believed) -> float:
    return one.chance


def linked(symptoms: Iterable[Symptom], causes: Mapping[str, CauseHere]) -> tuple[str, ...]:
    """The causes that show themselves by one of these symptoms, in the order of the tables."""
    shown = {cause for symptom in symptoms for cause in symptom.links}
    return tuple(key for key in causes if key in shown)
