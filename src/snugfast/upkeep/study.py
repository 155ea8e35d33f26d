"""What a way of choosing checks costs over a season: many simulated cars, the same luck for every policy.

It says whether checking nothing, checking everything or following the sheet's sum is cheapest on a table.
All clocks are counted in packs. Defects arise at a steady rate, each fails after an exponential delay, and a
failed part is put right before it runs on. Chance is drawn anew from the seed for every pack, so that
policies meet the same luck and the differences between them are sharp.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.choosing import Access, AtStake, Check, choose
from snugfast.upkeep.worth import (
    FIRST_SHARE,
    Cover,
    Future,
    cheapest_checks,
    shares_of_ways,
    worth_of_sets,
)

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Table:
    """A mode table with every clock counted in packs; arrays have one number per mode.

    `covers` says for each mode which checks see it. `bench_minute` is the price of a minute at the bench.
    Raises ImpossibleInput when the columns differ in length, or times are not above zero.
    """

    between_defects: Floats  # packs, on the average car
    spread: Floats  # gamma shape of how cars differ
    delay: Floats  # packs from defect to failure
    delay_log_sd: Floats
    sudden_share: Floats
    restore_cost: Floats
    failure_cost: Floats
    covers: tuple[Mapping[str, Cover], ...]
    checks: tuple[Check, ...]
    access: tuple[Access, ...]
    bench_minute: float

    def __post_init__(self) -> None:
        columns = (self.spread, self.delay, self.delay_log_sd, self.sudden_share)
        lengths = {len(column) for column in (*columns, self.restore_cost, self.failure_cost, self.covers)}
        if lengths != {len(self.between_defects)}:
            raise ImpossibleInput("The columns differ in length.", "Give each one number per mode.")
        if not all(np.all(column > 0.0) for column in (self.between_defects, self.spread, self.delay)):
            raise ImpossibleInput("A time or a spread is not above zero.", "Give numbers above zero.")

    def chances(self, name: str) -> Floats:
        """One number of each cover, such as its `detection`; (checks, modes), zero where not covered."""
        return np.array(
            [
                [getattr(covers[check.key], name) if check.key in covers else 0.0 for covers in self.covers]
                for check in self.checks
            ]
        ).reshape(len(self.checks), len(self.covers))

    @property
    def behind(self) -> Bools:
        """Which ways in each check goes through, parents included; (checks, ways)."""
        parents = {way.key: way.parent for way in self.access}
        behind = np.zeros((len(self.checks), len(self.access)), dtype=bool)
        for row, check in zip(behind, self.checks, strict=True):
            chain: set[str | None] = set()
            for key in check.access:
                step: str | None = key
                while step is not None:
                    chain.add(step)
                    step = parents[step]
            row[:] = [way.key in chain for way in self.access]
        return behind

    def minutes(self, done: Bools) -> Floats:
        """Bench minutes of the checks done, shared ways in opened once; (cars, checks) gives (cars,)."""
        opened = (done.astype(int) @ self.behind.astype(int)) > 0
        tenths = done @ np.array([check.tenths for check in self.checks], dtype=float)
        return np.asarray(
            (tenths + opened @ np.array([way.tenths for way in self.access], dtype=float)) / 10.0
        )


Policy = Callable[[int, Floats], Bools]
"""From the number of the pack that comes and P(defect), (cars, modes), to what is done, (cars, checks)."""


@dataclass(frozen=True, slots=True, eq=False)
class Season:
    """What each car cost over its packs; arrays are (cars,)."""

    money: Floats
    failures: Floats
    bench_min: Floats
    packs: int
    running_min_per_pack: float

    @property
    def money_per_hour(self) -> Floats:
        """Money of each car per hour of running."""
        return np.asarray(self.money / (self.packs * self.running_min_per_pack / 60.0))

    @property
    def failures_per_100(self) -> Floats:
        """Failures of each car in a hundred packs."""
        return np.asarray(self.failures * 100.0 / self.packs)

    @property
    def bench_min_per_pack(self) -> Floats:
        """Minutes of checking and opening, putting right not counted."""
        return np.asarray(self.bench_min / self.packs)


def mean_and_error(per_car: Floats) -> tuple[float, float]:
    """Mean over cars and its standard error; of a difference between two policies it is the paired one."""
    return float(per_car.mean()), float(per_car.std(ddof=1) / np.sqrt(per_car.size))


def never(table: Table) -> Policy:
    """Nothing is looked at; what breaks is put right."""
    return lambda _, presence: np.zeros((len(presence), len(table.checks)), dtype=bool)


def everything(table: Table, *, every: int) -> Policy:
    """All checks before each `every`-th pack, however long they take."""
    return lambda pack, presence: np.full((len(presence), len(table.checks)), pack % every == 0)


def sheet(table: Table, *, every: int, minutes: float, access_share: float | None = None) -> Policy:
    """The sheet's own sum before each `every`-th pack: the set of checks worth most in the minutes there are.

    Rates and delays are the table's means; what checks and failures tell is kept in P(defect). With an
    `access_share` every check pays that share of its ways in, in the long run; without one, as the sheet
    does, those that go through share them.
    """
    watched = np.flatnonzero([bool(covers) for covers in table.covers])
    ahead = _future(table, watched, every, access_share)
    covers = [tuple(table.covers[mode].values()) for mode in watched]

    def choice(presence: Floats) -> Bools:
        sets = worth_of_sets(
            ahead, presence=presence[watched], exposure=np.full(len(watched), float(every)), covers=covers
        )
        best = choose(
            checks=table.checks,
            access=table.access,
            at_stake=[
                AtStake(f"{mode}", tuple(table.covers[mode]), worth)
                for mode, worth in zip(watched, sets, strict=True)
            ],
            tenths=round(minutes * 10.0),
            price_per_tenth=table.bench_minute / 10.0,
        )
        return np.array([check.key in best.keys for check in table.checks])

    def policy(pack: int, presence: Floats) -> Bools:
        if pack % every:
            return np.zeros((len(presence), len(table.checks)), dtype=bool)
        return np.array([choice(car) for car in presence])

    return policy


def _future(table: Table, watched: NDArray[np.intp], every: int, access_share: float | None) -> Future:
    behind = table.behind.astype(float)
    way_min = np.array([way.tenths / 10.0 for way in table.access])
    place = {check.key: n for n, check in enumerate(table.checks)}
    covers = [[(place[key], cover) for key, cover in table.covers[mode].items()] for mode in watched]

    def under(shares: Floats) -> tuple[Future, NDArray[np.intp]]:
        minutes = np.array([check.tenths / 10.0 for check in table.checks]) + behind @ (shares * way_min)
        return cheapest_checks(
            rate=1.0 / table.between_defects[watched],
            sudden_share=table.sudden_share[watched],
            delay=table.delay[watched],
            restore_cost=table.restore_cost[watched],
            failure_cost=table.failure_cost[watched],
            checks=[
                [(cover.detection, minutes[check] * table.bench_minute) for check, cover in some]
                for some in covers
            ],
        )

    shares = np.full(len(table.access), FIRST_SHARE if access_share is None else access_share)
    ahead, best = under(shares)
    if access_share is not None:
        return ahead
    frequency = np.zeros(len(table.checks))
    for some, which, interval in zip(covers, best, ahead.interval, strict=True):
        check = some[which][0]
        frequency[check] = max(frequency[check], min(1.0, every / interval))
    return under(shares_of_ways(frequency=frequency, needs=behind))[0]


def simulate(
    table: Table, policy: Policy, *, cars: int, packs: int, seed: int, running_min_per_pack: float = 12.0
) -> Season:
    """A season of `packs` for each of `cars`, all parts good at the start.

    Each car has its own hidden rates and delays about the table's. A check finds a defect that is there with
    the chance of all its covers together; a false alarm costs a needless restoring, and harm plants a defect.
    """
    rng = np.random.default_rng((seed, 0))
    shape = (cars, len(table.covers))
    rate = rng.gamma(np.broadcast_to(table.spread, shape)) / table.spread / table.between_defects
    sd = table.delay_log_sd
    delay = table.delay * np.exp(sd * rng.standard_normal(shape) - 0.5 * sd**2)
    defect = np.zeros(shape, dtype=bool)
    presence = np.zeros(shape)
    money, failures, bench_min = np.zeros((3, cars))
    for pack in range(packs):
        rng = np.random.default_rng((seed, 1 + pack))
        done = policy(pack, presence)
        spent = table.minutes(done)
        bench_min += spent
        restored, defect, presence = _look(table, done, defect, presence, rng)
        broke, defect = _run(rate, delay, table.sudden_share, defect, rng)
        money += spent * table.bench_minute + restored @ table.restore_cost + broke @ table.failure_cost
        failures += broke.sum(axis=1)
        presence = np.where(broke > 0, 0.0, _later(table, presence))
    return Season(money, failures, bench_min, packs, running_min_per_pack)


def _look(
    table: Table, done: Bools, defect: Bools, presence: Floats, rng: np.random.Generator
) -> tuple[Bools, Bools, Floats]:
    """What is put right, the defects left, and P(defect) after looking."""
    luck, hurt_luck = rng.random((2, *defect.shape))
    if not done.any():
        return np.zeros_like(defect), defect, presence
    finds, alarm, harm = (
        1.0 - np.where(done[:, :, None], 1.0 - table.chances(name), 1.0).prod(axis=1)
        for name in ("detection", "false_alarm", "harm")
    )
    said = luck < np.where(defect, finds, alarm)
    planted = ~defect & (hurt_luck < harm)
    missed, quiet = presence * (1.0 - finds), (1.0 - presence) * (1.0 - alarm)
    clean = np.divide(missed, missed + quiet, out=np.zeros_like(missed), where=missed + quiet > 0.0)
    after = np.where(said, 0.0, clean)
    return said, (defect & ~said) | planted, after + harm * (1.0 - after)


def _run(
    rate: Floats, delay: Floats, sudden_share: Floats, defect: Bools, rng: np.random.Generator
) -> tuple[NDArray[np.int64], Bools]:
    """Failures during one pack and the defects at its end, event by event until the pack is empty."""
    left = np.ones_like(rate)
    broke = np.zeros(rate.shape, dtype=np.int64)
    while (left > 0.0).any():
        left = left - rng.standard_exponential(rate.shape) * np.where(defect, delay, 1.0 / rate)
        happens = left > 0.0
        fails = happens & (defect | (rng.random(rate.shape) < sudden_share))
        broke += fails
        defect = np.where(happens, ~fails, defect)
    return broke, defect


def _later(table: Table, presence: Floats) -> Floats:
    """P(defect) after one more pack without a failure, at the table's means."""
    rate, fading = 1.0 / table.between_defects, 1.0 / table.delay
    gap = np.where(np.abs(fading - rate) < 1e-9, 1e-9, fading - rate)
    arisen = rate * (1.0 - table.sudden_share) * np.exp(-rate) * -np.expm1(-gap) / gap
    there = (1.0 - presence) * arisen + presence * np.exp(-fading)
    return np.asarray(there / (there + (1.0 - presence) * np.exp(-rate)))


def compare(
    table: Table, policies: Sequence[Policy], *, cars: int, packs: int, seed: int
) -> tuple[Season, ...]:
    """The same cars with the same luck under each policy, so that differences may be taken car by car."""
    return tuple(simulate(table, policy, cars=cars, packs=packs, seed=seed) for policy in policies)
