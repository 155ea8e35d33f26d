"""The rates of the tables are those of the cars that people drive.

Authority: judgement of the trade, elicited (tests/facts/trade); docs/knowledge.md says where we depart.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import replace
from math import exp
from pathlib import Path

import pytest
from scipy.stats import spearmanr

from snugfast.facts.load import load_facts
from snugfast.facts.model import Build, Clock, Event, Facts, Mode
from snugfast.usecases.shared.applicability import car_modes, kind_of_car, pack_modes

FACTS = load_facts()
TRUCK = FACTS.starters["truck-1-10-4wd-3s"]
TRADE = Path(__file__).parent / "trade" / "hours_between_defects.csv"

HITS_AN_HOUR = 15.0
AN_HOUR = {
    Clock.RUNNING_MIN: 60.0,
    Clock.HARD_HITS: HITS_AN_HOUR,
    Clock.PACKS: 5.0,
    Clock.WET_RUNS: 0.5,
    Clock.DAYS: 15.0,
}
WET_SHARE = 0.1

# Rows of the trade's column that others split or re-clocked since, with what the column meant.
NOT_COMPARED = {"pack_damaged"}


def defects_an_hour(mode: Mode, ground: str) -> float:
    """At one place of a car driven as the trade's column has it, with what its hits raise on average."""
    an_hour = AN_HOUR[mode.clock]
    if mode.clock is Clock.DAYS:
        return an_hour / mode.between_defects
    wet = mode.wet_factor.get("fresh water", 1.0)
    wetter = wet if mode.clock is Clock.WET_RUNS else 1.0 + WET_SHARE * (wet - 1.0)
    between_hits = an_hour / HITS_AN_HOUR
    raised = 1.0 + sum(
        (one.factor - 1.0) * one.decay / between_hits * (1.0 - exp(-between_hits / one.decay))
        for one in mode.raises
        if one.event is Event.HARD_HIT
    )
    return an_hour * mode.ground_factor.get(ground, 1.0) * wetter * raised / mode.between_defects


def hours(facts: Facts, build: Build, ground: str) -> dict[str, float]:
    """Hours of running between defects of each mode, all places of the car together."""
    rates: dict[str, float] = {}
    for mode in (*(mode for mode, _ in car_modes(facts, build)), *pack_modes(facts)):
        rates[mode.key] = rates.get(mode.key, 0.0) + defects_an_hour(mode, ground)
    return {key: 1.0 / rate for key, rate in rates.items()}


def trade_column() -> Mapping[str, float]:
    with TRADE.open(encoding="utf-8") as file:
        column = {row["mode"]: float(row["hours"]) for row in csv.DictReader(file)}
    assert len(column) == 50
    return {mode: value for mode, value in column.items() if mode not in NOT_COMPARED}


def test_the_tables_rank_what_fails_as_the_trade_does() -> None:
    trade, ours = trade_column(), hours(FACTS, TRUCK, "gravel")
    assert trade.keys() <= ours.keys()
    rank = spearmanr(list(trade.values()), [ours[mode] for mode in trade]).statistic
    assert rank >= 0.8, rank


def test_as_much_fails_in_an_hour_as_the_trade_says() -> None:
    trade, ours = trade_column(), hours(FACTS, TRUCK, "gravel")
    ratio = sum(1.0 / ours[mode] for mode in trade) / sum(1.0 / value for value in trade.values())
    assert 1 / 1.5 < ratio < 1.5, ratio


def test_no_rate_is_further_than_twice_from_the_trade() -> None:
    trade, ours = trade_column(), hours(FACTS, TRUCK, "gravel")
    far = {mode: (round(ours[mode], 1), value) for mode, value in trade.items()}
    assert not {mode: pair for mode, pair in far.items() if not 0.5 <= pair[0] / pair[1] <= 2.0}


def test_who_knows_dirt_knows_gravel_rocks_and_grass() -> None:
    blind = {
        key: sorted({"grass", "gravel", "rocks"} - mode.ground_factor.keys())
        for key, mode in FACTS.modes.items()
        if "dirt" in mode.ground_factor and not {"grass", "gravel", "rocks"} <= mode.ground_factor.keys()
    }
    assert not blind


def test_gravel_is_dustier_than_dirt_for_every_bearing() -> None:
    for key, mode in FACTS.modes.items():
        if key.endswith("bearing_worn"):
            assert mode.ground_factor["gravel"] > mode.ground_factor["dirt"], key


NYLON_BREAKS = (
    "arm_cracked",
    "carrier_cracked",
    "knuckle_cracked",
    "pin_block_cracked",
    "shock_tower_cracked",
    "wheel_cracked",
    "brace_cracked",
    "bumper_cracked",
    "body_post_cracked",
    "wing_torn",
    "wing_mount_cracked",
    "axle_housing_cracked",
    "pack_bar_open",
    "servo_gear_chipped",
    "slider_shaft_worn",
    "steering_ball_loose",
    "shock_end_loose",
)


@pytest.mark.parametrize("key", NYLON_BREAKS)
def test_frost_makes_all_nylon_brittle(key: str) -> None:
    assert FACTS.modes[key].cold is not None


def test_a_crawler_loses_fewer_nuts_and_more_yoke_screws_an_hour_than_a_truck() -> None:
    truck = hours(FACTS, TRUCK, "rocks")
    crawler = hours(FACTS, FACTS.starters["crawler-1-10-4wd-3s-brushed"], "rocks")
    assert crawler["wheel_nut_loose"] > 3.0 * truck["wheel_nut_loose"]
    assert crawler["cup_screw_loose"] < truck["cup_screw_loose"]


def test_a_car_that_does_not_say_its_kind_is_told_by_scale_and_drive() -> None:
    """Builds kept before cars had kinds have no such trait."""
    for key, kind in {
        "crawler-1-10-4wd-3s-brushed": "crawler",
        "touring-1-10-4wd-2s": "on-road",
        "truck-1-5-4wd-8s": "large",
        "buggy-1-8-4wd-4s": "buggy 1/8",
        "truck-1-10-4wd-3s": "truck",
    }.items():
        build = FACTS.starters[key]
        untold = replace(
            build, traits={name: is_ for name, is_ in build.traits.items() if name != "car_kind"}
        )
        assert kind_of_car(build) == kind_of_car(untold) == kind


def test_each_kind_of_car_in_the_duty_table_is_one_and_each_starter_says_its_kind() -> None:
    kinds = FACTS.traits["car_kind"].values
    for build in FACTS.starters.values():
        assert build.traits["car_kind"] in kinds
    assert all(duty.times.keys() <= kinds.keys() for duty in FACTS.duty.values())
