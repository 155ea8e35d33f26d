"""Hunts played against a truth that is drawn from what is believed, by one policy and by three habits.

All of them believe the same, start with the same first tests, and pay for mending what was not it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from snugfast.facts.model import Build, Facts
from snugfast.records.entries import HuntSaid, HuntStep
from snugfast.usecases.hunt.possible import Possible, linked
from snugfast.usecases.hunt.reasoning import Reasoning

MOST_STEPS = 60
SURE_ENOUGH = (0.6, 0.75, 0.9)
"""When the habits stop testing and mend the likeliest; the best of these for each habit is taken."""

Choose = Callable[[Reasoning], str]


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


def habit(choose: Callable[[Reasoning, Sequence[str]], str], sure: float) -> Choose:
    """A habit that tests in its own order until one cause is sure enough."""

    def chosen(reasoning: Reasoning) -> str:
        if first := _first(reasoning):
            return first
        chances, _ = reasoning.chances(reasoning.now)
        tests = _telling(reasoning)
        return choose(reasoning, tests) if tests and max(chances.values()) < sure else ""

    return chosen


def fixed_order(_: Reasoning, tests: Sequence[str]) -> str:
    """The order of the table: battery out before powered, each as it is written down."""
    return tests[0]


def likeliest_first(reasoning: Reasoning, tests: Sequence[str]) -> str:
    """The test that shows the likeliest cause best; the cheaper of two that do so alike."""
    chances, _ = reasoning.chances(reasoning.now)
    for cause in sorted(chances, key=lambda key: -chances[key]):
        shown = {key: _shows(reasoning, key, cause) for key in tests}
        best = max(shown.values())
        if best > 0.0:
            return min((k for k in tests if shown[k] == best), key=reasoning.minutes)
    return tests[0]


def _shows(reasoning: Reasoning, test: str, cause: str) -> float:
    table = reasoning.facts.hunt_strengths
    links = [answer.links.get(cause) for answer in reasoning.tests[test].answers]
    return round(sum(table[word].chance for word in links if word), 6)


def cheapest_first(reasoning: Reasoning, tests: Sequence[str]) -> str:
    """The test that takes least time as things stand."""
    return min(tests, key=reasoning.minutes)


HABITS = {"fixed order": fixed_order, "likeliest first": likeliest_first, "cheapest first": cheapest_first}


@dataclass(frozen=True)
class Played:
    """One hunt: minutes to the cause, and how many tests."""

    minutes: float
    tests: int


def play(begun: Reasoning, state: int, choose: Choose, rng: np.random.Generator) -> Played:
    """Hunt until a cause that is there is named."""
    true = {key for key, there in zip(begun.keys, begun.there[state], strict=True) if there}
    reasoning, minutes, tests = begun, 0.0, 0
    for _ in range(MOST_STEPS):
        key = choose(reasoning)
        if key:
            minutes += reasoning.minutes(key)
            tests += 1
            test = reasoning.tests[key]
            chances = reasoning.answers_of(test)[:, state]
            said = int(rng.choice(len(chances), p=chances / chances.sum()))
            step = (
                HuntStep(HuntSaid.SHOWN, key, test.answers[said - 1].word)
                if said
                else HuntStep(HuntSaid.NOTHING_WRONG, key)
            )
        else:
            cause = reasoning.to_mend() if choose is ours else named(reasoning)
            if not cause or cause in true:
                return Played(minutes, tests)
            minutes += reasoning.possible.causes[cause].in_vain_min
            step = HuntStep(HuntSaid.NOT_IT, cause=cause)
        reasoning = reasoning.further(step)
    return Played(minutes, tests)


def named(reasoning: Reasoning) -> str:
    """The cause that is mended next: the likeliest that was not tried."""
    chances, _ = reasoning.chances(reasoning.now)
    left = {key: chance for key, chance in chances.items() if key not in reasoning.tried()}
    return max(left, key=lambda key: left[key], default="")


def compared(
    facts: Facts, build: Build, possible: Possible, *, hunts: int, seed: int
) -> Mapping[str, tuple[float, float]]:
    """(mean minutes, mean tests) of each way over the same truths, the habits at their best stopping."""
    rng = np.random.default_rng(seed)
    truths = []
    symptoms = [one for one in facts.hunt_symptoms.values() if linked([one], possible.causes)]
    for _ in range(hunts):
        symptom = symptoms[rng.integers(len(symptoms))]
        begun = Reasoning(facts, build, possible, (symptom,), (), {})
        some = begun.before[1:] / begun.before[1:].sum()
        truths.append((begun, 1 + int(rng.choice(len(some), p=some)), int(rng.integers(2**31))))

    def mean(choose: Choose) -> tuple[float, float]:
        played = [play(begun, state, choose, np.random.default_rng(luck)) for begun, state, luck in truths]
        return float(np.mean([one.minutes for one in played])), float(np.mean([one.tests for one in played]))

    found = {"ours": mean(ours)}
    for name, choose in HABITS.items():
        found[name] = min(mean(habit(choose, sure)) for sure in SURE_ENOUGH)
    return found
