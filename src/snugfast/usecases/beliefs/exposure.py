"""How far each way to fail is brought along its clock by what a car went through."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Arrival, Clock, Mode
from snugfast.records.entries import CaughtUp, Ran
from snugfast.records.ledger import WET_ENOUGH
from snugfast.upkeep.mode_law import ModeLaw
from snugfast.usecases.beliefs.stress import times_in_cold

Floats = NDArray[np.float64]


def law_of(mode: Mode) -> ModeLaw:
    """The mathematics' view of a row of the mode table."""
    return ModeLaw(
        mean_between_defects=mode.between_defects,
        spread_shape=mode.spread,
        mean_delay=mode.delay,
        delay_log_sd=mode.delay_log_sd,
        sudden_share=mode.sudden,
        wear_shape=(mode.wear_shape or 1.0) if mode.arrival is Arrival.WEAR_OUT else 1.0,
        fade=max((raise_.decay for raise_ in mode.raises), default=1.0),
    )


def run_exposure(modes: Sequence[Mode], fact: Ran) -> Floats:
    """What one run adds to each mode's clock, with its ground, wet and cold; days run by themselves."""
    units = {
        Clock.RUNNING_MIN: fact.running_min,
        Clock.HARD_HITS: fact.hard_hits,
        Clock.PACKS: 1.0,
        Clock.WET_RUNS: 1.0 if fact.wet in WET_ENOUGH else 0.0,
        Clock.DAYS: 0.0,
    }
    ground, wet = fact.ground.value, fact.wet.value
    return np.array(
        [
            units[mode.clock]
            * mode.ground_factor.get(ground, 1.0)
            * mode.wet_factor.get(wet, 1.0)
            * times_in_cold(mode, fact.ambient_degC)
            for mode in modes
        ]
    )


def caught_up_exposure(modes: Sequence[Mode], fact: CaughtUp) -> Floats:
    """What running remembered in bulk adds; so many of its packs were wet."""
    dry = Ran(fact.car, (), fact.running_min, ground=fact.ground, hard_hits=fact.hard_hits)
    exposure = run_exposure(modes, dry)
    wet_share = fact.wet_packs / fact.packs
    soaked = run_exposure(modes, replace(dry, wet=fact.wet))
    exposure = exposure + wet_share * (soaked - exposure)
    for n, mode in enumerate(modes):
        if mode.clock is Clock.PACKS:
            exposure[n] *= fact.packs
        elif mode.clock is Clock.WET_RUNS:
            exposure[n] = fact.wet_packs * mode.wet_factor.get(fact.wet.value, 1.0)
    return exposure
