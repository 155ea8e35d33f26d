"""The steering linkage against an independent solver, worked four-bars and the laws of its geometry."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import root

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.chassis.linkage import (
    HornPlane,
    Layout,
    Linkage,
    Steering,
    arm_angle,
    swing_limit,
    turns_right_round,
    wrapped,
)

GOLDEN: dict[str, Any] = json.loads((Path(__file__).parents[2] / "golden/chassis.json").read_text("utf-8"))
mm = 1e-3


def golden_linkage(**changes: Any) -> Linkage:
    """The linkage of the reference values: our own invention, in the order it is measured."""
    arm = math.radians(18.74)
    given: dict[str, Any] = {
        "layout": Layout.BELLCRANK,
        "wheelbase_m": 280 * mm,
        "kingpin_track_m": 190 * mm,
        "arm_end_m": (-22 * mm * math.cos(arm), -22 * mm * math.sin(arm)),
        "servo_m": (-95 * mm, 2 * mm, 0.0),
        "horn_m": 18 * mm,
        "crank_m": (-45 * mm, 0.0, 0.0),
        "crank_in_m": 20 * mm,
        "crank_out_m": 25 * mm,
        "stud_half_m": 8 * mm,
        "drag_m": 50 * mm,
        **changes,
    }
    return Linkage(**given)


@pytest.mark.parametrize("branch_and_answer", [(-1, 57.3248801), (1, -98.0049641)])
def test_one_arm_is_the_worked_four_bar(branch_and_answer: tuple[int, float]) -> None:
    """Worked: Freudenstein, links 40, 120, 80 and 100 with the crank at 40°; both ways to assemble it."""
    branch, answer = branch_and_answer
    driven = (40 * math.cos(math.radians(40)), 40 * math.sin(math.radians(40)), 0.0)
    found = arm_angle(driven=driven, pivot=(100.0, 0.0, 0.0), rod_m=120.0, arm_m=80.0, branch=branch)
    assert found is not None
    assert math.degrees(wrapped(found)) == pytest.approx(answer, abs=1e-6)


def test_swing_and_full_turn_are_as_published() -> None:
    """Worked: the reference four-bars; rocker of 2, 4, 3.5 on 5 swings 69.8°, printed by a solver's page."""
    limit = swing_limit(ground_m=110.0, input_m=30.0, coupler_m=60.0, output_m=40.0)
    assert limit is not None and math.degrees(limit) == pytest.approx(62.9643082, abs=1e-6)
    assert swing_limit(ground_m=5.0, input_m=2.0, coupler_m=4.0, output_m=3.5) is None
    # The rocker as input: the published swing is between the two lined-up places of crank and coupler.
    far = swing_limit(ground_m=5.0, input_m=3.5, coupler_m=4.0, output_m=2.0)
    assert far is not None
    near = math.acos((5.0**2 + 3.5**2 - (4.0 - 2.0) ** 2) / (2 * 5.0 * 3.5))
    assert math.degrees(far - near) == pytest.approx(69.8, abs=0.05)
    assert turns_right_round(lengths_m=(2.0, 4.0, 3.5, 5.0))
    assert not turns_right_round(lengths_m=(30.0, 60.0, 40.0, 110.0))


def test_tie_rods_are_as_long_as_straight_wheels_ask() -> None:
    """Worked: the reference linkage, 79.9363155 mm."""
    steering = Steering(golden_linkage())
    expected = GOLDEN["ST21_golden_linkage_lengths"]["outputs"]["tie_rod_mm"]
    assert [1e3 * rod for rod in steering.tie_m] == pytest.approx([expected, expected], abs=1e-9)


def solved(steering: Steering, servo_rad: float, start: np.ndarray) -> np.ndarray:
    """Bellcrank, left and right arm at once, from the rods' lengths alone: no closed form, other unknowns."""
    linkage = steering.linkage

    def gaps(angles: np.ndarray) -> list[float]:
        crank, left, right = angles
        horn = steering._horn_end(servo_rad)
        ball = np.array(linkage.crank_m) + abs(linkage.crank_in_m) * np.array(
            [math.cos(crank + steering.crank_straight), math.sin(crank + steering.crank_straight), 0.0]
        )
        loops = [np.linalg.norm(ball - np.array(horn)) - steering.drag_m]
        for side, wheel in enumerate((left, right)):
            turn = np.array([[math.cos(crank), -math.sin(crank)], [math.sin(crank), math.cos(crank)]])
            stud = np.array([linkage.crank_out_m, (1 - 2 * side) * linkage.stud_half_m])
            inner = np.array([*(np.array(linkage.crank_m[:2]) + turn @ stud), linkage.crank_m[2]])
            x, y = linkage.arm_end_m
            y *= 1 - 2 * side
            end = np.array(steering.kingpins[side]) + np.array(
                [
                    x * math.cos(wheel) - y * math.sin(wheel),
                    x * math.sin(wheel) + y * math.cos(wheel),
                    0.0,
                ]
            )
            loops.append(np.linalg.norm(end - inner) - steering.tie_m[side])
        return [float(gap) * 1e3 for gap in loops]

    found = root(gaps, start + 1e-3, tol=1e-13)  # a start of about 1e-16 would make its steps as small
    assert max(abs(gap) for gap in found.fun) < 1e-9
    return np.asarray(found.x)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"horn_plane": HornPlane.FORE_AND_AFT, "servo_m": (-95 * mm, 20 * mm, -18 * mm), "drag_m": None},
        {"arm_height_m": 9 * mm, "servo_m": (-95 * mm, 2 * mm, 6 * mm), "drag_m": None},
        {"tie_left_m": 81 * mm, "tie_right_m": 79 * mm},
    ],
    ids=["plane", "upright horn", "heights differ", "unequal rods"],
)
def test_the_closed_form_is_what_a_root_finder_finds(changes: dict[str, Any]) -> None:
    """Against: SciPy's root on the vector loops, followed in small steps from straight ahead to both ends."""
    steering = Steering(golden_linkage(**changes))
    straight = steering.at(0.0)
    assert straight is not None
    for way in (1, -1):
        start = np.array([straight.crank_rad, straight.left_rad, straight.right_rad])
        steps = 0
        for servo in np.radians(np.arange(0.0, 27.0, 1.5)) * way:
            here = steering.at(float(servo))
            if here is None:
                break
            start = solved(steering, float(servo), start)
            assert [here.crank_rad, here.left_rad, here.right_rad] == pytest.approx(list(start), abs=1e-9)
            steps += 1
        assert steps > 10


