"""Stress: how many times over a run counts for what heat and load wear.

A temperature that somebody read right after the run goes first. Where nobody read it, the twin says by how
many times the rise over the air, or a load, is what it was with the car as it came; the tables say what it
was then. What was read teaches how warm this car gets compared with the tables. The law is told in
docs/decisions/0011, its numbers are rows of `facts/stress.toml` and `facts/overload.toml`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Facts, Mode, Overload, Stress
from snugfast.records.entries import Ran, Reading
from snugfast.usecases.twin.says import TwinSays, at, says_from

Floats = NDArray[np.float64]

SMALL_PARTS = ("plug", "lead", "bearing")  # “motor plug” is not the motor
LEAST_RISE_K = 5.0  # of a table's reference over the air: a part that is in use is warmer than the air
LEAST_SAID = 1e-6


@dataclass(frozen=True, slots=True)
class Driving:
    """What of a run the stress rests on. `air_degC` is None when nobody said."""

    ground: str
    minutes: float
    air_degC: float | None = None
    readings: tuple[Reading, ...] = ()

    @classmethod
    def of(cls, ran: Ran) -> Driving:
        """One pack's worth of it, as it was logged."""
        return cls(ran.ground.value, ran.running_min, ran.ambient_degC, ran.readings)


@dataclass(frozen=True, slots=True)
class RunStress:
    """How many times a run counts for each mode, and why; shape (modes,).

    `factor` is one where nothing is known. `read_degC`, `warmer_K` (than on a usual run of the car as it
    came, as the twin has it) and `load` (a multiple of the load as it came) are not a number where they are
    not the reason.
    """

    factor: Floats
    read_degC: Floats
    warmer_K: Floats
    load: Floats


@dataclass(frozen=True, slots=True)
class Level:
    """How much warmer than the tables say this car gets one part: the logarithm of a factor on the rise."""

    log: float
    variance: float


