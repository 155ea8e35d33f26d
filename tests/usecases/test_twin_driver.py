"""The driver of the car model: how long a pack lasts, what heats, and what gearing does to heat.

The bounds are common practice without a source; styles were made until they held, so these hold the tables
together and prove nothing. The laws of the effort are laws.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from snugfast.physics.powertrain.runs import Run, drive
from snugfast.physics.study.gearing import ALIKE_K, Question, SETTLES_AFTER_s, final_drive, for_ever
from snugfast.physics.study.knobs import Knob, turned
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.of_car import Twin, pack_of_build, twin_of
from tests.usecases.bench import facts

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

BUGGY, TRUCK, TOURING, LARGE, CRAWLER = (
    "buggy-1-8-4wd-4s",
    "truck-1-10-4wd-3s",
    "touring-1-10-4wd-2s",
    "truck-1-5-4wd-8s",
    "crawler-1-10-4wd-3s-brushed",
)
USUAL_AIR_degC = 22.0


@cache
def twin(key: str) -> Twin:
    build = facts().starters[key]
    return twin_of(build, pack_of_build(build))


def asked(key: str, style: str = "") -> Question:
    made = twin(key)
    chosen = tables.style(style or made.kind.style)
    return made.driven(chosen, ground=chosen.grounds[0], air_degC=USUAL_AIR_degC)


def settled(questions: list[Question]) -> list[Run]:
    return drive([for_ever(one, one.car) for one in questions], for_s=SETTLES_AFTER_s)


def lasts_min(question: Question, run: Run) -> float:
    """Minutes to the reserve at the mean current."""
    usable_Ah = question.car.pack.capacity_Ah * (1.0 - question.limits.reserve_share)
    return usable_Ah / (run.drawn_Ah / run.lasted_s) / 60.0


def on_teeth(question: Question, key: str, teeth: int) -> Question:
    pair = replace(twin(key).pair, pinion_teeth=teeth)
    car = replace(question.car, final_drive=final_drive(pair, twin(key).internal_ratio))
    return replace(question, car=car)


@pytest.mark.parametrize(
    ("key", "style"),
    [(BUGGY, ""), (TRUCK, ""), (TRUCK, "gravel"), (TRUCK, "grass"), (TOURING, ""), (LARGE, "")],
)
def test_a_pack_lasts_as_such_packs_do_and_motor_and_esc_read_as_they_do(key: str, style: str) -> None:
    """Trade facts: 15 to 25 minutes to the reserve; a can of 55 to 95 °C and an ESC of 33 to 75 °C."""
    question = asked(key, style)
    run = settled([question])[0]
    assert 15.0 < lasts_min(question, run) < 25.0
    assert 55.0 < run.mean_can_degC < 95.0
    assert 33.0 < run.mean_controller_degC < 75.0


def test_shorter_gears_on_dirt_do_not_come_out_hotter() -> None:
    """Trade fact, with a driver whose pack lasts 10 to 20 minutes (it was 92 °C on 10 teeth, 68 on 18)."""
    hard = turned(asked(BUGGY), {Knob.EFFORT: 1.5})
    teeth = (12, 14, 16, 18)
    questions = [on_teeth(hard, BUGGY, z) for z in teeth]
    runs = settled(questions)
    cans = [run.mean_can_degC for run in runs]
    assert all(10.0 < lasts_min(q, run) < 20.0 for q, run in zip(questions, runs, strict=True))
    assert cans == sorted(cans)


def test_at_usual_effort_a_buggy_is_as_warm_on_any_pinion() -> None:
    """Law: iron falls with the motor's speed as copper rises with the square of its current; here they meet.

    Nobody may be sent to a taller gear to cool a motor: the cans differ by less than anybody can read.
    """
    questions = [on_teeth(asked(BUGGY), BUGGY, z) for z in (12, 14, 16, 18)]
    cans = [run.mean_can_degC for run in settled(questions)]
    assert max(cans) - min(cans) < ALIKE_K


def test_who_drives_harder_uses_more_charge_and_heats_more() -> None:
    """Law: charge per minute rises with the effort over a range of three to one and more."""
    for key in (BUGGY, TRUCK, TOURING, CRAWLER):
        efforts = (0.4, 0.7, 1.0, 1.5, 2.2)
        runs = settled([turned(asked(key), {Knob.EFFORT: one}) for one in efforts])
        rates = [run.drawn_Ah / run.lasted_s for run in runs]
        assert rates == sorted(rates)
        assert runs[-1].mean_can_degC > runs[0].mean_can_degC
        if key != CRAWLER:
            assert rates[-1] > 3.0 * rates[0]


def test_passes_at_full_throttle_are_the_same_for_every_driver() -> None:
    passes = asked(TRUCK, "speed_passes")
    assert turned(passes, {Knob.EFFORT: 0.5}).style == passes.style


def test_only_a_crawler_crawls_over_rocks() -> None:
    on_rocks = tables.GroundSaid.ROCKS
    assert tables.style_on(on_rocks, "rocks").key == "rocks"  # type: ignore[union-attr]
    assert tables.style_on(on_rocks, "dirt_laps").key == "gravel"  # type: ignore[union-attr]
    assert tables.style_on(tables.GroundSaid.DIRT, "rocks").key == "trail"  # type: ignore[union-attr]
    assert tables.style_on(tables.GroundSaid.UNKNOWN, "dirt_laps") is None


@pytest.mark.parametrize("key", [BUGGY, TRUCK, TOURING])
def test_the_brake_is_said_and_a_brake_that_burns_heats_the_motor(key: str) -> None:
    """Law: what is not given back warms the winding and takes charge; the share stands among the numbers."""
    names = {one.name: one.figure for one in twin(key).numbers}
    share = names["share of the braking given back to the pack"]
    assert share.low is not None and share.high is not None and 0.0 < share.low < share.high < 1.0
    question = asked(key)
    burns, returns = settled([turned(question, {Knob.GIVEN_BACK: odds}) for odds in (0.01, 100.0)])
    assert burns.mean_can_degC > returns.mean_can_degC + 3.0
    assert burns.drawn_Ah / burns.lasted_s > returns.drawn_Ah / returns.lasted_s
