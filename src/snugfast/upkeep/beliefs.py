"""What to believe now about every way every part can fail, and how each entry of the journal changes it.

For each mode on each clock there is a row: a grid of rate and delay multipliers, whose points have a weight
(how likely it is that this car is like that). A row is one part, or some like parts that share what was
learned: the four nuts of four wheels. Its parts stand in lots: parts that have been through the same are one
lot, and a part that went its own way (renewed, found loose, failed) is a lot by itself. At each grid point
the parts of a row are independent, and each part of a lot has one presence: the chance that it has a defect
now, if the car is like that. Events move weights and presences by the exact forward likelihood, so the same
entries in the same order always give the same numbers.
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
Which: TypeAlias = NDArray[np.bool_]  # of the lots, those an event is about
PerRow: TypeAlias = float | Floats  # one number for all, or one for each row, or one for each lot

AGE, EXTRA, STUCK = range(3)  # columns of the clock array
GONE = 1e-6  # a raised rate that has faded this far is over
LEAST = 1e-200  # what the model calls impossible still happens in journals; then nothing is learned from it
UNWATCHED_STEPS = 8  # of a loan, in which what failed was mended; the error falls with their number


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """What a set of rows promises for the exposure ahead; every array has one number per row."""

    presence: Floats  # P(a defect is present now, in one of its parts or more)
    fail_chance: Floats  # P(a part of it fails within the exposure), sudden failures included
    sudden_chance: Floats  # the part of it that no check could have caught
    # What putting all present defects right would prevent; a hair below zero where a good part is likelier to
    # fail at a blow than a defective one is to reach its end.
    avoidable_chance: Floats
    rate: Floats  # posterior mean arrival of visible and sudden defects, per clock unit, over the exposure
    delay: Floats  # posterior mean delay, clock units
    sudden_share: Floats
    failures: Floats  # how many of its parts fail within the exposure, on average
    failures_spread: Floats  # variance of that average, since nobody knows what this car is like


@dataclass(frozen=True, slots=True, eq=False)
class Beliefs:
    """The beliefs of a few rows, never changed: each method gives the beliefs after one event.

    A row is one mode on one clock, with its parts in one or more lots, which stand row after row. Exposures
    and chances are one number for all, one per row, or one per lot.
    """

    grid: Grid
    laws: Floats  # (lots, 6), of one part, see arrival.law_array
    weights: Floats  # (rows, grid points), adding up to one in each row
    presences: Floats  # (lots, grid points), of one part
    # (lots, 3): the part's own age, how far the rate is raised, and which share of the presence is that of a
    # part that failed and was left so: running on teaches nothing about it.
    clocks: Floats
    log_evidence: Floats  # (rows,): log likelihood of the journal; a density where an instant was known
    counts: Floats  # (lots,): how many parts
    row: Rows  # (lots,): to which row a lot belongs, never falling

    @classmethod
    def begin(
        cls,
        laws: Sequence[ModeLaw],
        starts: Sequence[Start],
        *,
        parts: Sequence[int] | None = None,
        grid: Grid = STANDARD_GRID,
    ) -> Beliefs:
        """Beliefs before the first entry: one row per law, its like parts (one unless said) in one lot.

        Raises ImpossibleInput when laws, starts and parts do not pair up.
        """
        counts = [1] * len(laws) if parts is None else list(parts)
        if not len(laws) == len(starts) == len(counts):
            raise ImpossibleInput(
                f"There are {len(laws)} laws, {len(starts)} starts and {len(counts)} counts.",
                "Give one start and one count for each law.",
            )
        if any(count < 1 for count in counts):
            raise ImpossibleInput("A row without a part cannot fail.", "Count one part or more.")
        rows = len(laws)
        shape = np.array(
            [law.spread_shape / start.spread_factor for law, start in zip(laws, starts, strict=True)]
        )
        by_rate = rate_prior(grid, spread_shape=shape)
        by_delay = delay_prior(grid, log_sd=np.array([law.delay_log_sd for law in laws], dtype=float))
        prior = (by_rate[:, :, None] * by_delay[:, None, :]).reshape(rows, grid.size)
        clocks = np.zeros((rows, 3))
        clocks[:, AGE] = [start.age for start in starts]
        each = [_of_each(start.presence, count) for start, count in zip(starts, counts, strict=True)]
        presence = np.array(each, dtype=float).reshape(rows, 1)
        fresh = cls(
            grid,
            law_array(laws, counts),
            _taught(prior, starts),
            np.repeat(presence, grid.size, axis=1),
            clocks,
            np.zeros(rows),
            np.array(counts, dtype=float),
            np.arange(rows),
        )
        return fresh._after_unchecked(starts)

    def __len__(self) -> int:
        return int(self.weights.shape[0])

    @property
    def presence(self) -> Floats:
        """P(a defect is present now, in one part or more), (rows,)."""
        return _mean(self.weights, self._any(self.presences))

    @property
    def part_presence(self) -> Floats:
        """P(one part of the lot has a defect now), (lots,)."""
        return _mean(self._of_lots(self.weights), self.presences)

    @property
    def age(self) -> Floats:
        """The parts' own age, (lots,)."""
        return self.clocks[:, AGE]

    @property
    def rate_multiplier(self) -> Floats:
        """Posterior mean of the rate multiplier, (rows,)."""
        return _mean(self.weights, self.grid.rate_of_point)

    @property
    def delay_multiplier(self) -> Floats:
        """Posterior mean of the delay multiplier, (rows,)."""
        return _mean(self.weights, self.grid.delay_of_point)

    def log_weights(self) -> Floats:
        """(rows, grid points): log posterior weights of rate and delay, to hand to a successor's `Start`."""
        return np.asarray(np.log(np.maximum(self.weights, LEAST)))

    def failing(self, *, exposure: PerRow) -> Floats:
        """(lots, grid points): P(one part fails within this exposure)."""
        return _gone(*self._alive(self._passage(self._per_lot(exposure)), self.presences))

    def found_by(self, *, detection: float, false_alarm: Floats) -> Floats:
        """(lots, grid points): P(a look finds one part defective)."""
        defective = self.presences
        return detection * defective + false_alarm[:, None] * (1.0 - defective)

    def lots_of(self, row: int) -> slice:
        """Where the lots of a row stand."""
        first, end = np.searchsorted(self.row, [row, row + 1])
        return slice(int(first), int(end))

    # Running.

    def ran(self, *, exposure: PerRow) -> Beliefs:
        """After running this far without a failure (stress already multiplied into the exposure)."""
        span = self._per_lot(exposure)
        alive, bad, stuck = self._lived(self._passage(span))
        clocks = self._moved(span, np.exp(-span / self.laws[:, FADE]))
        np.maximum(alive, LEAST, out=alive)
        return self._learned(
            self._together(alive), bad / alive, clocks, None if stuck is None else stuck / alive
        )

    def ran_unknown(self, *, exposure: UnknownExposure) -> Beliefs:
        """After coming back without a failure from a run of unknown length."""
        together, bad, faded = self._alive_after_unknown(exposure)
        mean = np.full(len(self.row), exposure.mean)
        return self._learned(together, bad, self._moved(mean, faded))

    def ran_unwatched(self, *, exposure: UnknownExposure) -> Beliefs:
        """After a run of unknown length that nobody watched, such as a loan to somebody who mends in silence.

        The part is whole now, but it may have failed and been put right meanwhile, to be good from then on.
        The rates learn nothing.
        """
        presences, faded = np.zeros_like(self.presences), np.zeros(len(self.row))
        stuck = self.clocks[:, STUCK, None] * self.presences
        for amount, chance in zip(exposure.amounts, exposure.chances, strict=True):
            bad, clocks = self.presences - stuck, self.clocks
            step = np.full(len(self.row), amount / UNWATCHED_STEPS)
            for _ in range(UNWATCHED_STEPS):
                at = replace(self, clocks=clocks)
                way = at._passage(step)
                bad = (
                    1.0 - stuck - bad
                ) * way.turns_defective + bad * way.defect_holds  # what failed is mended
                clocks = at._moved(step, np.exp(-step / self.laws[:, FADE]))
            presences += chance * (stuck + bad)
            faded += chance * np.exp(-amount / self.laws[:, FADE])
        clocks = self._moved(np.full(len(self.row), exposure.mean), faded)
        return replace(self, presences=presences, clocks=clocks)._with_stuck(stuck)

    def ran_with_clean_checks(
        self, *, exposure: PerRow, checks: int, detection: PerRow, looked: PerRow = 1.0
    ) -> Beliefs:
        """After a stretch told in one go: evenly spread checks, all of them clean, the last at its end."""
        if checks < 1:
            return self.ran(exposure=exposure)
        now, part = self, self._per_lot(exposure) / checks
        for _ in range(checks):
            now = now.ran(exposure=part).checked_clean(detection=detection, looked=looked)
        return now

    # Looking.

    def checked_clean(self, *, detection: PerRow, false_alarm: PerRow = 0.0, looked: PerRow = 1.0) -> Beliefs:
        """After a check that found nothing. `looked` is the chance that a tick was a look at all parts."""
        real = _chance("looked", looked)
        missed = 1.0 - _chance("detection", detection)
        clean = self.weighed(if_defective=missed, if_good=1.0 - self.alarm_of_each(false_alarm))
        if isinstance(real, float) and real == 1.0:
            return clean
        chance = self._per_row(real)[:, None]
        quiet = self._likelihood(missed, 1.0 - self.alarm_of_each(false_alarm))
        likelihood = (1.0 - chance) + chance * quiet
        was_real = self._of_lots(chance * quiet / np.maximum(likelihood, LEAST))
        presences = was_real * clean.presences + (1.0 - was_real) * self.presences
        return self._learned(likelihood, presences, self.clocks.copy())

    def found(self, *, detection: PerRow, false_alarm: PerRow = 0.0) -> Beliefs:
        """After a check that found the defect in every one of the parts, before anything is put right."""
        seen = _chance("detection", detection)
        return self.weighed(if_defective=seen, if_good=_chance("false_alarm", false_alarm))

    def found_in(self, which: Which, *, detection: PerRow, false_alarm: PerRow = 0.0) -> Beliefs:
        """After a check that found the defect in these lots, of one part each, and in no other part."""
        seen = self._per_lot(_chance("detection", detection))
        alarm = self._per_lot(self.alarm_of_each(false_alarm))
        return self.weighed(
            if_defective=np.where(which, seen, 1.0 - seen), if_good=np.where(which, alarm, 1.0 - alarm)
        )

    def alarm_of_each(self, false_alarm: PerRow) -> Floats:
        """A false alarm of the whole check, as one of each of a row's parts; (lots,)."""
        return _of_each(self._per_lot(_chance("false_alarm", false_alarm)), self._parts())

    def weighed(self, *, if_defective: PerRow, if_good: PerRow) -> Beliefs:
        """After any evidence on each part, given how likely it is with and without a defect.

        Only the ratio of the two matters to presence and weights. Evidence that contradicts a certain belief
        turns that belief over.
        """
        bad, good = self._per_lot(if_defective)[:, None], self._per_lot(if_good)[:, None]
        with_defect = self.presences * bad
        part = with_defect + (1.0 - self.presences) * good
        presences = np.divide(with_defect, part, out=1.0 - self.presences, where=part > 0.0)
        return self._learned(self._together(part), presences, self.clocks.copy())

    # Failing.

    def failed_at(self, *, exposure: PerRow, which: Which | None = None) -> Beliefs:
        """After a failure at a known exposure since the last event; the part counts as put right.

        `which` are the lots, of one part each, that failed (all unless said); the others ran on.
        """
        failed = self._failing(which)
        span = self._per_lot(exposure)
        way = self._passage(span)
        good, bad = self._alive(way, self.presences)
        clocks = self._moved(span, np.exp(-span / self.laws[:, FADE]))
        now = hazard(laws=self.laws, age=clocks[:, AGE], extra=clocks[:, EXTRA])
        sudden = (now * self.laws[:, SUDDEN])[:, None] * self.grid.rate_of_point
        alpha = self.laws[:, ALPHA, None] / self.grid.delay_of_point
        return self._failed(failed, alpha * bad + sudden * good, way, clocks)

    def failed_within(self, *, exposure: PerRow, which: Which | None = None) -> Beliefs:
        """After a failure somewhere in this exposure; the part counts as put right.

        `which` are the lots, of one part each, that failed (all unless said); the others ran on.
        """
        failed = self._failing(which)
        span = self._per_lot(exposure)
        way = self._passage(span)
        clocks = self._moved(span, np.exp(-span / self.laws[:, FADE]))
        return self._failed(failed, _gone(*self._alive(way, self.presences)), way, clocks)

    def one_failed_within(
        self,
        *,
        exposure: PerRow,
        works: float = 1.0,
        left_at: Rows | None = None,
        at_rest: bool = False,
    ) -> tuple[Beliefs, Floats]:
        """After exactly one of all these parts failed, and which share of the blame each row has.

        Nobody knows which; rows are taken as independent. With o the odds F/S̄ of one part, a grid point of
        row m has the likelihood S_m·(Σ c·o + Σ ō_j), j over the other rows. Presence is that of the two cases
        together: failed and put right, which works with the chance `works`, or survived. When it was left as
        it is, `left_at` says for each lot which lot of its row, of one part, is to carry the blame: of like
        parts it makes no difference which it was, but it was one of them only. The log evidence of the event
        goes to no row. `at_rest` says that the exposure is behind the parts already and only tells how likely
        each was to fail in it. Raises ImpossibleInput without any row.
        """
        if len(self) == 0:
            raise ImpossibleInput("No part could have failed.", "Name at least one candidate.")
        span = self._per_lot(exposure)
        way = self._passage(span)
        alive, bad, stuck = self._lived(way)
        np.maximum(alive, LEAST, out=alive)
        # What failed before and was left so cannot be what failed now.
        failed = _gone(*self._alive(way, self.presences)) if stuck is None else np.maximum(1.0 - alive, 0.0)
        odds_of_part = failed / alive
        survived = self._together(alive)
        odds_of_row = self._summed(self.counts[:, None] * odds_of_part)
        odds = np.maximum(_mean(self.weights, survived * odds_of_row), LEAST) / np.maximum(
            _mean(self.weights, survived), LEAST
        )
        others = np.array([np.delete(odds, row).sum() for row in range(len(self))])[:, None]
        blamed = np.maximum(odds_of_row + others, LEAST)
        blame = odds_of_part / self._of_lots(blamed)
        if left_at is not None:
            carried = np.zeros_like(blame)
            np.add.at(carried, left_at, self.counts[:, None] * blame)
            blame = np.minimum(carried, 1.0)
        stuck = np.zeros_like(blame) if stuck is None else stuck
        if at_rest:
            likelihood, clocks, still = blamed, self.clocks.copy(), self.presences
        else:
            likelihood, still, stuck = survived * blamed, bad / alive, stuck / alive
            clocks = self._moved(span, np.exp(-span / self.laws[:, FADE]))
        left = left_at is not None
        presences = (1.0 - blame) * still + blame * (1.0 if left else 1.0 - works)
        stuck = (1.0 - blame) * stuck + (blame if left else 0.0)
        after = self._learned(likelihood, presences, clocks, stuck)
        return replace(after, log_evidence=self.log_evidence), odds / odds.sum()

    # Work on the parts.

    def restored(self, *, works: PerRow = 1.0, renewed: bool = False, which: Which | None = None) -> Beliefs:
        """After putting right. `works` is the chance that it did; `renewed` sets the part's age to zero.

        `which` are the lots it was done to: all, unless said.
        """
        left = self._per_lot(1.0 - _chance("works", works))
        done = self._all_or(which)
        presences = np.where(done[:, None], left[:, None], self.presences)
        clocks = self.clocks.copy()
        clocks[done, STUCK] = 0.0
        if renewed:
            clocks[done, AGE] = 0.0
        return replace(self, presences=presences, clocks=clocks)

    def replaced(self, *, works: PerRow, which: Which | None = None) -> Beliefs:
        """After these lots were replaced by new parts: a defect goes with the old part, with this chance."""
        kept = self._per_lot(1.0 - _chance("works", works))
        done = self._all_or(which)
        presences = np.where(done[:, None], self.presences * kept[:, None], self.presences)
        clocks = self.clocks.copy()
        clocks[done] = 0.0
        return replace(self, presences=presences, clocks=clocks)

    def left_broken(self, which: Which) -> Beliefs:
        """After these lots failed and were left as they are."""
        clocks = self.clocks.copy()
        clocks[which, STUCK] = 1.0
        return replace(self, presences=np.where(which[:, None], 1.0, self.presences), clocks=clocks)

    def mended_unsaid(self, *, chance: PerRow, which: Which) -> Beliefs:
        """After time in which a known defect may have been put right without a word, with this chance."""
        mended = np.where(which, self._per_lot(_chance("chance", chance)), 0.0)
        return replace(self, presences=self.presences * (1.0 - mended)[:, None])

    def disturbed(self, *, chance: PerRow, which: Which | None = None) -> Beliefs:
        """After work that may itself have planted a defect: somewhere in a row, or in each of these lots."""
        planted = self._per_lot(_chance("chance", chance))
        planted = _of_each(planted, self._parts()) if which is None else np.where(which, planted, 0.0)
        presences = self.presences + (1.0 - self.presences) * planted[:, None]
        after = replace(self, presences=presences, clocks=self.clocks.copy())
        return after._with_stuck(self.clocks[:, STUCK, None] * self.presences)

    def raised(self, *, factor: PerRow, which: Which | None = None) -> Beliefs:
        """Right after an event that multiplies the arrival rate; the extra fades over the law's `fade`.

        A later event takes the place of an earlier one unless more is left of that. `which` are the lots it
        was about: all, unless said.
        """
        clocks = self.clocks.copy()
        extra = np.maximum(clocks[:, EXTRA], self._per_lot(factor) - 1.0)
        clocks[:, EXTRA] = np.where(self._all_or(which), extra, clocks[:, EXTRA])
        return replace(self, clocks=clocks)

    # Forecasting.

    def outlook(self, *, exposure: PerRow) -> Outlook:
        """What to expect over the next exposure: chances averaged over the grid, rate and delay as means."""
        span = self._per_lot(exposure)
        way = self._passage(span)
        defective = self.presences
        good, bad = self._alive(way, defective)
        fails, spared = _gone(good, bad), way.stays_good + way.turns_defective
        share = self.laws[:, SUDDEN, None]
        at_once = share * (1.0 - defective) * (1.0 - way.stays_good)
        fail_chance = _mean(self.weights, self._any(fails))
        ahead = arrivals(laws=self.laws, age=self.age, extra=self.clocks[:, EXTRA], exposure=span)
        now = hazard(laws=self.laws, age=self.age, extra=self.clocks[:, EXTRA])
        base = np.where(span > 0.0, ahead / np.where(span > 0.0, span, 1.0), now)
        first = self._first()
        failures = self._summed(self.counts[:, None] * fails)
        mean = _mean(self.weights, failures)
        return Outlook(
            presence=_mean(self.weights, self._any(defective)),
            fail_chance=fail_chance,
            sudden_chance=_mean(self.weights, self._any(at_once)),
            avoidable_chance=self._avoidable(defective, way, fails, spared),
            rate=self._summed(self.counts * base) * self.rate_multiplier,
            delay=self.delay_multiplier / self.laws[first, ALPHA],
            sudden_share=self.laws[first, SUDDEN],
            failures=mean,
            failures_spread=np.maximum(_mean(self.weights, failures**2) - mean**2, 0.0),
        )

    def _avoidable(self, defective: Floats, way: Passage, fails: Floats, spared: Floats) -> Floats:
        if self._single():
            return _mean(self.weights, defective * (spared - way.defect_holds))
        return _mean(self.weights, self._any(fails) - self._any(np.maximum(1.0 - spared, 0.0)))

    # Small steps.

    def _failed(self, failed: Which, how: Floats, way: Passage, clocks: Floats) -> Beliefs:
        alive, bad, stuck = self._lived(way)
        alive, here = np.maximum(alive, LEAST), failed[:, None]
        presences = np.where(here, 0.0, bad / alive)
        if stuck is not None:
            stuck = np.where(here, 0.0, stuck / alive)
        return self._learned(self._together(np.where(here, how, alive)), presences, clocks, stuck)

    def _lived(self, way: Passage) -> tuple[Floats, Floats, Floats | None]:
        """(alive, defective, of those stuck) at the end of one part; None when nothing is stuck."""
        share = self.clocks[:, STUCK, None]
        if not share.any():
            good, bad = self._alive(way, self.presences)
            return good + bad, bad, None
        stuck = share * self.presences
        good = (1.0 - self.presences) * way.stays_good
        bad = (
            stuck + (1.0 - self.presences) * way.turns_defective + (self.presences - stuck) * way.defect_holds
        )
        return good + bad, bad, stuck

    def _with_stuck(self, stuck: Floats) -> Beliefs:
        """The same with its own clocks saying how much of the presence is that of what is stuck."""
        self.clocks[:, STUCK] = _share(self._of_lots(self.weights), stuck, self.presences)
        return self

    def _failing(self, which: Which | None) -> Which:
        failed = self._all_or(which)
        if (self.counts[failed] != 1.0).any():
            raise ImpossibleInput("Which of the like parts failed is missing.", "Part one off first.")
        return failed

    def _all_or(self, which: Which | None) -> Which:
        return np.ones(len(self.row), dtype=bool) if which is None else which

    def _likelihood(self, if_defective: PerRow, if_good: PerRow) -> Floats:
        defective = self.presences
        part = defective * self._per_lot(if_defective)[:, None]
        return self._together(part + (1.0 - defective) * self._per_lot(if_good)[:, None])

    def _passage(self, span: Floats) -> Passage:
        return passage(
            self.grid, laws=self.laws, age=self.clocks[:, AGE], extra=self.clocks[:, EXTRA], exposure=span
        )

    @staticmethod
    def _alive(way: Passage, presences: Floats) -> tuple[Floats, Floats]:
        """(good, defective) at the end and never failed, of one part; both (lots, grid points)."""
        good = (1.0 - presences) * way.stays_good
        bad = way.turns_defective + presences * (way.defect_holds - way.turns_defective)
        return good, bad

    def _alive_after_unknown(self, unknown: UnknownExposure) -> tuple[Floats, Floats, Floats]:
        """(likelihood of a row, presence of a part, how far a raise has faded)."""
        likelihood = np.zeros_like(self.weights)
        presences, faded = np.zeros_like(self.presences), np.zeros(len(self.row))
        for amount, chance in zip(unknown.amounts, unknown.chances, strict=True):
            span = np.full(len(self.row), amount)
            good, bad = self._alive(self._passage(span), self.presences)
            alive = np.maximum(good + bad, LEAST)
            together = chance * self._together(alive)
            likelihood += together
            presences += self._of_lots(together) * bad / alive
            faded += chance * np.exp(-span / self.laws[:, FADE])
        return likelihood, presences / self._of_lots(np.maximum(likelihood, LEAST)), faded

    def _after_unchecked(self, starts: Sequence[Start]) -> Beliefs:
        """Presence and age after each start's unchecked stretch; the weights stay. One lot in each row."""
        presences, clocks = self.presences.copy(), self.clocks.copy()
        for row, start in enumerate(starts):
            if start.unchecked is not None:
                one = self._rows([row])
                presences[row] = one._alive_after_unknown(start.unchecked)[1][0]
                clocks[row, AGE] += start.unchecked.mean
        return replace(self, presences=presences, clocks=clocks)

    def _moved(self, span: Floats, faded: Floats) -> Floats:
        clocks = self.clocks.copy()
        clocks[:, AGE] += span
        extra = clocks[:, EXTRA]
        extra *= faded
        extra[extra < GONE] = 0.0
        return clocks

    def _learned(
        self, likelihood: Floats, presences: Floats, clocks: Floats, stuck: Floats | None = None
    ) -> Beliefs:
        """Weights times likelihood, adding up to one again; `clocks` is this event's own copy.

        Of `stuck` (lots, grid points) its share of the presence is kept, one number per lot.
        """
        weights = self.weights * np.maximum(likelihood, LEAST)
        total = weights.sum(axis=1)
        weights /= total[:, None]
        if stuck is not None:
            clocks[:, STUCK] = _share(self._of_lots(weights), stuck, presences)
        evidence = self.log_evidence + np.log(total)
        return replace(self, weights=weights, presences=presences, clocks=clocks, log_evidence=evidence)

    # From lots to rows and back. Most rows have one part, and then a lot is a row.

    def _plain(self) -> bool:
        return len(self.row) == len(self)

    def _single(self) -> bool:
        return self._plain() and bool((self.counts == 1.0).all())

    def _first(self) -> Rows:
        """(rows,): the first lot of each row."""
        return np.arange(len(self)) if self._plain() else np.searchsorted(self.row, np.arange(len(self)))

    def _of_lots(self, rows: Floats) -> Floats:
        """What each row has, for each of its lots."""
        return rows if self._plain() else rows[self.row]

    def _parts(self) -> Floats:
        """(lots,): how many parts its row has."""
        return self._of_lots(self._summed(self.counts))

    def _summed(self, lots: Floats) -> Floats:
        """Sum over the lots of each row."""
        return lots if self._plain() else np.add.reduceat(lots, self._first(), axis=0)

    def _together(self, part: Floats) -> Floats:
        """(rows, grid points): the product over all parts of each row."""
        many = np.flatnonzero(self.counts > 1.0)
        if many.size:
            part = part.copy()
            part[many] **= self.counts[many, None]
        return part if self._plain() else np.multiply.reduceat(part, self._first(), axis=0)

    def _any(self, part: Floats) -> Floats:
        """(rows, grid points): P(one or more of the parts), exact for small chances."""
        if self._single():
            return part
        with np.errstate(divide="ignore"):
            return np.asarray(
                -np.expm1(self._summed(self.counts[:, None] * np.log1p(-np.minimum(part, 1.0))))
            )

    def _rows(self, rows: Rows | Sequence[int]) -> Beliefs:
        at = np.asarray(rows, dtype=np.intp)
        lots, row = self._lots(at)
        return Beliefs(
            self.grid,
            self.laws[lots],
            self.weights[at],
            self.presences[lots],
            self.clocks[lots],
            self.log_evidence[at],
            self.counts[lots],
            row,
        )

    def _lots(self, rows: Rows) -> tuple[Rows, Rows]:
        """The lots of some rows, and to which of these rows each belongs."""
        if self._plain():
            return rows, np.arange(rows.size)
        first, end = (np.searchsorted(self.row, rows, side=side) for side in ("left", "right"))
        row = np.repeat(np.arange(rows.size), end - first)
        within = np.arange(row.size) - np.repeat(np.cumsum(end - first) - (end - first), end - first)
        return first[row] + within, row

    def _per_lot(self, value: PerRow) -> Floats:
        """One number per lot, none below zero."""
        if isinstance(value, float) and 0.0 <= value < np.inf:
            return np.full(self.row.size, value)
        numbers = np.asarray(value, dtype=float)
        if not (numbers.size == 0 or (numbers.min() >= 0.0 and numbers.max() < np.inf)):
            raise ImpossibleInput(
                f"{value!r} is below zero or not a number.", "Give a number of zero or more."
            )
        if numbers.ndim == 0:
            return np.full(self.row.size, numbers)
        if numbers.size == self.row.size:
            return numbers
        if numbers.size != len(self):
            raise ImpossibleInput(
                f"{numbers.size} numbers fit neither {len(self)} rows nor {self.row.size} lots.",
                "Give one number for all, one for each row, or one for each lot.",
            )
        return numbers[self.row]

    def _per_row(self, value: PerRow) -> Floats:
        numbers = np.asarray(value, dtype=float)
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

    def add(
        self, laws: Sequence[ModeLaw], starts: Sequence[Start], parts: Sequence[int] | None = None
    ) -> Rows:
        """New rows, one per law; gives their numbers. Adding many at once is cheaper than one by one."""
        first = len(self._all)
        self._all = _joined(self._all, Beliefs.begin(laws, starts, parts=parts, grid=self._all.grid))
        return np.arange(first, len(self._all))

    def __len__(self) -> int:
        return len(self._all)

    def __getitem__(self, rows: Rows | Sequence[int]) -> Beliefs:
        return self._all._rows(rows)

    def __setitem__(self, rows: Rows | Sequence[int], beliefs: Beliefs) -> None:
        at = np.asarray(rows, dtype=np.intp)
        lots, _ = self._all._lots(at)
        self._all.weights[at] = beliefs.weights
        self._all.log_evidence[at] = beliefs.log_evidence
        self._all.presences[lots] = beliefs.presences
        self._all.clocks[lots] = beliefs.clocks

    def part_off(self, row: int, lot: int) -> int:
        """Make one part of a lot a lot by itself, behind the others of its row; gives its number there."""
        lots = self._all.lots_of(row)
        at, end = lots.start + lot, lots.stop
        if not (at < end and self._all.counts[at] > 1.0):
            raise ImpossibleInput(f"Lot {lot} has no part to spare.", "Name a lot of two parts or more.")
        counts = np.insert(self._all.counts, end, 1.0)
        counts[at] -= 1.0
        self._all = replace(
            self._all,
            laws=np.insert(self._all.laws, end, self._all.laws[at], axis=0),
            presences=np.insert(self._all.presences, end, self._all.presences[at], axis=0),
            clocks=np.insert(self._all.clocks, end, self._all.clocks[at], axis=0),
            counts=counts,
            row=np.insert(self._all.row, end, row),
        )
        return int(end - lots.start)

    def put_together(self, row: int, lot: int, last: int) -> None:
        """Make the last lot of a row part of another: each part of both has their mean chances then."""
        lots = self._all.lots_of(row)
        at, gone = lots.start + lot, lots.start + last
        both = np.array([self._all.counts[at], self._all.counts[gone]])
        share = both / both.sum()
        rest = replace(self._all, presences=self._all.presences.copy(), clocks=self._all.clocks.copy())
        rest.presences[at] = share @ self._all.presences[[at, gone]]
        rest.clocks[at] = share @ self._all.clocks[[at, gone]]
        counts = self._all.counts.copy()
        counts[at] = both.sum()
        self._all = replace(
            rest,
            laws=np.delete(rest.laws, gone, axis=0),
            presences=np.delete(rest.presences, gone, axis=0),
            clocks=np.delete(rest.clocks, gone, axis=0),
            counts=np.delete(counts, gone),
            row=np.delete(rest.row, gone),
        )

    def drawn_from(self, row: int, pool: Sequence[int], likely: Floats) -> int:
        """Make one part of some lots a lot by itself when nobody knows out of which it comes; its number.

        `likely` (lots of the row, grid points) is how likely each part was to be the one that is drawn: to
        fail, or to be found; all alike when it was drawn by its spot alone. The largest lot gives a part up;
        each other one then has, as far as the drawn part may have been its own, a part of the largest in its
        stead.
        """
        sizes = [float(self._all.counts[self._all.lots_of(row).start + lot]) for lot in pool]
        giver = pool[int(np.argmax(sizes))]
        if len(pool) == 1:
            return giver if max(sizes) == 1.0 else self.part_off(row, giver)
        drawn = giver if max(sizes) == 1.0 else self.part_off(row, giver)
        first = self._all.lots_of(row).start
        at = [first + lot for lot in pool]
        weights = self._all.weights[row]
        total, counts = self._all.presences[at], np.array(sizes)
        drawn_by = counts[:, None] * np.maximum(likely[list(pool)], LEAST)
        drawn_by /= drawn_by.sum(axis=0)
        stuck = self._all.clocks[at, STUCK, None] * total
        giver_at = pool.index(giver)
        presences, clocks = self._all.presences.copy(), self._all.clocks.copy()
        for n, lot in enumerate(at):
            if pool[n] != giver:
                moved = drawn_by[n] / counts[n]
                presences[lot] = (1.0 - moved) * total[n] + moved * total[giver_at]
                now_stuck = (1.0 - moved) * stuck[n] + moved * stuck[giver_at]
                clocks[lot, STUCK] = _share(weights, now_stuck, presences[lot])
        presences[first + drawn] = counts @ total / counts.sum()
        clocks[first + drawn, STUCK] = _share(
            weights, counts @ stuck / counts.sum(), presences[first + drawn]
        )
        self._all = replace(self._all, presences=presences, clocks=clocks)
        return drawn

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
        grid = {"grid_rates": np.array(now.grid.rates), "grid_delays": np.array(now.grid.delays)}
        return {**grid, **{name: getattr(now, name).copy() for name in KEPT}, "row": now.row.copy()}

    @classmethod
    def from_arrays(cls, arrays: Mapping[str, Floats]) -> BeliefBank:
        """The bank that `to_arrays` described, equal to the last bit."""
        grid = Grid(tuple(arrays["grid_rates"].tolist()), tuple(arrays["grid_delays"].tolist()))
        bank = cls(grid=grid)
        numbers = {name: np.array(arrays[name]) for name in KEPT}
        bank._all = Beliefs(grid, **numbers, row=np.array(arrays["row"], np.intp))
        return bank


