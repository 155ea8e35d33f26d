"""The exact best set of checks under a limit of minutes, with nested access and checks that overlap.

Branch and bound. Where checks overlap, a mode's worth is not a sum over checks. So the bound gives each mode
its own copy of the checks that cover it: the mode buys the set it likes best at a price u for each check, and
a knapsack on the tree of access work, solved exactly tenth by tenth of a minute, is paid those prices. For
any prices the two together reach at least as much as the best set. The prices are moved until both want the
same set or the bound is too low to matter (Lagrangean decomposition, by subgradient steps); what is left
over is settled by branching. All sums are in whole numbers, so nothing is lost to rounding.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Prices = dict[tuple[int, int], int]  # (mode, check) → u
Course = dict[tuple[int, int], float]  # (mode, check) → which way its price has been going
ROUNDS_AT_ROOT = 40
ROUNDS_BELOW = 6
MEMORY = 0.3  # how much of the last course a step keeps
SLOWER, SLOWEST = 0.6, 0.3  # a step that does not help shortens the next; three such, and branching is better
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
    access_harm: tuple[int, ...]  # money that opening each way loses by what it may spoil
    parents: tuple[int, ...]  # −1 at the top
    covers: tuple[tuple[int, ...], ...]
    worth: tuple[tuple[int, ...], ...]
    price: int  # money per unit of time
    limit: int  # time there is
    must: int  # bit set of checks
    barred: int  # bit set of checks

    @cached_property
    def scale(self) -> int:
        """A unit of money counts this many, so that all the time there is counts less: it settles ties."""
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
        mask, bit = 0, 1
        for check in self.covers[mode]:
            if chosen >> check & 1:
                mask |= bit
            bit <<= 1
        return mask

    @cached_property
    def modes_of(self) -> tuple[tuple[int, ...], ...]:
        """The modes that each check covers."""
        modes: list[list[int]] = [[] for _ in self.times]
        for mode, cover in enumerate(self.covers):
            for check in cover:
                modes[check].append(mode)
        return tuple(tuple(some) for some in modes)

    def money_of(self, chosen: int) -> int:
        """Worth of a set, before the price of time."""
        return sum(self.worth[m][self.mask_of(m, chosen)] for m in range(len(self.covers)))

    def money_added_by(self, check: int, others: int) -> int:
        """What one check adds to the worth of others, before the price of time."""
        return sum(
            self.worth[m][self.mask_of(m, others | 1 << check)] - self.worth[m][self.mask_of(m, others)]
            for m in self.modes_of[check]
        )

    def score(self, chosen: int) -> int:
        """What is made as large as it can be: money after the price of time, then less time."""
        opened = self.access_for(chosen)
        time = self.time_of(chosen, opened)
        money = self.money_of(chosen) - self.price * time - self.harm_of(opened)
        return money * self.scale - time

    def harm_of(self, opened: int) -> int:
        """Money that opening these ways loses by what it may spoil."""
        return sum(self.access_harm[a] for a in bits(opened))

    def fits(self, chosen: int) -> bool:
        """Whether there is time for a set and its access."""
        return self.time_of(chosen, self.access_for(chosen)) <= self.limit


def bits(number: int) -> Iterator[int]:
    """Places of the set bits, from the lowest."""
    while number:
        low = number & -number
        yield low.bit_length() - 1
        number ^= low


@dataclass(frozen=True, slots=True)
class Best:
    """A set of checks, and the most money any set could bring beyond it: 0 where it is proven the best."""

    chosen: int
    gap: int


def best_set(problem: Problem, most_nodes: int) -> Best:
    """The best set of checks, as a bit set. `must` has to fit.

    After `most_nodes` parts of the search the best set so far is given, with what it may be short of at most.
    """
    return _Search(problem).run(most_nodes)


@dataclass(frozen=True, slots=True)
class _Node:
    """A part of the sets: these checks in, these out, this access paid for, this access shut."""

    inside: int
    outside: int
    opened: int
    shut: int
    prices: Prices


@dataclass(slots=True)
class _Bound:
    """What a node can reach at most, the set that the knapsack chose, and where it and the modes disagree."""

    most: int
    chosen: int
    prices: Prices
    slack: dict[int, int]  # mode → what it gets less from the chosen set than from the one it likes best
    wanted: dict[int, int]  # those modes → the set of checks each likes best


class _Search:
    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.best = problem.must
        self.best_score = problem.score(problem.must)
        self.offered: set[int] = set()
        self.every = (1 << len(problem.times)) - 1

    def run(self, most_nodes: int) -> Best:
        problem = self.problem
        root = self._closed(_Node(problem.must, problem.barred, problem.access_for(problem.must), 0, {}))
        heap: list[tuple[int, int, _Node, _Bound]] = []
        self._push(heap, root, ROUNDS_AT_ROOT, 0)
        count = 1
        while heap:
            most, _, node, bound = heapq.heappop(heap)
            if -most <= self.best_score:
                break
            if count >= most_nodes:
                return Best(self.best, -(-(-most - self.best_score) // problem.scale))
            for child in self._branches(node, bound):
                self._push(heap, child, ROUNDS_BELOW, count)
                count += 1
        return Best(self.best, 0)

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
        return _Node(node.inside, outside, node.opened, node.shut, node.prices)

    def _branches(self, node: _Node, bound: _Bound) -> list[_Node]:
        """Two nodes that part this one: a check in or out, or an access paid for or shut."""
        problem = self.problem
        if bound.slack:
            mode = max(bound.slack, key=lambda m: (bound.slack[m], -m))
            doubtful = (bound.wanted[mode] ^ bound.chosen) & self._free_cover(node, mode)
            check = max(bits(doubtful), key=lambda j: (len(self.problem.modes_of[j]), -j))
            one = 1 << check
            access = node.opened | problem.needs[check]
            split = [
                _Node(node.inside | one, node.outside, access, node.shut, bound.prices),
                _Node(node.inside, node.outside | one, node.opened, node.shut, bound.prices),
            ]
        else:
            unpaid = self._unpaid(node, bound.chosen)
            door = next(bits(unpaid))
            split = [
                _Node(node.inside, node.outside, node.opened | problem.chains[door], node.shut, bound.prices),
                _Node(node.inside, node.outside, node.opened, node.shut | 1 << door, bound.prices),
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
        """Move the prices so that the bound falls; stop when it is exact, too low to matter, or stuck."""
        relaxed = _Relaxed(self.problem, node)
        prices = relaxed.start(node.prices)
        least: _Bound | None = None
        pace, course = 1.0, Course()
        for _ in range(rounds):
            bound = relaxed.solve(prices)
            self._offer(bound.chosen)
            if least is None or bound.most < least.most:
                least = bound
            else:
                pace *= SLOWER
                if pace < SLOWEST:
                    break
            exact = not bound.slack and not self._unpaid(node, bound.chosen)
            if exact or least.most <= self.best_score:
                break
            gap = pace * (bound.most - self.best_score) / self.problem.scale
            moved = relaxed.moved(bound, gap, course)
            if moved == prices:
                break
            prices = moved
        assert least is not None
        if not least.slack and not self._unpaid(node, least.chosen):
            least.most = self.best_score  # it is exact and was offered: nothing better is in this node
        return least

    def _offer(self, chosen: int) -> None:
        if chosen in self.offered:
            return
        self.offered.add(chosen)
        score = self.problem.score(chosen)
        if score > self.best_score and self.problem.fits(chosen):
            self.best, self.best_score = chosen, score


class _Relaxed:
    """The bound of one node for given prices."""

    def __init__(self, problem: Problem, node: _Node) -> None:
        self.problem, self.node = problem, node
        self.fixed = 0
        self.plain = {j: 0 for j in range(len(problem.times)) if not (node.inside | node.outside) >> j & 1}
        self.shared: dict[int, tuple[list[int], list[int]]] = {}  # mode → free checks, gain of each mask
        for mode in range(len(problem.covers)):
            self._sort(mode)
        used = problem.time_of(node.inside, node.opened)
        spent = problem.price * used + problem.harm_of(node.opened)
        self.fixed = (self.fixed - spent) * problem.scale - used
        self.left = problem.limit - used

    def _sort(self, mode: int) -> None:
        """A mode with one free check is plain money for it; with more, every set of them has its gain."""
        worth = self.problem.worth[mode]
        base, masks, free = 0, [0], []
        for place, check in enumerate(self.problem.covers[mode]):
            if self.node.inside >> check & 1:
                base |= 1 << place
            elif check in self.plain:
                masks += [mask | 1 << place for mask in masks]
                free.append(check)
        now = worth[base]
        self.fixed += now
        if len(free) == 1:
            self.plain[free[0]] += worth[base | masks[1]] - now
        elif free:
            self.shared[mode] = free, [worth[base | mask] - now for mask in masks]

    def start(self, prices: Prices) -> Prices:
        """The parent's prices where they still apply; else shares by what each check would gain alone."""
        first: Prices = {}
        for mode, (free, gains) in self.shared.items():
            alone = [max(gains[1 << place], 0) for place in range(len(free))]
            whole, total = max(gains), sum(alone)
            for check, gain in zip(free, alone, strict=True):
                known = prices.get((mode, check))
                first[mode, check] = known if known is not None else whole * gain // max(total, 1)
        return first

    def solve(self, prices: Prices) -> _Bound:
        """What each mode buys, and the knapsack on what is paid."""
        value = dict(self.plain)
        for (_, check), paid in prices.items():
            value[check] += paid
        most, chosen = _tree_knapsack(self.problem, self.node, value, self.left)
        slack, wanted = {}, {}
        for mode, (free, gains) in self.shared.items():
            bills, here = [0], 0
            for place, check in enumerate(free):
                paid = prices[mode, check]
                bills += [bill + paid for bill in bills]
                here |= (chosen >> check & 1) << place
            nets = list(map(int.__sub__, gains, bills))
            top = max(nets)
            most += top * self.problem.scale
            if top > nets[here]:
                slack[mode] = top - nets[here]
                liked = nets.index(top)
                wanted[mode] = sum(1 << check for place, check in enumerate(free) if liked >> place & 1)
        return _Bound(most + self.fixed, chosen | self.node.inside, prices, slack, wanted)

    def moved(self, bound: _Bound, gap: float, course: Course) -> Prices:
        """Lower prices where the knapsack took what the mode did not want, higher ones in the other case.

        The step goes along this turn's disagreement and part of the last course, which keeps it from swinging
        to and fro (deflected subgradient). `course` is carried on from call to call.
        """
        for key in course:
            course[key] *= MEMORY
        for mode, wanted in bound.wanted.items():
            for check in self.shared[mode][0]:
                move = (bound.chosen >> check & 1) - (wanted >> check & 1)
                if move:
                    course[mode, check] = course.get((mode, check), 0.0) + move
        size = sum(part * part for part in course.values())
        if not size:
            return bound.prices
        step = max(1.0, gap / size)
        return bound.prices | {key: bound.prices[key] - round(step * part) for key, part in course.items()}


