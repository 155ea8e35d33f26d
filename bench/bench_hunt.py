"""How long the next test of a hunt takes: 60 causes and 45 tests at once (bar: below 100 ms in 95 of 100).

Processor time, on one core. That is far larger than a hunt of one symptom, which has about a dozen causes;
both are printed.
"""

from __future__ import annotations

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import time

import numpy as np

from snugfast.upkeep.hunting import answer_chances, chance_shown, first_beliefs, states, weighed
from snugfast.upkeep.next_test import HuntTests, next_test

TIMES = 60


def milliseconds(seed: int, *, causes: int, tests: int) -> float:
    """From a symptom that was said to the test that comes next, answers' chances included."""
    rng = np.random.default_rng(seed)
    shows = []
    for _ in range(tests):
        kinds = int(rng.integers(1, 6))
        one = np.zeros((kinds, causes))
        for cause in rng.choice(causes, size=min(causes, int(rng.integers(2, 9))), replace=False):
            one[rng.integers(kinds), cause] = rng.choice([0.3, 0.65, 0.9])
        shows.append(one)
    prior = rng.uniform(0.002, 0.08, causes)
    strength = rng.choice([0.0, 0.08, 0.3, 0.65, 0.9], causes)
    begin = time.process_time()
    there = states(causes)
    beliefs = weighed(
        first_beliefs(there, prior=prior), chance_shown(there=there, strength=strength, leak=0.02)
    )
    made = HuntTests(
        tuple(answer_chances(there, one, false_alarm=0.02) for one in shows),
        rng.choice([0.2, 0.5, 1.0], tests),
        tuple(frozenset(rng.choice(4, size=int(rng.integers(0, 3)), replace=False).tolist()) for _ in shows),
        np.array([0.7, 0.8, 1.0, 3.0]),
    )
    next_test(
        beliefs,
        there,
        made,
        mend_min=rng.uniform(1.0, 40.0, causes),
        given_up_min=30.0,
        open_tests=tuple(range(tests)),
    )
    return 1000.0 * (time.process_time() - begin)


if __name__ == "__main__":
    for causes, tests in ((60, 45), (13, 14)):
        took = sorted(milliseconds(seed, causes=causes, tests=tests) for seed in range(TIMES))
        print(
            f"{causes} causes, {tests} tests: {took[TIMES // 2]:.0f} ms in the middle, "
            f"{took[int(0.95 * TIMES)]:.0f} ms at 95 of 100"
        )
