"""Small random hunts, the exact dynamic programme over their tests, and the cost of following a policy.

Written apart from the package: plain loops over every order of tests and answers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np

from snugfast.upkeep.hunting import answer_chances, chance_shown, first_beliefs, states, weighed
from snugfast.upkeep.next_test import HuntTests, next_test


@dataclass(frozen=True)
class Hunt:
    """One hunt after its symptom was seen."""

    beliefs: np.ndarray
    there: np.ndarray
    tests: HuntTests
    mend_min: np.ndarray
    given_up_min: float


def random_hunt(seed: int, *, causes: int = 5, tests: int = 5) -> Hunt:
    """A hunt with sharp and blunt tests, shared opening work, cheap looks and dear ones."""
    rng = np.random.default_rng(seed)
    there = states(causes)
    prior = rng.uniform(0.005, 0.15, causes)
    seen = chance_shown(there=there, strength=rng.choice([0.08, 0.3, 0.65, 0.9], causes), leak=0.02)
    beliefs = weighed(first_beliefs(there, prior=prior), seen)
    answers, minutes, opens = [], [], []
    for _ in range(tests):
        kinds = int(rng.integers(1, 4))
        shows = np.zeros((kinds, causes))
        for cause in rng.choice(causes, size=int(rng.integers(1, causes + 1)), replace=False):
            shows[rng.integers(kinds), cause] = rng.choice([0.3, 0.65, 0.9])
        answers.append(answer_chances(there, shows, false_alarm=0.02))
        minutes.append(float(rng.choice([0.1, 0.3, 0.6, 1.0, 2.0])))
        opens.append(frozenset({0}) if rng.random() < 0.5 else frozenset())
    return Hunt(
        beliefs,
        there,
        HuntTests(tuple(answers), np.array(minutes), tuple(opens), np.array([float(rng.uniform(0.5, 2.0))])),
        rng.uniform(1.0, 25.0, causes),
        float(rng.uniform(10.0, 40.0)),
    )


def guessing(hunt: Hunt, weights: np.ndarray) -> float:
    """Minutes of mending by guess: by chance per minute, each cause of a state of two counted half."""
    none = hunt.there.sum(axis=1) == 0
    share = np.where(none[:, None], 0.0, hunt.there / np.maximum(hunt.there.sum(axis=1), 1.0)[:, None])
    chance = weights @ share
    total, so_far = float(weights[none].sum()) * hunt.given_up_min, 0.0
    for cause in sorted(range(len(chance)), key=lambda c: -chance[c] / hunt.mend_min[c]):
        so_far += hunt.mend_min[cause]
        total += chance[cause] * so_far
    return total


def exact_minutes(hunt: Hunt) -> float:
    """The fewest expected minutes, over every way to test on and to stop."""

    @cache
    def best(told: tuple[int, ...]) -> float:
        weights = hunt.beliefs.copy()
        opened: frozenset[int] = frozenset()
        for test, answer in enumerate(told):
            if answer >= 0:
                weights = weights * hunt.tests.answers[test][answer]
                opened |= hunt.tests.opens[test]
        least, mass = guessing(hunt, weights), float(weights.sum())
        for test, answer in enumerate(told):
            if answer < 0:
                minutes = mass * hunt.tests.cost(test, opened)
                for one in range(len(hunt.tests.answers[test])):
                    minutes += best((*told[:test], one, *told[test + 1 :]))
                least = min(least, minutes)
        return least

    return best((-1,) * len(hunt.tests.answers))


def policy_minutes(hunt: Hunt, ahead: int | None = None) -> float:
    """Expected minutes of doing what `next_test` says, to the end, over every answer."""

    def go_on(weights: np.ndarray, open_tests: tuple[int, ...], opened: frozenset[int]) -> float:
        mass = float(weights.sum())
        if mass < 1e-12:
            return 0.0
        chosen = next_test(
            weights / mass,
            hunt.there,
            hunt.tests,
            mend_min=hunt.mend_min,
            given_up_min=hunt.given_up_min,
            open_tests=open_tests,
            opened=opened,
            ahead=ahead,
        )
        if chosen.test is None:
            return guessing(hunt, weights)
        left = tuple(test for test in open_tests if test != chosen.test)
        after = opened | hunt.tests.opens[chosen.test]
        return mass * hunt.tests.cost(chosen.test, opened) + sum(
            go_on(weights * answer, left, after) for answer in hunt.tests.answers[chosen.test]
        )

    return go_on(hunt.beliefs, tuple(range(len(hunt.tests.answers))), frozenset())
