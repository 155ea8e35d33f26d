"""Twelve breakdowns as they happen, told by hand: the hunt ends at the cause, soon, with what the car has.

Authority: *practice*. What each test shows was written down for the fault at hand, not read off the tables;
where a story says nothing of a test, nothing was wrong there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import pytest

from snugfast.records.entries import HuntSaid, HuntStep
from snugfast.usecases.hunt.reasoning import Reasoning
from tests.usecases.bench import facts
from tests.usecases.hunt_cars import begun

FEW = 5.0  # tests, in the mean of the stories
MOST = 12  # in any of them


@dataclass(frozen=True)
class Breakdown:
    """What was wrong on which car, what it did, and what the tests showed."""

    car: str
    does: str
    cause: str
    shows: Mapping[str, str] = field(default_factory=dict)


STORIES = [
    Breakdown(
        "truck-1-10-4wd-3s",
        "wheels_still",
        "pinion_loose",
        {
            "touch_throttle": "Motor turns, spur stands still",
            "pinion_screw": "Pinion turns on its shaft, or the screw turns",
            "mesh_play": "Pinion turns or slides on its shaft",
        },
    ),
    Breakdown(
        "truck-1-10-4wd-3s",
        "cuts_out_load",
        "cell_collapses",
        {
            "rest_volts": "One cell well below the others",
            "other_battery": "Now it’s fine",
            "volts_under_load": "One cell drops far below the others",
        },
    ),
    Breakdown(
        "mini-1-18-4wd-2s",
        "motor_silent",
        "motor_wire",
        {
            "wires": "A motor connector moves or is half out",
            "touch_throttle": "Motor silent and still",
        },
    ),
    Breakdown(
        "touring-1-10-4wd-2s",
        "clicks",
        "belt",
        {
            "belts": "Slack, skips or teeth gone",
            "hold_wheels": "Clicks and jumps",
            "push_along": "A click each turn",
        },
    ),
    Breakdown(
        "buggy-1-10-2wd-2s-ball-diff",
        "diff_noise",
        "ball_diff_loose",
        {
            "diff_listen": "Slips with a gritty feel",
            "launches": "Motor revs, car hardly moves, no wheel spin",
            "turn_wheel": "The other wheel turns back far too easily",
        },
    ),
    Breakdown(
        "monster-1-8-4wd-6s",
        "pulls",
        "toe_out",
        {
            "ruler": "Toe or camber differs",
            "roll_straight": "The front wheels point aside",
            "walking_pace": "Pulls to a side driving and rolling",
        },
    ),
    Breakdown(
        "short-course-1-10-2wd-3s",
        "no_steering",
        "servo_gears",
        {
            "lock_to_lock": "Servo whirs, horn doesn’t follow",
            "steer_by_hand": "It skips or turns with no servo",
            "link_off": "Servo output turns freely",
        },
    ),
    Breakdown(
        "crawler-1-10-4wd-3s-brushed",
        "glitches_far",
        "tx_batteries",
        {"transmitter": "Batteries low", "walk_away": "It twitches near already"},
    ),
    Breakdown(
        "truck-1-5-4wd-8s",
        "one_wheel",
        "shaft_out",
        {
            "touch_throttle": "One wheel stays still",
            "turn_wheel": "Axle turns, the shaft stays",
            "drive_joints": "A shaft is out or its pin is gone",
        },
    ),
    Breakdown(
        "on-road-1-10-4wd-shaft-brushed",
        "slow",
        "mesh_tight",
        {
            "mesh_play": "No backlash",
            "push_along": "Stiff all the time",
            "mesh_apart": "Both free now, stiff before",
        },
    ),
    Breakdown(
        "drift-1-10-2wd-2s",
        "esc_hot",
        "fan",
        {
            "fan_turns": "It stands still, or the ribs are blocked",
            "temperatures": "ESC far hotter than the motor",
        },
    ),
    Breakdown(
        "buggy-1-8-4wd-4s",
        "smoke",
        "wire_chafed",
        {
            "smell": "Burnt smell or melted plastic at the ESC or its wires",
            "wires": "Insulation rubbed through",
            "strap": "A wire is rubbed",
        },
    ),
]


def hunted(story: Breakdown) -> list[str]:
    """The tests of a hunt, until the cause is named."""
    reasoning, done = begun(story.car, story.does), []
    while len(done) < MOST:
        test, _ = reasoning.next
        if test:
            done.append(test)
            word = story.shows.get(test)
            step = HuntStep(HuntSaid.SHOWN, test, word) if word else HuntStep(HuntSaid.NOTHING_WRONG, test)
        else:
            cause = reasoning.to_mend()
            if cause == story.cause:
                return done
            assert cause, f"{story.cause} was never named"
            done.append(f"looked at {cause}")
            step = HuntStep(HuntSaid.NOT_IT, cause=cause)
        _check_it_can_be_done(reasoning, test)
        reasoning = reasoning.further(step)
    raise AssertionError(f"{story.cause} was not named after {done}")


def _check_it_can_be_done(reasoning: Reasoning, key: str) -> None:
    """The car has what the test is about, and nothing is powered that must not be."""
    if not key:
        return
    test = reasoning.facts.hunt_tests[key]
    roles = {place.role for place in reasoning.build.places}
    assert not test.roles or roles & set(test.roles), key
    assert all(reasoning.build.traits.get(k) in v.split("|") for k, v in test.traits.items()), key
    assert reasoning.may_power or not test.where.is_powered, key


def test_each_story_says_what_the_tables_know() -> None:
    tests = facts().hunt_tests
    for story in STORIES:
        assert story.cause in facts().hunt_causes and story.does in facts().hunt_symptoms
        for key, word in story.shows.items():
            assert word in [answer.word for answer in tests[key].answers], (key, word)


def test_twelve_breakdowns_end_at_their_cause_in_few_tests() -> None:
    took = {f"{story.car}: {story.cause}": hunted(story) for story in STORIES}
    told = "\n".join(f"{len(tests)} {name}: {', '.join(tests)}" for name, tests in took.items())
    mean = sum(map(len, took.values())) / len(took)
    assert mean <= FEW, f"{mean:.2f} tests in the mean\n{told}"
    print(f"{mean:.2f} tests in the mean\n{told}")


@pytest.mark.parametrize("story", [one for one in STORIES if one.does == "smoke"], ids=["smoke"])
def test_nothing_is_powered_after_smoke(story: Breakdown) -> None:
    tests = hunted(story)
    assert tests[:2] == ["cold_and_out", "battery_case"]
    assert not any(facts().hunt_tests[key].where.is_powered for key in tests if key in facts().hunt_tests)
