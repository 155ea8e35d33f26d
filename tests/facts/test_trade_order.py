"""The sums on our tables put first what people who repair such cars put first.

Authority: judgement of the trade, elicited: on a fast car the wheel nuts are never left out, and the pinion
screw stands among the first; on a crawler it is servo horn and mount, beadlock screws, links, portals and the
set screws of the yokes, and not the nuts. The ranking is that of bench/rank_checks.py, printed by running it.
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
from snugfast.usecases.shared.applicability import kind_of_car
from tests.usecases.bench import as_the_tables_mean

SCRIPT = Path(__file__).parents[2] / "bench" / "rank_checks.py"
FACTS = load_facts()
NUTS = {"wheel_nuts", "wheel_nuts_large"}
PINION = {"pinion_screw", "pinion_screw_open"}


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
    """Driven hard, by the driver whom the tables mean: here nothing breaks, which would say a mild one."""
    return rank_checks().driven_hard(as_the_tables_mean(FACTS), key)


def narrow(key: str) -> list[str]:
    """Checks by worth after their minutes, without the wide ones."""
    script = rank_checks()
    return [row.check.key for row in script.ranked(driven(key)) if row.check.key not in script.WIDE]


FAST = sorted(
    key for key, build in FACTS.starters.items() if kind_of_car(build) not in ("crawler", "beginner")
)
CRAWLER = "crawler-1-10-4wd-3s-brushed"


@pytest.mark.slow
@pytest.mark.parametrize("key", FAST)
def test_wheel_nuts_are_worth_their_minutes_on_a_fast_car(key: str) -> None:
    worth = {row.check.key: row.net for row in rank_checks().ranked(driven(key))}
    assert all(worth[check] > 0 for check in NUTS & worth.keys())


@pytest.mark.slow
@pytest.mark.parametrize("key", FAST)
def test_the_pinion_screw_is_among_the_first_on_a_fast_car(key: str) -> None:
    assert set(narrow(key)[:10]) & PINION, narrow(key)[:10]


HARD = [key for key in FAST if kind_of_car(FACTS.starters[key]) in ("truck", "buggy 1/8", "monster", "large")]


@pytest.mark.slow
@pytest.mark.parametrize("key", HARD)
def test_a_short_sheet_of_a_hard_driven_car_holds_nuts_and_pinion(key: str) -> None:
    chosen = {check.check for check in bench_sheet(driven(key), Asked(minutes=20)).checks}
    assert chosen & NUTS and chosen & PINION, chosen


@pytest.mark.slow
def test_on_a_crawler_servo_rings_links_portals_and_yokes_come_before_the_nuts() -> None:
    order = narrow(CRAWLER)
    first = ["servo_wiggle", "ring_screws", "axle_links_look", "portal_turn", "servo_screws_metal"]
    assert set(order[:6]) >= {"servo_wiggle", "ring_screws", "axle_links_look"}, order[:8]
    before = order[: order.index("wheel_nuts")]
    assert len([key for key in first if key in before]) >= 4, order[:12]
    gain = {row.check.key: row.gain for row in rank_checks().ranked(driven(CRAWLER))}
    assert max(gain["cups_twist"], gain["input_cups_twist"]) > gain["wheel_nuts"]


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
