"""What lies ahead before the next real chance at a bench: how far, how hard, how wet, how long.

A car's own runs are weighed against an average driver's, so that one run does not yet make a habit.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Clock, Facts, Mode
from snugfast.records.entries import Ground, Wet
from snugfast.records.ledger import Habits
from snugfast.usecases.beliefs.stress import Driving, times_in_cold


class Until(Enum):
    """Where the next real bench chance is."""

    RUN = "run"
    OUTING = "outing"


@dataclass(frozen=True, slots=True)
class Ahead:
    """Expected exposure until the next bench chance.

    `wet`, `ground` and `air_degC` are None when nobody said what the day will be like.
    """

    packs: float
    running_min: float
    hard_hits: float
    wet_runs: float
    days: float
    wet: Wet | None = None
    ground: Ground | None = None
    air_degC: float | None = None

    def shared_by(self, packs: int) -> Ahead:
        """What each of so many packs goes through, when they take turns in the car.

        Every pack stands through all the days, but drives only its own share of the packs ahead.
        """
        if packs < 1:
            return self
        share = 1.0 / packs
        return replace(
            self,
            packs=self.packs * share,
            running_min=self.running_min * share,
            hard_hits=self.hard_hits * share,
            wet_runs=self.wet_runs * share,
        )

    @property
    def driving(self) -> Driving:
        """One of the packs ahead, for the heat and the loads of it."""
        ground = self.ground or Ground.UNKNOWN
        return Driving(ground.value, self.running_min / self.packs if self.packs else 0.0, self.air_degC)

    def exposure(self, modes: tuple[Mode, ...]) -> NDArray[np.float64]:
        """The exposure ahead on each mode's clock, shape (modes,), with the day's wet, ground and cold."""
        return np.array([self._of(mode) for mode in modes])

    def _of(self, mode: Mode) -> float:
        units = {
            Clock.RUNNING_MIN: self.running_min,
            Clock.HARD_HITS: self.hard_hits,
            Clock.PACKS: self.packs,
            Clock.WET_RUNS: self.wet_runs,
            Clock.DAYS: self.days,
        }[mode.clock]
        if mode.clock is Clock.DAYS:
            return units
        ground = mode.ground_factor.get(self.ground.value, 1.0) if self.ground else 1.0
        return units * ground * self._wet_factor(mode) * times_in_cold(mode, self.air_degC)

    def _wet_factor(self, mode: Mode) -> float:
        if self.wet is not None:
            return mode.wet_factor.get(self.wet.value, 1.0)
        if mode.clock is Clock.WET_RUNS or not self.packs:
            return 1.0
        share = min(1.0, self.wet_runs / self.packs)
        return 1.0 + share * (mode.wet_factor.get(Wet.FRESH_WATER.value, 1.0) - 1.0)


def look_ahead(
    facts: Facts,
    habits: Habits,
    *,
    until: Until,
    now: datetime,
    packs: float | None = None,
    wet: Wet | None = None,
    ground: Ground | None = None,
    air_degC: float | None = None,
) -> Ahead:
    """What this car is expected to go through until the next bench chance.

    `packs` overrides the habit of packs per outing; `wet`, `ground` and `air_degC` say what is known of the
    day ahead.
    """

    def usual(key: str) -> float:
        return facts.assumptions[key].value

    weight = usual("habit_runs_weight")
    runs = habits.runs + weight
    per_run = (habits.running_min + weight * usual("habit_running_min")) / runs
    hits = (habits.hard_hits + weight * usual("habit_hard_hits")) / runs
    wet_share = (habits.wet_runs + weight * usual("habit_wet_share")) / runs
    if until is Until.RUN:
        count, days = 1.0, 0.0
    else:
        count = (habits.runs + usual("habit_packs_per_outing")) / (habits.outings + 1.0)
        days = _days_between(habits, usual("habit_days_between_outings"))
    count = count if packs is None else packs
    if wet is not None:
        wet_share = 1.0 if wet in (Wet.FRESH_WATER, Wet.MUD, Wet.SALT_WATER) else 0.0
    return Ahead(count, count * per_run, count * hits, count * wet_share, days, wet, ground, air_degC)


def _days_between(habits: Habits, usual: float) -> float:
    if habits.first_run_at is None or habits.last_run_at is None or habits.outings < 2:
        return usual
    seen = (habits.last_run_at - habits.first_run_at).total_seconds() / 86400.0
    return (seen + usual) / habits.outings
