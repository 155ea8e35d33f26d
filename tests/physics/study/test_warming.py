"""How warm a car gets in a run, by the short way, against the long way of the same twin.

Authority: against (the same driving with nothing hurried), and laws.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from snugfast.facts.load import load_facts
from snugfast.physics.powertrain.powertrain import Place
from snugfast.physics.powertrain.road import Air
from snugfast.physics.powertrain.runs import drive
from snugfast.physics.study.gearing import FanState, Question
from snugfast.physics.study.warming import warming
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.of_car import pack_of_build, twin_of

STARTERS = load_facts().starters
LITHIUM = ["truck-1-10-4wd-3s", "buggy-1-8-4wd-4s", "touring-1-10-4wd-2s", "crawler-1-10-4wd-3s-brushed"]


def question(key: str, ground: str = "dirt", style: str = "dirt_laps", air_degC: float = 20.0) -> Question:
    build = STARTERS[key]
    return Question(
        car=twin_of(build, pack_of_build(build)).car,
        place=Place(tables.ground(ground), Air(air_degC)),
        style=tables.style(style),
        limits=tables.limits(),
        fan=FanState.RUNNING,
    )


@pytest.mark.slow
@pytest.mark.parametrize("key", LITHIUM)
def test_hurried_driving_warms_as_driving_itself_does(key: str) -> None:
    """Against the same car, style and charge at its own pace: within a kelvin and a half of what it shows.

    What is hurried swings wider with every lap, and the highest so far is what counts.
    """
    asked = question(key)
    short = warming([asked], (0, 2, 5, 12))[0]
    slow = drive(
        [
            asked.entry(
                asked.car,
                endless_pack=True,
                start=replace(asked.start(), charge_share=0.6),
                stop_on_charge=False,
            )
        ],
        for_s=13 * 60.0,
        trace_every_s=5.0,
    )[0]
    for at, minutes in enumerate((0, 2, 5, 12)):
        so_far = slow.trace[: 12 * minutes + 1, 6:8].max(axis=0) - 20.0
        assert short.can_K[at] == pytest.approx(so_far[0], abs=1.5)
        assert short.controller_K[at] == pytest.approx(so_far[1], abs=1.5)
    assert short.rms_motor_A == pytest.approx(slow.rms_motor_A, rel=0.03)
    assert short.rms_pack_A == pytest.approx(slow.rms_pack_A, rel=0.03)


def test_rises_never_fall_and_begin_at_nothing() -> None:
    warm = warming([question(LITHIUM[0])], (0, 1, 3, 8, 20, 45))[0]
    for rises in (warm.can_K, warm.controller_K):
        assert rises[0] == pytest.approx(0.0, abs=1e-9)
        assert list(rises) == sorted(rises)


def test_a_taller_gear_warms_more_on_every_ground() -> None:
    """Law of such cars in ordinary driving: a taller gear draws more current for the same push."""
    for ground, style in (("dirt", "dirt_laps"), ("grass", "grass"), ("tarmac", "tarmac_laps")):
        here = question(LITHIUM[0], ground, style)
        tall = replace(here, car=replace(here.car, final_drive=0.8 * here.car.final_drive))
        short_gear, tall_gear = warming([here, tall], (0, 6, 12))
        assert tall_gear.can_K[2] > short_gear.can_K[2] + 2.0
        assert tall_gear.controller_K[2] > short_gear.controller_K[2]


def test_the_rise_hardly_depends_on_the_air() -> None:
    """What lets a rise be driven once and added to any air: within a tenth from frost to a hot day."""
    cold, mild, hot = warming([question(LITHIUM[0], air_degC=air) for air in (0.0, 20.0, 35.0)], (0, 12))
    for one in (cold, hot):
        assert one.can_K[1] == pytest.approx(mild.can_K[1], rel=0.1)