KEPT = ("laws", "weights", "presences", "clocks", "log_evidence", "counts")  # in Beliefs' own order


def _chance(name: str, value: PerRow) -> Floats | float:
    """A chance, or one per row."""
    if isinstance(value, float) and 0.0 <= value <= 1.0:
        return value
    chance = np.asarray(value, dtype=float)
    if not (chance.size == 0 or (chance.min() >= 0.0 and chance.max() <= 1.0)):
        raise ImpossibleInput(f"{name} is {value!r}, which is no chance.", "Give a number from 0 to 1.")
    return chance


def _of_each(chance: PerRow, parts: PerRow) -> Floats:
    """The chance for each of so many like parts that makes this one for all of them together."""
    with np.errstate(divide="ignore"):
        return np.asarray(
            np.where(np.asarray(parts) == 1.0, chance, -np.expm1(np.log1p(-np.asarray(chance)) / parts))
        )


def _share(weights: Floats, some: Floats, all_of_it: Floats) -> Floats:
    """Which share of a mean over the grid another mean is; zero of nothing."""
    whole = np.asarray((weights * all_of_it).sum(axis=-1))
    part = (weights * some).sum(axis=-1)
    return np.asarray(np.divide(part, whole, out=np.zeros_like(whole), where=whole > 0.0))


