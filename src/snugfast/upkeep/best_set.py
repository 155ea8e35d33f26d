"""The exact best set of checks under a limit of minutes, with nested access and checks that overlap.

Branch and bound. Where checks overlap, a mode's worth is not a sum over checks. The bound gives each mode its
own copy of the checks that cover it and pays u for each check the two copies disagree on: the mode then picks
its best pattern by itself, the rest is a knapsack on the tree of access work, solved exactly tenth by tenth of
a minute, and the payments are moved until the two agree or the bound is too low to matter. What is left over
is settled by branching. All sums are in whole numbers, so nothing is lost to rounding.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Payments = dict[tuple[int, int], int]  # (mode, check) → u
ROUNDS_AT_ROOT = 40
ROUNDS_BELOW = 6
NOT_REACHED = -(1 << 62)


@dataclass(frozen=True)
class Problem:
    """Whole numbers only. Checks, access nodes and modes go by their place in these tuples.

    `needs[j]` is the bit set of access nodes that check j needs open, ancestors included; parents come before
    their children. `worth[m][mask]` is money for the set of `covers[m]` with set bits in `mask`.
    """

    times: tuple[int, ...]
    needs: tuple[int, ...]
    access_times: tuple[int, ...]
    parents: tuple[int, ...]  # −1 at the top
    covers: tuple[tuple[int, ...], ...]
    worth: tuple[tuple[int, ...], ...]
    price: int  # money per unit of time
    limit: int  # time there is
    must: int  # bit set of checks
    barred: int  # bit set of checks

    @cached_property
    def scale(self) -> int:
        """Money is counted in this many, so that a unit of time is less than the least money: it settles ties."""
        return sum(self.times) + sum(self.access_times) + 1

    @cached_property
    def home(self) -> tuple[int, ...]:
        """The deepest access node each check needs, −1 for none: it hangs there in the tree."""
        return tuple(need.bit_length() - 1 for need in self.needs)

    @cached_property
    def chains(self) -> tuple[int, ...]:
        """Each access node with its ancestors, as a bit set."""
        chains: list[int] = []
        for node, parent in enumerate(self.parents):
            chains.append(1 << node | (chains[parent] if parent >= 0 else 0))
        return tuple(chains)

    def access_for(self, chosen: int) -> int:
        """The access nodes that a set of checks needs."""
        needed = 0
        for check in bits(chosen):
            needed |= self.needs[check]
        return needed

    def time_of(self, chosen: int, opened: int) -> int:
        """Time for these checks and this access."""
        return sum(self.times[j] for j in bits(chosen)) + sum(self.access_times[a] for a in bits(opened))

    def mask_of(self, mode: int, chosen: int) -> int:
        """Which of the checks that cover a mode are in a set, as an index of its worth."""
        return sum(1 << place for place, check in enumerate(self.covers[mode]) if chosen >> check & 1)

    def money_of(self, chosen: int) -> int:
        """Worth of a set, before the price of time."""
        return sum(self.worth[m][self.mask_of(m, chosen)] for m in range(len(self.covers)))

    def score(self, chosen: int) -> int:
        """What is made as large as it can be: money after the price of time, then less time."""
        time = self.time_of(chosen, self.access_for(chosen))
        return (self.money_of(chosen) - self.price * time) * self.scale - time

    def fits(self, chosen: int) -> bool:
        """Whether there is time for a set and its access."""
        return self.time_of(chosen, self.access_for(chosen)) <= self.limit


def bits(number: int) -> Iterator[int]:
    """Places of the set bits, from the lowest."""
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


def best_set(problem: Problem) -> int:
    """The best set of checks, as a bit set. `must` has to fit."""
    return _Search(problem).run()


@dataclass(frozen=True, slots=True)
class _Node:
    """A part of the sets: these checks in, these out, this access paid for, this access shut."""

    inside: int
    outside: int
    opened: int
    shut: int
    payments: Payments


@dataclass(slots=True)
class _Bound:
    """What a node can reach at most, the set that the knapsack chose, and where it and the modes disagree."""

    most: int
    chosen: int
    payments: Payments
    slack: dict[int, int]  # mode → how much its own pattern would get more than the chosen one
    wanted: dict[int, int]  # mode → its own pattern, as a set of checks


class _Search:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.best = problem.must
        self.best_score = problem.score(problem.must)
        self.every = (1 << len(problem.times)) - 1
        self.modes_of = [
            [mode for mode, cover in enumerate(problem.covers) if check in cover]
            for check in range(len(problem.times))
        ]

    def run(self) -> int:
        problem = self.problem
        root = self._closed(_Node(problem.must, problem.barred, problem.access_for(problem.must), 0, {}))
        heap: list[tuple[int, int, _Node, _Bound]] = []
        self._push(heap, root, ROUNDS_AT_ROOT, 0)
        count = 1
        while heap:
            most, _, node, bound = heapq.heappop(heap)
            if -most <= self.best_score:
                break
            for child in self._branches(node, bound):
                self._push(heap, child, ROUNDS_BELOW, count)
                count += 1
        return self.best

    def _push(self, heap: list[tuple[int, int, _Node, _Bound]], node: _Node, rounds: int, order: int) -> None:
        if self.problem.time_of(node.inside, node.opened) > self.problem.limit:
            return
        bound = self._bound(node, rounds)
        if bound.most > self.best_score:
            heapq.heappush(heap, (-bound.most, order, node, bound))

    def _closed(self, node: _Node) -> _Node:
        """The same node, its outside checks completed by those that access or time rules out."""
        problem, outside = self.problem, node.outside
        left = problem.limit - problem.time_of(node.inside, node.opened)
        for check in bits(self.every & ~node.inside & ~outside):
            extra = problem.times[check] + problem.time_of(0, problem.needs[check] & ~node.opened)
            if problem.needs[check] & node.shut or extra > left:
                outside |= 1 << check
        return _Node(node.inside, outside, node.opened, node.shut, node.payments)

    def _branches(self, node: _Node, bound: _Bound) -> list[_Node]:
        """Two nodes that part this one: a check in or out, or an access paid for or shut."""
        problem = self.problem
        if bound.slack:
            mode = max(bound.slack, key=lambda m: (bound.slack[m], -m))
            doubtful = (bound.wanted[mode] ^ bound.chosen) & self._free_cover(node, mode)
            check = max(bits(doubtful), key=lambda j: (len(self.modes_of[j]), -j))
            one = 1 << check
            access = node.opened | problem.needs[check]
            split = [
                _Node(node.inside | one, node.outside, access, node.shut, bound.payments),
                _Node(node.inside, node.outside | one, node.opened, node.shut, bound.payments),
            ]
        else:
            unpaid = self._unpaid(node, bound.chosen)
            door = next(bits(unpaid))
            split = [
                _Node(
                    node.inside, node.outside, node.opened | problem.chains[door], node.shut, bound.payments
                ),
                _Node(node.inside, node.outside, node.opened, node.shut | 1 << door, bound.payments),
            ]
        return [self._closed(child) for child in split]

    def _unpaid(self, node: _Node, chosen: int) -> int:
        """Access that chosen checks need beside their own chain, and that the knapsack did not pay for."""
        problem, paid = self.problem, node.opened
        for check in bits(chosen & ~node.inside):
            if problem.home[check] >= 0:
                paid |= problem.chains[problem.home[check]]
        return problem.access_for(chosen) & ~paid

    def _free_cover(self, node: _Node, mode: int) -> int:
        cover = 0
        for check in self.problem.covers[mode]:
            cover |= 1 << check
        return cover & ~node.inside & ~node.outside

    def _bound(self, node: _Node, rounds: int) -> _Bound:
        """Move the payments so that the bound falls; stop when it is exact, too low to matter, or stuck."""
        relaxed = _Relaxed(self.problem, node)
        payments = relaxed.start(node.payments)
        least: _Bound | None = None
        pace = 1.0
        for _ in range(rounds):
            bound = relaxed.solve(payments)
            self._offer(bound.chosen)
            if least is None or bound.most < least.most:
                least = bound
            else:
                pace *= 0.6
            exact = not bound.slack and not self._unpaid(node, bound.chosen)
            if exact or least.most <= self.best_score:
                break
            moved = relaxed.moved(bound, pace * (bound.most - self.best_score) / self.problem.scale)
            if moved == payments:
                break
            payments = moved
        assert least is not None
        if not least.slack and not self._unpaid(node, least.chosen):
            least.most = self.best_score  # it is exact and was offered: nothing better is in this node
        return least

    def _offer(self, chosen: int) -> None:
        score = self.problem.score(chosen)
        if score > self.best_score and self.problem.fits(chosen):
            self.best, self.best_score = chosen, score


class _Relaxed:
    """The bound of one node for given payments."""

    def __init__(self, problem: Problem, node: _Node) -> None:
        self.problem, self.node = problem, node
        self.fixed = 0
        self.plain = {j: 0 for j in range(len(problem.times)) if not (node.inside | node.outside) >> j & 1}
        self.shared: dict[int, list[tuple[int, int]]] = {}  # mode → (set of free checks, money) patterns
        for mode, cover in enumerate(problem.covers):
            self._sort(mode, cover)
        used = problem.time_of(node.inside, node.opened)
        self.fixed = (self.fixed - problem.price * used) * problem.scale - used
        self.left = problem.limit - used

    def _sort(self, mode: int, cover: tuple[int, ...]) -> None:
        """A mode with one free check is plain money for it; with more, it keeps its patterns."""
        worth = self.problem.worth[mode]
        base, patterns = 0, [(0, 0)]
        for place, check in enumerate(cover):
            if self.node.inside >> check & 1:
                base |= 1 << place
            elif check in self.plain:
                patterns += [(mask | 1 << place, some | 1 << check) for mask, some in patterns]
        now = worth[base]
        self.fixed += now
        gains = [(some, worth[base | mask] - now) for mask, some in patterns]
        if len(gains) == 2:
            self.plain[gains[1][0].bit_length() - 1] += gains[1][1]
        elif len(gains) > 2:
            self.shared[mode] = gains

    def start(self, payments: Payments) -> Payments:
        """The parent's payments where they still apply; else a check's part of the whole by what it gains alone."""
        first: Payments = {}
        for mode, gains in self.shared.items():
            alone = {some.bit_length() - 1: max(gain, 0) for some, gain in gains if some.bit_count() == 1}
            whole, total = max(gain for _, gain in gains), sum(alone.values())
            for check, gain in alone.items():
                fair = whole * gain // total if total else 0
                first[mode, check] = payments.get((mode, check), fair)
        return first

    def solve(self, payments: Payments) -> _Bound:
        """Each mode's best pattern after payments, and the knapsack on what is paid."""
        value = dict(self.plain)
        for (_, check), paid in payments.items():
            value[check] += paid
        most, chosen = _tree_knapsack(self.problem, self.node, value, self.left)
        slack, wanted, free = {}, {}, chosen | self.node.inside
        for mode, gains in self.shared.items():
            top, pattern, here = NOT_REACHED, 0, 0
            for some, gain in gains:
                gain -= sum(payments[mode, check] for check in bits(some))
                if gain > top:
                    top, pattern = gain, some
                if some == chosen & gains[-1][0]:
                    here = gain
            most += top * self.problem.scale
            wanted[mode] = pattern
            if top > here:
                slack[mode] = top - here
        return _Bound(most + self.fixed, free, payments, slack, wanted)

    def moved(self, bound: _Bound, gap: float) -> Payments:
        """Pay less where the knapsack took what the mode did not want, more the other way round."""
        moves = {}
        for mode, check in bound.payments:
            moves[mode, check] = (bound.chosen >> check & 1) - (bound.wanted[mode] >> check & 1)
        size = sum(abs(move) for mode_check, move in moves.items() if mode_check[0] in bound.slack)
        if not size:
            return bound.payments
        step = max(1, round(gap / size))
        return {
            key: paid - (step * moves[key] if key[0] in bound.slack else 0)
            for key, paid in bound.payments.items()
        }


