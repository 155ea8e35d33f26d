"""The gearing study on a 1/10 truck made of the product's tables.

The trade facts are common practice without a source; where the twin says more, the test says what.
"""

from __future__ import annotations

import itertools
import math
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from functools import cache

import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain import road, runs
from snugfast.physics.powertrain.driving_styles import Style
from snugfast.physics.powertrain.powertrain import Demand, State, moment
from snugfast.physics.powertrain.runs import Alarm, Outcome
from snugfast.physics.study import endurance, gearing
from snugfast.physics.study.bigger_tyres import bigger_tyre
from snugfast.physics.study.endurance import fan_stopped, passes_until_hot
from snugfast.physics.study.gearing import FanState, Pair, Rung, ladder, one_tooth
from snugfast.physics.study.throttle_limit import throttle_limit_for
from tests.physics.truck_twin import INTERNAL_RATIO, on_tyres, question, style, truck

SPUR = 54


def short(key: str, minutes: float) -> Style:
    return replace(style(key), minutes=minutes)


@cache
def rungs(style_key: str = "dirt_laps") -> dict[int, Rung]:
    climbed = ladder(
        question(style_key=style_key),
        [Pair(z, SPUR) for z in (9, 13, 15, 17, 22)],
        internal_ratio=INTERNAL_RATIO,
    )
    return {rung.pairs[0].pinion_teeth: rung for rung in climbed}


@pytest.mark.slow
def test_the_ladder_runs_from_short_to_tall_and_marks_today() -> None:
    """Law: sorted by final drive; the rung of the car's own final drive is today's."""
    drives = [rung.final_drive for rung in rungs().values()]
    assert drives == sorted(drives, reverse=True)
    assert [z for z, rung in rungs().items() if rung.is_today] == [15]
    assert rungs()[15].rollout_m == pytest.approx(math.pi * 0.115 / (54 / 15 * 4.0))


def test_pairs_of_one_ratio_share_a_rung() -> None:
    q = question(style_key="dirt_laps")
    q = replace(q, style=short("dirt_laps", 0.5))
    shared = ladder(q, [Pair(15, 54), Pair(20, 72), Pair(16, 54)], internal_ratio=INTERNAL_RATIO)
    assert [rung.pairs for rung in shared] == [(Pair(15, 54), Pair(20, 72)), (Pair(16, 54),)]


def test_a_taller_rung_is_faster_and_draws_more() -> None:
    """Law: top speed and motor current rise with every rung; the launch stays limited by the ground here."""
    climbed = list(rungs().values())
    for lower, taller in itertools.pairwise(climbed):
        assert taller.top_speed_m_s > lower.top_speed_m_s
        assert taller.run.top_motor_A > lower.run.top_motor_A
        assert taller.run.rms_motor_A > lower.run.rms_motor_A


def test_shorter_gears_are_cooler_and_their_coolness_levels_off() -> None:
    """Trade fact: one tooth less on dirt is cooler; far below the usual pinion it hardly helps any more."""
    can = {z: rung.settled.can_degC for z, rung in rungs().items()}
    assert can[9] < can[13] < can[15] < can[17] < can[22]
    assert (can[13] - can[9]) / 4 < (can[22] - can[17]) / 5


@pytest.mark.slow
def test_a_tall_pinion_for_ordinary_driving_burns_something_out() -> None:
    """Trade fact. On tarmac 22 teeth pass the can's limit within minutes and the winding's in the end."""
    tall = rungs("tarmac_laps")[22]
    assert tall.ends_by is not None
    assert tall.ends_by[0] is Alarm.CAN
    assert tall.ends_by[1] < 5 * 60.0
    assert tall.settled.winding_degC > 130.0
    assert math.isfinite(rungs("tarmac_laps")[15].settled.winding_degC)


@pytest.mark.slow
def test_a_tall_pinion_stands_a_few_passes_then_needs_a_pause() -> None:
    """Trade fact: speed, and only a few passes. The pause brings the part down by twenty kelvin."""
    q = question(style_key="speed_passes")
    tall, usual = passes_until_hot(q, [truck(28), truck(15)])
    assert tall.top_speed_m_s > 1.5 * usual.top_speed_m_s
    assert tall.ends_by is Alarm.CAN
    assert 2 <= tall.passes <= 12
    assert tall.passes < usual.passes
    assert 60.0 < tall.pause_s < 900.0
    assert usual.ends_by is None


@pytest.mark.slow
def test_a_pause_is_as_long_hurried_as_not(monkeypatch: pytest.MonkeyPatch) -> None:
    """Law: a standing car cools the same, only sooner, when all heat capacities are a twentieth."""
    q = question(style_key="speed_passes")
    hurried = passes_until_hot(q, [truck(28)])[0]
    monkeypatch.setattr(endurance, "HURRY", 1.0)
    slow = passes_until_hot(q, [truck(28)])[0]
    assert hurried.pause_s == pytest.approx(slow.pause_s, abs=endurance.PAUSE_EVERY_s)
    assert hurried.resume_below_degC == slow.resume_below_degC


def test_a_stopped_fan_overheats_the_controller() -> None:
    """Trade fact, on a warm day; the running fan never gets near the limit."""
    q = question()
    q = replace(q, place=replace(q.place, air=road.Air(32.0)))
    for found in fan_stopped([replace(q, style=style(key)) for key in ("grass", "dirt_laps")]):
        assert math.isinf(found.running_s)
        assert found.running_top_degC < 80.0
        assert 4 * 60.0 < found.stopped_s < 30 * 60.0


