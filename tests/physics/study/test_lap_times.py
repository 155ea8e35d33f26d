"""Lap times of an owner whose track is not the twin's: what they tell, and what they cannot.

Authority: laws, on readings of a made-up owner whose car, and whose track, are known.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from snugfast.physics.study.fitting import Fit, fit
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.twin_readings import Outing, Reading, Sort, Spot, predict
from snugfast.physics.study.twin_slopes import TwinModel
from tests.physics.truck_twin import question, truck

TRUTH = {Knob.RPM_PER_VOLT: 1.06, Knob.GRIP: 0.8, Knob.COOLING: 1.1}
KNOBS = {Knob.RPM_PER_VOLT: 0.10, Knob.GRIP: 0.20, Knob.COOLING: 0.25}
LAP_SHARE = 0.01


@cache
def outing(pinion: int) -> Outing:
    return Outing(question(truck(pinion), "tarmac_laps"), 120.0)


@cache
def true_lap_s(pinion: int) -> float:
    return float(predict(outing(pinion), [(Sort.LAP_TIME, 0.0)], [TRUTH])[0, 0])


@cache
def after_a_run() -> tuple[Reading, ...]:
    """The can and the charge put back, read off the true car."""
    sorts = [(Sort.CAN_TEMPERATURE, 0.0), (Sort.CHARGE_USED, 0.0)]
    can, charge = predict(outing(15), sorts, [TRUTH])[0]
    return (
        Reading(outing(15), Sort.CAN_TEMPERATURE, float(can) + 1.0, 2.0, Spot.CAN, 0.0),
        Reading(outing(15), Sort.CHARGE_USED, float(charge) - 50.0, 100.0),
    )


def laps(times: float, pinions: tuple[int, ...] = (10, 12, 19), track: str = "club") -> list[Reading]:
    """Laps of a track that is some times as long as the twin's, timed by hand."""
    rng = np.random.default_rng(3)
    read = [times * true_lap_s(z) * (1.0 + 0.3 * LAP_SHARE * float(rng.standard_normal())) for z in pinions]
    return [
        Reading(outing(z), Sort.LAP_TIME, lap_s, LAP_SHARE * lap_s, track=track)
        for z, lap_s in zip(pinions, read, strict=True)
    ]


@cache
def fitted(times: float = 1.0) -> Fit:
    return fit([*after_a_run(), *laps(times)], KNOBS)


def log_spread(found: Fit, knob: Knob) -> float:
    one = next(one for one in found.knobs if one.knob is knob)
    return math.log(one.high / one.factor)


@pytest.mark.slow
@pytest.mark.parametrize("times", [1.37, *(pytest.param(t, marks=pytest.mark.soak) for t in (4.2, 0.5))])
def test_a_longer_track_leaves_the_knobs_as_they_are(times: float) -> None:
    """Law: all lap times of a track times a number change nothing but that track's number."""
    plain, longer = fitted(), fitted(times)
    assert longer.learned.log_factors == pytest.approx(plain.learned.log_factors, abs=1e-6)
    assert np.array(longer.learned.log_covariance) == pytest.approx(
        np.array(plain.learned.log_covariance), rel=1e-6
    )
    told = longer.laps[0]
    assert told.times_the_twins == pytest.approx(times * plain.laps[0].times_the_twins)
    assert told.times_the_twins == pytest.approx(times, rel=0.01)


@pytest.mark.slow
def test_laps_of_several_set_ups_tell_how_fast_the_motor_turns() -> None:
    """Law: short pinions run out of revolutions on tarmac, so their laps tell; the truth is in the band."""
    found, without = fitted(1.37), fit(after_a_run(), KNOBS)
    assert found.converged
    for one in found.knobs:
        assert abs(math.log(TRUTH[one.knob] / one.factor)) < 3.0 * math.log(one.high / one.factor)
    assert log_spread(found, Knob.RPM_PER_VOLT) < 0.7 * log_spread(without, Knob.RPM_PER_VOLT)
    told = found.laps[0]
    assert (told.laps, told.best, told.tell_something) == (3, Knob.RPM_PER_VOLT, True)
    assert told.surer > 0.3
    assert all(one.fits for one in found.readings)


@pytest.mark.slow
def test_one_lap_time_leaves_the_knobs_where_they_were() -> None:
    """Law: one lap time is as good as the length of the track, which nobody knows."""
    found = fit(laps(1.37, (15,)), KNOBS)
    assert found.learned.log_factors == pytest.approx((0.0, 0.0, 0.0), abs=1e-6)
    for one in found.knobs:
        assert one.learned < 1e-3
    assert not found.laps[0].tell_something
    assert found.readings[0].after == pytest.approx(found.readings[0].reading.value)


@pytest.mark.slow
def test_laps_of_one_set_up_tell_nothing_however_many() -> None:
    """Law: they only tell the track better."""
    found = fit(laps(1.37, (15, 15, 15)), KNOBS)
    assert found.laps[0].laps == 3
    assert not found.laps[0].tell_something
    assert max(abs(at) for at in found.learned.log_factors) < 1e-3


@pytest.mark.slow
def test_two_tracks_have_a_number_each() -> None:
    """Law: one lap on each of two tracks tells nothing, although the set-ups differ."""
    found = fit([*laps(1.37, (10,)), *laps(2.0, (19,), track="park")], KNOBS)
    assert [told.track for told in found.laps] == ["club", "park"]
    assert not any(told.tell_something for told in found.laps)
    assert (
        len(found.learned.log_factors) == len(found.learned.log_covariance) == len(KNOBS)
    )  # a track is no knob of the car


def test_a_lap_of_no_time_is_left_out() -> None:
    lap = replace(laps(1.0, (15,))[0], value=0.0)
    found = fit([*after_a_run(), lap], KNOBS)
    assert [reading for reading, _ in found.unused] == [lap]


@pytest.mark.slow
def test_a_tracks_number_adds_to_the_logarithm_of_its_laps_alone() -> None:
    """Law: its slope is one for laps of that track and nothing for all else, as predictions have it."""
    used = [*after_a_run(), *laps(1.37, (10, 19)), *laps(2.0, (15,), track="park")]
    model = TwinModel(used, list(KNOBS), None, lambda: False)
    at = np.array([0.0, 0.0, 0.0, 0.3, 0.7])
    slopes = model.slopes(at)
    for n, track in enumerate(("club", "park")):
        moved = at.copy()
        moved[len(KNOBS) + n] += 0.5
        by_hand = (model.predict(moved) - model.predict(at)) / 0.5
        assert slopes[:, len(KNOBS) + n] == pytest.approx(by_hand)
        assert by_hand == pytest.approx([float(one.track == track) for one in used])
