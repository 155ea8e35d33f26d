"""What looking now is worth, for each mode and for each set of checks that cover it.

A mode's future, with its own best check interval, gives every expected number of defects a relative value.
Looking now moves the mode to a better place on that curve. The curve is a closed form; against the exact
dynamic programme it costs less than one part in a thousand over the twenty-eight modes of the fixture.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.delay_time import best_intervals

Floats = NDArray[np.float64]


FIRST_SHARE = 0.5  # of each way in, before it is known who goes through it; docs/decisions/0022


def shares_of_ways(*, frequency: Floats, needs: Floats) -> Floats:
    """What each check behind a way in pays of opening it, again and again; (ways,).

    `frequency` (checks,) is how often each would be done by itself, `needs` (checks, ways) is 1 where it goes
    through. A way is opened as often as the check that is done most often needs it, and all that go through
    then go together: so the openings are paid for when each pays the most frequent over the sum of all. Who
    goes alone pays all of it; a way that nobody would open by himself has no one to share with either.
    """
    through = frequency[:, None] * needs
    often, together = through.max(axis=0, initial=0.0), through.sum(axis=0)
    return np.asarray(np.divide(often, together, out=np.ones_like(often), where=together > 0.0))


@dataclass(frozen=True, slots=True)
class Cover:
    """One check as it concerns one mode.

    `detection` is the chance that it finds a defect that is there, `false_alarm` the chance that it finds one
    that is not, `harm` the chance that doing it plants one.
    """

    detection: float
    false_alarm: float = 0.0
    harm: float = 0.0

    def __post_init__(self) -> None:
        for name in ("detection", "false_alarm", "harm"):
            if not 0.0 <= getattr(self, name) <= 1.0:
                raise ImpossibleInput(f"{name} is {getattr(self, name)}.", "Give a number from 0 to 1.")


@dataclass(frozen=True, slots=True, eq=False)
class Future:
    """How modes go on when each has its own best check for ever; every array has one number per mode."""

    rate: Floats  # arrival of defects that can be seen, per clock unit
    delay: Floats  # δ/(1 + λδ): how fast the chance of a defect gets where it stays, see `future`
    restore_cost: Floats  # money to put a found defect right, minutes priced in
    dearer: Floats  # what a failure costs more than that, the life that it still gave taken off
    detection: Floats  # of the stand-alone check
    check_cost: Floats  # of the stand-alone check, minutes priced in
    interval: Floats  # best exposure between stand-alone checks, infinite for never
    excess: Floats  # money per clock unit above restoring every defect in time
    threshold: Floats  # expected defects at which the stand-alone check is due, infinite for never

    def take(self, modes: NDArray[np.intp]) -> Future:
        """The future of some of the modes, or of the same one several times."""
        return Future(*(getattr(self, field.name)[modes] for field in fields(self)))


def future(
    *,
    rate: Floats,
    sudden_share: Floats,
    delay: Floats,
    restore_cost: Floats,
    failure_cost: Floats,
    detection: Floats,
    check_cost: Floats,
    part_rate: Floats | None = None,
) -> Future:
    """The future of each mode under its best stand-alone check; every argument is (modes,).

    `rate` counts all that arises; the sudden share of it no check can catch, so it has no part in the worth.
    `detection` and `check_cost` belong to the check one would use for this mode alone. `part_rate` is how
    often one part has it in the long run, where that is not `rate`: of several like parts, of one that wears
    out. Nought is the pool of very many parts, where defects arise whatever state one of them is in.

    A part put right now is a part less to run down. While it has a defect, nothing else arises in it, so its
    chance of one goes by x' = λ − (λ + α)x and it costs λ_s·c_f + (α − λ_s)·c_f·x per clock unit. That is the
    pool with the delay 1/(λ + α) and a failure dearer than restoring by (α − λ_s)/(λ + α)·c_f − c_r; without
    sudden failures c_f/(1 + λδ) − c_r. Where that is not above nought, no look is worth anything: nothing is
    renewed early that costs as much, for each hour of its life, as running it until it fails.
    """
    seen = rate * (1.0 - sudden_share)
    own = rate if part_rate is None else part_rate
    alpha = 1.0 / delay
    leaves = own * (1.0 - sudden_share) + alpha
    dearer = np.maximum((alpha - own * sudden_share) / leaves * failure_cost - restore_cost, 0.0)
    relaxing = 1.0 / leaves
    interval, excess = best_intervals(
        rate=seen, delay=relaxing, detection=detection, check_cost=check_cost, dearer=dearer
    )
    left = np.exp(-interval / relaxing)
    waiting = relaxing * (1.0 - left) / (1.0 - (1.0 - detection) * left)
    threshold = np.where(np.isfinite(interval), seen * waiting, np.inf)
    return Future(seen, relaxing, restore_cost, dearer, detection, check_cost, interval, excess, threshold)


def cheapest_checks(
    *,
    rate: Floats,
    sudden_share: Floats,
    delay: Floats,
    restore_cost: Floats,
    failure_cost: Floats,
    checks: Sequence[Sequence[tuple[float, float]]],
    part_rate: Floats | None = None,
) -> tuple[Future, NDArray[np.intp]]:
    """The future of each mode under that one of its checks which costs least, and that check's place there.

    `checks` gives for each mode the detection and the cost of every check that covers it, at least one; the
    other arguments are (modes,), as in `future`. A thorough check that takes long is not the measure where a
    quick one, done often, loses less money.
    """
    modes = np.repeat(np.arange(len(checks)), [len(some) for some in checks])
    each = np.array([check for some in checks for check in some], dtype=float).reshape(-1, 2)
    all_ways = future(
        rate=rate[modes],
        sudden_share=sudden_share[modes],
        delay=delay[modes],
        restore_cost=restore_cost[modes],
        failure_cost=failure_cost[modes],
        detection=each[:, 0],
        check_cost=each[:, 1],
        part_rate=None if part_rate is None else part_rate[modes],
    )
    by_cost = np.lexsort((-each[:, 0], all_ways.excess, modes))
    firsts = np.searchsorted(modes, np.arange(len(checks)))
    return all_ways.take(by_cost[firsts]), by_cost[firsts] - firsts


def relative_value(ahead: Future, defects: Floats) -> Floats:
    """Extra money that this many expected defects cost in the long run, compared with none; (modes,).

    Below the threshold h(x) = Δx + ((λΔ − C)/α)·ln(1 − αx/λ); above it one looks until below: c + h((1−r)x).
    """
    full = ahead.rate * ahead.delay
    kept = 1.0 - ahead.detection
    looks = np.zeros_like(defects)
    due = np.flatnonzero(defects > ahead.threshold)
    if due.size:
        wanted = np.log(ahead.threshold[due] / defects[due]) / np.log(np.maximum(kept[due], 1e-300))
        looks[due] = np.maximum(np.ceil(wanted), 1.0)
    low = defects * kept**looks
    saved = ahead.rate * ahead.dearer - ahead.excess
    filled = np.divide(low, full, out=np.zeros_like(low), where=saved > 0.0)
    return np.asarray(looks * ahead.check_cost + ahead.dearer * low + saved * ahead.delay * np.log1p(-filled))


def worth_of_looking(
    ahead: Future,
    *,
    presence: Floats,
    exposure: Floats,
    detection: Floats,
    false_alarm: Floats | float = 0.0,
    harm: Floats | float = 0.0,
) -> Floats:
    """Money gained by looking before the next exposure instead of after it, (modes,).

    The cost of the check itself is not taken off.

    `exposure` is what will run before the next real chance to look, `detection` that of all that is done now
    together. Waiting costs Δ for each present defect that fails on the way, and leaves more defects behind:
    with V(x) = Δx(1 − e^(−αw)) + h(x e^(−αw) + (λ/α)(1 − e^(−αw))), looking gains V(x) − V((1−r)x). Planted
    defects are added to what is left and cost their own restoring; a false alarm costs a needless one.
    """
    planted = harm * (1.0 - presence)
    left = (1.0 - detection) * presence + planted
    gain = _cost_of_waiting(ahead, presence, exposure) - _cost_of_waiting(ahead, left, exposure)
    needless = planted + false_alarm * (1.0 - presence)
    return np.asarray(gain - needless * ahead.restore_cost)


@dataclass(frozen=True, slots=True, eq=False)
class Sets:
    """Every set of the checks that cover each mode.

    A mode's sets stand in a row, entry `mask` of it for the checks with a set bit. Checks of one mode miss
    independently, so together they find 1 − ∏(1 − r).
    """

    modes: NDArray[np.intp]  # (sets,)
    detection: Floats
    false_alarm: Floats
    harm: Floats
    ends: NDArray[np.intp]  # (modes,)

    @classmethod
    def of(cls, covers: Sequence[Sequence[Cover]]) -> Sets:
        """The sets of the covers of each mode."""
        missed: list[float] = []
        quiet: list[float] = []
        unhurt: list[float] = []
        for some in covers:
            here = [1.0], [1.0], [1.0]
            for cover in some:
                for left, chance in zip(here, (cover.detection, cover.false_alarm, cover.harm), strict=True):
                    left += [one * (1.0 - chance) for one in left]
            for all_of_them, left in zip((missed, quiet, unhurt), here, strict=True):
                all_of_them += left
        sizes = [1 << len(some) for some in covers]
        return cls(
            np.repeat(np.arange(len(covers)), sizes),
            1.0 - np.array(missed),
            1.0 - np.array(quiet),
            1.0 - np.array(unhurt),
            np.cumsum(sizes, dtype=np.intp),
        )


def worth_of_sets(
    ahead: Future, *, presence: Floats, exposure: Floats, covers: Sequence[Sequence[Cover]] | Sets
) -> list[tuple[float, ...]]:
    """For each mode, the money gained by every set of the checks that cover it, for `choosing.AtStake`."""
    sets = covers if isinstance(covers, Sets) else Sets.of(covers)
    if not sets.ends.size:
        return []
    gains = worth_of_looking(
        ahead.take(sets.modes),
        presence=presence[sets.modes],
        exposure=exposure[sets.modes],
        detection=sets.detection,
        false_alarm=sets.false_alarm,
        harm=sets.harm,
    ).tolist()
    starts = [0, *sets.ends.tolist()]
    return [tuple(gains[start:end]) for start, end in pairwise(starts)]


def _cost_of_waiting(ahead: Future, defects: Floats, exposure: Floats) -> Floats:
    gone = -np.expm1(-exposure / ahead.delay)
    later = defects * (1.0 - gone) + ahead.rate * ahead.delay * gone
    return np.asarray(ahead.dearer * defects * gone + relative_value(ahead, later))
