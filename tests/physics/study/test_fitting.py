"""Fitting recovers a known truth from made-up readings, says what it cannot know, shows what misfits."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from snugfast.core.errors import BadInput
from snugfast.physics.powertrain.runs import drive
from snugfast.physics.study.fitting import Fit, fit, predicted_with_band
from snugfast.physics.study.gearing import Question
from snugfast.physics.study.knobs import Knob, turned
from snugfast.physics.study.twin_readings import Outing, Reading, Sort, Spot, predict
from tests.physics.truck_twin import question, toml, truck

PRIOR = {knob: toml("prior_spreads")[knob.value.replace(" ", "_")] for knob in Knob}
TRUTH = {
    Knob.ROLLING: 1.35,
    Knob.COPPER: 1.20,
    Knob.IDLE: 0.75,
    Knob.COOLING: 0.85,
    Knob.RPM_PER_VOLT: 1.03,
    Knob.WHEEL_SPIN: 1.4,
}
KNOBS = {knob: PRIOR[knob] for knob in TRUTH}
SPREADS = {Sort.CAN_TEMPERATURE: 2.0, Sort.CHARGE_USED: 60.0, Sort.TOP_SPEED: 0.25, Sort.LAP_TIME: 0.05}


@cache
def outings() -> tuple[Outing, ...]:
    return (
        Outing(question(style_key="dirt_laps"), 240.0),
        Outing(question(truck(13), "grass"), 240.0),
        Outing(question(truck(19), "tarmac_laps"), 120.0),
        Outing(question(style_key="speed_passes"), 150.0),
    )


def read(outing: Outing, sort: Sort, rng: np.random.Generator, after_s: float = 0.0) -> Reading:
    """What someone would read off the true car, with the scatter of his instrument."""
    true = float(predict(outing, [(sort, after_s)], [TRUTH])[0, 0])
    can = sort is Sort.CAN_TEMPERATURE
    return Reading(
        outing,
        sort,
        true + SPREADS[sort] * float(rng.standard_normal()),
        SPREADS[sort],
        spot=Spot.CAN if can else None,
        after_stop_s=after_s if can else None,
    )


@cache
def readings() -> tuple[Reading, ...]:
    rng = np.random.default_rng(11)
    out = []
    for outing in outings():
        out += [
            read(outing, Sort.CAN_TEMPERATURE, rng, 45.0),
            read(outing, Sort.CHARGE_USED, rng),
            read(outing, Sort.TOP_SPEED, rng),
        ]
    out.append(read(outings()[0], Sort.LAP_TIME, rng))
    return tuple(out)


@cache
def fitted() -> Fit:
    return fit(readings(), KNOBS)


@pytest.mark.slow
def test_a_known_truth_is_recovered_within_its_bands() -> None:
    """Law: each factor within three of its own standard deviations; the knobs well read are told."""
    found = fitted()
    assert found.converged
    for turned_knob in found.knobs:
        at = np.log(TRUTH[turned_knob.knob] / turned_knob.factor)
        assert abs(at) < 3.0 * np.log(turned_knob.high / turned_knob.factor)
    told = {one.knob for one in found.knobs if one.is_told}
    assert {Knob.RPM_PER_VOLT, Knob.WHEEL_SPIN} <= told


def test_after_the_fit_every_sound_reading_fits_and_most_lie_closer() -> None:
    checked = fitted().readings
    assert all(one.fits for one in checked)
    before = sum(abs(one.reading.value - one.before) / one.reading.spread for one in checked)
    after = sum(abs(one.off_by) for one in checked)
    assert after < 0.3 * before


@pytest.mark.slow
def test_an_outing_that_was_not_fitted_is_predicted_within_its_band() -> None:
    """Law: another pinion and style, against the truth; the fitted band is narrower than not knowing."""
    other = Outing(question(truck(17), "gravel"), 600.0)
    found = fitted()
    for sort in (Sort.CAN_TEMPERATURE, Sort.CHARGE_USED, Sort.TOP_SPEED):
        truth = float(predict(other, [(sort, 0.0)], [TRUTH])[0, 0])
        band = predicted_with_band(found, other, sort)
        assert abs(truth - band.value) < (band.high - band.low)  # over three standard deviations
        guess = float(predict(other, [(sort, 0.0)], [{}])[0, 0])
        assert abs(truth - band.value) < abs(truth - guess)


@pytest.mark.slow
def test_a_reading_that_does_not_fit_is_shown_and_not_absorbed() -> None:
    """Law: one can read forty kelvin too hot moves no factor by more than a standard deviation or so."""
    wrong = replace(readings()[0], value=readings()[0].value + 40.0)
    found = fit((wrong, *readings()[1:]), KNOBS)
    assert [one.reading for one in found.readings if not one.fits] == [wrong]
    for sound, shaken in zip(fitted().knobs, found.knobs, strict=True):
        assert abs(np.log(shaken.factor / sound.factor)) < 1.5 * np.log(sound.high / sound.factor)


@pytest.mark.slow
def test_what_one_temperature_cannot_tell_apart_is_said() -> None:
    """Law: from one can alone, idle torque and cooling cannot be told apart; neither is well known."""
    can = [one for one in readings() if one.sort is Sort.CAN_TEMPERATURE][:1]
    found = fit(can, {knob: PRIOR[knob] for knob in (Knob.IDLE, Knob.COOLING)})
    assert found.alike == ((Knob.IDLE, Knob.COOLING),)
    assert all(one.learned < 0.5 for one in found.knobs)


def test_a_temperature_without_its_spot_or_its_seconds_is_not_used() -> None:
    can = readings()[0]
    lost = [replace(can, spot=None), replace(can, after_stop_s=None), replace(can, spot=Spot.ELSEWHERE)]
    with pytest.raises(BadInput, match="None of these"):
        fit(lost, KNOBS)
    found = fit([*lost, readings()[2]], {Knob.RPM_PER_VOLT: 0.03})
    assert [reading for reading, _ in found.unused] == lost
    assert all(reason for _, reason in found.unused)


def test_a_can_read_late_is_cooler() -> None:
    """Law: the seconds after the stop count."""
    early, late = predict(outings()[0], [(Sort.CAN_TEMPERATURE, s) for s in (0.0, 300.0)], [{}])[0]
    assert late < early - 3.0


def test_factors_of_one_leave_the_question_as_it_is() -> None:
    q: Question = question()
    assert turned(q, {}) == q
    assert turned(q, {Knob.ROLLING: 2.0}).place.ground.rolling == 2.0 * q.place.ground.rolling


def test_where_in_a_lap_a_run_ended_says_nothing_of_its_charge() -> None:
    """Law: driven alike, charge rises evenly with the time, whatever of a lap the car is stopped in.

    Taken where the run stops it leaves that line by some 12 C, a wave that slopes of a fit trip over.
    """
    driven = question(truck(13), "grass")
    ends_s = [240.0 + 3.0 * n for n in range(6)]
    used_C = [float(predict(Outing(driven, at_s), [(Sort.CHARGE_USED, 0.0)], [{}])[0, 0]) for at_s in ends_s]
    per_s = np.diff(used_C) / 3.0
    assert np.ptp(per_s) < 0.02 * np.mean(per_s)
    assert used_C[0] == pytest.approx(
        drive([driven.entry(driven.car)], for_s=240.0)[0].drawn_Ah * 3600.0, abs=15.0
    )
