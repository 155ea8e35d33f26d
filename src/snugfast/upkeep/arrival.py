"""From good to defective to failed: the chances after an exposure, for many rows and a whole grid.

Steady arrival has a closed form. Wear-out and raised arrival are integrated by Gauss's rule over short steps.
Each row is worked out by itself: nothing here depends on which rows stand beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gamma

import numpy as np
from numpy.typing import NDArray

from snugfast.numerics.quadrature import unit_rule
from snugfast.upkeep.grid import Grid
from snugfast.upkeep.mode_law import ModeLaw

Floats = NDArray[np.float64]

MEAN_RATE, ALPHA, SUDDEN, WEAR, PER_SCALE, FADE = range(6)  # columns of an array of laws
POINTS = 8  # of Gauss's rule in one step
MOST_STEPS = 5000.0
GROWTH = 0.5
REACH = 8.0  # delays, arrivals and fades in one step; eight points give e^(−8y) to nine figures


@dataclass(frozen=True, slots=True, eq=False)
class Passage:
    """What an exposure does to a part; every array is (rows, grid points)."""

    stays_good: Floats  # a good part is still good at the end
    turns_defective: Floats  # a good part has a defect at the end and has not failed
    defect_holds: Floats  # a defect there at the start has not failed by the end


def law_array(laws: Sequence[ModeLaw], parts: Sequence[int] | None = None) -> Floats:
    """Laws of one part each as one array, (rows, 6).

    PER_SCALE is 1/η of the hazard (β/η)(x/η)^(β−1), ALPHA is 1/delay. A law holds for a row of `parts` like
    parts together (one each unless said): each of n has an n-th of its hazard at any age, so η·n^(1/β).
    """
    counts = [1] * len(laws) if parts is None else parts
    columns = [
        (
            1.0 / (law.mean_between_defects * count),
            1.0 / law.mean_delay,
            law.sudden_share,
            law.wear_shape,
            gamma(1.0 + 1.0 / law.wear_shape) / (law.mean_between_defects * count ** (1.0 / law.wear_shape)),
            law.fade,
        )
        for law, count in zip(laws, counts, strict=True)
    ]
    return np.array(columns, dtype=float).reshape(len(laws), 6)


def arrivals(*, laws: Floats, age: Floats, extra: Floats, exposure: Floats) -> Floats:
    """Expected arrivals over an exposure for the rate multiplier 1.

    `laws` (rows, 6); the others (rows,) or (rows, places). `extra` is how far above one the rate is raised
    at the start.
    """
    mean, wear, per_scale, fade = laws.T[[MEAN_RATE, WEAR, PER_SCALE, FADE]]
    if exposure.ndim == 2:
        mean, wear, per_scale, fade = mean[:, None], wear[:, None], per_scale[:, None], fade[:, None]
    by_age = (per_scale * (age + exposure)) ** wear - (per_scale * age) ** wear
    return np.asarray(by_age - mean * extra * fade * np.expm1(-exposure / fade))


def hazard(*, laws: Floats, age: Floats, extra: Floats) -> Floats:
    """Arrival hazard at this very age for the rate multiplier 1, (rows,)."""
    wear, per_scale = laws[:, WEAR], laws[:, PER_SCALE]
    by_age = wear * per_scale * (per_scale * age) ** (wear - 1.0)
    return np.asarray(by_age + laws[:, MEAN_RATE] * extra)


def passage(grid: Grid, *, laws: Floats, age: Floats, extra: Floats, exposure: Floats) -> Passage:
    """The chances over an exposure.

    `laws` (rows, 6); `age`, `extra` and `exposure` (rows,). Steady, unraised rows take the closed form.
    """
    way = _steady(grid, laws, exposure)
    other = np.flatnonzero((laws[:, WEAR] != 1.0) | (extra != 0.0))
    if other.size:
        slow = _stepped(grid, laws[other], age[other], extra[other], exposure[other])
        way.stays_good[other] = slow.stays_good
        way.turns_defective[other] = slow.turns_defective
        way.defect_holds[other] = slow.defect_holds
    return way


def _steady(grid: Grid, laws: Floats, exposure: Floats) -> Passage:
    """λ/(α−λ)·(e^(−λu) − e^(−αu)), and its limit where α is near λ; worked in αu and λu."""
    arrived = (laws[:, MEAN_RATE] * exposure)[:, None] * grid.rate_of_point
    passed = (laws[:, ALPHA] * exposure)[:, None] / grid.delay_of_point
    good, holds = np.exp(-arrived), np.exp(-passed)
    apart = passed - arrived
    near = np.flatnonzero(np.abs(apart) < 1e-3)
    turns = good - holds
    if near.size:
        half, middle = 0.5 * apart.take(near), 0.5 * (passed + arrived).take(near)
        turns.put(near, np.exp(-middle) * (1.0 + half * half / 6.0))
        apart.put(near, 1.0)
    turns /= apart
    turns *= arrived
    turns *= 1.0 - laws[:, SUDDEN, None]
    return Passage(good, turns, holds)


def _stepped(grid: Grid, laws: Floats, age: Floats, extra: Floats, exposure: Floats) -> Passage:
    """The same by steps short against delay, arrival and fade; each row takes as many as it needs.

    A very old part meets thousands of arrivals in a run, but only until the first one matters: steps may
    grow by half of the way already gone, since what is still good by then has few arrivals behind it.
    """
    first, longest = _step_limits(grid, laws, age, extra, exposure)
    good, holds = np.ones((2, exposure.size, grid.size))
    turns = np.zeros((exposure.size, grid.size))
    done = np.zeros(exposure.size)  # of the exposure, as a share
    while (at := np.flatnonzero(done < 1.0)).size:
        share = np.minimum(np.minimum(np.maximum(first[at], GROWTH * done[at]), longest[at]), 1.0 - done[at])
        gone = done[at] * exposure[at]
        raised = extra[at] * np.exp(-gone / laws[at, FADE])
        one = _one_step(grid, laws[at], age[at] + gone, raised, share * exposure[at])
        turns[at] = turns[at] * one.defect_holds + good[at] * one.turns_defective
        good[at] *= one.stays_good
        holds[at] *= one.defect_holds
        done[at] = np.where(share < 1.0 - done[at], done[at] + share, 1.0)
    return Passage(good, turns, holds)


def _step_limits(
    grid: Grid, laws: Floats, age: Floats, extra: Floats, exposure: Floats
) -> tuple[Floats, Floats]:
    """The first step and the longest one, as shares of the exposure; (rows,) each."""
    arrived = arrivals(laws=laws, age=age, extra=extra, exposure=exposure) * max(grid.rates)
    delays = exposure * laws[:, ALPHA] / min(grid.delays)
    fades = np.where(extra > 0.0, exposure / laws[:, FADE], 0.0)
    longest = 1.0 / np.ceil(np.clip((delays + fades) / REACH, 1.0, MOST_STEPS))
    return REACH / np.maximum(arrived, REACH), longest


def _one_step(grid: Grid, laws: Floats, age: Floats, extra: Floats, step: Floats) -> Passage:
    """One short step: ∫Λ'e^(−Λ(y))e^(−α(h−y))dy, by parts so that Λ itself, not its slope, is integrated."""
    nodes, weights = unit_rule(POINTS)
    rows = step.size
    places = step[:, None] * np.concatenate([nodes, [1.0]])
    total = arrivals(laws=laws, age=age[:, None], extra=extra[:, None], exposure=places)
    gone = -np.expm1(-total[:, None, :] * np.asarray(grid.rates)[:, None])  # (rows, rates, nodes and end)
    alpha = laws[:, ALPHA, None, None] / np.asarray(grid.delays)[:, None]  # (rows, delays, 1)
    width = step[:, None, None]
    decay = alpha * width * weights * np.exp(-alpha * width * (1.0 - nodes))  # (rows, delays, nodes)
    failed = (gone[:, :, None, :-1] * decay[:, None, :, :]).sum(axis=3)
    turns = (gone[:, :, None, -1] - failed) * (1.0 - laws[:, SUDDEN, None, None])
    good = np.repeat(1.0 - gone[:, :, -1], len(grid.delays), axis=1)
    holds = np.exp(-(laws[:, ALPHA] * step)[:, None] / grid.delay_of_point)
    return Passage(good, turns.reshape(rows, -1), holds)