LAYOUTS: dict[str, dict[str, Any]] = {
    "bellcrank": {"servo_m": (-95 * mm, 0.0, 0.0), "drag_m": None, "crank_in_m": 18 * mm},
    "rack": {
        "layout": Layout.RACK,
        "stud_half_m": 20 * mm,
        "servo_m": (-95 * mm, 0.0, 0.0),
        "crank_in_m": 18 * mm,
    },
    "direct": {"layout": Layout.DIRECT, "servo_m": (-20 * mm, 0.0, 0.0), "crank_out_m": 1.0},
    "direct, upright": {
        "layout": Layout.DIRECT,
        "horn_plane": HornPlane.SIDEWAYS,
        "servo_m": (-20 * mm, 0.0, -18 * mm),
    },
}


@pytest.mark.parametrize("name", LAYOUTS)
@given(servo_deg=st.floats(0.1, 20.0))
@settings(max_examples=25, deadline=None)
def test_a_symmetric_linkage_steers_symmetric_angles(name: str, servo_deg: float) -> None:
    """Law: with the servo turned the other way, left and right wheel change places."""
    steering = Steering(golden_linkage(**{"drag_m": None, **LAYOUTS[name]}))
    one, other = steering.at(math.radians(servo_deg)), steering.at(-math.radians(servo_deg))
    assert (one is None) == (other is None)
    if one is None or other is None:
        return
    assert one.left_rad == pytest.approx(-other.right_rad, abs=1e-12)
    assert one.right_rad == pytest.approx(-other.left_rad, abs=1e-12)
    assert one.left_rad * one.right_rad > 0.0


def test_every_rod_keeps_its_length() -> None:
    """Law: rigid rods, in each layout, all the way to where it locks."""
    for changes in (*LAYOUTS.values(), {"layout": Layout.AXLE, "servo_m": (-30 * mm, -40 * mm, 0.0)}):
        steering = Steering(golden_linkage(**{"drag_m": None, **changes}))
        for degrees in range(-30, 31, 3):
            here = steering.at(math.radians(degrees))
            if here is None:
                continue
            pairs = list(zip(here.inner_m, here.outer_m, strict=True))
            lengths = [math.dist(inner, outer) for inner, outer in pairs]
            if steering.linkage.layout is Layout.AXLE:
                assert lengths == pytest.approx([steering.drag_m, steering.tie_m[1]], abs=1e-12)
            else:
                assert lengths == pytest.approx(steering.tie_m, abs=1e-12)
            if here.crank_in_end_m:
                assert math.dist(here.crank_in_end_m, here.horn_end_m) == pytest.approx(steering.drag_m)


def test_parallel_arms_turn_both_wheels_alike() -> None:
    """Law: straight steering arms and one tie rod as long as the track is wide are a parallelogram."""
    steering = Steering(
        golden_linkage(
            layout=Layout.AXLE, arm_end_m=(-22 * mm, 0.0), servo_m=(-30 * mm, -40 * mm, 0.0), drag_m=None
        )
    )
    for degrees in (-20, -5, 5, 20):
        here = steering.at(math.radians(degrees))
        assert here is not None and here.left_rad == pytest.approx(here.right_rad, abs=1e-12)


@pytest.mark.parametrize(
    ("changes", "sentence"),
    [
        ({"tie_left_m": 30 * mm}, "left steering rod of 30.0 mm cannot close"),
        ({"drag_m": 5 * mm}, "drag link of 5.0 mm cannot close"),
        ({"horn_m": 0.0}, "Servo horn"),
        ({"crank_in_m": 0.0}, "bellcrank arm of no length"),
        ({"arm_end_m": (0.0, 0.0)}, "steering arm of no length"),
    ],
)
def test_lengths_that_cannot_be_are_refused_with_what_to_do(changes: dict[str, Any], sentence: str) -> None:
    with pytest.raises(ImpossibleInput, match=sentence) as refused:
        Steering(golden_linkage(**changes))
    assert refused.value.way_out
