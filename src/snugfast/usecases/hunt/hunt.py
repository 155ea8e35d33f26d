"""One hunt as both doors show it: what is asked now, what is likely, what was ruled out, how it ends."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from uuid import UUID

from snugfast.core.errors import NotKnown
from snugfast.core.figures import Figure
from snugfast.facts.hunts import FaultTest
from snugfast.facts.model import Build
from snugfast.records.entries import Entry, Hunted, HuntEnd, HuntSaid, HuntStep
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.records.standing import standing
from snugfast.usecases.hunt.cards import (
    BELIEF,
    POSSIBLE,
    Mender,
    Mending,
    TestCard,
    how_likely,
    test_card,
)
from snugfast.usecases.hunt.learned import learned_strengths
from snugfast.usecases.hunt.possible import pack_of_hunt, possible
from snugfast.usecases.hunt.reasoning import Reasoning
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop

MOST_LIKELY = 5
MANY_HUNTS = 1000
RULED_OUT, WAS_POSSIBLE = 0.01, 0.03
STOP_CAUTIONS = ("pack-fire", "damaged-pack", "hot-parts")
NONE_IN_LIST = "Not in the list"


class Stage(Enum):
    """Where a hunt stands."""

    TEST = "test"
    PROPOSAL = "proposal"
    NOT_IN_LIST = "not in the list"
    ENDED = "ended"


@dataclass(frozen=True, slots=True)
class Bar:
    """One of the likeliest causes, as a share and in a word."""

    cause: str
    name: str
    chance: Figure
    words: str


@dataclass(frozen=True, slots=True)
class Told:
    """One answer that was given: of which test or cause, and what."""

    asked: str
    answer: str


@dataclass(frozen=True, slots=True)
class HuntView:
    """A hunt as it stands."""

    car: UUID
    car_name: str
    entry: UUID
    stage: Stage
    symptoms: tuple[str, ...]
    stopped: bool
    cautions: tuple[Caution, ...]
    test: TestCard | None
    mending: Mending | None
    likely: tuple[Bar, ...]
    ruled_out: tuple[str, ...]
    told: tuple[Told, ...]
    minutes_ahead: float
    ended: str
    temporary: bool


def hunts_of(workshop: Workshop, car: UUID | None = None) -> tuple[Entry, ...]:
    """The hunts that stand, in replay order; of one car, if it is named."""
    with workshop.store.reading() as reads:
        rows = reads.search(kinds=("hunted",), subject=car, limit=MANY_HUNTS)
        found = standing(reads.related(row.entry for row in rows)).entries
    return tuple(one for one in found if isinstance(one.fact, Hunted))


def open_hunt(workshop: Workshop, car: UUID) -> Entry | None:
    """The hunt of a car that was put down, or None."""
    found = [one for one in hunts_of(workshop, car) if hunt_of(one).end is HuntEnd.OPEN]
    return found[-1] if found else None


def hunt_of(entry: Entry) -> Hunted:
    """The hunt an entry keeps. Raises NotKnown for another kind of entry."""
    if not isinstance(entry.fact, Hunted):
        raise NotKnown("This entry is no fault hunt.", "Begin one from the page of the car.")
    return entry.fact


def hunt_view(workshop: Workshop, car_name: str) -> HuntView | None:
    """The open hunt of a car; None when there is none. Raises NotKnown for a car that is not here."""
    with workshop.store.reading() as reads:
        car = car_called(ledger_now(reads), car_name)
    entry = open_hunt(workshop, car.id)
    return view_of(workshop, entry) if entry else None


def reasoning_of(workshop: Workshop, entry: Entry, ledger: Ledger) -> tuple[CarRecord, Build, Reasoning]:
    """The sums of a hunt, with its car and build."""
    hunt = hunt_of(entry)
    car = ledger.cars[hunt.car]
    pack = ledger.packs.get(hunt.pack) if hunt.pack else None
    build, facts = workshop.build(car.build), workshop.facts
    reasoning = Reasoning(
        facts=facts,
        build=build,
        possible=possible(workshop, ledger, car, pack),
        symptoms=tuple(facts.hunt_symptoms[key] for key in hunt.symptoms if key in facts.hunt_symptoms),
        steps=hunt.steps,
        learned=learned_strengths(facts, [hunt_of(one) for one in hunts_of(workshop)]),
    )
    return car, build, reasoning


def view_of(workshop: Workshop, entry: Entry) -> HuntView:
    """A hunt as it stands."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    hunt = hunt_of(entry)
    car, build, reasoning = reasoning_of(workshop, entry, ledger)
    return _Viewing(workshop, entry, hunt, car, build, reasoning).view()