@dataclass(frozen=True, slots=True)
class _Tree:
    """Checks that would bring something, each where it hangs in the tree of access; −1 is the open bench."""

    offers: dict[int, list[tuple[int, int, int]]]  # access → check, time, score
    children: dict[int, list[int]]
    bills: dict[int, tuple[int, int]]  # access still to be paid for → time, score it takes off


def _tree_knapsack(problem: Problem, node: _Node, value: dict[int, int], left: int) -> tuple[int, int]:
    """Best score and set of free checks when each has its own value; access is paid once, parents first."""
    offers: dict[int, list[tuple[int, int, int]]] = {}
    total = live = 0
    for check, money in value.items():
        time, home = problem.times[check], problem.home[check]
        score = (money - problem.price * time) * problem.scale - time
        if score > 0:
            offers.setdefault(home, []).append((check, time, score))
            total += time
            live |= problem.chains[home] if home >= 0 else 0
    children: dict[int, list[int]] = {}
    bills = {}
    for access in bits(live):
        children.setdefault(problem.parents[access], []).append(access)
        if not node.opened >> access & 1:
            time = problem.access_times[access]
            money = problem.price * time + problem.access_harm[access]
            bills[access] = time, money * problem.scale + time
            total += time
    tree = _Tree(offers, children, bills)
    return _all_fits(tree, -1) if total <= left else _by_time(tree, left)