def _tree_knapsack(problem: Problem, node: _Node, value: dict[int, int], left: int) -> tuple[int, int]:
    """Best score and set of free checks when each has its own value; access is paid once, parents first.

    A walk over the tree of access: opening a node starts a second table in which it is paid for, its checks
    and children are offered there, and the better of the two goes on. When everything fits, time needs no axis.
    """
    scale, price = problem.scale, problem.price
    at: dict[int, list[tuple[int, int, int]]] = {}
    total = 0
    for check, money in value.items():
        time = problem.times[check]
        score = (money - price * time) * scale - time
        if score > 0:
            at.setdefault(problem.home[check], []).append((check, time, score))
            total += time
    live = 0
    for home in at:
        if home >= 0:
            live |= problem.chains[home]
    live &= ~node.shut
    doors = live & ~node.opened
    total += sum(problem.access_times[a] for a in bits(doors))
    size = left + 1 if total > left else 1
    children: dict[int, list[int]] = {}
    for place in bits(live):
        children.setdefault(problem.parents[place], []).append(place)
    steps: list[tuple[int, int, NDArray[np.bool_], int]] = []  # (check or −1, time, taken, where it began)

    def offer(table: Ints, place: int) -> Ints:
        for check, time, score in at.get(place, ()):
            wide = time if size > 1 else 0
            with_it = table[: size - wide] + score
            taken = np.zeros(size, dtype=bool)
            np.greater(with_it, table[wide:], out=taken[wide:])
            table = table.copy()
            np.maximum(table[wide:], with_it, out=table[wide:])
            steps.append((check, wide, taken, 0))
        for child in children.get(place, ()):
            table = enter(table, child)
        return table

    def enter(table: Ints, door: int) -> Ints:
        if node.opened >> door & 1:
            return offer(table, door)
        time = problem.access_times[door]
        wide = time if size > 1 else 0
        if wide >= size:
            return table
        began = len(steps)
        inner = np.full(size, NOT_REACHED, dtype=np.int64)
        inner[wide:] = table[: size - wide] - (price * time * scale + time)
        inner = offer(inner, door)
        steps.append((-1, wide, inner > table, began))
        return np.maximum(table, inner)

    table = offer(np.zeros(size, dtype=np.int64), -1)
    return int(table[-1]), _walk_back(steps, size - 1)


def _walk_back(steps: list[tuple[int, int, NDArray[np.bool_], int]], place: int) -> int:
    """The set that led to the best entry."""
    chosen, step = 0, len(steps) - 1
    pending: list[tuple[int, int]] = []  # (step where an opened access began, its time)
    while step >= 0 or pending:
        while pending and step < pending[-1][0]:
            place -= pending.pop()[1]
        if step < 0:
            break
        check, time, taken, began = steps[step]
        if check >= 0:
            if taken[place]:
                chosen |= 1 << check
                place -= time
            step -= 1
        elif taken[place]:
            pending.append((began, time))
            step -= 1
        else:
            step = began - 1
    return chosen