@pytest.mark.slow
def test_bigger_tyres_want_a_couple_of_teeth_fewer() -> None:
    """Trade fact. 135 mm for 115 mm on a pinion of 17: two and a half teeth by rollout, more by heat."""
    q = question(truck(17))
    asked = bigger_tyre(q, on_tyres(q.car, 135.0, 0.20), Pair(17, SPUR), internal_ratio=INTERNAL_RATIO)
    assert asked.same_rollout_teeth == pytest.approx(17 * 115 / 135)
    assert asked.same_heat_teeth is not None
    assert asked.same_heat_teeth < asked.same_rollout_teeth < 15.0
    assert asked.unchanged.settled.can_degC > asked.today.settled.can_degC + 10.0
    assert "smaller pinion" in asked.why_they_differ


@pytest.mark.slow
def test_when_no_pinion_brings_the_heat_back_the_coolest_is_named() -> None:
    """Much larger and heavier wheels heat the motor on any pinion."""
    q = question(style_key="gravel")
    asked = bigger_tyre(q, on_tyres(q.car, 200.0, 0.60), Pair(15, SPUR), internal_ratio=INTERNAL_RATIO)
    assert asked.same_heat_teeth is None
    assert asked.coolest_teeth < 15
    assert f"coolest on {asked.coolest_teeth} teeth" in asked.why_they_differ


@pytest.mark.slow
def test_settled_temperatures_do_not_depend_on_the_hurry() -> None:
    """Law: heat capacities only set how fast temperatures get there. Two hours against the short way."""
    q = question()
    long = runs.drive(
        [q.entry(q.car, endless_pack=True, start=replace(q.start(), charge_share=0.6), mean_from_s=6000.0)],
        for_s=7200.0,
    )[0]
    settled = rungs()[15].settled
    assert settled.can_degC == pytest.approx(long.mean_can_degC, abs=0.5)
    assert settled.winding_degC == pytest.approx(long.mean_winding_degC, abs=0.5)
    assert settled.controller_degC == pytest.approx(long.mean_controller_degC, abs=0.5)


def test_the_run_ends_by_the_earliest_reason_and_names_it() -> None:
    """Law: a small pack ends by its reserve, a weak one by the cut-off."""
    q = replace(question(style_key="gravel"), style=short("gravel", 20.0))
    car = q.car
    small = replace(car, pack=replace(car.pack, capacity_Ah=1.5))
    weak = replace(car, pack=replace(car.pack, resistance_ohm=0.12))
    by_reserve, by_cutoff = gearing.climb(q, [small, weak])
    assert by_reserve.ends_by is not None
    assert by_reserve.ends_by[0] is Alarm.RESERVE
    assert by_reserve.run.lasted_s == pytest.approx(by_reserve.ends_by[1], abs=0.1)
    assert by_cutoff.ends_by is not None
    assert by_cutoff.ends_by[0] is Alarm.CUTOFF


@pytest.mark.parametrize("kmh", [5.0, 10.0, 20.0])
def test_a_throttle_limit_keeps_the_speed(kmh: float) -> None:
    """Law: at the limit the car neither gains nor loses speed, and faster it slows down."""
    q = question()
    throttle = throttle_limit_for(q, kmh / 3.6)
    assert throttle is not None
    demand = Demand(throttle=throttle)
    at = State.at_rest(air_degC=22.0)
    assert moment(q.car, q.place, replace(at, speed_m_s=kmh / 3.6), demand).rates[0] == pytest.approx(
        0, abs=0.02
    )
    assert moment(q.car, q.place, replace(at, speed_m_s=kmh / 3.6 + 0.3), demand).rates[0] < 0.0


def test_a_speed_out_of_reach_needs_no_throttle_limit_and_no_speed_is_refused() -> None:
    assert throttle_limit_for(question(), 40.0) is None
    with pytest.raises(ImpossibleInput):
        throttle_limit_for(question(), 0.0)
    with pytest.raises(ImpossibleInput):
        Pair(0, 54)


def test_one_tooth_is_told_in_a_sentence() -> None:
    said = one_tooth(rungs()[15], rungs()[17])
    assert said.startswith("Top speed 7")
    assert "hotter once settled" in said
    assert said.endswith(".")
    burnt = replace(rungs()[22], settling=replace(rungs()[22].settling, outcome=Outcome.BURNT))
    assert "would burn" in one_tooth(rungs()[15], burnt)
    stands = replace(rungs()[15], sprint=replace(rungs()[15].sprint, top_speed_m_s=0.0))
    assert "does not move" in one_tooth(stands, rungs()[17])


@pytest.mark.slow
def test_progress_is_told_and_threads_change_nothing() -> None:
    q = replace(question(), style=short("dirt_laps", 1.0))
    pairs = [Pair(z, SPUR) for z in range(10, 28)]
    told: list[float] = []
    with ThreadPoolExecutor(2) as pool:
        threaded = ladder(q, pairs, internal_ratio=INTERNAL_RATIO, executor=pool, progress=told.append)
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
    alone = ladder(q, pairs[:3], internal_ratio=INTERNAL_RATIO)
    assert [rung.run.top_can_degC for rung in alone] == [rung.run.top_can_degC for rung in threaded[:3]]


def test_a_study_can_be_stopped() -> None:
    with pytest.raises(runs.Stopped):
        ladder(question(), [Pair(15, SPUR)], internal_ratio=INTERNAL_RATIO, should_stop=lambda: True)


@pytest.mark.slow
def test_the_fan_only_matters_to_what_it_cools() -> None:
    """Law: same speeds, a hotter controller."""
    q = replace(question(), style=short("grass", 4.0))
    running, stopped = (
        gearing.climb(replace(q, fan=f), [q.car])[0] for f in (FanState.RUNNING, FanState.STOPPED)
    )
    assert stopped.run.top_controller_degC > running.run.top_controller_degC + 10.0
    assert stopped.run.top_can_degC == pytest.approx(running.run.top_can_degC, abs=0.3)
