"""How hard a car is driven, found from the charge put back. Authority: a known truth, and laws."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from snugfast.physics.study.fitting import fit, predicted_with_band
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.learned import EffortSpread, Learned
from snugfast.physics.study.twin_readings import Outing, Reading, Sort, predict
from tests.physics.truck_twin import question

SPREADS = {Knob.ROLLING: 0.3, Knob.EFFORT: 0.42, Knob.GRIP: 0.2}
EFFORTS = EffortSpread(on_a_ground=0.3, in_a_run=0.12)


def outing(style: str, minutes: float) -> Outing:
    return Outing(question(style_key=style), minutes * 60.0)


def put_back(at: Outing, effort: float, error: float = 0.0) -> Reading:
    """The charge that an owner of a car with 30 % more rolling resistance puts back."""
    truth = {Knob.ROLLING: 1.3, Knob.EFFORT: effort}
    charge = float(predict(at, [(Sort.CHARGE_USED, 0.0)], [truth])[0, 0])
    spread = 0.03 * at.question.car.pack.capacity_Ah * 3600.0
    return Reading(at, Sort.CHARGE_USED, charge + error * spread, spread)


@pytest.mark.slow
@pytest.mark.parametrize("effort", [0.6, pytest.param(1.8, marks=pytest.mark.soak)])
def test_after_five_runs_the_charge_of_the_next_is_within_15_per_cent(effort: float) -> None:
    """A known truth: a driver of little or of much effort, harder on gravel, no two runs alike."""
    rng = np.random.default_rng(20261128)
    runs = [("dirt_laps", 9.0), ("dirt_laps", 12.0), ("gravel", 8.0), ("dirt_laps", 10.0), ("gravel", 12.0)]
    readings = [
        put_back(outing(style, minutes), effort * _own(style) * math.exp(rng.normal(0, 0.08)), rng.normal())
        for style, minutes in runs
    ]
    found = fit(readings, SPREADS, effort_spread=EFFORTS)
    for style, minutes in (("dirt_laps", 11.0), ("gravel", 10.0)):
        coming = outing(style, minutes)
        true = put_back(coming, effort * _own(style)).value
        said = predicted_with_band(found, coming, Sort.CHARGE_USED)
        assert said.value == pytest.approx(true, rel=0.15)
        assert said.low < true < said.high
    assert found.strange == ()


def _own(style: str) -> float:
    return 1.2 if style == "gravel" else 1.0


@pytest.mark.slow
def test_what_lies_beyond_the_tables_is_said_and_what_does_not_is_not() -> None:
    """Law: beyond two and a half of its standard deviations a number is strange, with its way of driving."""
    at = outing("dirt_laps", 4.0)
    charge = put_back(at, 1.0)
    plain = fit([charge], SPREADS, effort_spread=EFFORTS)
    assert plain.strange == ()
    little = replace(charge, value=0.15 * charge.value, spread=0.05 * charge.spread)
    found = fit([little], {Knob.EFFORT: 0.3}, effort_spread=EffortSpread(0.1, 0.05))
    assert [(one.knob, one.style) for one in found.strange] == [(Knob.EFFORT, "dirt_laps")]
    assert found.strange[0].deviations < -2.5


def test_a_ground_that_was_not_read_and_a_single_run_are_less_sure() -> None:
    """Law: variances add, and the effort of a ground goes on top of the driver's."""
    learned = Learned(
        knobs=(Knob.GRIP, Knob.EFFORT),
        styles=("gravel",),
        log_factors=(0.1, 0.2, 0.3),
        log_covariance=((0.04, 0.0, 0.0), (0.0, 0.01, -0.002), (0.0, -0.002, 0.02)),
        effort_spread=EffortSpread(on_a_ground=0.3, in_a_run=0.1),
    )
    read, other = learned.on("gravel"), learned.on("grass")
    assert read.factors[Knob.EFFORT] == pytest.approx(math.exp(0.5))
    assert other.factors[Knob.EFFORT] == pytest.approx(math.exp(0.2))
    assert read.covariance[1, 1] == pytest.approx(0.01 + 0.02 - 0.004)
    assert other.covariance[1, 1] == pytest.approx(0.01 + 0.09)
    run = learned.on("gravel", one_run=True)
    assert run.covariance[1, 1] == pytest.approx(read.covariance[1, 1] + 0.01)
