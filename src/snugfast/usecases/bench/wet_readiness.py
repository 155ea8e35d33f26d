"""Before a wet run: whether a car's parts are rated for it, said before it gets wet and not after."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from snugfast.core.vocabulary import in_sentence
from snugfast.facts.model import Build, Facts, Place
from snugfast.records.entries import Wet
from snugfast.records.ledger import CarRecord
from snugfast.usecases.beliefs.lateness import opened_by
from snugfast.usecases.shared.applicability import mode_keys
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop


@dataclass(frozen=True, slots=True)
class Afterwards:
    """A treatment that this wet asks for afterwards."""

    name: str
    minutes: float
    within_h: float


@dataclass(frozen=True, slots=True)
class WetReadiness:
    """What speaks for and against one car going into the wet."""

    car: UUID
    car_name: str
    wet: Wet
    ready: bool
    not_rated: tuple[str, ...]  # names of places said not to be rated
    not_said: tuple[str, ...]  # names of places that nobody said anything about
    verdict: str
    afterwards: tuple[Afterwards, ...]
    cautions: tuple[Caution, ...]
    source: str

    @property
    def sentences(self) -> tuple[str, ...]:
        """The verdict, what it rests on, and what is due afterwards."""
        told = [f"{self.car_name}, {self.wet.value}: {self.verdict}"]
        if self.not_rated:
            told.append(f"Not rated: {', '.join(self.not_rated)}.")
        if self.not_said:
            told.append(f"Nobody has said, so not rated: {', '.join(self.not_said)}.")
        told += [
            f"Afterwards: {a.name}, within {a.within_h:g} h, {a.minutes:g} min." for a in self.afterwards
        ]
        return tuple(told)


def wet_readiness(workshop: Workshop, car_name: str, wet: Wet) -> WetReadiness | None:
    """Whether a car is rated for a kind of wet; None for dry and damp, which ask for nothing.

    Raises NotKnown for a car that is not here.
    """
    with workshop.store.reading() as reads:
        car = car_called(ledger_now(reads), car_name)
    return readiness_of(workshop.facts, car, workshop.build(car.build), wet)


def readiness_of(facts: Facts, car: CarRecord, build: Build, wet: Wet | None) -> WetReadiness | None:
    """The same for a car at hand. Only what the rule names is asked: nobody rates a suspension arm."""
    rule = facts.wet_rules.get(wet.value) if wet else None
    if wet is None or rule is None:
        return None
    asked = [place for role in rule.must_be_rated for place in build.of_role(role)]
    not_rated, not_said = _names(asked, False), _names(asked, None)
    ready = not (not_rated or not_said)
    treatments = opened_by(facts, wet.value, mode_keys(facts, build))
    return WetReadiness(
        car=car.id,
        car_name=car.name,
        wet=wet,
        ready=ready,
        not_rated=not_rated,
        not_said=not_said,
        verdict=rule.when_rated if ready else rule.when_not,
        afterwards=tuple(Afterwards(one.name, one.minutes, one.deadline_h) for one in treatments),
        cautions=cautions_of(facts, rule.cautions),
        source=rule.pedigree.source,
    )


def _names(places: list[Place], rated: bool | None) -> tuple[str, ...]:
    return tuple(in_sentence(place.name) for place in places if place.wet_rated is rated)