@dataclass
class CarStress:
    """What stress knows of one car: what the twin says of it as it came and as it is, and what was read.

    A car without a twin, or a pack, has readings only. Levels are kept by rule.
    """

    facts: Facts
    came: TwinSays | None = None
    now: TwinSays | None = None
    levels: dict[str, Level] = field(default_factory=dict)

    # Being told.

    def changed(self, says: TwinSays | None) -> None:
        """The build is another one; what was read before tells less of it."""
        if says != self.now:
            less = self._assume("stress_change_differs") ** 2
            self.levels = {
                rule: Level(level.log, level.variance + less) for rule, level in self.levels.items()
            }
        self.now = says

    def learn(self, modes: Sequence[Mode], driving: Driving) -> None:
        """Take in how warm the parts were read, when it is known how warm the air was."""
        if driving.air_degC is None:
            return
        for rule in self.facts.stress.values():
            read = hottest_read(rule, driving)
            lead = next((mode for mode in modes if mode.key in rule.modes), None)
            rise_K = None if lead is None else self._rise_K(rule, lead, driving)
            if read is not None and rise_K is not None and read > driving.air_degC:
                self.levels[rule.key] = self._learned(rule, math.log((read - driving.air_degC) / rise_K))

    def _learned(self, rule: Stress, seen_log: float) -> Level:
        """A prior of one and what was seen, weighed by how sure each is."""
        before = self._level(rule)
        gain = before.variance / (before.variance + self._assume("stress_runs_differ") ** 2)
        return Level(before.log + gain * (seen_log - before.log), (1.0 - gain) * before.variance)

    # Being asked.

    def of_run(self, modes: Sequence[Mode], driving: Driving) -> RunStress:
        """The stress of one run, or of one that lies ahead.

        A temperature takes the place of the guess by ground, so that is divided out.
        """
        size = len(modes)
        stress = RunStress(np.ones(size), *(np.full(size, np.nan) for _ in range(3)))
        for rule in self.facts.stress.values():
            read = hottest_read(rule, driving)
            for n, mode in self._driven(rule, modes):
                degC = read if read is not None else self._reckoned_degC(rule, mode, driving)
                if degC is None:
                    continue
                guess = mode.ground_factor.get(driving.ground, 1.0)
                stress.factor[n] *= times_as_fast(rule, degC) / guess
                if read is not None:
                    stress.read_degC[n] = read
                else:
                    stress.warmer_K[n] = degC - self._table_degC(rule, mode, driving)
        for overload in self.facts.overload.values():
            load = self._times(overload.twin, driving)
            if load is not None:
                for n, _ in self._driven(overload, modes):
                    stress.factor[n] *= times_as_worn(overload, load)
                    stress.load[n] = load
        return stress

    def twin_drives(self, mode: Mode) -> bool:
        """Whether the twin says how this mode's clock runs, so that a change of gears needs no guess."""
        return self.came is not None and any(
            rule.twin and mode.key in rule.modes for rule in self.facts.stress.values()
        )

    @staticmethod
    def _driven(rule: Stress | Overload, modes: Sequence[Mode]) -> Iterator[tuple[int, Mode]]:
        return ((n, mode) for n, mode in enumerate(modes) if mode.key in rule.modes)

    def _reckoned_degC(self, rule: Stress, mode: Mode, driving: Driving) -> float | None:
        rise_K = self._rise_K(rule, mode, driving)
        if rise_K is None:
            return None
        air_degC = self._mild_degC() if driving.air_degC is None else driving.air_degC
        return air_degC + math.exp(self._level(rule).log) * rise_K

    def _rise_K(self, rule: Stress, mode: Mode, driving: Driving) -> float | None:
        """The rise over the air on an average car: as the tables have it, times what the twin says."""
        times = self._times(rule.twin, driving)
        if times is None:
            return None
        return times * max(self._table_degC(rule, mode, driving) - self._mild_degC(), LEAST_RISE_K)

    @staticmethod
    def _table_degC(rule: Stress, mode: Mode, driving: Driving) -> float:
        """What our rate, and its guess by ground, stand for."""
        return rule.reference_degC + rule.doubling_K * math.log2(mode.ground_factor.get(driving.ground, 1.0))

    def _times(self, what: str, driving: Driving) -> float | None:
        """By how many times the twin has more of it now than on a usual run as the car came."""
        if not what or self.came is None or self.now is None:
            return None
        usual = at(self.came, driving.ground, what, self._assume("habit_running_min"))
        here = at(self.now, driving.ground, what, driving.minutes)
        return here / usual if usual > LEAST_SAID and here > LEAST_SAID else None

    def _level(self, rule: Stress) -> Level:
        return self.levels.get(rule.key) or Level(0.0, self._assume("stress_cars_differ") ** 2)

    def _mild_degC(self) -> float:
        return self._assume("stress_air_degC")

    def _assume(self, key: str) -> float:
        return self.facts.assumptions[key].value

    # Being kept.

    def as_document(self) -> dict[str, Any]:
        """As plain values; what the twin says of the car now is left out where it is as it came."""
        return {
            "came": self.came,
            "now": None if self.now == self.came else self.now,
            "without_twin": self.now is None,
            "levels": {rule: [level.log, level.variance] for rule, level in self.levels.items()},
        }

    @classmethod
    def from_document(cls, document: Mapping[str, Any], facts: Facts) -> CarStress:
        """The one that `as_document` wrote."""
        came, now = says_from(document["came"]), says_from(document["now"])
        if now is None and not document["without_twin"]:
            now = came
        levels = {rule: Level(*kept) for rule, kept in document["levels"].items()}
        return cls(facts, came, now, levels)


def times_as_fast(rule: Stress, degC: float) -> float:
    """2^((temperature − reference) / doubling), between the ends of the rule."""
    times: float = 2.0 ** ((degC - rule.reference_degC) / rule.doubling_K)
    return min(max(times, rule.least), rule.most)


def times_in_cold(mode: Mode, air_degC: float | None) -> float:
    """Nylon is brittle in frost. Nothing said about the air counts as mild."""
    if mode.cold is None or air_degC is None or air_degC >= mode.cold.below_degC:
        return 1.0
    return mode.cold.factor


def times_as_worn(rule: Overload, load: float) -> float:
    """(load / load as it came)^power, between the ends of the rule."""
    times: float = load**rule.power
    return min(max(times, rule.least), rule.most)


def hottest_read(rule: Stress, driving: Driving) -> float | None:
    """The highest of the readings of this part itself that were early enough, or None."""
    return max(
        (one.value for one in driving.readings if one.unit == "°C" and _counts(rule, one)), default=None
    )


def _counts(rule: Stress, reading: Reading) -> bool:
    after_s, spot = reading.seconds_after_stop, reading.spot
    named = [word for word in rule.spots if word in spot]
    small = [part for part in SMALL_PARTS if part in spot and not any(part in word for word in named)]
    return bool(named) and not small and after_s is not None and after_s <= rule.read_within_s