class _Viewing:
    def __init__(
        self,
        workshop: Workshop,
        entry: Entry,
        hunt: Hunted,
        car: CarRecord,
        build: Build,
        reasoning: Reasoning,
    ) -> None:
        self.workshop, self.facts = workshop, workshop.facts
        self.entry, self.hunt, self.car, self.build, self.reasoning = entry, hunt, car, build, reasoning
        self.chances, self.none = reasoning.chances(reasoning.now)

    def view(self) -> HuntView:
        reasoning = self.reasoning
        test, chosen = reasoning.next if self.hunt.end is HuntEnd.OPEN else ("", None)
        cause = self._proposed() if not test else ""
        stage = Stage.TEST if test else Stage.PROPOSAL if cause else Stage.NOT_IN_LIST
        if self.hunt.end is not HuntEnd.OPEN:
            stage, cause = Stage.ENDED, self.hunt.cause
        before, _ = reasoning.chances(reasoning.before)
        return HuntView(
            car=self.car.id,
            car_name=self.car.name,
            entry=self.entry.id,
            stage=stage,
            symptoms=tuple(symptom.name for symptom in reasoning.symptoms),
            stopped=reasoning.is_stopped,
            cautions=self._cautions(),
            test=self._card(reasoning.tests[test]) if test else None,
            mending=self._mending(cause) if cause in reasoning.possible.causes else None,
            likely=self._bars(),
            ruled_out=tuple(
                reasoning.possible.causes[key].cause.name
                for key, then in sorted(before.items(), key=lambda one: -one[1])
                if then >= WAS_POSSIBLE and self.chances[key] < RULED_OUT
            ),
            told=tuple(self._told(step) for step in self.hunt.steps),
            minutes_ahead=chosen.ahead_min if chosen else 0.0,
            ended=self.hunt.end.value if stage is Stage.ENDED else "",
            temporary=self.hunt.temporary,
        )

    def _cautions(self) -> tuple[Caution, ...]:
        return cautions_of(self.facts, self._caution_keys())

    def _caution_keys(self) -> tuple[str, ...]:
        keys = [key for symptom in self.reasoning.symptoms for key in symptom.cautions]
        if self.reasoning.is_stopped:
            keys += STOP_CAUTIONS
        return tuple(dict.fromkeys(keys))

    def _bars(self) -> tuple[Bar, ...]:
        rows = [(key, self.reasoning.possible.causes[key].cause.name, c) for key, c in self.chances.items()]
        rows.append(("", NONE_IN_LIST, self.none))
        rows.sort(key=lambda row: -row[2])
        return tuple(
            Bar(key, name, Figure(chance, "1", origins=(BELIEF,)), how_likely(chance))
            for key, name, chance in rows[:MOST_LIKELY]
        )

    def _told(self, step: HuntStep) -> Told:
        test, cause = self.facts.hunt_tests.get(step.test), self.facts.hunt_causes.get(step.cause)
        asked = test.name if test else cause.name if cause else step.test or step.cause
        if step.said is HuntSaid.SHOWN:
            return Told(asked, step.word)
        if step.said is HuntSaid.NOTHING_WRONG and test:
            return Told(asked, test.good)
        return Told(asked, step.said.value)

    def _card(self, test: FaultTest) -> TestCard:
        return test_card(
            self.facts,
            self.build,
            test,
            self.reasoning.possible.causes,
            minutes=self.reasoning.minutes(test.key),
            told=self._caution_keys() if self.reasoning.is_stopped else (),
        )

    def _mending(self, cause: str) -> Mending:
        here = self.reasoning.possible.causes[cause]
        return Mender(self.workshop, self.car, self.build).mending(here, self.chances.get(cause, 0.0))

    def _proposed(self) -> str:
        """What to mend now: of the causes about as likely as the likeliest, the one that is tried soonest."""
        tried = set(self.reasoning.tried())
        most = max((chance for key, chance in self.chances.items() if key not in tried), default=0.0)
        return "" if most < POSSIBLE and self.none > most else self.reasoning.to_mend()


def pack_for(ledger: Ledger, car: CarRecord, name: str) -> UUID | None:
    """The pack a hunt is about: the one that was named, else the one in the car."""
    if name.strip():
        from snugfast.usecases.shared.lookup import pack_called

        return pack_called(ledger, name).id
    pack = pack_of_hunt(ledger, car)
    return pack.id if pack else None
