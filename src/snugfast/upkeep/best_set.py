"""The exact best set of checks under a limit of minutes, with nested access and checks that overlap.

Branch and bound. Where checks overlap, a mode's worth is not a sum over checks. So the bound gives each mode
its own copy of the checks that cover it: the mode buys the set it likes best at a price u for each check, and
a knapsack on the tree of access work, solved exactly tenth by tenth of a minute, is paid those prices. For
any prices the two together reach at least as much as the best set. The prices are moved until both want the
same set or the bound is too low to matter (Lagrangean decomposition, by subgradient steps). A check whose
being in, or out, would bring the bound down to what is reached already is settled; what is left over is
settled by branching. All sums that decide are in whole numbers, so nothing is lost to rounding.

Before that, checks that cannot pay for their minutes in any company are put aside, with the ways in that
nothing behind them can pay for. Modes that the same checks cover are one. That leaves half of a sheet's
checks, and what is reckoned for each mode is reckoned for all modes of one size at once.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, cached_property

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
Prices = list[Ints]  # for each group of modes, u for each check of each mode
ROUNDS_AT_ROOT = 40
ROUNDS_BELOW = 6
MEMORY = 0.3  # how much of the last course a step keeps
SLOWER, SLOWEST = 0.6, 0.3  # a step that does not help shortens the next; three such, and branching is better
NOT_REACHED = -(1 << 62)
FORBIDDEN = -(1 << 50)  # money of a set that a part of the search leaves out
SLOPES = 12  # halvings in the search for the price of time that settles most checks


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


@dataclass(frozen=True, slots=True, eq=False)
class _Group:
    """Modes that as many open checks cover; arrays have one row per mode."""

    cover: NDArray[np.intp]  # (modes, k): places of open checks
    gain: Ints  # (modes, 2^k): money of each set of them beside what must be done, 0 for none
    bits: Ints  # (2^k, k): which of them are in each set

    @classmethod
    def all_of(cls, gains: dict[tuple[int, ...], Ints]) -> dict[int, _Group]:
        """By how many checks cover a mode."""
        by_size: dict[int, list[tuple[int, ...]]] = {}
        for key in gains:
            by_size.setdefault(len(key), []).append(key)
        return {
            size: cls(np.array(keys, dtype=np.intp), np.array([gains[key] for key in keys]), _bits_of(size))
            for size, keys in sorted((size, sorted(keys)) for size, keys in by_size.items())
        }


@cache
def _bits_of(size: int) -> Ints:
    return np.array([[mask >> bit & 1 for bit in range(size)] for mask in range(1 << size)], dtype=np.int64)


class _Core:
    """What is open in a problem beside what must be done: checks that may pay, and the modes they share.

    Scores count from that of what must be done alone. Checks go by their place among the open ones.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.opened = problem.access_for(problem.must)
        self.left = problem.limit - problem.time_of(problem.must, self.opened)
        self.access_times = np.array(problem.access_times, dtype=np.int64)
        shut = [not self.opened >> a & 1 for a in range(len(problem.parents))]
        self.shut = np.array(shut, dtype=bool)
        self.bills = np.where(
            self.shut,
            problem.price * self.access_times + np.array(problem.access_harm, dtype=np.int64),
            0,
        )
        taken = problem.must | problem.barred
        self._open([j for j in range(len(problem.times)) if not taken >> j & 1])
        gains = self._gains()
        while self.checks:
            pays = self._may_pay(gains)
            if pays.all():
                break
            gains = _without(gains, pays)
            self._open([j for j, stays in zip(self.checks, pays.tolist(), strict=True) if stays])
        grouped = _Group.all_of(gains)
        self.plain = np.zeros(len(self.checks), dtype=np.int64)
        if (alone := grouped.pop(1, None)) is not None:
            self.plain[alone.cover[:, 0]] = alone.gain[:, 1]
        self.groups = list(grouped.values())
        self.modes_of = sum(
            (np.bincount(group.cover.ravel(), minlength=len(self.checks)) for group in self.groups),
            np.zeros(len(self.checks), dtype=np.int64),
        )

    def _open(self, checks: list[int]) -> None:
        """Say which checks are open."""
        problem = self.problem
        self.checks = checks
        self.times = np.array([problem.times[j] for j in checks], dtype=np.int64)
        ways = range(len(problem.parents))
        self.needs = np.array(
            [[problem.needs[j] >> a & 1 for a in ways] for j in checks], dtype=np.int64
        ).reshape(len(checks), len(ways))
        self.home = [problem.home[j] for j in checks]

    def _gains(self) -> dict[tuple[int, ...], Ints]:
        """What each set of open checks adds for the modes that exactly these cover."""
        problem = self.problem
        place = {j: n for n, j in enumerate(self.checks)}
        gains: dict[tuple[int, ...], Ints] = {}
        for cover, worth in zip(problem.covers, problem.worth, strict=True):
            base, masks, key = 0, [0], []
            for bit, check in enumerate(cover):
                if problem.must >> check & 1:
                    base |= 1 << bit
                elif check in place:
                    masks += [mask | 1 << bit for mask in masks]
                    key.append(place[check])
            if key:
                gain = np.array([worth[base | mask] - worth[base] for mask in masks], dtype=np.int64)
                known = gains.get(tuple(key))
                gains[tuple(key)] = gain if known is None else known + gain
        return gains

    def _may_pay(self, gains: dict[tuple[int, ...], Ints]) -> Bools:
        """Whether each check can add more than its minutes cost, in some company, and so for its ways in."""
        most = np.zeros(len(self.checks), dtype=np.int64)
        for group in _Group.all_of(gains).values():
            for bit in range(group.cover.shape[1]):
                inside = group.bits[:, bit] == 1
                adds = (group.gain[:, inside] - group.gain[:, ~inside]).max(axis=1)
                np.add.at(most, group.cover[:, bit], adds)
        net = most - self.problem.price * self.times
        pays = (net > 0) & (self.times + self.needs @ (self.access_times * self.shut) <= self.left)
        behind = self.needs.T @ np.where(pays, net, 0)
        never = (behind <= self.bills) & (self.bills > 0)
        return np.asarray(pays & (self.needs @ never == 0))

    def net_of(self, chosen: Bools) -> int:
        """The score of a set, from that of what must be done."""
        money = int(self.plain[chosen].sum())
        for group in self.groups:
            money += int(group.gain[np.arange(len(group.gain)), self.masks(group, chosen)].sum())
        opened = (self.needs[chosen].sum(axis=0) > 0) & self.shut
        time = self.time_of(chosen)
        money -= self.problem.price * int(self.times[chosen].sum()) + int(self.bills[opened].sum())
        return money * self.problem.scale - time

    def time_of(self, chosen: Bools) -> int:
        """What a set takes beside what must be done."""
        opened = (self.needs[chosen].sum(axis=0) > 0) & self.shut
        return int(self.times[chosen].sum() + self.access_times[opened].sum())

    def masks(self, group: _Group, chosen: Bools) -> NDArray[np.intp]:
        """Which of its sets each mode of a group has."""
        return np.asarray(chosen[group.cover] @ (1 << np.arange(group.cover.shape[1])), dtype=np.intp)

    def added(self, chosen: Bools) -> Ints:
        """What each check adds to a set, or takes from it where it is in: money before its minutes."""
        adds = self.plain.copy()
        for group in self.groups:
            masks, rows = self.masks(group, chosen), np.arange(len(group.gain))
            for bit in range(group.cover.shape[1]):
                with_it, without = masks | 1 << bit, masks & ~(1 << bit)
                np.add.at(adds, group.cover[:, bit], group.gain[rows, with_it] - group.gain[rows, without])
        return adds

    def whole(self, chosen: Bools) -> int:
        """The set as the problem has it, what must be done with it."""
        return self.problem.must | sum(1 << self.checks[n] for n in np.flatnonzero(chosen).tolist())