def _joined(first: Beliefs, second: Beliefs) -> Beliefs:
    return Beliefs(
        first.grid,
        np.concatenate([first.laws, second.laws]),
        np.concatenate([first.weights, second.weights]),
        np.concatenate([first.presences, second.presences]),
        np.concatenate([first.clocks, second.clocks]),
        np.concatenate([first.log_evidence, second.log_evidence]),
        np.concatenate([first.counts, second.counts]),
        np.concatenate([first.row, second.row + len(first)]),
    )


def _taught(prior: Floats, starts: Sequence[Start]) -> Floats:
    """The prior over the grid, with the rows replaced whose start brings its own."""
    for row, start in enumerate(starts):
        if start.log_weights is not None:
            if start.log_weights.shape != prior.shape[1:]:
                raise ImpossibleInput(
                    f"{start.log_weights.size} weights do not fit {prior.shape[1]} points.",
                    "Hand in one for each point of the grid.",
                )
            weights = np.exp(start.log_weights - start.log_weights.max())
            prior[row] = weights / weights.sum()
    return prior


def _mean(weights: Floats, values: Floats) -> Floats:
    """Mean over the grid, one number per row."""
    return np.asarray((weights * values).sum(axis=1))


def _gone(good: Floats, bad: Floats) -> Floats:
    """P(failed by the end); rounding may not make it negative."""
    return np.maximum(1.0 - good - bad, 0.0)
