"""Driving styles: every style of the table can be driven, and a phase that never ends is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.powertrain import runs
from snugfast.physics.powertrain.driving_styles import Does, Phase, style_from
from snugfast.physics.study import gearing
from tests.physics.truck_twin import question, rows, style, toml, truck

STYLES = list(toml("driving_styles"))


@pytest.mark.slow
@pytest.mark.parametrize("key", STYLES)
def test_every_style_is_driven_lap_after_lap_on_its_ground(key: str) -> None:
    """Law: laps are finished on every ground the style names, and the car moves forward."""
    for ground_key in style(key).grounds:
        assert ground_key in rows("ground")
        q = question(style_key=key, ground_key=ground_key)
        run = runs.drive([q.entry(q.car)], for_s=180.0)[0]
        assert run.laps >= 2
        assert run.distance_m > 10.0


@pytest.mark.slow
@pytest.mark.parametrize("key", [key for key in STYLES if key not in ("rocks", "trail")])
def test_a_change_of_gearing_changes_what_comes_of_a_style(key: str) -> None:
    """Law: the taller set-up is faster at its fastest and takes more current."""
    q = replace(question(style_key=key), style=replace(style(key), minutes=3.0))
    usual, tall = gearing.climb(q, [truck(11), truck(17)])
    assert tall.run.top_speed_m_s > usual.run.top_speed_m_s + 0.01
    assert tall.run.rms_motor_A > 1.05 * usual.run.rms_motor_A


@pytest.mark.parametrize(
    "wrong",
    [
        {"does": "full throttle"},
        {"does": "full throttle", "at_most_m": 10.0},
        {"does": "brake", "brake": 1.2, "at_most_s": 3.0},
        {"does": "hold a speed", "speed_m_s": -1.0, "at_most_s": 3.0},
    ],
)
def test_phases_that_cannot_be_driven_are_refused(wrong: dict[str, object]) -> None:
    with pytest.raises(ImpossibleInput):
        style_from("x", {"name": "x", "grounds": ["grass"], "minutes": 1, "lap": [wrong]})


def test_a_car_that_never_reaches_a_speed_gives_up_in_time() -> None:
    """Law: the phase's seconds end it."""
    lap = (Phase(Does.FULL, until_faster_than_m_s=90.0, at_most_s=4.0),)
    q = question()
    run = runs.drive([q.entry(q.car, lap, laps=2)], for_s=60.0)[0]
    assert run.outcome is runs.Outcome.SCRIPT_DONE
    assert run.lasted_s == pytest.approx(8.0, abs=0.02)
