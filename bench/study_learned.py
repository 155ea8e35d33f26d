"""The frozen study with the product's own beliefs and worth: what an hour costs, by who pays for a way in.

Run as `python bench/study_learned.py [cars] [packs] [seed]`; it prints the tables of docs/decisions/0021 and
0022. The cars, their hidden rates and all luck are drawn in the order of the reference's own program, so that
its rows may be set beside ours. What is learned is learned by `upkeep.beliefs`, what a look is worth is
`upkeep.worth`; the choice of each car is exact (all sets of ways in, times a knapsack in tenths of a minute),
done for all cars at once, and held against `upkeep.choosing` on some of them.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from snugfast.upkeep.beliefs import Beliefs
from snugfast.upkeep.choosing import Access, AtStake, Check, choose
from snugfast.upkeep.mode_law import NEW, ModeLaw
from snugfast.upkeep.study import mean_and_error
from snugfast.upkeep.worth import FIRST_SHARE, Future, future, shares_of_ways, worth_of_looking

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]

FROZEN = Path(__file__).parents[1] / "tests" / "golden" / "upkeep" / "failure_modes.json"
PER_PACK = {"run_min": 12.0, "hits": 1.2, "packs": 1.0, "wet": 0.1, "days": 2.25}
FIRST_MIN, BETWEEN_MIN = 20.0, 6.0
PACKS_PER_OUTING = 4
BY_USE = "by use"


@dataclass(frozen=True, slots=True)
class Rule:
    """How the bench is run: the share of ways in, whether rates are known, every how many packs one looks."""

    share: float | str
    known: bool = False
    every: int = 1
    pooled: bool = False  # the sum of before decision 0021


class World:
    """The frozen table as arrays, one number per mode; each mode has its own check."""

    def __init__(self, document: Mapping[str, Any]) -> None:
        modes, ways, use = document["modes"], document["access"], document["use"]

        def column(name: str) -> Floats:
            return np.array([float(mode[name]) for mode in modes])

        self.minute = float(use["money_per_bench_min"])
        lost = float(use["money_per_lost_run_min"])
        self.modes, self.ways = modes, ways
        self.between, self.spread, self.delay = column("mtbd"), column("a"), column("delay")
        self.check_min, self.detection = column("check_min"), column("r")
        self.restore = column("restore_cost") + self.minute * column("restore_min")
        self.failure = column("fail_cost") + lost * column("lost_min") + self.minute * column("restore_min")
        self.clock = [mode["clock"] for mode in modes]
        self.per_pack = np.array([PER_PACK[clock] for clock in self.clock])
        self.way_min = np.array([float(way["min"]) for way in ways])
        self.needs = np.array([[way["id"] in self._chain(mode) for way in ways] for mode in modes])
        self.tenths = np.round(self.check_min * 10).astype(int)
        self.sets = [
            chosen
            for number in range(1 << len(ways))
            if self._closed(chosen := np.array([bool(number >> n & 1) for n in range(len(ways))]))
        ]

    def _chain(self, mode: Mapping[str, Any]) -> set[str]:
        parents = {way["id"]: way["parent"] for way in self.ways}
        chain: set[str] = set()
        for key in mode["access"]:
            at: str | None = key
            while at:
                chain.add(at)
                at = parents[at]
        return chain

    def _closed(self, chosen: Bools) -> bool:
        names = [way["id"] for way in self.ways]
        return all(
            not one or not way["parent"] or chosen[names.index(way["parent"])]
            for one, way in zip(chosen, self.ways, strict=True)
        )

    def minutes(self, done: Bools) -> Floats:
        """Bench minutes of what is done, (cars, modes) to (cars,)."""
        opened = (done.astype(int) @ self.needs.astype(int)) > 0
        return np.asarray(done @ self.check_min + opened @ self.way_min)

    def choice(self, worth: Floats, minutes: float) -> Bools:
        """The best checks of each car in these minutes, (cars, modes): a knapsack in every set of ways in."""
        net = worth - self.minute * self.check_min
        best, chosen = np.zeros(len(worth)), np.zeros(worth.shape, dtype=bool)
        for opened in self.sets:
            spent = float(self.way_min @ opened)
            limit = round((minutes - spent) * 10)
            able = np.flatnonzero((self.needs <= opened).all(axis=1) & (self.tenths <= limit))
            if limit < 0 or not able.size:
                continue
            most = np.maximum(net[:, able], 0.0).sum(axis=1) - self.minute * spent
            rows = np.flatnonzero(most > best + 1e-12)
            if not rows.size:
                continue
            reached, picked = self._knapsack(net[np.ix_(rows, able)], self.tenths[able], limit)
            reached -= self.minute * spent
            up = reached > best[rows] + 1e-12
            best[rows[up]] = reached[up]
            chosen[rows[up]] = False
            chosen[np.ix_(rows[up], able)] = picked[up]
        return chosen

    @staticmethod
    def _knapsack(net: Floats, tenths: NDArray[np.intp], limit: int) -> tuple[Floats, Bools]:
        table = np.zeros((len(net), limit + 1))
        better: list[Bools] = []
        for n, time in enumerate(tenths.tolist()):
            gain = np.where(net[:, n] > 0.0, net[:, n], -1e9)[:, None]
            offer = table[:, : limit + 1 - time] + gain
            taken = np.zeros(table.shape, dtype=bool)
            taken[:, time:] = offer > table[:, time:]
            table = table.copy()
            table[:, time:] = np.maximum(table[:, time:], offer)
            better.append(taken)
        at, rows = np.full(len(net), limit), np.arange(len(net))
        picked = np.zeros(net.shape, dtype=bool)
        for n in reversed(range(len(better))):
            picked[:, n] = better[n][rows, at]
            at = at - np.where(picked[:, n], tenths[n], 0)
        return table[:, limit], picked

    def exact(self, worth: Floats, minutes: float) -> float:
        """The money of the product's own choice for one car."""
        best = choose(
            checks=[
                Check(mode["id"], int(tenths), tuple(mode["access"]))
                for mode, tenths in zip(self.modes, self.tenths, strict=True)
            ],
            access=[Access(way["id"], round(10 * way["min"]), way["parent"]) for way in self.ways],
            at_stake=[
                AtStake(mode["id"], (mode["id"],), (0.0, float(money)))
                for mode, money in zip(self.modes, worth, strict=True)
            ],
            tenths=round(minutes * 10),
            price_per_tenth=self.minute / 10.0,
        )
        return best.net

    def future(self, rate: Floats, delay: Floats, rule: Rule) -> Future:
        """The futures of all cars' modes, one row after the other."""
        share = FIRST_SHARE if rule.share == BY_USE else float(rule.share)
        shares = np.full((len(rate), len(self.ways)), share)
        ahead = self._under(rate, delay, shares, pooled=rule.pooled)
        if rule.share != BY_USE:
            return ahead
        often = np.minimum(1.0, rule.every * self.per_pack / ahead.interval.reshape(rate.shape))
        needs = self.needs.astype(float)
        shares = np.array([shares_of_ways(frequency=each, needs=needs) for each in often])
        return self._under(rate, delay, shares, pooled=rule.pooled)

    def _under(self, rate: Floats, delay: Floats, shares: Floats, *, pooled: bool) -> Future:
        cost = self.minute * (self.check_min + (shares * self.way_min) @ self.needs.T.astype(float))

        def flat(numbers: Floats) -> Floats:
            return np.asarray(np.broadcast_to(numbers, rate.shape).ravel())

        return future(
            rate=flat(rate),
            sudden_share=np.zeros(rate.size),
            delay=flat(delay),
            restore_cost=flat(self.restore),
            failure_cost=flat(self.failure),
            detection=flat(self.detection),
            check_cost=flat(cost),
            part_rate=np.zeros(rate.size) if pooled else None,
        )