def _without(gains: dict[tuple[int, ...], Ints], stays: Bools) -> dict[tuple[int, ...], Ints]:
    """The same without some checks; modes that are alike now are one, the others' places move up."""
    place, fewer = np.cumsum(stays) - 1, dict[tuple[int, ...], Ints]()
    kept = stays.tolist()
    for key, gain in gains.items():
        bits_left = [bit for bit, check in enumerate(key) if kept[check]]
        if not bits_left:
            continue
        if len(bits_left) < len(key):
            masks = [0]
            for bit in bits_left:
                masks += [mask | 1 << bit for mask in masks]
            gain = gain[masks]
        shorter = tuple(int(place[key[bit]]) for bit in bits_left)
        known = fewer.get(shorter)
        fewer[shorter] = gain if known is None else known + gain
    return fewer


@dataclass(frozen=True, slots=True, eq=False)
class _Node:
    """A part of the sets: these checks in, these out, this access paid for."""

    inside: Bools
    outside: Bools
    opened: int
    prices: Prices


@dataclass(slots=True, eq=False)
class _Bound:
    """What a node can reach at most, the set that the knapsack chose, and where it and the modes disagree."""

    most: int
    chosen: Bools
    prices: Prices
    value: Ints  # what each check is paid
    packed: int  # of it, what the knapsack reaches
    slack: list[Ints]  # for each mode, what it gets less from the chosen set than from the one it likes best
    wanted: list[Bools]  # the set that it likes best


