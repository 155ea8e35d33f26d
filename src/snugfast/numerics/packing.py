"""Which things to take where each has a worth and uses up several limits: the best choice, with its proof.

The relaxation that may take a part of a thing (HiGHS) gives a bound and a price for each limit. At these
prices leaving a thing on the wrong side costs a known part of the bound: what costs more than the distance to
a choice in hand is settled, and the few that are left are searched side by side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

Floats = NDArray[np.float64]
Which = NDArray[np.bool_]
Counts = NDArray[np.intp]

MOST_STATES = 5_000  # kept side by side; where more are promising the gap that is left is told
MOST_STEPS = 100_000  # of a single limit in whole numbers, counted through one by one
SMALL = 1e-9


@dataclass(frozen=True, slots=True)
class Packed:
    """What to take, what it is worth, and what no choice can be worth more than."""

    taken: Which  # (things,)
    worth: float
    bound: float

    @property
    def gap(self) -> float:
        """How much more the very best could be worth; 0 when this is proved to be the best."""
        return max(0.0, self.bound - self.worth)


def best_packing(worth: Floats, uses: Floats, limits: Floats, *, most_states: int = MOST_STATES) -> Packed:
    """The things to take so that their worth is greatest and no limit is passed.

    `worth` (things,), none below 0; `uses` (limits, things) of each limit, none below 0; `limits` (limits,),
    infinite where there is none. Raises ValueError for a number below 0.
    """
    if (worth < 0.0).any() or (uses < 0.0).any() or (limits < 0.0).any():
        raise ValueError("worths, uses and limits are 0 or more")
    taken = np.zeros(len(worth), dtype=bool)
    known = np.isfinite(limits)
    uses, limits = uses[known], limits[known]
    at = np.flatnonzero((worth > 0.0) & (uses <= limits[:, None] * (1.0 + SMALL)).all(axis=0))
    binding = uses[:, at].sum(axis=1) > limits * (1.0 + SMALL)
    if not binding.any():
        taken[at] = True
        total = float(worth[at].sum())
        return Packed(taken, total, total)
    scale = np.where(limits > 0.0, limits, 1.0)[binding]
    share, room = uses[binding][:, at] / scale[:, None], limits[binding] / scale
    whole = None
    if binding.sum() == 1 and limits[binding][0] <= MOST_STEPS:
        counted = uses[binding][0, at]
        if (counted == np.rint(counted)).all():
            whole = counted.astype(np.intp)
    chosen, bound = _packed(worth[at], share, room, whole, int(limits[binding][0]), most_states)
    taken[at[chosen]] = True
    total = float(worth[taken].sum())
    return Packed(taken, total, total if bound - total <= SMALL * max(total, 1.0) else bound)


def _packed(
    worth: Floats, share: Floats, room: Floats, whole: Counts | None, limit: int, most_states: int
) -> tuple[Which, float]:
    """(what is taken, the bound), of things that fit alone.

    `whole` is what they use of a single `limit` in whole numbers, None where it is not so.
    """
    relaxed = linprog(-worth, A_ub=share, b_ub=room, bounds=(0.0, 1.0), method="highs-ds")
    if relaxed.status != 0:
        raise RuntimeError(f"the packing was not solved: {relaxed.message}")
    prices = np.maximum(-np.asarray(relaxed.ineqlin.marginals), 0.0)
    net = worth - prices @ share
    bound = float(prices @ room + np.maximum(net, 0.0).sum())  # holds at any prices, whatever was rounded
    best = _swapped(worth, share, room, _filled(share, room, relaxed.x > 1.0 - SMALL, net))
    slack = bound - float(worth[best].sum())
    if slack <= SMALL * bound:
        return best, bound
    open_ = np.flatnonzero(np.abs(net) < slack)
    if whole is not None:
        sure = np.flatnonzero((np.abs(net) >= slack) & (net > 0.0))
        left = limit - int(whole[sure].sum())
        if left < 0:  # then nothing is better than the choice in hand
            return best, float(worth[best].sum())
        chosen = _counted(worth[open_], whole[open_], left)
        both = np.zeros(len(worth), dtype=bool)
        both[sure], both[open_[chosen]] = True, True
        best = max(best, both, key=lambda each: float(worth[each].sum()))
        return best, float(worth[best].sum())
    order = open_[np.argsort(-np.abs(net[open_]), kind="stable")]
    return _searched(net, share, room, prices, order, best, bound, slack, most_states)


def _counted(worth: Floats, uses: Counts, limit: int) -> Which:
    """The best choice under one limit in whole numbers, by the table of all limits up to it."""
    best = np.zeros(limit + 1)
    taken = np.zeros((len(worth), limit + 1), dtype=bool)
    for thing, (value, use) in enumerate(zip(worth, uses, strict=True)):
        if use > limit:
            continue
        with_it = best[: limit + 1 - use] + value
        better = with_it > best[use:]
        taken[thing, use:] = better
        best[use:] = np.where(better, with_it, best[use:])
    chosen, left = np.zeros(len(worth), dtype=bool), limit
    for thing in range(len(worth) - 1, -1, -1):
        if taken[thing, left]:
            chosen[thing] = True
            left -= int(uses[thing])
    return chosen


def _filled(share: Floats, room: Floats, chosen: Which, net: Floats) -> Which:
    """What is chosen and whatever still fits, the best net worth first."""
    chosen, left = chosen.copy(), room - share[:, chosen].sum(axis=1)
    loose = np.flatnonzero(~chosen & (share <= left[:, None] + SMALL).all(axis=0))
    for thing in loose[np.argsort(-net[loose], kind="stable")]:
        if (share[:, thing] <= left + SMALL).all():
            chosen[thing] = True
            left = left - share[:, thing]
    return chosen


def _swapped(worth: Floats, share: Floats, room: Floats, chosen: Which) -> Which:
    """The choice after the best swaps of one thing for another, until none is better."""
    for _ in range(30):
        left = room - share[:, chosen].sum(axis=1) + SMALL
        inside, outside = np.flatnonzero(chosen), np.flatnonzero(~chosen)
        if not inside.size or not outside.size:
            return chosen
        gain = worth[outside][None, :] - worth[inside][:, None]
        for use, free in zip(share, left, strict=True):
            gain[use[outside][None, :] - use[inside][:, None] > free] = 0.0
        out, into = np.unravel_index(int(np.argmax(gain)), gain.shape)
        if gain[out, into] <= SMALL:
            return chosen
        chosen = chosen.copy()
        chosen[inside[out]], chosen[outside[into]] = False, True
    return chosen


def _searched(
    net: Floats,
    share: Floats,
    room: Floats,
    prices: Floats,
    order: Counts,
    best: Which,
    bound: float,
    slack: float,
    most_states: int,
) -> tuple[Which, float]:
    """Every choice near the bound, the things that cost most to leave on the wrong side first.

    A state is what was put on its wrong side so far: what that costs of the bound, and the room it leaves.
    """
    right = net > 0.0
    lost = np.zeros(1)
    left = (room - share[:, right].sum(axis=1))[None, :]
    # What the things still to come could give back of each limit, when all of them were left out.
    given = np.array([share[:, thing] * right[thing] for thing in order])
    back = np.cumsum(given[::-1], axis=0)[::-1]
    steps: list[tuple[Counts, Which]] = []
    found: tuple[int, int] | None = None  # (after how many things, which state)
    dropped = np.inf
    for n, thing in enumerate(order):
        whole = np.flatnonzero((left >= -SMALL).all(axis=1))
        if whole.size:
            costs = lost[whole] + left[whole] @ prices
            at = int(np.argmin(costs))
            if costs[at] < slack - SMALL:
                slack, found = float(costs[at]), (n, int(whole[at]))
        turned = lost + abs(net[thing])
        change = share[:, thing] * (1.0 if right[thing] else -1.0)
        parent = np.concatenate((np.arange(lost.size), np.arange(lost.size)))
        flipped = np.repeat([False, True], lost.size)
        all_lost, all_left = np.concatenate((lost, turned)), np.concatenate((left, left + change))
        later = back[n + 1] if n + 1 < len(order) else 0.0
        keep = np.flatnonzero((all_lost < slack - SMALL) & (all_left + later >= -SMALL).all(axis=1))
        if keep.size > most_states:
            ranked = keep[np.argsort(all_lost[keep], kind="stable")]
            dropped = min(dropped, float(all_lost[ranked[most_states]]))
            keep = np.sort(ranked[:most_states])
        steps.append((parent[keep], flipped[keep]))
        lost, left = all_lost[keep], all_left[keep]
        if not keep.size:
            break
    whole = np.flatnonzero((left >= -SMALL).all(axis=1))
    if whole.size:
        costs = lost[whole] + left[whole] @ prices
        at = int(np.argmin(costs))
        if costs[at] < slack - SMALL:
            slack, found = float(costs[at]), (len(steps), int(whole[at]))
    if found is not None:
        best, state = right.copy(), found[1]
        for n in range(found[0] - 1, -1, -1):
            parents, flips = steps[n]
            if flips[state]:
                best[order[n]] = not right[order[n]]
            state = int(parents[state])
    return best, bound - min(slack, dropped)