class Known:
    """P(defect) of cars whose rates and delays are known, by the closed forms of one part."""

    def __init__(self, world: World, rate: Floats, delay: Floats) -> None:
        self.world, self.rate, self.delay = world, rate, delay
        self.presence = np.zeros(rate.shape)

    def looked(self, done: Bools, found: Bools) -> None:
        """After the checks."""
        r = self.world.detection
        clean = (1.0 - r) * self.presence / (1.0 - r * self.presence)
        self.presence = np.where(done, np.where(found, 0.0, clean), self.presence)

    def ran(self, exposure: Floats, failed: Bools) -> None:
        """After a pack."""
        lived, held = np.exp(-self.rate * exposure), np.exp(-exposure / self.delay)
        born = self.rate / (1.0 / self.delay - self.rate) * (lived - held)
        bad = self.presence * held + (1.0 - self.presence) * born
        self.presence = np.where(failed, 0.0, bad / ((1.0 - self.presence) * lived + bad))


class Learned:
    """The same by the product's beliefs, which begin with the table."""

    def __init__(self, world: World, cars: int) -> None:
        self.world, self.cars = world, cars
        laws = [
            ModeLaw(between, spread, delay)
            for between, spread, delay in zip(world.between, world.spread, world.delay, strict=True)
        ] * cars
        self.beliefs = Beliefs.begin(laws, [NEW] * len(laws))

    def _shaped(self, numbers: Floats) -> Floats:
        return np.asarray(numbers.reshape(self.cars, -1))

    @property
    def presence(self) -> Floats:
        """P(defect), (cars, modes)."""
        return self._shaped(self.beliefs.presence)

    @property
    def rate(self) -> Floats:
        """Learned means."""
        return self._shaped(self.beliefs.rate_multiplier) / self.world.between

    @property
    def delay(self) -> Floats:
        """Learned means."""
        return self._shaped(self.beliefs.delay_multiplier) * self.world.delay

    def looked(self, done: Bools, found: Bools) -> None:
        """After the checks."""
        r = self.world.detection
        self.beliefs = self.beliefs.weighed(
            if_defective=np.where(done, np.where(found, r, 1.0 - r), 1.0).ravel(),
            if_good=np.where(found, 0.0, 1.0).ravel(),
        ).restored(which=found.ravel())

    def ran(self, exposure: Floats, failed: Bools) -> None:
        """After a pack."""
        self.beliefs = self.beliefs.failed_within(exposure=exposure.ravel(), which=failed.ravel())


