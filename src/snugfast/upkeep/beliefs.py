"""What to believe now about every way every part can fail, and how each entry of the journal changes it.

For each mode on each clock there is a grid of rate and delay multipliers. Every grid point has a weight (how
likely it is that this car is like that) and a presence (the chance of a defect now, if it is). Events move
both by the exact forward likelihood, so the same entries in the same order always give the same numbers.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.arrival import ALPHA, FADE, SUDDEN, Passage, arrivals, hazard, law_array, passage
from snugfast.upkeep.grid import STANDARD_GRID, Grid, delay_prior, rate_prior
from snugfast.upkeep.mode_law import ModeLaw, Start, UnknownExposure

Floats = NDArray[np.float64]
Rows: TypeAlias = NDArray[np.intp]
PerRow: TypeAlias = float | Floats  # one number for all rows, or one each

AGE, EXTRA, LOG_EVIDENCE = range(3)  # columns of the clock array
GONE = 1e-6  # a raised rate that has faded this far is over
LEAST = 1e-200  # what the model calls impossible still happens in journals; then nothing is learned from it


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """What a set of rows promises for the exposure ahead; every array has one number per row."""

    presence: Floats  # P(defect present now)
    fail_chance: Floats  # P(fails within the exposure), sudden failures included
    sudden_chance: Floats  # the part of it that no check could have caught
    # What putting a present defect right would prevent; a hair below zero where a good part is likelier to
    # fail at a blow than a defective one is to reach its end.
    avoidable_chance: Floats
    rate: Floats  # posterior mean arrival of visible and sudden defects, per clock unit, over the exposure
    delay: Floats  # posterior mean delay, clock units
    sudden_share: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Beliefs:
    """The beliefs of a few rows, never changed: each method gives the beliefs after one event.

    A row is one mode on one clock. Exposures and chances are one number for all rows or one per row.
    """

    grid: Grid
    laws: Floats  # (rows, 6), see arrival.law_array
    weights: Floats  # (rows, grid points), adding up to one in each row
    presences: Floats  # (rows, grid points)
    clocks: Floats  # (rows, 3): part's own age, how far the rate is raised, log evidence so far

    @classmethod
    def begin(
        cls, laws: Sequence[ModeLaw], starts: Sequence[Start], *, grid: Grid = STANDARD_GRID
    ) -> Beliefs:
        """Beliefs before the first entry, one row per law.

        Raises ImpossibleInput when laws and starts do not pair up.
        """
        if len(laws) != len(starts):
            raise ImpossibleInput(
                f"There are {len(laws)} laws and {len(starts)} starts.", "Give one start for each law."
            )
        rows = len(laws)
        shape = np.array(
            [law.spread_shape / start.spread_factor for law, start in zip(laws, starts, strict=True)]
        )
        by_rate = _taught(rate_prior(grid, spread_shape=shape), starts)
        by_delay = delay_prior(grid, log_sd=np.array([law.delay_log_sd for law in laws], dtype=float))
        clocks = np.zeros((rows, 3))
        clocks[:, AGE] = [start.age for start in starts]
        presence = np.array([start.presence for start in starts], dtype=float).reshape(rows, 1)
        fresh = cls(
            grid,
            law_array(laws),
            (by_rate[:, :, None] * by_delay[:, None, :]).reshape(rows, grid.size),
            np.repeat(presence, grid.size, axis=1),
            clocks,
        )
        return fresh._after_unchecked(starts)

    def __len__(self) -> int:
        return int(self.weights.shape[0])

    @property
    def presence(self) -> Floats:
        """P(defect present now), (rows,)."""
        return _mean(self.weights, self.presences)

    @property
    def age(self) -> Floats:
        """The part's own age, (rows,)."""
        return self.clocks[:, AGE]

    @property
    def log_evidence(self) -> Floats:
        """Log likelihood of the journal so far, (rows,); a density where a failure's instant was known."""
        return self.clocks[:, LOG_EVIDENCE]

    @property
    def rate_multiplier(self) -> Floats:
        """Posterior mean of the rate multiplier, (rows,)."""
        return _mean(self.weights, self.grid.rate_of_point)

    @property
    def delay_multiplier(self) -> Floats:
        """Posterior mean of the delay multiplier, (rows,)."""
        return _mean(self.weights, self.grid.delay_of_point)

    def rate_log_weights(self) -> Floats:
        """(rows, rate multipliers): log posterior weights of the rate, to hand to a successor's `Start`."""
        by_rate = self.weights.reshape(len(self), len(self.grid.rates), -1).sum(axis=2)
        return np.asarray(np.log(np.maximum(by_rate, LEAST)))

    def ran(self, *, exposure: PerRow) -> Beliefs:
        """After running this far without a failure (stress already multiplied into the exposure)."""
        span = self._exposure(exposure)
        good, bad = self._alive(self._passage(span))
        return self._survived(good, bad, span, np.exp(-span / self.laws[:, FADE]))

    def ran_unknown(self, *, exposure: UnknownExposure) -> Beliefs:
        """After coming back without a failure from a run of unknown length, such as a loan."""
        good, bad, faded = self._alive_after_unknown(exposure)
        return self._survived(good, bad, self._exposure(exposure.mean), faded)

    def ran_unwatched(self, *, exposure: UnknownExposure) -> Beliefs:
        """After a run of unknown length that nobody watched, such as a loan to somebody who mends in silence.

        The part is whole now, but it may have failed and been put right meanwhile: the rates learn nothing.
        """
        after = self.ran_unknown(exposure=exposure)
        clocks = after.clocks.copy()
        clocks[:, LOG_EVIDENCE] = self.clocks[:, LOG_EVIDENCE]
        return replace(after, weights=self.weights, clocks=clocks)

    def ran_with_clean_checks(
        self, *, exposure: PerRow, checks: int, detection: PerRow, looked: PerRow = 1.0
    ) -> Beliefs:
        """After a stretch told in one go: evenly spread checks, all of them clean, the last at its end."""
        if checks < 1:
            return self.ran(exposure=exposure)
        now, part = self, self._exposure(exposure) / checks
        for _ in range(checks):
            now = now.ran(exposure=part).checked_clean(detection=detection, looked=looked)
        return now

    def checked_clean(self, *, detection: PerRow, false_alarm: PerRow = 0.0, looked: PerRow = 1.0) -> Beliefs:
        """After a check that found nothing. `looked` is the chance that a tick was a real look."""
        real = _chance("looked", looked)
        missed = 1.0 - real * _chance("detection", detection)
        quiet = 1.0 - real * _chance("false_alarm", false_alarm)
        return self.weighed(if_defective=missed, if_good=quiet)

    def found(self, *, detection: PerRow, false_alarm: PerRow = 0.0) -> Beliefs:
        """After a check that found the defect, before anything is put right."""
        seen = _chance("detection", detection)
        return self.weighed(if_defective=seen, if_good=_chance("false_alarm", false_alarm))

    def weighed(self, *, if_defective: PerRow, if_good: PerRow) -> Beliefs:
        """After any evidence, given how likely it is with and without a defect.

        Only the ratio of the two matters to presence and weights. Evidence that contradicts a certain belief
        turns that belief over.
        """
        with_defect = self.presences * self._exposure(if_defective)[:, None]
        likelihood = with_defect + (1.0 - self.presences) * self._exposure(if_good)[:, None]
        presences = np.divide(with_defect, likelihood, out=1.0 - self.presences, where=likelihood > 0.0)
        return self._learned(likelihood, presences, self.clocks.copy())

    def failed_at(self, *, exposure: PerRow) -> Beliefs:
        """After a failure at a known exposure since the last event; the part counts as put right."""
        span = self._exposure(exposure)
        good, bad = self._alive(self._passage(span))
        clocks = self._moved(span, np.exp(-span / self.laws[:, FADE]))
        now = hazard(laws=self.laws, age=clocks[:, AGE], extra=clocks[:, EXTRA])
        sudden = (now * self.laws[:, SUDDEN])[:, None] * self.grid.rate_of_point
        alpha = self.laws[:, ALPHA, None] / self.grid.delay_of_point
        return self._learned(alpha * bad + sudden * good, np.zeros_like(self.presences), clocks)

    def failed_within(self, *, exposure: PerRow) -> Beliefs:
        """After a failure somewhere in this exposure; the part counts as put right."""
        span = self._exposure(exposure)
        good, bad = self._alive(self._passage(span))
        clocks = self._moved(span, np.exp(-span / self.laws[:, FADE]))
        return self._learned(_gone(good, bad), np.zeros_like(self.presences), clocks)

    def one_failed_within(self, *, exposure: PerRow) -> tuple[Beliefs, Floats]:
        """After exactly one of these rows failed, nobody knows which; also each row's share of the blame.

        Rows are taken as independent. A grid point of row m then has the likelihood
        F_m·∏S̄_k + S_m·Σ_j F̄_j·∏S̄_k (k ≠ m, j), here divided by ∏S̄_k over all k ≠ m. Presence is that of the
        two cases together: failed and put right, or survived. The log evidence of the event goes to no row.
        Raises ImpossibleInput without any row.
        """
        if len(self) == 0:
            raise ImpossibleInput("No part could have failed.", "Name at least one candidate.")
        span = self._exposure(exposure)
        good, bad = self._alive(self._passage(span))
        survived, failed = good + bad, _gone(good, bad)
        odds = np.maximum(_mean(self.weights, failed), LEAST) / np.maximum(
            _mean(self.weights, survived), LEAST
        )
        total = odds.sum()
        others = np.array([np.delete(odds, row).sum() for row in range(len(self))])[:, None]
        likelihood = np.maximum(failed + survived * others, LEAST)
        clocks = self._moved(span, np.exp(-span / self.laws[:, FADE]))
        after = self._learned(likelihood, bad * others / likelihood, clocks)
        after.clocks[:, LOG_EVIDENCE] = self.clocks[:, LOG_EVIDENCE]
        return after, odds / total

    def restored(self, *, works: PerRow = 1.0, renewed: bool = False) -> Beliefs:
        """After putting right. `works` is the chance that it did; `renewed` sets the part's age to zero."""
        left = self._exposure(1.0 - _chance("works", works))
        presences = np.repeat(left[:, None], self.grid.size, axis=1)
        clocks = self.clocks.copy()
        if renewed:
            clocks[:, AGE] = 0.0
        return self._with(self.weights, presences, clocks)

    def part_replaced(self, *, share: PerRow) -> Beliefs:
        """After one of some like parts on one clock was replaced: a defect was there with this chance."""
        kept = self._exposure(1.0 - _chance("share", share))
        return self._with(self.weights, self.presences * kept[:, None], self.clocks.copy())

    def disturbed(self, *, chance: PerRow) -> Beliefs:
        """After work that may itself have planted a defect."""
        planted = self._exposure(_chance("chance", chance))[:, None]
        return self._with(self.weights, self.presences + (1.0 - self.presences) * planted, self.clocks)

    def raised(self, *, factor: PerRow) -> Beliefs:
        """Right after an event that multiplies the arrival rate; the extra fades over the law's `fade`.

        A later event takes the place of an earlier one unless more is left of that.
        """
        clocks = self.clocks.copy()
        clocks[:, EXTRA] = np.maximum(clocks[:, EXTRA], self._exposure(factor) - 1.0)
        return self._with(self.weights, self.presences, clocks)

    def outlook(self, *, exposure: PerRow) -> Outlook:
        """What to expect over the next exposure: chances averaged over the grid, rate and delay as means."""
        span = self._exposure(exposure)
        way = self._passage(span)
        share = self.laws[:, SUDDEN]
        first_gone = (1.0 - self.presences) * (1.0 - way.stays_good)
        spared = way.stays_good + way.turns_defective - way.defect_holds
        ahead = arrivals(laws=self.laws, age=self.age, extra=self.clocks[:, EXTRA], exposure=span)
        now = hazard(laws=self.laws, age=self.age, extra=self.clocks[:, EXTRA])
        base = np.where(span > 0.0, ahead / np.where(span > 0.0, span, 1.0), now)
        return Outlook(
            presence=self.presence,
            fail_chance=_mean(self.weights, _gone(*self._alive(way))),
            sudden_chance=share * _mean(self.weights, first_gone),
            avoidable_chance=_mean(self.weights, self.presences * spared),
            rate=base * self.rate_multiplier,
            delay=self.delay_multiplier / self.laws[:, ALPHA],
            sudden_share=share.copy(),
        )

    def _passage(self, span: Floats) -> Passage:
        return passage(
            self.grid, laws=self.laws, age=self.clocks[:, AGE], extra=self.clocks[:, EXTRA], exposure=span
        )

    def _alive(self, way: Passage) -> tuple[Floats, Floats]:
        """(good, defective) at the end and never failed, both (rows, grid points)."""
        good = (1.0 - self.presences) * way.stays_good
        bad = way.turns_defective + self.presences * (way.defect_holds - way.turns_defective)
        return good, bad

    def _alive_after_unknown(self, unknown: UnknownExposure) -> tuple[Floats, Floats, Floats]:
        good, bad = np.zeros_like(self.presences), np.zeros_like(self.presences)
        faded = np.zeros(len(self))
        for amount, chance in zip(unknown.amounts, unknown.chances, strict=True):
            span = self._exposure(amount)
            one_good, one_bad = self._alive(self._passage(span))
            good += chance * one_good
            bad += chance * one_bad
            faded += chance * np.exp(-span / self.laws[:, FADE])
        return good, bad, faded

    def _after_unchecked(self, starts: Sequence[Start]) -> Beliefs:
        """Presence and age after each start's unchecked stretch; the weights stay."""
        presences, clocks = self.presences.copy(), self.clocks.copy()
        for row, start in enumerate(starts):
            if start.unchecked is not None:
                one = self._rows([row])
                good, bad, _ = one._alive_after_unknown(start.unchecked)
                presences[row] = (bad / np.maximum(good + bad, LEAST))[0]
                clocks[row, AGE] += start.unchecked.mean
        return self._with(self.weights, presences, clocks)

    def _survived(self, good: Floats, bad: Floats, span: Floats, faded: Floats) -> Beliefs:
        alive = good + bad
        np.maximum(alive, LEAST, out=alive)
        return self._learned(alive, bad / alive, self._moved(span, faded))

    def _moved(self, span: Floats, faded: Floats) -> Floats:
        clocks = self.clocks.copy()
        clocks[:, AGE] += span
        extra = clocks[:, EXTRA]
        extra *= faded
        extra[extra < GONE] = 0.0
        return clocks

    def _learned(self, likelihood: Floats, presences: Floats, clocks: Floats) -> Beliefs:
        """Weights times likelihood, adding up to one again; `clocks` is this event's own copy."""
        weights = self.weights * np.maximum(likelihood, LEAST)
        total = weights.sum(axis=1)
        weights /= total[:, None]
        clocks[:, LOG_EVIDENCE] += np.log(total)
        return self._with(weights, presences, clocks)

    def _with(self, weights: Floats, presences: Floats, clocks: Floats) -> Beliefs:
        return Beliefs(self.grid, self.laws, weights, presences, clocks)

    def _rows(self, rows: Rows | Sequence[int]) -> Beliefs:
        at = np.asarray(rows, dtype=np.intp)
        return Beliefs(self.grid, self.laws[at], self.weights[at], self.presences[at], self.clocks[at])

    def _exposure(self, value: PerRow) -> Floats:
        """One number per row, none below zero."""
        if isinstance(value, float) and 0.0 <= value < np.inf:
            return np.full(len(self), value)
        numbers = np.asarray(value, dtype=float)
        if not (numbers.size == 0 or (numbers.min() >= 0.0 and numbers.max() < np.inf)):
            raise ImpossibleInput(
                f"{value!r} is below zero or not a number.", "Give a number of zero or more."
            )
        return np.full(len(self), numbers) if numbers.ndim == 0 else numbers


