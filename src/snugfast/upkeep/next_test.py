"""Which test comes next: the fewest minutes until the car is mended, looking some tests ahead.

Mending by guess costs minutes too: causes are tried in falling chance per minute, each wrong one for nothing.
A test is worth it when what it saves of that is more than it takes. Work that opens the way is paid once.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from snugfast.core.marks import formula

Floats = NDArray[np.float64]

TIE = 1e-10  # minutes; of tests as good as this, the one that is best with one step: rounding decides nothing
NEVER = 1e12  # minutes of a test that is not open
KEPT_STATES = 160  # likeliest states the choice of a test is worked out on
LIGHT = 0.01  # of the chance: what comes after so unlikely answers is not looked at further
WORK = 150_000  # states × answers × causes: up to which three tests are looked ahead, and beyond it two


@formula(
    source="one-fault-order",
    where="one fault, certain tests: rising cost over chance is best",
)
def mending_minutes(*, chances: Floats, minutes: Floats, none: Floats, given_up_min: float) -> Floats:
    """Expected minutes when causes are mended by guess, in falling chance per minute, (...).

    `chances` (..., causes) and `none` (...) may be unnormalised: what comes out is as large as they are.
    Where none in the list is the cause, `given_up_min` are lost.
    """
    total = chances.sum(axis=-1, keepdims=True)
    share = chances / np.maximum(total, 1.0)
    order = np.argsort(-(share / minutes), axis=-1, kind="stable")
    sorted_share = np.take_along_axis(share, order, axis=-1)
    so_far = np.cumsum(minutes[order], axis=-1)
    return np.asarray((sorted_share * so_far).sum(axis=-1) + none * given_up_min)


@dataclass(frozen=True)
class HuntTests:
    """The tests of a hunt: what each answer is worth in each state, minutes, and what has to be open.

    `answers[t]` is (answers, states); `opens[t]` names opening work by number, which takes `opening_min`.
    """

    answers: tuple[Floats, ...]
    minutes: Floats
    opens: tuple[frozenset[int], ...]
    opening_min: Floats

    def cost(self, test: int, opened: frozenset[int]) -> float:
        """Minutes of one test, with what is not open yet."""
        more = sum(float(self.opening_min[work]) for work in self.opens[test] - opened)
        return float(self.minutes[test]) + more


@dataclass(frozen=True, slots=True)
class Chosen:
    """The next test, or None when mending the likeliest is the better thing to do now.

    `now_min` are the minutes expected with no further test, `ahead_min` those with the best tests.
    """

    test: int | None
    now_min: float
    ahead_min: float


def next_test(
    beliefs: Floats,
    there: Floats,
    tests: HuntTests,
    *,
    mend_min: Floats,
    given_up_min: float,
    open_tests: Sequence[int],
    opened: frozenset[int] = frozenset(),
    ahead: int | None = None,
) -> Chosen:
    """The test to do now, of `open_tests`, with `opened` work done already.

    Works on the likeliest states. `ahead` is how many tests are looked ahead; as many as there is time for
    where it is not said, which depends on the size of the hunt and never on the machine.
    """
    kept = np.sort(np.argsort(-beliefs, kind="stable")[:KEPT_STATES])
    search = _Search(beliefs[kept], there[kept], tests, kept, mend_min, given_up_min)
    return search.best(tuple(open_tests), opened, ahead)


class _Search:
    def __init__(
        self,
        beliefs: Floats,
        there: Floats,
        tests: HuntTests,
        kept: NDArray[np.intp],
        mend_min: Floats,
        given_up_min: float,
    ) -> None:
        self.beliefs = beliefs / beliefs.sum()
        self.tests = tests
        used = (beliefs @ there) > 0.0
        self.there = there[:, used]
        # A state of two is worth one cause: whichever of the two is mended first, the other comes after it.
        each = np.maximum(self.there.sum(axis=1, keepdims=True), 1.0)
        self.share = self.there / each
        self.none = (self.there.sum(axis=1) == 0.0).astype(float)
        self.mend_min = mend_min[used]
        self.given_up_min = given_up_min
        self.answers = tuple(answers[:, kept] for answers in tests.answers)
        self.needs = np.array(
            [[work in needed for work in range(len(tests.opening_min))] for needed in tests.opens], bool
        ).reshape(len(tests.opens), len(tests.opening_min))

    @cached_property
    def table(self) -> tuple[Floats, NDArray[np.intp], csr_array]:
        """Every answer (answers, states), where each test begins among them, causes and none (…, states).

        The last answer is of no test: it is always given, and tells nothing. A state has two causes at most,
        so most of what they share in it is nothing.
        """
        rows = np.vstack([*self.answers, np.ones((1, len(self.beliefs)))])
        first = np.concatenate([[0], np.cumsum([len(one) for one in self.answers])]).astype(np.intp)
        return rows, first, csr_array(np.hstack([self.share, self.none[:, None]]).T)

    def one_step(self, beliefs: Floats, cost: Floats) -> tuple[Floats, Floats]:
        """(minutes when each test is done and then mended by guess, minutes without a test), (rows, tests).

        `beliefs` (rows, states) may be unnormalised; a test that is not open costs too much.
        """
        rows, first, what = self.table
        weights = (beliefs[:, None, :] * rows).reshape(-1, rows.shape[1])
        each = np.ascontiguousarray((what @ weights.T).T).reshape(len(beliefs), len(rows), -1)
        after = mending_minutes(
            chances=each[..., :-1], minutes=self.mend_min, none=each[..., -1], given_up_min=self.given_up_min
        )
        tested = np.add.reduceat(after, first, axis=1)[:, :-1]
        return beliefs.sum(axis=1, keepdims=True) * cost + tested, after[:, -1]

    def cost(self, is_open: NDArray[np.bool_], opened: NDArray[np.bool_]) -> Floats:
        """Minutes of each test as things stand, (tests,)."""
        more = self.needs @ (self.tests.opening_min * ~opened)
        return np.where(is_open, self.tests.minutes + more, NEVER)

    def mend(self, beliefs: Floats) -> float:
        """Minutes of mending by guess at once."""
        return float(
            mending_minutes(
                chances=beliefs @ self.share,
                minutes=self.mend_min,
                none=np.asarray(beliefs @ self.none),
                given_up_min=self.given_up_min,
            )
        )

    def best(self, open_tests: Sequence[int], opened: frozenset[int], ahead: int | None) -> Chosen:
        is_open = np.zeros(len(self.answers), bool)
        is_open[list(open_tests)] = True
        done = np.zeros(self.needs.shape[1], bool)
        done[list(opened)] = True
        now = self.mend(self.beliefs)
        if not is_open.any():
            return Chosen(None, now, now)
        size = sum(len(self.answers[t]) for t in open_tests) * len(self.beliefs) * len(self.mend_min)
        value, test = self.value(self.beliefs, is_open, done, ahead or (3 if size <= WORK else 2))
        return Chosen(test, now, value)

    def value(
        self, beliefs: Floats, is_open: NDArray[np.bool_], opened: NDArray[np.bool_], depth: int
    ) -> tuple[float, int | None]:
        """(minutes, first test) of the best that can be done with so many tests ahead."""
        cost = self.cost(is_open, opened)
        mass = float(beliefs.sum())
        tested, guessed = self.one_step(beliefs[None], cost)
        one, now = tested[0], float(guessed[0])
        likely = [int(t) for t in np.argsort(one, kind="stable")[: BEAM[depth]] if is_open[t]]
        if not likely:
            return now, None
        best, first = now, None
        if depth == 1:
            totals = one[likely]
        elif depth == 2:
            totals = self.two_steps(beliefs, likely, is_open, opened, cost)
        else:
            totals = np.array([self.further(beliefs, t, is_open, opened, cost[t], depth) for t in likely])
        n = int(np.argmax(totals <= totals.min() + TIE))
        if totals[n] < now - 1e-9 * mass:
            best, first = float(totals[n]), likely[n]
        return best, first

    def further(
        self,
        beliefs: Floats,
        test: int,
        is_open: NDArray[np.bool_],
        opened: NDArray[np.bool_],
        cost: float,
        depth: int,
    ) -> float:
        """Minutes with this test first and the best after each of its answers."""
        left = is_open.copy()
        left[test] = False
        after = opened | self.needs[test]
        total = float(beliefs.sum()) * cost
        for answer in self.answers[test]:
            weights = beliefs * answer
            light = weights.sum() < LIGHT
            total += self.mend(weights) if light else self.value(weights, left, after, depth - 1)[0]
        return total

    def two_steps(
        self,
        beliefs: Floats,
        likely: list[int],
        is_open: NDArray[np.bool_],
        opened: NDArray[np.bool_],
        cost: Floats,
    ) -> Floats:
        """Minutes with each of these tests first and the best one test after each answer, all at once."""
        rows = beliefs * np.vstack([self.answers[t] for t in likely])
        costs = np.vstack([self.cost(is_open, opened | self.needs[t]) for t in likely])
        costs[np.arange(len(likely)), likely] = NEVER
        counts = [len(self.answers[t]) for t in likely]
        tested, guessed = self.one_step(rows, np.repeat(costs, counts, axis=0))
        best = np.minimum(tested.min(axis=1), guessed)
        first = np.concatenate([[0], np.cumsum(counts)[:-1]]).astype(np.intp)
        return np.asarray(beliefs.sum() * cost[likely] + np.add.reduceat(best, first))


BEAM = {1: 1, 2: 6, 3: 5}
"""How many tests are followed further at each depth: those that are best with one step."""
