"""Whether nine in ten is nine in ten: cars nobody knows, their owners' readings, and a run that was not read.

A hidden truck is drawn from the tables' own spreads, in worlds where more is wrong than a fit may expect:
another driver, brakes that burn all or give all back, gears, growth, air and iron from the tables' bands.
It is read with the errors that the fit assumes, fitted, and another run on other gears on a warm day is
predicted. A band of nine in ten has to hold 85 % of the truths, and more readings may not make it falser.

Authority: a known truth, by seeded simulation. Soak drives the numbers; the small form only that bands
hold.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from snugfast.physics.study.fitting import fit, predicted_with_band
from snugfast.physics.study.gearing import final_drive
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.twin_readings import Outing, Reading, Sort, Spot, predict
from snugfast.usecases.twin import tables
from tests.usecases.test_twin_driver import TRUCK, twin

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

USUAL = (
    Knob.ROLLING,
    Knob.AIR_DRAG,
    Knob.COPPER,
    Knob.IDLE,
    Knob.COOLING,
    Knob.RPM_PER_VOLT,
    Knob.GRIP,
    Knob.WHEEL_SPIN,
    Knob.EFFORT,
    Knob.GIVEN_BACK,
)
TABLES = (Knob.GEAR_LOSS, Knob.GROWTH, Knob.AIR_SHARE, Knob.IRON_SHARE, Knob.PACK)
RUNS = ((15, "dirt_laps", 12), (15, "gravel", 10), (15, "dirt_laps", 14), (16, "dirt_laps", 9))
WANTED = (Sort.CAN_TEMPERATURE, Sort.CHARGE_USED, Sort.TOP_SPEED)
RUN_SCATTER = 0.1
MOST_READ = 10
Shape = Callable[[Outing], Outing]


def outing(pinion: int, style: str, minutes: float, air_degC: float = 22.0) -> Outing:
    made = twin(TRUCK)
    driven = tables.style(style)
    question = made.driven(driven, ground=driven.grounds[0], air_degC=air_degC)
    pair = replace(made.pair, pinion_teeth=pinion)
    car = replace(question.car, final_drive=final_drive(pair, made.internal_ratio))
    return Outing(replace(question, car=car), minutes * 60.0)


def another_driver(rng: np.random.Generator) -> Shape:
    """Bends at other speeds and stretches of another length than the style says."""
    faster, longer = math.exp(rng.normal(0.0, 0.2)), math.exp(rng.normal(0.0, 0.35))

    def shaped(at: Outing) -> Outing:
        lap = tuple(
            replace(
                phase,
                speed_m_s=phase.speed_m_s * faster,
                then_m_s=phase.then_m_s * faster,
                until_slower_than_m_s=phase.until_slower_than_m_s * faster,
                at_most_m=phase.at_most_m * longer,
            )
            for phase in at.question.style.lap
        )
        return replace(at, question=replace(at.question, style=replace(at.question.style, lap=lap)))

    return shaped


class HiddenTruck:
    """A truck whose numbers nobody knows, and what is read of it: the same, however many are used."""

    def __init__(self, world: str, seed: int, pool: ThreadPoolExecutor, most: int = MOST_READ) -> None:
        self.rng = np.random.default_rng(seed)
        spreads = twin(TRUCK).spreads
        known = (*USUAL, *TABLES) if world in ("tables", "all") else USUAL
        self.factors = {knob: math.exp(self.rng.normal(0.0, spreads[knob])) for knob in known}
        if world in ("brakes", "all"):
            self.factors[Knob.GIVEN_BACK] = 1e-6 if self.rng.random() < 0.5 else 1e6
        self.shape: Shape = another_driver(self.rng) if world in ("driver", "all") else lambda at: at
        self.pool = pool
        self.read = self._readings(most)
        self.coming = outing(17, "dirt_laps", 14, air_degC=28.0)
        self.truths = self.true(self.coming, [(sort, 0.0) for sort in WANTED])

    def true(self, at: Outing, wanted: list[tuple[Sort, float]]) -> list[float]:
        """What there is to read after one run, driven a little harder or softer than the last."""
        effort = self.factors[Knob.EFFORT] * math.exp(self.rng.normal(0.0, RUN_SCATTER))
        factors = {**self.factors, Knob.EFFORT: effort}
        return [float(x) for x in predict(self.shape(at), wanted, [factors], executor=self.pool)[0]]

    def _readings(self, many: int) -> list[Reading]:
        """So many, can and charge in turn."""
        read: list[Reading] = []
        for n in range((many + 1) // 2):
            at = outing(*RUNS[n % len(RUNS)])
            can, charge = self.true(at, [(Sort.CAN_TEMPERATURE, 20.0), (Sort.CHARGE_USED, 0.0)])
            off_can, off_charge = self.rng.normal(size=2)
            spread = 0.03 * at.question.car.pack.capacity_Ah * 3600.0
            read.append(Reading(at, Sort.CAN_TEMPERATURE, can + 3.0 * off_can, 3.0, Spot.CAN, 20.0))
            read.append(Reading(at, Sort.CHARGE_USED, charge + spread * off_charge, spread))
        return read[:many]

    def held(self, many: int) -> tuple[list[bool], list[float]]:
        """Whether bands hold can, charge and top speed of another run; how far off the can is, K."""
        spreads = {knob: at for knob, at in twin(TRUCK).spreads.items() if at > 0.0}
        found = fit(self.read[:many], spreads, effort_spread=tables.effort_spread(), executor=self.pool)
        held, off_K = [], []
        for sort, truth in zip(WANTED, self.truths, strict=True):
            band = predicted_with_band(found, self.coming, sort, executor=self.pool)
            held.append(band.low <= truth <= band.high)
            if sort is Sort.CAN_TEMPERATURE:
                off_K.append(truth - band.value)
        return held, off_K


@pytest.mark.slow
@pytest.mark.parametrize("world", ["all"])
def test_bands_hold_what_nobody_told_them(world: str) -> None:
    """The small form: of two hidden trucks read three times, one band of six at most misses."""
    with ThreadPoolExecutor(2) as pool:
        held = [one for seed in range(2) for one in HiddenTruck(world, 300 + seed, pool, 3).held(3)[0]]
    assert len(held) - sum(held) <= 1


@pytest.mark.soak
@pytest.mark.parametrize("world", ["own", "driver", "brakes", "tables", "all"])
def test_nine_in_ten_holds_85_per_cent_however_many_were_read(world: str) -> None:
    """Coverage of each sort at 1, 2, 5 and 10 readings, and a middle that more readings never make falser."""
    trials = 8  # a trial fits and predicts: some ten seconds of a processor each
    off: dict[int, float] = {}
    held_in_all: list[list[bool]] = []
    with ThreadPoolExecutor(2) as pool:
        trucks = [HiddenTruck(world, 1000 + seed, pool) for seed in range(trials)]
        for many in (1, 2, 5, 10):
            told = [truck.held(many) for truck in trucks]
            held_in_all += [held for held, _ in told]
            cover = np.mean([held for held, _ in told], axis=0)
            off[many] = float(np.sqrt(np.mean([off_K[0] ** 2 for _, off_K in told])))
            print(f"{world}, {many} readings: can, charge, top {cover}, can off by {off[many]:.1f} K")
    assert (np.mean(held_in_all, axis=0) >= 0.85 - 2.0 * math.sqrt(0.85 * 0.15 / len(held_in_all))).all()
    assert off[10] <= 1.25 * off[1]