def season(world: World, rule: Rule, *, cars: int, packs: int, seed: int) -> Floats:
    """What a running hour costs each car, (cars,)."""
    hidden = np.random.default_rng([seed, 1, ord("A")])
    shape = (cars, len(world.between))
    rate = np.maximum(hidden.gamma(world.spread, 1 / world.spread, shape) / world.between, 1e-7)
    delay = world.delay * np.exp(hidden.normal(0, 0.4, shape) - 0.08)
    delay = np.where(np.abs(1 / delay - rate) < 1e-9, delay / 1.001, delay)
    luck = np.random.default_rng([seed, 2])
    belief = Known(world, rate, delay) if rule.known else Learned(world, cars)
    defect, money = np.zeros(shape, dtype=bool), np.zeros(cars)
    for pack in range(packs):
        exposure = _exposure(world, luck, cars, last=pack % PACKS_PER_OUTING == PACKS_PER_OUTING - 1)
        arises, fails, sees = luck.exponential(1, shape), luck.exponential(1, shape), luck.random(shape)
        done = np.zeros(shape, dtype=bool)
        if pack % rule.every == 0:
            ahead = world.future(belief.rate, belief.delay, rule)
            worth = worth_of_looking(
                ahead,
                presence=belief.presence.ravel(),
                exposure=np.tile(rule.every * world.per_pack, cars),
                detection=np.tile(world.detection, cars),
            ).reshape(shape)
            minutes = FIRST_MIN if pack % PACKS_PER_OUTING == 0 else BETWEEN_MIN
            done = world.choice(worth, minutes)
            _hold_against_product(world, worth, done, minutes, car=pack % cars)
        found = done & defect & (sees < world.detection)
        money += world.minute * world.minutes(done) + found @ world.restore
        defect &= ~found
        belief.looked(done, found)
        begins = np.where(defect, 0.0, arises / rate)
        failed = begins + fails * delay <= exposure
        money += failed @ world.failure
        defect = ~failed & (defect | (begins <= exposure))
        belief.ran(exposure, failed)
    return money / (packs * PER_PACK["run_min"] / 60.0)


def _exposure(world: World, luck: np.random.Generator, cars: int, *, last: bool) -> Floats:
    hits, wet = luck.poisson(PER_PACK["hits"], cars), luck.random(cars) < PER_PACK["wet"]
    days = PER_PACK["days"] * PACKS_PER_OUTING if last else 0.0
    by_clock = {
        "run_min": np.full(cars, PER_PACK["run_min"]),
        "hits": hits.astype(float),
        "packs": np.ones(cars),
        "wet": wet.astype(float),
        "days": np.full(cars, days),
    }
    return np.stack([by_clock[clock] for clock in world.clock], axis=1)


def _hold_against_product(world: World, worth: Floats, done: Bools, minutes: float, *, car: int) -> None:
    net = float(worth[car] @ done[car]) - world.minute * float(world.minutes(done)[car])
    exact = world.exact(worth[car], minutes)
    if abs(net - exact) > 1e-4:
        raise AssertionError(f"The study chooses a set of {net}, the product one of {exact}.")


def rules() -> Sequence[tuple[str, Rule]]:
    """The rows of the two decisions."""
    rows = [("half, the old sum", Rule(0.5, pooled=True)), ("half, known", Rule(0.5, known=True))]
    rows += [("half, known, the old sum", Rule(0.5, known=True, pooled=True))]
    rows += [(f"share {share}", Rule(share)) for share in (0.0, 0.25, 0.4, 0.5, 0.6, 0.75, 1.0)]
    rows += [(BY_USE, Rule(BY_USE)), (f"{BY_USE}, known", Rule(BY_USE, known=True))]
    rows += [(f"share {share}, outings", Rule(share, every=4)) for share in (0.0, 0.25, 0.5, 1.0)]
    return [*rows, (f"{BY_USE}, outings", Rule(BY_USE, every=4))]


def main(cars: int = 400, packs: int = 160, seed: int = 11) -> None:
    """Print a row for each rule; the last column is the difference to half with the same luck."""
    world = World(json.loads(FROZEN.read_text(encoding="utf-8")))
    half = season(world, Rule(0.5), cars=cars, packs=packs, seed=seed)
    print("| rule | cost per running hour | dearer than half |\n|---|---|---|")
    for name, rule in rules():
        hour = season(world, rule, cars=cars, packs=packs, seed=seed)
        mean, error = mean_and_error(hour)
        gap, gap_error = mean_and_error(hour - half)
        print(f"| {name} | {mean:.2f} ± {error:.2f} | {gap:+.2f} ± {gap_error:.2f} |", flush=True)


if __name__ == "__main__":
    main(*map(int, sys.argv[1:4]))
