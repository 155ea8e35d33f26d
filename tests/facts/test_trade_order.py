"""The sums on our tables put first what people who repair such cars put first.

Authority: common practice, no source: wheel nuts, or what holds the wheels, come first; then the set screws
of pinion, cups and shafts. The ranking is that of bench/rank_checks.py, printed by running it.
"""

from __future__ import annotations

import importlib.util
import sys
from functools import cache
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from snugfast.facts.load import load_facts
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked

SCRIPT = Path(__file__).parents[2] / "bench" / "rank_checks.py"
FACTS = load_facts()
NUTS = {"wheel_nuts", "wheel_nuts_large"}
PINION = {"pinion_screw", "pinion_screw_open"}
OTHER_SET_SCREWS = {"cups_twist", "input_cups_twist", "joint_screws", "hex_screws"}


@cache
def rank_checks() -> ModuleType:
    spec = importlib.util.spec_from_file_location("rank_checks", SCRIPT)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["rank_checks"] = module
    spec.loader.exec_module(module)
    return module


@cache
def driven(key: str) -> Any:
    return rank_checks().driven_hard(FACTS, key)


def narrow(key: str) -> list[str]:
    """Checks by worth after their minutes, without the wide ones."""
    script = rank_checks()
    return [row.check.key for row in script.ranked(driven(key)) if row.check.key not in script.WIDE]


@pytest.fixture(params=sorted(FACTS.starters))
def build_key(request: pytest.FixtureRequest) -> str:
    return str(request.param)


def test_wheel_nuts_come_first_or_second(build_key: str) -> None:
    assert set(narrow(build_key)[:2]) & NUTS, narrow(build_key)[:6]


def test_the_pinion_screw_is_among_the_first(build_key: str) -> None:
    assert set(narrow(build_key)[:5]) & PINION, narrow(build_key)[:8]


def test_other_set_screws_are_worth_their_minutes(build_key: str) -> None:
    """As far as the car has any: a car with plastic shafts and no centre shaft has none."""
    worth = {row.check.key: row.net for row in rank_checks().ranked(driven(build_key))}
    there = OTHER_SET_SCREWS - {"hex_screws"} & worth.keys()  # the hexes only show with the wheels off
    assert all(worth[key] > 0 for key in there if key in worth)


def test_a_short_sheet_holds_nuts_and_set_screws(build_key: str) -> None:
    sheet = bench_sheet(driven(build_key), Asked(minutes=12))
    chosen = {check.check for check in sheet.checks}
    assert chosen & NUTS and chosen & PINION, chosen


def test_every_check_of_the_ranking_is_one_of_the_tables() -> None:
    assert set(FACTS.checks) >= rank_checks().WIDE


def test_a_servo_lead_fails_no_oftener_than_the_leads_and_plugs_beside_it() -> None:
    """Common practice: plugs creep out and power leads chafe; a servo lead, short and still, goes last."""
    modes, minutes_a_hit = FACTS.modes, 13 / 3
    lead = modes["servo_lead_damaged"]
    assert lead.between_defects >= modes["power_lead_chafed"].between_defects
    assert lead.between_defects >= modes["sensor_lead_damaged"].between_defects
    assert lead.between_defects > modes["receiver_plug_loose"].between_defects * minutes_a_hit
    seen_by = {check.key for check in FACTS.checks.values() for c in check.covers if c.mode == lead.key}
    assert {"leads_look", "receiver_plugs", "receiver_plugs_open", "steering_sweep"} == seen_by