def _all_fits(tree: _Tree, place: int) -> tuple[int, int]:
    """Without a limit that matters, each way in is opened when what lies behind it pays for it."""
    score = chosen = 0
    for check, _, gain in tree.offers.get(place, ()):
        score += gain
        chosen |= 1 << check
    for child in tree.children.get(place, ()):
        behind, inner = _all_fits(tree, child)
        behind -= tree.bills.get(child, (0, 0))[1]
        if behind > 0:
            score += behind
            chosen |= inner
    return score, chosen


def _by_time(tree: _Tree, left: int) -> tuple[int, int]:
    """With a limit: a table of the best score for every time, carried through a walk over the tree.

    Opening a way in starts a second table in which it is paid for; what lies behind is offered there, and the
    better of the two tables goes on.
    """
    size = left + 1
    steps: list[_Step] = []

    def offer(table: Ints, place: int) -> Ints:
        for check, time, score in tree.offers.get(place, ()):
            if time > left:
                continue
            after = table.copy()
            np.maximum(after[time:], table[: size - time] + score, out=after[time:])
            steps.append(_Step(check, time, table, after, 0))
            table = after
        for child in tree.children.get(place, ()):
            table = enter(table, child)
        return table

    def enter(table: Ints, access: int) -> Ints:
        if access not in tree.bills:
            return offer(table, access)
        time, bill = tree.bills[access]
        if time > left:
            return table
        began = len(steps)
        inner = np.full(size, NOT_REACHED, dtype=np.int64)
        inner[time:] = table[: size - time] - bill
        after = np.maximum(table, offer(inner, access))
        steps.append(_Step(-1, time, table, after, began))
        return after

    table = offer(np.zeros(size, dtype=np.int64), -1)
    return int(table[-1]), _walk_back(steps, left)


@dataclass(slots=True)
class _Step:
    """One choice at every time: a check taken or not, or (check −1) a way in that was opened or not."""

    check: int
    time: int
    before: Ints
    after: Ints
    began: int  # for a way in: how many steps there were before it


def _walk_back(steps: list[_Step], place: int) -> int:
    """The set of checks that led to the entry at this time."""
    chosen, at = 0, len(steps) - 1
    inside: list[_Step] = []  # ways in that were opened and not yet left
    while at >= 0:
        step = steps[at]
        better = step.after[place] > step.before[place]
        if step.check >= 0 and better:
            chosen |= 1 << step.check
            place -= step.time
        if step.check >= 0:
            at -= 1
        elif better:
            inside.append(step)
            at -= 1
        else:
            at = step.began - 1
        while inside and at < inside[-1].began:
            place -= inside.pop().time
    return chosen
