"""What a story leaves to be believed, by drawing many workshops that could have told it (*against*).

Each particle is one car with the like parts of one mode: how often they go wrong, how long they last once
they did, and the state of every single part. It lives through the story; what was seen weighs it, what was
not seen is drawn. Nothing of the law code of the beliefs is used: arrival is drawn by inverting its
cumulative hazard, the chance of a seen failure is summed up step by step. From the product come only numbers:
the mode table, the assumptions, the multipliers of the grid and how likely each is before anything is known.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import gamma

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Event, Mode
from snugfast.upkeep.grid import STANDARD_GRID, delay_prior, rate_prior

Floats = NDArray[np.float64]
GOOD, DEFECTIVE, BROKEN = range(3)  # the last failed and was left as it is
STEPS = 8  # of a run, for the chance that a part fails in it; within one, arrivals are taken as even
NEVER_WEIGHED = -1e9
FEWEST = 0.4  # of the particles that must still count, before they are drawn anew


@dataclass
class Parts:
    """The like parts of one mode in every particle; arrays are (particles, parts) unless said."""

    mode: Mode
    count: int
    rate: Floats  # (particles,): arrivals of one part in its table's units, times the car's own multiplier
    delay: Floats  # (particles,)
    state: NDArray[np.int8]
    age: Floats
    extra: Floats
    left_h: (
        Floats  # when it was last weighed that a known defect here may have been mended; NaN: none is known
    )

    def raised(self, event: Event, which: NDArray[np.bool_] | None = None) -> None:
        for one in self.mode.raises:
            if one.event is event:
                more = np.maximum(self.extra, one.factor - 1.0)
                self.extra = more if which is None else np.where(which, more, self.extra)

    def cumulated(self, age: Floats, extra: Floats, span: Floats) -> Floats:
        """Expected arrivals of one part over a span, for the rate multiplier one."""
        mode = self.mode
        shape = mode.wear_shape if mode.arrival.value == "wear-out" and mode.wear_shape else 1.0
        scale = mode.between_defects / gamma(1.0 + 1.0 / shape)
        arrivals: Floats = span / scale
        if shape != 1.0:
            arrivals = ((age + span) / scale) ** shape - (age / scale) ** shape
        if extra.any():
            fade = max((one.decay for one in mode.raises), default=1.0)
            arrivals = arrivals + extra * (fade * (1.0 - np.exp(-span / fade)) / mode.between_defects)
        return np.asarray(arrivals / self.count)

    def fades(self, span: Floats) -> None:
        fade = max((one.decay for one in self.mode.raises), default=1.0)
        self.age = self.age + span
        self.extra = self.extra * np.exp(-span / fade)

    def failing(self, span: Floats) -> Floats:
        """P(fails within the span) of each part as it is, summed over small steps."""
        d = self.delay[:, None]
        good = np.zeros_like(self.age)
        before = np.ones_like(self.age)
        half = np.maximum(span / STEPS / d / 2.0, 1e-9)
        over_step = (1.0 - self.mode.sudden) * np.sinh(half) / half  # the mean over a step, of its middle
        for step in range(STEPS):
            till = span * (step + 1.0) / STEPS
            after = np.exp(-self.rate[:, None] * self.cumulated(self.age, self.extra, till))
            left = span * (1.0 - (step + 0.5) / STEPS)
            good += (before - after) * (1.0 - over_step * np.exp(-left / d))
            before = after
        return np.where(self.state == GOOD, good, 1.0 - np.exp(-span / d))

    def live(self, rng: np.random.Generator, span: Floats) -> NDArray[np.bool_]:
        """Let every part live through the span; gives which failed in it. Broken ones rest."""
        waits = rng.exponential(1.0, self.age.shape) / self.rate[:, None]
        arrives = (self.state == GOOD) & (waits < self.cumulated(self.age, self.extra, span))
        at = np.zeros_like(self.age)
        if arrives.any():
            at[arrives] = self._when(
                waits[arrives],
                self.age[arrives],
                self.extra[arrives],
                np.broadcast_to(span, self.age.shape)[arrives],
            )
        lasts = rng.exponential(1.0, self.age.shape) * self.delay[:, None]
        lasts[arrives & (rng.random(self.age.shape) < self.mode.sudden)] = 0.0
        alive_till = np.where(self.state == DEFECTIVE, lasts, np.where(arrives, at + lasts, np.inf))
        self.state = np.where(arrives, DEFECTIVE, self.state).astype(np.int8)
        self.fades(span)
        return np.asarray(alive_till <= span)

    def _when(self, waits: Floats, age: Floats, extra: Floats, span: Floats) -> Floats:
        low, high = np.zeros_like(waits), span.copy()
        for _ in range(30):
            middle = 0.5 * (low + high)
            later = self.cumulated(age, extra, middle) < waits
            low, high = np.where(later, middle, low), np.where(later, high, middle)
        return 0.5 * (low + high)


@dataclass
class Particles:
    """Many workshops with the same story."""

    rng: np.random.Generator
    size: int
    parts: Parts
    weight: Floats
    batches: int = 25

    @classmethod
    def begin(
        cls, rng: np.random.Generator, size: int, mode: Mode, count: int, *, from_box: float = 0.0
    ) -> Particles:
        """New parts, drawn from what is known beforehand; with this chance one is wrong from the box."""
        rates = rate_prior(STANDARD_GRID, spread_shape=np.array([mode.spread]))[0]
        delays = delay_prior(STANDARD_GRID, log_sd=np.array([mode.delay_log_sd]))[0]
        k = rng.choice(np.array(STANDARD_GRID.rates), size, p=rates)
        d = rng.choice(np.array(STANDARD_GRID.delays), size, p=delays)
        shape = (size, count)
        parts = Parts(
            mode,
            count,
            k,
            d * mode.delay,
            np.zeros(shape, np.int8),
            np.zeros(shape),
            np.zeros(shape),
            np.full(shape, np.nan),
        )
        if from_box:
            each = 1.0 - (1.0 - from_box) ** (1.0 / count)
            parts.state[rng.random(shape) < each] = DEFECTIVE
        else:
            parts.raised(Event.FITTED)
        return cls(rng, size, parts, np.ones(size))

    # What happens.

    def once_or_never(self, span: Floats) -> tuple[float, float]:
        """(P(exactly one part fails within the span), P(none does)), over the particles."""
        chance = np.where(self.parts.state == BROKEN, 0.0, self.parts.failing(span))
        none = (1.0 - chance).prod(axis=1)
        once = none * (chance / np.maximum(1.0 - chance, 1e-12)).sum(axis=1)
        return self.mean(once)[0], self.mean(none)[0]

    def ran(
        self,
        span: Floats,
        failed: Sequence[int | None] = (),
        unknown: tuple[float, float] | None = None,
    ) -> list[NDArray[np.intp]]:
        """A run in which these parts failed (None: nobody said which) and no other did.

        `unknown` says that one more failed in the car and nobody knows what: how likely the rest of the car
        makes it that it was here, and that it was there. Gives which part it was in each particle; −1 where
        the unknown one was elsewhere.
        """
        row, everyone = self.parts, np.arange(self.size)
        chances = row.failing(span)
        chosen = np.zeros(row.state.shape, bool)
        culprits: list[NDArray[np.intp]] = []
        for part in failed:
            chance = np.where(chosen, 0.0, chances)
            who = np.full(self.size, part) if part is not None else self._draw(chance)
            self.weight *= chance[everyone, who] if part is not None else chance.sum(axis=1)
            chosen[everyone, who] = True
            culprits.append(who)
        if unknown is not None:
            chance = np.where(chosen | (row.state == BROKEN), 0.0, chances)
            here, there = unknown[0] * chance.sum(axis=1), unknown[1]
            self.weight *= here + there
            is_here = self.rng.random(self.size) * (here + there) < here
            who = np.where(is_here, self._draw(chance), -1)
            chosen[everyone[is_here], who[is_here]] = True
            culprits.append(who)
        broke = row.live(self.rng, span)
        self.weight *= ~(broke & ~chosen).any(axis=1)
        row.state[chosen] = GOOD
        order = self._renew()
        return [who[order] for who in culprits]

    def lent(self, longest: float, least: float, each: float) -> None:
        """Somebody else drove between `least` and `longest` packs and mended what failed, in silence."""
        row = self.parts
        left = self.rng.uniform(least, longest, self.size)[:, None] * each * np.ones((1, row.count))
        for _ in range(40):
            part = np.minimum(left, longest * each / 40.0)
            failed = row.live(self.rng, part)
            row.state[failed] = GOOD
            left = left - part

    def lives(self, span: Floats) -> None:
        """Seen to be alive after a span."""
        self.weight *= ~self.parts.live(self.rng, span).any(axis=1)
        self._renew()

    def looked(
        self,
        *,
        detection: float,
        alarm: float,
        found: Sequence[int | None] = (),
        real: float = 1.0,
    ) -> list[NDArray[np.intp]]:
        """A look at the parts of one mode: found at these, and at no other. Gives which, in each particle."""
        row = self.parts
        bad = row.state != GOOD
        each = 1.0 - (1.0 - alarm) ** (1.0 / row.count)
        seen = np.where(bad, detection, each)
        everyone = np.arange(self.size)
        taken = np.zeros(bad.shape, bool)
        where = []
        likely = np.ones(self.size)
        for part in found:
            chance = np.where(taken, 0.0, seen)
            who = (
                np.full(self.size, part)
                if part is not None
                else self._draw(chance / np.maximum(1.0 - seen, 1e-12))
            )
            if part is None:
                odds = np.where(taken, 0.0, seen / np.maximum(1.0 - seen, 1e-12))
                likely *= odds.sum(axis=1) * (1.0 - seen[everyone, who])
            else:
                likely *= chance[everyone, who]
            taken[everyone, who] = True
            where.append(who)
        likely *= np.where(taken, 1.0, 1.0 - seen).prod(axis=1)
        self.weight *= (1.0 - real) + real * likely
        order = self._renew()
        return [who[order] for who in where]

    def mended_unsaid(self, at_h: float, chance: float) -> None:
        """Bench day: what is known to be left may have been mended without a word."""
        row = self.parts
        due = ~np.isnan(row.left_h) & (at_h - row.left_h > 12.0)
        row.state[due & (self.rng.random(due.shape) < chance)] = GOOD
        row.left_h[due] = at_h

    def done(self, who: NDArray[np.intp], done: str, fit: float, found: bool = False) -> None:
        """What was done about one part in each particle (−1: none in that one)."""
        row = self.parts
        which = np.zeros(row.state.shape, bool)
        here = who >= 0
        which[np.arange(self.size)[here], who[here]] = True
        if done == "left":
            if not found:
                row.state[which] = BROKEN
            row.left_h[which] = NEVER_WEIGHED
            return
        works = self.rng.random(row.state.shape) < fit
        row.state[which] = np.where(works, GOOD, DEFECTIVE)[which]
        row.left_h[which] = np.nan
        if done == "renewed":
            row.age[which] = 0.0
            row.raised(Event.FITTED, which)
        elif found:
            row.raised(Event.WORK_THERE, which)

    def fitted(self, part: int, fit: float) -> None:
        """One part was replaced by a new one: a defect goes with it."""
        row = self.parts
        gone = self.rng.random(self.size) < fit
        row.state[:, part] = np.where(gone | (row.state[:, part] == GOOD), GOOD, DEFECTIVE)
        row.age[:, part] = row.extra[:, part] = 0.0
        row.left_h[:, part] = np.nan
        which = np.zeros(row.state.shape, bool)
        which[:, part] = True
        row.raised(Event.FITTED, which)

    def planted(self, chance: Floats) -> None:
        """Standing wet makes defects in good parts."""
        row = self.parts
        row.state[(row.state == GOOD) & (self.rng.random(row.state.shape) < chance)] = DEFECTIVE

    def _renew(self) -> NDArray[np.intp]:
        """Draw the particles anew, batch by batch, when too few still count; gives where each came from."""
        total = self.weight.sum()
        assert total > 0.0, "no workshop tells this story"
        if total**2 / (self.weight**2).sum() > FEWEST * self.size:
            return np.arange(self.size)
        per = self.size // self.batches
        mean = self.weight.reshape(self.batches, per).mean(axis=1)
        drawn = []
        for batch in range(self.batches):
            here = self.weight[batch * per : (batch + 1) * per]
            places = (np.arange(per) + self.rng.random()) / per * max(here.sum(), 1e-300)
            drawn.append(batch * per + np.searchsorted(np.cumsum(here), places).clip(max=per - 1))
        order = np.concatenate(drawn)
        self.weight = np.repeat(mean / mean.mean(), per)
        for row in (self.parts,):
            for name in ("rate", "delay", "state", "age", "extra", "left_h"):
                setattr(row, name, getattr(row, name)[order].copy())
        return np.asarray(order)

    def _draw(self, chance: Floats) -> NDArray[np.intp]:
        sums = chance.cumsum(axis=1)
        pick = self.rng.random(self.size) * np.maximum(sums[:, -1], 1e-300)
        return np.asarray((sums < pick[:, None]).sum(axis=1).clip(max=chance.shape[1] - 1))

    # What is to be believed.

    def mean(self, values: Floats) -> tuple[float, float]:
        """(mean over the particles, its standard error from batches that know nothing of each other)."""
        per = self.size // self.batches
        weight = self.weight.reshape(self.batches, per)
        each = (weight * values.reshape(self.batches, per)).sum(axis=1)
        share = weight.sum(axis=1)
        mean = float(each.sum() / share.sum())
        spread = each - mean * share
        error = float(np.sqrt((spread**2).sum() * self.batches / (self.batches - 1)) / share.sum())
        return mean, error

    def presence(self) -> tuple[float, float]:
        return self.mean((self.parts.state != GOOD).any(axis=1).astype(float))

    def fails(self, span: Floats) -> tuple[float, float]:
        chance = self.parts.failing(span)
        return self.mean(1.0 - (1.0 - chance).prod(axis=1))
