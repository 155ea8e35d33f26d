"""What the answers so far make of the causes, and what to try next."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.hunts import FaultTest, Symptom
from snugfast.facts.model import Build, Facts
from snugfast.records.entries import HuntSaid, HuntStep
from snugfast.upkeep.hunting import (
    answer_chances,
    chance_shown,
    first_beliefs,
    marginals,
    states,
    weighed,
)
from snugfast.upkeep.next_test import Chosen, HuntTests, next_test
from snugfast.usecases.beliefs.hunt_looks import LOOKED_FOR
from snugfast.usecases.hunt.possible import Possible, linked, way_there

Floats = NDArray[np.float64]
Strengths = Mapping[tuple[str, str], float]
"""What was learned: (symptom, cause) to the chance that it shows."""

LEAST_SHOWN = 0.01  # chance that a test shows something, below which it is not asked for its own sake
BATTERY = "battery_case"
ASIDE = (HuntSaid.CANNOT_TELL, HuntSaid.CANNOT_DO)


@dataclass(frozen=True)
class Reasoning:
    """A hunt as far as it has come: its causes, its beliefs before and now, and what is left to try."""

    facts: Facts
    build: Build
    possible: Possible
    symptoms: tuple[Symptom, ...]
    steps: tuple[HuntStep, ...]
    learned: Strengths

    @cached_property
    def keys(self) -> tuple[str, ...]:
        """The causes that may be behind what is seen."""
        return linked(self.symptoms, self.possible.causes)

    @cached_property
    def tests(self) -> Mapping[str, FaultTest]:
        """The tests that can tell these causes apart, and those that come first."""
        first = {key for symptom in self.symptoms for key in symptom.first}
        wanted = set(self.keys)
        return {
            key: test
            for key, test in self.possible.tests.items()
            if key in first or any(wanted & set(answer.links) for answer in test.answers)
        }

    @cached_property
    def there(self) -> Floats:
        """The states: none in the list, each cause alone, each two."""
        return states(len(self.keys))

    @cached_property
    def before(self) -> Floats:
        """Beliefs after the symptoms and before any test."""
        prior = np.array([self.possible.causes[key].prior for key in self.keys])
        leak = self.facts.assumptions["hunt_leak"].value
        beliefs = first_beliefs(self.there, prior=prior)
        for symptom in self.symptoms:
            strength = np.array([self._strength(symptom, key) for key in self.keys])
            beliefs = weighed(beliefs, chance_shown(there=self.there, strength=strength, leak=leak))
        return beliefs

    @cached_property
    def now(self) -> Floats:
        """Beliefs after every answer."""
        beliefs = self.before
        for step in self.steps:
            beliefs = self._told(beliefs, step)
        return beliefs

    def chances(self, beliefs: Floats) -> tuple[dict[str, float], float]:
        """(chance of each cause, chance of none in the list)."""
        each, none = marginals(beliefs, self.there)
        return dict(zip(self.keys, map(float, each), strict=True)), none

    def _strength(self, symptom: Symptom, cause: str) -> float:
        if cause not in symptom.links:
            return 0.0
        table = self.facts.hunt_strengths[symptom.links[cause]].chance
        return self.learned.get((symptom.key, cause), table)

    def further(self, step: HuntStep) -> Reasoning:
        """The same hunt one answer on, with the sums that an answer does not change."""
        after = replace(self, steps=(*self.steps, step))
        kept = ("keys", "tests", "there", "before", "sums", "vain_min", "_answers")
        after.__dict__.update({name: getattr(self, name) for name in kept})
        after.__dict__["now"] = self._told(self.now, step)
        return after

    @cached_property
    def _answers(self) -> dict[str, Floats]:
        return {}

    def answers_of(self, test: FaultTest) -> Floats:
        """Chance of each answer in each state, (answers and “nothing wrong” first, states)."""
        if test.key not in self._answers:
            self._answers[test.key] = self._answers_of(test)
        return self._answers[test.key]

    def _answers_of(self, test: FaultTest) -> Floats:
        shows = np.array(
            [
                [
                    self.facts.hunt_strengths[answer.links[key]].chance if key in answer.links else 0.0
                    for key in self.keys
                ]
                for answer in test.answers
            ]
        )
        return answer_chances(self.there, shows, false_alarm=self.facts.assumptions["hunt_false_alarm"].value)

    def _told(self, beliefs: Floats, step: HuntStep) -> Floats:
        """Beliefs one answer on."""
        if step.said is HuntSaid.NOT_CURED and step.cause in self.keys:
            return self._mended_in_vain(beliefs, self.keys.index(step.cause))
        return weighed(beliefs, self._likely(step))

    def _mended_in_vain(self, beliefs: Floats, cause: int) -> Floats:
        """A cause was mended in vain: the mend failed, the other of two is left, or none in the list is."""
        works = self.facts.assumptions["fit_success"].value
        leak = self.facts.assumptions["hunt_leak"].value
        has = self.there[:, cause] > 0.0
        alone = has & (self.there.sum(axis=1) == 1.0)
        after = np.where(has, beliefs * (1.0 - works), beliefs)
        after[0] += works * leak * float(beliefs[alone].sum())
        for state in np.flatnonzero(has & ~alone):
            left = self.there[state].copy()
            left[cause] = 0.0
            single = int(np.flatnonzero((self.there == left).all(axis=1))[0])
            after[single] += works * beliefs[state]
        return weighed(after, np.ones(len(after)))

    def _likely(self, step: HuntStep) -> Floats:
        """How likely an answer was in each state; what no longer stands in the tables tells nothing."""
        nothing = np.ones(len(self.there))
        test = self.facts.hunt_tests.get(step.test)
        if step.said is HuntSaid.NOTHING_WRONG and test:
            return np.asarray(self.answers_of(test)[0])
        if step.said is HuntSaid.SHOWN and test:
            words = [answer.word for answer in test.answers]
            return (
                np.asarray(self.answers_of(test)[1 + words.index(step.word)])
                if step.word in words
                else nothing
            )
        if step.cause in self.keys:
            has = self.there[:, self.keys.index(step.cause)] > 0.0
            if step.said is HuntSaid.NOT_IT:
                return np.where(has, 1.0 - LOOKED_FOR, 1.0)
        return nothing

    @cached_property
    def open_tests(self) -> tuple[str, ...]:
        """What may still be tried, in the order of the tables: not answered, doable here, and safe now."""
        done = {step.test for step in self.steps}
        lacking = {
            tool
            for step in self.steps
            if step.said is HuntSaid.CANNOT_DO and step.test in self.facts.hunt_tests
            for tool in self.facts.hunt_tests[step.test].tools
        }
        return tuple(
            key
            for key, test in self.tests.items()
            if key not in done
            and not lacking & set(test.tools)
            and (self.may_power or not test.where.is_powered)
            and not (self.is_stopped and test.warm)
        )

    @property
    def is_stopped(self) -> bool:
        """Whether smoke, heat or a hurt battery was seen: nothing is powered again in this hunt."""
        return any(symptom.stops for symptom in self.symptoms) or any(self._stops(one) for one in self.steps)

    @property
    def may_power(self) -> bool:
        """Whether a powered test may be done now."""
        looked = any(one.test == BATTERY and one.said is HuntSaid.NOTHING_WRONG for one in self.steps)
        return not self.is_stopped and (looked or not any(one.pack_first for one in self.symptoms))

    def _stops(self, step: HuntStep) -> bool:
        test = self.facts.hunt_tests.get(step.test)
        return step.said is HuntSaid.SHOWN and any(
            answer.stops and answer.word == step.word for answer in (test.answers if test else ())
        )

    @cached_property
    def sums(self) -> tuple[HuntTests, tuple[str, ...]]:
        """The tests as the sums want them, and their keys in that order."""
        keys = tuple(self.tests)
        ways = [way_there(self.facts, self.build, self.tests[key]) for key in keys]
        minutes = {work: took for way in ways for work, took in way}
        works = tuple(minutes)
        answering = self.facts.assumptions["hunt_answer_min"].value
        return (
            HuntTests(
                tuple(self.answers_of(self.tests[key]) for key in keys),
                np.array([self.tests[key].seconds / 60.0 + answering for key in keys]),
                tuple(frozenset(works.index(work) for work, _ in way) for way in ways),
                np.array([minutes[work] for work in works]),
            ),
            keys,
        )

    @cached_property
    def opened(self) -> frozenset[int]:
        """The work that was done already for the tests that were answered."""
        tests, keys = self.sums
        done = {one.test for one in self.steps if one.said not in ASIDE}
        return frozenset(work for n, key in enumerate(keys) if key in done for work in tests.opens[n])

    @cached_property
    def vain_min(self) -> Floats:
        """Minutes lost by mending each cause when it was not that."""
        return np.array([self.possible.causes[key].in_vain_min for key in self.keys])

    @cached_property
    def next(self) -> tuple[str, Chosen]:
        """(the test to do now, the sums behind it); no test when mending is the better thing to do."""
        first = [key for symptom in self.symptoms for key in symptom.first if key in self.open_tests]
        tests, keys = self.sums
        chosen = next_test(
            self.now,
            self.there,
            tests,
            mend_min=self.vain_min,
            given_up_min=self.facts.assumptions["hunt_given_up_min"].value,
            open_tests=[n for n, key in enumerate(keys) if key in self.open_tests],
            opened=self.opened,
        )
        if first:
            return first[0], chosen
        chances, _ = self.chances(self.now)
        sure = self.facts.assumptions["hunt_sure_enough"].value
        if any(chance >= sure for key, chance in chances.items() if key not in self.tried()):
            return "", chosen
        if chosen.test is not None:
            return keys[chosen.test], chosen
        return self._still_telling(chances), chosen

    def _still_telling(self, chances: Mapping[str, float]) -> str:
        """A test to do before something is mended that is not even likely, or before the list is given up.

        The sums stop where one more test alone saves little; but what is left untried is not ruled out.
        """
        left = {key: chance for key, chance in chances.items() if key not in self.tried()}
        if max(left.values(), default=0.0) >= self.facts.assumptions["hunt_mend_from"].value:
            return ""
        table = self.facts.hunt_strengths
        shows = {
            key: sum(
                left.get(cause, 0.0) * table[word].chance
                for answer in self.tests[key].answers
                for cause, word in answer.links.items()
            )
            for key in self.open_tests
        }
        likely = [key for key, chance in shows.items() if chance >= LEAST_SHOWN]
        return max(likely, key=lambda key: shows[key] / self.minutes(key), default="")

    def minutes(self, test: str) -> float:
        """Minutes of a test as things stand, with what has to be opened for it."""
        tests, keys = self.sums
        return tests.cost(keys.index(test), self.opened)

    def to_mend(self) -> str:
        """What to mend now: of the causes about as likely as the likeliest, the one worth most per minute."""
        chances, _ = self.chances(self.now)
        left = {key: chance for key, chance in chances.items() if key not in self.tried()}
        most = max(left.values(), default=0.0)
        near = [key for key, chance in left.items() if chance >= 0.5 * most]
        return max(near, key=lambda key: left[key] / self.possible.causes[key].in_vain_min, default="")

    def tried(self) -> Sequence[str]:
        """Causes that were looked at or mended and were not it."""
        return [step.cause for step in self.steps if step.cause]