@cache
def _nothing(grid: Grid) -> Beliefs:
    """No rows; beliefs are never changed, so that every empty bank can share them."""
    return Beliefs.begin([], [], grid=grid)


class BeliefBank:
    """All beliefs of a workshop during a replay: `bank[rows] = bank[rows].ran(exposure=12.0)`.

    `rows` is an integer array as `add` gives it, or a list of ints, none of them twice. Two banks are equal
    when every number in them is. What one row holds never depends on which other rows are in the bank.
    """

    def __init__(self, *, grid: Grid = STANDARD_GRID) -> None:
        self._all = _nothing(grid)

    def add(self, laws: Sequence[ModeLaw], starts: Sequence[Start]) -> Rows:
        """New rows, one per law; gives their numbers. Adding many at once is cheaper than one by one."""
        first = len(self._all)
        self._all = _joined(self._all, Beliefs.begin(laws, starts, grid=self._all.grid))
        return np.arange(first, len(self._all))

    def __len__(self) -> int:
        return len(self._all)

    def __getitem__(self, rows: Rows | Sequence[int]) -> Beliefs:
        return self._all._rows(rows)

    def __setitem__(self, rows: Rows | Sequence[int], beliefs: Beliefs) -> None:
        at = np.asarray(rows, dtype=np.intp)
        self._all.weights[at] = beliefs.weights
        self._all.presences[at] = beliefs.presences
        self._all.clocks[at] = beliefs.clocks

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, BeliefBank):
            return NotImplemented
        mine, theirs = self.to_arrays(), other.to_arrays()
        return all(np.array_equal(mine[name], theirs[name]) for name in mine)

    __hash__ = None  # type: ignore[assignment]

    def copy(self) -> BeliefBank:
        """A bank of its own with the same numbers."""
        return BeliefBank.from_arrays(self.to_arrays())

    def to_arrays(self) -> dict[str, Floats]:
        """Everything as named arrays, to keep between sessions."""
        now = self._all
        return {
            "grid_rates": np.array(now.grid.rates),
            "grid_delays": np.array(now.grid.delays),
            "laws": now.laws.copy(),
            "weights": now.weights.copy(),
            "presences": now.presences.copy(),
            "clocks": now.clocks.copy(),
        }

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, Floats]) -> BeliefBank:
        """The bank that `to_arrays` described, equal to the last bit."""
        grid = Grid(tuple(arrays["grid_rates"].tolist()), tuple(arrays["grid_delays"].tolist()))
        bank = cls(grid=grid)
        bank._all = Beliefs(
            grid, *(np.array(arrays[name]) for name in ("laws", "weights", "presences", "clocks"))
        )
        return bank


