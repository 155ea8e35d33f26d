"""All a hunt needs, as plain data: for a program that reckons it where the store is out of reach.

`sums` are the numbers (minutes, chances), the same that `Reasoning` works with; the rest are words. Texts
stand once, in `texts`, and are named by their number.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from snugfast.core.vocabulary import in_sentence
from snugfast.facts.hunts import Links
from snugfast.facts.model import Build, Facts
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.usecases.beliefs.hunt_looks import LOOKED_FOR
from snugfast.usecases.hunt.cards import (
    LEAST_LIKELY,
    LIKELY_WORDS,
    POSSIBLE,
    SURE_WORDS,
    Mender,
    answers_here,
    test_card,
)
from snugfast.usecases.hunt.hunt import (
    MOST_LIKELY,
    NONE_IN_LIST,
    RULED_OUT,
    STOP_CAUTIONS,
    WAS_POSSIBLE,
    hunt_of,
    hunts_of,
)
from snugfast.usecases.hunt.learned import learned_strengths
from snugfast.usecases.hunt.possible import Possible, pack_of_hunt, possible, way_there
from snugfast.usecases.hunt.reasoning import BATTERY, LEAST_SHOWN, Strengths
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.workshop import Workshop

Data = dict[str, Any]
MENDING_WORDS = ("mend", "check_name", "how_tight", "thread_lock", "after", "temporary")


def hunt_tables(workshop: Workshop, ledger: Ledger, cars: Sequence[CarRecord]) -> Data:
    """The tables for hunts of these cars, by what is believed of them now."""
    facts, texts = workshop.facts, Texts()
    learned = learned_strengths(facts, [hunt_of(one) for one in hunts_of(workshop)])
    here = []
    for car in cars:
        pack = pack_of_hunt(ledger, car)
        can = possible(workshop, ledger, car, pack)
        words = _car_words(workshop, car, can, texts)
        sums = car_sums(facts, workshop.build(car.build), can)
        here.append({"name": car.name, "pack": pack.name if pack else "", **sums, **words})
    return {
        "sums": table_sums(facts, learned),
        "words": _words(facts, texts),
        "cars": here,
        "texts": texts.all,
    }


def table_sums(facts: Facts, learned: Strengths) -> Data:
    """The numbers that are the same for every car: how causes show, and what counts as how much."""
    value = {key: one.value for key, one in facts.assumptions.items()}

    def links(of: Links) -> dict[str, float]:
        return {cause: facts.hunt_strengths[word].chance for cause, word in of.items()}

    return {
        "leak": value["hunt_leak"],
        "falseAlarm": value["hunt_false_alarm"],
        "fitSuccess": value["fit_success"],
        "givenUp": value["hunt_given_up_min"],
        "sure": value["hunt_sure_enough"],
        "mendFrom": value["hunt_mend_from"],
        "looked": LOOKED_FOR,
        "leastShown": LEAST_SHOWN,
        "possible": POSSIBLE,
        "battery": BATTERY,
        "symptoms": {
            key: {
                "first": one.first,
                "stops": one.stops,
                "packFirst": one.pack_first,
                "links": {
                    cause: learned.get((key, cause), table) for cause, table in links(one.links).items()
                },
            }
            for key, one in facts.hunt_symptoms.items()
        },
        "tests": {
            key: {
                "powered": one.where.is_powered,
                "warm": one.warm,
                "untilGood": one.until_good,
                "tools": one.tools,
                "answers": [{"word": a.word, "stops": a.stops, "links": links(a.links)} for a in one.answers],
            }
            for key, one in facts.hunt_tests.items()
        },
    }


def car_sums(facts: Facts, build: Build, can: Possible) -> Data:
    """The numbers of one car: (cause, chance before, minutes in vain), (test, minutes, ((way, minutes)))."""
    answering = facts.assumptions["hunt_answer_min"].value
    return {
        "causes": [[key, one.prior, one.in_vain_min] for key, one in can.causes.items()],
        "tests": [
            [key, one.seconds / 60.0 + answering, way_there(facts, build, one)]
            for key, one in can.tests.items()
        ],
    }


class Texts:
    """Texts, each once, by number."""

    def __init__(self) -> None:
        self.all: list[str] = []
        self._number: dict[str, int] = {}

    def __call__(self, text: str) -> int:
        if text not in self._number:
            self._number[text] = len(self.all)
            self.all.append(text)
        return self._number[text]

    def each(self, several: Iterable[str]) -> list[int]:
        """The numbers of several texts."""
        return [self(one) for one in several]

    def cautions(self, several: Iterable[Caution]) -> list[tuple[int, int]]:
        """(in few words, in full) of each caution."""
        adults = {True: " (adults only)", False: ""}
        return [
            (self(f"{one.short.rstrip('.')}{adults[one.adults_only]}."), self(one.text)) for one in several
        ]


def _words(facts: Facts, texts: Texts) -> Data:
    return {
        "likely": [*LIKELY_WORDS, (0.0, LEAST_LIKELY)],
        "howSure": SURE_WORDS,
        "mostLikely": MOST_LIKELY,
        "ruledOut": RULED_OUT,
        "wasPossible": WAS_POSSIBLE,
        "none": NONE_IN_LIST,
        "stop": texts.cautions(cautions_of(facts, STOP_CAUTIONS)),
        "symptoms": {
            key: {"name": one.name, "cautions": texts.cautions(cautions_of(facts, one.cautions))}
            for key, one in facts.hunt_symptoms.items()
        },
        "causes": {
            key: {"name": one.name, "said": in_sentence(one.name)} for key, one in facts.hunt_causes.items()
        },
        "tests": {
            key: {"name": one.name, "good": one.good, "means": [a.means for a in one.answers]}
            for key, one in facts.hunt_tests.items()
        },
    }


def _car_words(workshop: Workshop, car: CarRecord, can: Possible, texts: Texts) -> Mapping[str, Data]:
    facts, build = workshop.facts, workshop.build(car.build)
    mender = Mender(workshop, car, build)
    cards, mendings = {}, {}
    for key, test in can.tests.items():
        card = test_card(facts, build, test, can.causes, minutes=0.0)
        here = {one.word for one in answers_here(test, can.causes)[1:]}
        cards[key] = {
            "where": texts(card.where),
            "opens": texts.each(card.opens),
            "steps": texts.each(card.steps),
            "cautions": texts.cautions(card.cautions),
            "answers": [n for n, answer in enumerate(test.answers) if answer.word in here],
        }
    for key, one in can.causes.items():
        mending = mender.mending(one, 0.0)
        mendings[key] = {name: texts(getattr(mending, name)) for name in MENDING_WORDS} | {
            "steps": texts.each(mending.steps),
            "tools": texts.each(mending.tools),
            "parts": texts.each(part.name for part in mending.parts),
            "cautions": texts.cautions(mending.cautions),
            "at": texts.each(mending.at),
        }
    return {"cards": cards, "mendings": mendings}
