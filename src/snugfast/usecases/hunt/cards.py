"""A test to do and a cause to mend, as this car has them: the words a door shows."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from snugfast.core.figures import Figure, Origin
from snugfast.core.vocabulary import in_sentence
from snugfast.facts.hunts import Afterwards, FaultTest, WhereSafe
from snugfast.facts.model import Build, Check, Facts
from snugfast.facts.texts import filled
from snugfast.records.entries import HuntSaid
from snugfast.records.ledger import CarRecord
from snugfast.usecases.hunt.possible import CauseHere, opening_of
from snugfast.usecases.mechanics.joint_guide import joint_guide, joints_of
from snugfast.usecases.mechanics.joint_parts import JointSaid
from snugfast.usecases.shared.applicability import car_checks
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.workshop import Workshop

BELIEF = Origin("noisy-or", "belief after what was seen and answered")
SURE, LIKELY, POSSIBLE, UNLIKELY = 0.9, 0.5, 0.15, 0.03
LIKELY_WORDS = ((SURE, "almost certain"), (LIKELY, "likely"), (POSSIBLE, "possible"), (UNLIKELY, "unlikely"))
LEAST_LIKELY = "very unlikely"
SURE_WORDS = ((SURE, "It is this"), (LIKELY, "Most likely"), (0.0, "Try this first"))
WHERE_WORDS = {
    WhereSafe.PACK_OUT: "battery out",
    WhereSafe.ON_STAND: "on the stand, hands off",
    WhereSafe.CLEAR_GROUND: "on clear ground",
}
AFTER_WORDS = {
    Afterwards.DRIVE_ON: "Once it is fixed, drive on.",
    Afterwards.GENTLY_HOME: "Drive gently for the rest of the day, then fix it properly.",
    Afterwards.CARRY_HOME: "Carry it home: don’t drive it like this.",
}


@dataclass(frozen=True, slots=True)
class AnswerHere:
    """One answer a test may have on this car. `said` is what goes into the journal with it."""

    said: HuntSaid
    word: str
    means: str


@dataclass(frozen=True, slots=True)
class TestCard:
    """The test to do now."""

    key: str
    name: str
    where: str
    powered: bool
    minutes: float
    opens: tuple[str, ...]
    steps: tuple[str, ...]
    tools: tuple[str, ...]
    answers: tuple[AnswerHere, ...]
    cautions: tuple[Caution, ...]
    until_good: bool


@dataclass(frozen=True, slots=True)
class PartHere:
    """A part the mending may use up, with its price."""

    name: str
    price: Figure


@dataclass(frozen=True, slots=True)
class Mending:
    """The cause to be mended now, and how. `at` are the places it may be at, where there are several;
    `places` the same by name, likeliest first, with the spots of each."""

    cause: str
    name: str
    how_sure: str
    chance: Figure
    mend: str
    minutes: float
    check: str
    check_name: str
    steps: tuple[str, ...]
    tools: tuple[str, ...]
    how_tight: str
    thread_lock: str
    parts: tuple[PartHere, ...]
    after: str
    temporary: str
    cautions: tuple[Caution, ...]
    at: tuple[str, ...]
    places: tuple[tuple[str, tuple[str, ...]], ...]


def how_likely(chance: float) -> str:
    """A chance in a word."""
    return next((word for least, word in LIKELY_WORDS if chance >= least), LEAST_LIKELY)


def answers_here(test: FaultTest, causes: Collection[str]) -> tuple[AnswerHere, ...]:
    """What a test may show on a car that can have these causes; first that nothing is wrong."""
    shown = (
        AnswerHere(HuntSaid.SHOWN, answer.word, answer.means)
        for answer in test.answers
        if answer.stops or any(key in causes for key in answer.links)
    )
    return (AnswerHere(HuntSaid.NOTHING_WRONG, test.good, ""), *shown)


def test_card(
    facts: Facts,
    build: Build,
    test: FaultTest,
    causes: Collection[str],
    *,
    minutes: float,
    told: Sequence[str] = (),
) -> TestCard:
    """A test on a car that can have these causes. The cautions that were `told` are not repeated."""
    opens = [facts.access[key] for key in opening_of(facts, build, test)]
    keys = [key for one in opens for key in one.cautions] + list(test.cautions)
    return TestCard(
        key=test.key,
        name=test.name,
        where=WHERE_WORDS[test.where],
        powered=test.where.is_powered,
        minutes=minutes,
        opens=tuple(one.name for one in opens),
        steps=tuple(filled(step, build) for step in test.steps),
        tools=test.tools,
        answers=answers_here(test, causes),
        cautions=cautions_of(facts, [key for key in dict.fromkeys(keys) if key not in told]),
        until_good=test.until_good,
    )


@dataclass(frozen=True)
class Mender:
    """How causes are mended on one car."""

    workshop: Workshop
    car: CarRecord
    build: Build

    def mending(self, here: CauseHere, chance: float) -> Mending:
        """How one cause is mended, said as surely as it is believed."""
        cause, check = here.cause, self._check_for(here)
        tight, lock, tool = self._joint(here)
        keys = [*cause.cautions, *(check.cautions if check else ())]
        tools = [filled(one, self.build) for one in (check.tools if check else ())]
        return Mending(
            cause=cause.key,
            name=cause.name,
            how_sure=_how_sure(cause.name, chance),
            chance=Figure(chance, "1", origins=(BELIEF,)),
            mend=filled(cause.mend, self.build),
            minutes=cause.mend_min,
            check=check.key if check else "",
            check_name=check.name if check else "",
            steps=tuple(filled(step, self.build) for step in (check.steps if check else ())),
            tools=tuple(tools) or ((tool,) if tool else ()),
            how_tight=tight or (filled(check.how_tight, self.build) if check and check.how_tight else ""),
            thread_lock=lock,
            parts=self._parts(here),
            after=AFTER_WORDS[cause.after],
            temporary=cause.temporary,
            cautions=cautions_of(self.workshop.facts, tuple(dict.fromkeys(keys))),
            at=places_of(here),
            places=spots_of(here) if places_of(here) else (),
        )

    @cached_property
    def _checks(self) -> Mapping[str, Check]:
        return {check.key: check for check in car_checks(self.workshop.facts, self.build)}

    @cached_property
    def _joints(self) -> frozenset[str]:
        return frozenset(place.key for place in joints_of(self.build))

    def _check_for(self, here: CauseHere) -> Check | None:
        return next((self._checks[key] for key in here.cause.checks if key in self._checks), None)

    def _joint(self, here: CauseHere) -> tuple[str, str, str]:
        """(how tight, thread-lock, tool) of the screw this cause is about, where it is about one."""
        place = next(
            (place for _, place in here.modes if place is not None and place.key in self._joints), None
        )
        if place is None:
            return "", "", ""
        guide = joint_guide(self.workshop, JointSaid(self.car.name, place.key))
        return guide.tight, guide.thread_lock.sentence, guide.tool

    def _parts(self, here: CauseHere) -> tuple[PartHere, ...]:
        """Each part the mending may use up: of the places this cause can be at, else of each role, once."""
        at = {place.key for _, place in here.modes if place is not None}
        found = []
        for role in here.cause.parts:
            places = self.build.of_role(role)
            place = next((one for one in places if one.key in at), places[0] if places else None)
            if place is not None:
                price = Figure(place.price_minor / 100.0, self.build.currency)
                found.append(PartHere(f"{place.name}: {place.part}", price))
        return tuple(found)


def _how_sure(name: str, chance: float) -> str:
    words = next(word for least, word in SURE_WORDS if chance >= least)
    return f"{words}: {in_sentence(name)}"


def spots_of(here: CauseHere) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """The places of this cause by name, likeliest first, and the spots of each."""
    found = {place.name: place.spots for _, place in here.modes if place is not None}
    return tuple(found.items())


def places_of(here: CauseHere) -> tuple[str, ...]:
    """Where this cause can be, in words, when it can be at more than one place."""
    found = [f"{name}, {spot}" if spot else name for name, spots in spots_of(here) for spot in spots or ("",)]
    return tuple(found) if len(found) > 1 else ()