def _chance(name: str, value: PerRow) -> Floats | float:
    """A chance, or one per row."""
    if isinstance(value, float) and 0.0 <= value <= 1.0:
        return value
    chance = np.asarray(value, dtype=float)
    if not (chance.size == 0 or (chance.min() >= 0.0 and chance.max() <= 1.0)):
        raise ImpossibleInput(f"{name} is {value!r}, which is no chance.", "Give a number from 0 to 1.")
    return chance


def _joined(first: Beliefs, second: Beliefs) -> Beliefs:
    return Beliefs(
        first.grid,
        np.concatenate([first.laws, second.laws]),
        np.concatenate([first.weights, second.weights]),
        np.concatenate([first.presences, second.presences]),
        np.concatenate([first.clocks, second.clocks]),
    )


def _taught(prior: Floats, starts: Sequence[Start]) -> Floats:
    """The prior over rate multipliers, with the rows replaced whose start brings its own."""
    for row, start in enumerate(starts):
        if start.rate_log_weights is not None:
            if start.rate_log_weights.shape != prior.shape[1:]:
                raise ImpossibleInput(
                    f"{start.rate_log_weights.size} weights do not fit {prior.shape[1]} rate multipliers.",
                    "Hand in one for each multiplier of the grid.",
                )
            weights = np.exp(start.rate_log_weights - start.rate_log_weights.max())
            prior[row] = weights / weights.sum()
    return prior


def _mean(weights: Floats, values: Floats) -> Floats:
    """Mean over the grid, one number per row."""
    return np.asarray((weights * values).sum(axis=1))


def _gone(good: Floats, bad: Floats) -> Floats:
    """P(failed by the end); rounding may not make it negative."""
    return np.maximum(1.0 - good - bad, 0.0)
