"""Hunts played against a truth drawn from what is believed, by one policy and by three habits.

All of them start with the same first tests and pay for mending what was not it: minutes, trying again, and
the part of its price that is lost.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from snugfast.facts.model import Build, Facts
from snugfast.records.entries import HuntSaid, HuntStep
from snugfast.usecases.hunt.cards import POSSIBLE
from snugfast.usecases.hunt.possible import Possible, linked
from snugfast.usecases.hunt.reasoning import Reasoning

MOST_STEPS = 60
SURE_ENOUGH = (0.6, 0.75, 0.9)
"""When the habits stop testing and mend the likeliest; the best of these for each habit is taken."""

USUALLY = 0.6  # a test that shows a cause so often rules it out when it shows nothing

Choose = Callable[[Reasoning], str]
Habit = Callable[[Reasoning, Sequence[str], Sequence[str]], str]
"""Which of the telling tests to do, for causes in the order of how likely they are held."""


def ours(reasoning: Reasoning) -> str:
    """What the hunt says."""
    return reasoning.next[0]


def _first(reasoning: Reasoning) -> str:
    keys = [key for symptom in reasoning.symptoms for key in symptom.first if key in reasoning.open_tests]
    return keys[0] if keys else ""


def _telling(reasoning: Reasoning) -> list[str]:
    """Open tests that can show a cause that is not out of the question."""
    chances, _ = reasoning.chances(reasoning.now)
    alive = {key for key, chance in chances.items() if chance >= 0.01}
    return [
        key
        for key in reasoning.open_tests
        if any(alive & set(answer.links) for answer in reasoning.tests[key].answers)
    ]


def habit(choose: Habit, sure: float) -> Choose:
    """A habit that tests in its own order until one cause is sure enough."""

    def chosen(reasoning: Reasoning) -> str:
        if first := _first(reasoning):
            return first
        chances, _ = reasoning.chances(reasoning.now)
        tests = _telling(reasoning)
        order = sorted(chances, key=lambda key: -chances[key])
        return choose(reasoning, tests, order) if tests and max(chances.values()) < sure else ""

    return chosen


def fixed_order(_: Reasoning, tests: Sequence[str], __: Sequence[str]) -> str:
    """The order of the table: battery out before powered, each as it is written down."""
    return tests[0]


def likeliest_first(reasoning: Reasoning, tests: Sequence[str], order: Sequence[str]) -> str:
    """The test that shows the likeliest cause best; the cheaper of two that do so alike."""
    for cause in order:
        shown = {key: _shows(reasoning, key, cause) for key in tests}
        best = max(shown.values())
        if best > 0.0:
            return min((k for k in tests if shown[k] == best), key=reasoning.minutes)
    return tests[0]


def _shows(reasoning: Reasoning, test: str, cause: str) -> float:
    table = reasoning.facts.hunt_strengths
    links = [answer.links.get(cause) for answer in reasoning.tests[test].answers]
    return round(sum(table[word].chance for word in links if word), 6)


def cheapest_first(reasoning: Reasoning, tests: Sequence[str], _: Sequence[str]) -> str:
    """The test that takes least time as things stand."""
    return min(tests, key=reasoning.minutes)


HABITS = {"fixed order": fixed_order, "likeliest first": likeliest_first, "cheapest first": cheapest_first}


@dataclass(frozen=True)
class Played:
    """One hunt: minutes to the cause, and how many tests."""

    minutes: float
    tests: int


def play(begun: Reasoning, state: int, choose: Choose, luck: int) -> Played:
    """Hunt until a cause that is there is named."""
    true = {key for key, there in zip(begun.keys, begun.there[state], strict=True) if there}
    reasoning, minutes, tests = begun, 0.0, 0
    for _ in range(MOST_STEPS):
        key = choose(reasoning)
        if key:
            minutes += reasoning.minutes(key)
            tests += 1
            step = _answered(reasoning, key, state, luck)
        else:
            if is_beyond_the_list(reasoning):
                return Played(minutes + begun.facts.assumptions["hunt_given_up_min"].value, tests)
            cause = reasoning.to_mend() if choose is ours else named(reasoning)
            if not cause or cause in true:
                return Played(minutes, tests)
            minutes += reasoning.possible.causes[cause].in_vain_min
            step = HuntStep(HuntSaid.NOT_IT, cause=cause)
        reasoning = reasoning.further(step)
    return Played(minutes, tests)


def is_beyond_the_list(reasoning: Reasoning) -> bool:
    """Whether the hunt ends with “not in the list”, as its page would say."""
    chances, none = reasoning.chances(reasoning.now)
    most = max((chance for key, chance in chances.items() if key not in reasoning.tried()), default=0.0)
    return most < POSSIBLE and none > most


def named(reasoning: Reasoning) -> str:
    """The cause that is mended next: the likeliest that was not tried."""
    chances, _ = reasoning.chances(reasoning.now)
    left = {key: chance for key, chance in chances.items() if key not in reasoning.tried()}
    return max(left, key=lambda key: left[key], default="")


def eliminate(begun: Reasoning, state: int, choose: Habit, luck: int) -> Played:
    """Hunt as people do without sums: cross off what a test rules out, keep what it points at.

    Causes are as likely as the symptom makes them, and stay in that order. What is left and cannot be told
    apart is mended in that order.
    """
    true = {key for key, there in zip(begun.keys, begun.there[state], strict=True) if there}
    chances, _ = begun.chances(begun.before)
    order = sorted(chances, key=lambda key: -chances[key])
    alive, reasoning, minutes, tests = list(order), begun, 0.0, 0
    for _ in range(MOST_STEPS):
        telling = [
            key
            for key in reasoning.open_tests
            if len(alive) > 1 and any(_shows(reasoning, key, cause) for cause in alive)
        ]
        key = _first(reasoning) or (choose(reasoning, telling, alive) if telling else "")
        if not key:
            cause = next((one for one in (*alive, *order) if one not in reasoning.tried()), "")
            if not cause or cause in true:
                return Played(minutes, tests)
            minutes += reasoning.possible.causes[cause].in_vain_min
            alive = [one for one in alive if one != cause]
            reasoning = reasoning.further(HuntStep(HuntSaid.NOT_IT, cause=cause))
            continue
        minutes += reasoning.minutes(key)
        tests += 1
        step = _answered(reasoning, key, state, luck)
        links = next((one.links for one in reasoning.tests[key].answers if one.word == step.word), None)
        if links is None:
            left = [one for one in alive if _shows(reasoning, key, one) < USUALLY]
        else:
            left = [one for one in alive if one in links]
        alive = left or alive
        reasoning = reasoning.further(step)
    return Played(minutes, tests)


def _answered(reasoning: Reasoning, key: str, state: int, luck: int) -> HuntStep:
    """What the test says, drawn for the truth: the same of one test in one hunt, whoever does it."""
    rng = np.random.default_rng([luck, crc32(key.encode())])
    test = reasoning.tests[key]
    chances = reasoning.answers_of(test)[:, state]
    said = int(rng.choice(len(chances), p=chances / chances.sum()))
    if said:
        return HuntStep(HuntSaid.SHOWN, key, test.answers[said - 1].word)
    return HuntStep(HuntSaid.NOTHING_WRONG, key)


def compared(
    facts: Facts, build: Build, possible: Possible, *, hunts: int, seed: int
) -> Mapping[str, tuple[float, float]]:
    """(mean minutes, mean tests) of each way over the same truths.

    Each habit by elimination, and again with our beliefs after every answer at its best stopping.
    """
    rng = np.random.default_rng(seed)
    truths = []
    symptoms = [one for one in facts.hunt_symptoms.values() if linked([one], possible.causes)]
    for _ in range(hunts):
        symptom = symptoms[rng.integers(len(symptoms))]
        begun = Reasoning(facts, build, possible, (symptom,), (), {})
        some = begun.before[1:] / begun.before[1:].sum()
        truths.append((begun, 1 + int(rng.choice(len(some), p=some)), int(rng.integers(2**31))))

    def mean(one: Callable[[Reasoning, int, int], Played]) -> tuple[float, float]:
        played = [one(begun, state, luck) for begun, state, luck in truths]
        return float(np.mean([each.minutes for each in played])), float(
            np.mean([each.tests for each in played])
        )

    found = {"ours": mean(lambda begun, state, luck: play(begun, state, ours, luck))}
    for name, choose in HABITS.items():
        found[name] = mean(lambda begun, state, luck, choose=choose: eliminate(begun, state, choose, luck))
        found[f"{name}, with our beliefs"] = min(
            mean(lambda begun, state, luck, way=habit(choose, sure): play(begun, state, way, luck))
            for sure in SURE_ENOUGH
        )
    return found