class _Search:
    def __init__(self, problem: Problem) -> None:
        self.core = _Core(problem)
        self.problem = problem
        none = np.zeros(len(self.core.checks), dtype=bool)
        self.best, self.best_score = none, 0
        self.offered: set[bytes] = set()

    def run(self, most_nodes: int) -> Best:
        core = self.core
        prices = self._first_prices()
        none = np.zeros(len(core.checks), dtype=bool)
        heap: list[tuple[int, int, _Node, _Bound]] = []
        self._push(heap, _Node(none, none, core.opened, prices), ROUNDS_AT_ROOT, 0)
        count = 1
        while heap:
            most, _, node, bound = heapq.heappop(heap)
            if -most <= self.best_score:
                break
            if count >= most_nodes:
                gap = -(-(-most - self.best_score) // self.problem.scale)
                return Best(core.whole(self.best), gap)
            for child in self._branches(node, bound):
                self._push(heap, child, ROUNDS_BELOW, count)
                count += 1
        return Best(core.whole(self.best), 0)

    def _first_prices(self) -> Prices:
        """Shares by what each check would gain alone."""
        prices = []
        for group in self.core.groups:
            alone = np.maximum(group.gain[:, 1 << np.arange(group.cover.shape[1])], 0)
            whole = group.gain.max(axis=1, keepdims=True)
            share = alone / np.maximum(alone.sum(axis=1, keepdims=True), 1)
            prices.append((whole * share).astype(np.int64))
        return prices

    def _push(self, heap: list[tuple[int, int, _Node, _Bound]], node: _Node, rounds: int, order: int) -> None:
        """Bound a part, settle what its bound settles, and keep it if it may hold something better."""
        closed = self._closed(node)
        while closed is not None:
            bound = self._bound(closed, rounds)
            if bound.most <= self.best_score:
                return
            settled = self._settled(closed, bound)
            if settled is None:
                heapq.heappush(heap, (-bound.most, order, closed, bound))
                return
            closed, rounds = self._closed(settled), ROUNDS_BELOW

    def _closed(self, node: _Node) -> _Node | None:
        """The same part, its outside checks completed by those that time rules out; None when it is empty."""
        core = self.core
        shut = np.array([not node.opened >> a & 1 for a in range(len(core.bills))], dtype=bool)
        way_times = core.access_times * shut
        opened = ~shut & core.shut
        left = core.left - int(core.times[node.inside].sum() + core.access_times[opened].sum())
        if left < 0:
            return None
        too_long = core.times + core.needs @ way_times > left
        return _Node(node.inside, node.outside | (too_long & ~node.inside), node.opened, node.prices)

    def _branches(self, node: _Node, bound: _Bound) -> list[_Node]:
        """Two nodes that part this one by a check that the modes and the knapsack do not agree on."""
        check = self._doubtful(node, bound)
        one = np.zeros_like(node.inside)
        one[check] = True
        needs = self.problem.needs[self.core.checks[check]]
        return [
            _Node(node.inside | one, node.outside, node.opened | needs, bound.prices),
            _Node(node.inside, node.outside | one, node.opened, bound.prices),
        ]

    def _doubtful(self, node: _Node, bound: _Bound) -> int:
        core, free = self.core, ~(node.inside | node.outside)
        most, found = 0, -1
        for group, slack, wanted in zip(core.groups, bound.slack, bound.wanted, strict=True):
            mode = int(slack.argmax())
            if slack[mode] > most:
                cover = group.cover[mode]
                doubt = (wanted[mode] != bound.chosen[cover]) & free[cover]
                if doubt.any():
                    able = cover[doubt]
                    most, found = int(slack[mode]), int(able[core.modes_of[able].argmax()])
        if found >= 0:
            return found
        return int(np.flatnonzero(self._unpaid(node, bound.chosen))[0])

    def _unpaid(self, node: _Node, chosen: Bools) -> Bools:
        """Chosen checks that need access beside their own chain which the knapsack did not pay for."""
        core, paid = self.core, node.opened
        taken = np.flatnonzero(chosen & ~node.inside).tolist()
        for check in taken:
            if core.home[check] >= 0:
                paid |= self.problem.chains[core.home[check]]
        unpaid = np.zeros_like(chosen)
        for check in taken:
            unpaid[check] = bool(self.problem.needs[core.checks[check]] & ~paid)
        return unpaid

    def _bound(self, node: _Node, rounds: int) -> _Bound:
        """Move the prices so that the bound falls; stop when it is exact, too low to matter, or stuck."""
        relaxed = _Relaxed(self.core, node)
        prices, course = node.prices, [np.zeros(group.cover.shape) for group in self.core.groups]
        least: _Bound | None = None
        pace = 1.0
        for _ in range(rounds):
            bound = relaxed.solve(prices)
            self._offer(bound.chosen)
            if least is None or bound.most < least.most:
                least = bound
            else:
                pace *= SLOWER
                if pace < SLOWEST:
                    break
            if least.most <= self.best_score:
                break
            if not any(slack.any() for slack in bound.slack):
                if not self._unpaid(node, bound.chosen).any():
                    bound.most = (
                        self.best_score
                    )  # it is exact and was offered: nothing better is in this node
                    return bound
                break
            gap = pace * (bound.most - self.best_score) / self.problem.scale
            prices = relaxed.moved(bound, gap, course)
        assert least is not None
        return least

    def _settled(self, node: _Node, bound: _Bound) -> _Node | None:
        """The node with every check that its bound settles; None when it settles none.

        With a price μ of time the knapsack falls apart into the ways in, so what it loses when one check is
        forced in or out can be told for all at once; what its modes lose is added.
        """
        core = self.core
        free = ~(node.inside | node.outside)
        most, if_in, if_out = _Sensitivity(core, node, bound).least()
        for group, prices in zip(core.groups, bound.prices, strict=True):
            nets = _allowed(group, node) - prices @ group.bits.T
            top = nets.max(axis=1)
            for bit in range(group.cover.shape[1]):
                inside = group.bits[:, bit] == 1
                np.add.at(
                    if_in,
                    group.cover[:, bit],
                    (top - nets[:, inside].max(axis=1)) * float(core.problem.scale),
                )
                np.add.at(
                    if_out,
                    group.cover[:, bit],
                    (top - nets[:, ~inside].max(axis=1)) * float(core.problem.scale),
                )
        enough = most - self.best_score + core.problem.scale  # what floats may be short of
        never, ever = free & (if_in >= enough), free & (if_out >= enough)
        if not (never.any() or ever.any()):
            return None
        opened = node.opened
        for check in np.flatnonzero(ever).tolist():
            opened |= self.problem.needs[core.checks[check]]
        return _Node(node.inside | ever, node.outside | never, opened, bound.prices)

    def _offer(self, chosen: Bools) -> None:
        """Take a set if it is better than the best so far; then fill what minutes it leaves."""
        core = self.core
        mark = chosen.tobytes()
        if mark in self.offered:
            return
        self.offered.add(mark)
        if core.time_of(chosen) > core.left:
            return
        chosen = chosen.copy()
        while True:
            score = core.net_of(chosen)
            if score > self.best_score:
                self.best, self.best_score = chosen.copy(), score
            opened = (core.needs[chosen].sum(axis=0) > 0) | ~core.shut
            more = core.times + core.needs @ (core.access_times * ~opened)
            adds = core.added(chosen) - core.problem.price * core.times - core.needs @ (core.bills * ~opened)
            fits = ~chosen & (more <= core.left - core.time_of(chosen)) & (adds > 0)
            if not fits.any():
                return
            chosen[int(np.where(fits, adds, 0).argmax())] = True


def _allowed(group: _Group, node: _Node) -> Ints:
    """The gains of a group, forbidden where a set lacks a check that is in, or has one that is out."""
    lacks = node.inside[group.cover] @ (1 - group.bits.T)
    has = node.outside[group.cover] @ group.bits.T
    return np.where(lacks + has > 0, FORBIDDEN, group.gain)


class _Relaxed:
    """The bound of one node for given prices."""

    def __init__(self, core: _Core, node: _Node) -> None:
        self.core, self.node = core, node
        opened = (
            np.array([bool(node.opened >> a & 1) for a in range(len(core.bills))], dtype=bool) & core.shut
        )
        used = int(core.times[node.inside].sum() + core.access_times[opened].sum())
        spent = core.problem.price * int(core.times[node.inside].sum()) + int(core.bills[opened].sum())
        self.fixed = -spent * core.problem.scale - used
        self.left = core.left - used
        self.allowed = [_allowed(group, node) for group in core.groups]
        self.free = ~(node.inside | node.outside)
        self.tree = _Ways(core, node)

    def solve(self, prices: Prices) -> _Bound:
        """What each mode buys, and the knapsack on what is paid."""
        core = self.core
        value = core.plain.copy()
        for group, paid in zip(core.groups, prices, strict=True):
            np.add.at(value, group.cover.ravel(), paid.ravel())
        most = int(value[self.node.inside].sum()) * core.problem.scale + self.fixed
        scores = (value - core.problem.price * core.times) * core.problem.scale - core.times
        offered = np.flatnonzero(self.free & (scores > 0)).tolist()
        reached, taken = self.tree.knapsack(offered, scores, self.left)
        most += reached
        chosen = self.node.inside.copy()
        chosen[taken] = True
        slack, wanted = [], []
        for group, paid, allowed in zip(core.groups, prices, self.allowed, strict=True):
            nets = allowed - paid @ group.bits.T
            rows, liked = np.arange(len(nets)), nets.argmax(axis=1)
            top = nets[rows, liked]
            most += int(top.sum()) * core.problem.scale
            slack.append(top - nets[rows, core.masks(group, chosen)])
            wanted.append(group.bits[liked] == 1)
        return _Bound(most, chosen, prices, value, reached, slack, wanted)

    def moved(self, bound: _Bound, gap: float, course: list[Floats]) -> Prices:
        """Lower prices where the knapsack took what the mode did not want, higher ones in the other case.

        The step goes along this turn's disagreement and part of the last course, which keeps it from swinging
        to and fro (deflected subgradient). `course` is carried on from call to call.
        """
        size = 0.0
        for n, (group, slack, wanted) in enumerate(
            zip(self.core.groups, bound.slack, bound.wanted, strict=True)
        ):
            move = bound.chosen[group.cover].astype(float) - wanted
            move[slack == 0] = 0.0
            course[n] = MEMORY * course[n] + move
            size += float((course[n] ** 2).sum())
        if not size:
            return bound.prices
        step = max(1.0, gap / size)
        return [
            paid - np.rint(step * part).astype(np.int64)
            for paid, part in zip(bound.prices, course, strict=True)
        ]


class _Ways:
    """The tree of access of one node: what opening each way still costs."""

    def __init__(self, core: _Core, node: _Node) -> None:
        self.core, self.opened = core, node.opened

    def knapsack(self, offered: list[int], scores: Ints, left: int) -> tuple[int, list[int]]:
        """Best score and free checks when each has its own; access is paid once, parents first."""
        core, problem = self.core, self.core.problem
        offers: dict[int, list[tuple[int, int, int]]] = {}
        total = live = 0
        for check in offered:
            time, home = int(core.times[check]), core.home[check]
            offers.setdefault(home, []).append((check, time, int(scores[check])))
            total += time
            live |= problem.chains[home] if home >= 0 else 0
        children: dict[int, list[int]] = {}
        bills = {}
        for access in bits(live):
            children.setdefault(problem.parents[access], []).append(access)
            if not self.opened >> access & 1:
                time = problem.access_times[access]
                money = problem.price * time + problem.access_harm[access]
                bills[access] = time, money * problem.scale + time
                total += time
        tree = _Tree(offers, children, bills, total)
        score, chosen = _all_fits(tree, -1) if total <= left else _by_time(tree, left)
        return score, list(bits(chosen))


class _Sensitivity:
    """What a bound loses at least when a check is forced in, or out: time has a price of its own."""

    def __init__(self, core: _Core, node: _Node, bound: _Bound) -> None:
        self.core, self.node, self.bound = core, node, bound
        problem = core.problem
        self.free = ~(node.inside | node.outside)
        self.scores = ((bound.value - problem.price * core.times) * problem.scale - core.times).astype(float)
        opened = np.array([bool(node.opened >> a & 1) for a in range(len(core.bills))], dtype=bool)
        self.still = ~opened & core.shut
        self.bills = np.where(self.still, core.bills * problem.scale + core.access_times, 0).astype(float)
        self.way_times = np.where(self.still, core.access_times, 0).astype(float)
        used = int(core.times[node.inside].sum() + core.access_times[opened & core.shut].sum())
        self.left = float(core.left - used)
        self.home = np.array(core.home, dtype=np.intp)
        self.beside = float(bound.most - bound.packed)  # not the knapsack's: on the same scale
        live = 0
        for check in np.flatnonzero(self.free & (self.scores > 0)).tolist():
            if core.home[check] >= 0:
                live |= problem.chains[core.home[check]]
        self.ways = [(way, problem.parents[way]) for way in bits(live)][::-1]  # children before parents

    def least(self) -> tuple[float, Floats, Floats]:
        """At the price of time that bounds best: the bound, and what forcing each check takes off it."""
        low, high = 0.0, float(max(self.scores.max(initial=0.0), 1.0))
        for _ in range(SLOPES):
            one, two = low + (high - low) * 0.4, low + (high - low) * 0.6
            if self._at(one)[0] <= self._at(two)[0]:
                high = two
            else:
                low = one
        return self._forced(0.5 * (low + high))

    def _at(self, price: float) -> tuple[float, Floats, Floats]:
        """The bound, each check's net, and what each way is worth with all behind it, its bill taken off."""
        nets = self.scores - price * self.core.times
        gained = np.where(self.free & (nets > 0), nets, 0.0)
        behind = -self.bills - price * self.way_times
        at_home = self.home >= 0
        np.add.at(behind, self.home[at_home], gained[at_home])
        top = 0.0
        for way, parent in self.ways:
            if (worth := behind[way]) > 0.0:
                if parent >= 0:
                    behind[parent] += worth
                else:
                    top += float(worth)
        return price * self.left + float(gained[~at_home].sum()) + top + self.beside, nets, behind

    def _forced(self, price: float) -> tuple[float, Floats, Floats]:
        most, nets, behind = self._at(price)
        if_in, if_out = np.maximum(-nets, 0.0), np.maximum(nets, 0.0)
        parents = self.core.problem.parents
        for check in np.flatnonzero(self.free).tolist():
            way = self.core.home[check]
            while way >= 0:
                worth = float(behind[way])
                if_in[check] += max(0.0, -worth)
                if_out[check] = min(if_out[check], max(0.0, worth))
                way = parents[way]
        return most, if_in, if_out


@dataclass(frozen=True, slots=True)
class _Tree:
    """Checks that would bring something, each where it hangs in the tree of access; −1 is the open bench."""

    offers: dict[int, list[tuple[int, int, int]]]  # access → check, time, score
    children: dict[int, list[int]]
    bills: dict[int, tuple[int, int]]  # access still to be paid for → time, score it takes off
    total: int  # time of all of it


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
    rest = (
        tree.total
    )  # time of what is still to be offered: entries that it cannot bring to the end do not count

    def offer(table: Ints, place: int) -> Ints:
        nonlocal rest
        for check, time, score in tree.offers.get(place, ()):
            rest -= time
            if time > left:
                continue
            after = table.copy()
            low = max(time, left - rest)
            np.maximum(after[low:], table[low - time : size - time] + score, out=after[low:])
            steps.append(_Step(check, time, table, after, 0))
            table = after
        for child in tree.children.get(place, ()):
            table = enter(table, child)
        return table

    def enter(table: Ints, access: int) -> Ints:
        nonlocal rest
        if access not in tree.bills:
            return offer(table, access)
        time, bill = tree.bills[access]
        if time > left:
            return table
        rest -= time
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
