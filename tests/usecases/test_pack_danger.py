"""Nothing that can be typed about a charge may come out encouraging when it is dangerous.

Authority: the published limits as the table of pack limits has them (charge between 10 and 40 °C, no charge
of a cell below the floor of its chemistry, none above full) and common practice for the rest. The rows are
what a careful parent and a careless teenager typed.
"""

from __future__ import annotations

from typing import Any

import pytest

from snugfast.core.errors import BadInput
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.packs.charge import ChargePlan, Headline
from snugfast.usecases.packs.log import draft_stands
from snugfast.usecases.packs.store import StoreAsked, store_advice
from snugfast.usecases.packs.today import Urgency, packs_today
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

DO_NOT, RETIRE, NOT_NOW = Headline.DO_NOT_CHARGE, Headline.RETIRE, Headline.NOT_NOW
FULL, SLOWLY, FIRST, MAY = Headline.FULL, Headline.SLOWLY, Headline.FIRST, Headline.MAY
OTHERS = {
    "LiHV": {"chemistry": "high-voltage lithium"},
    "LiFe": {"chemistry": "lithium iron phosphate"},
    "NiMH": {"chemistry": "nickel-metal hydride", "cells": "6"},
}


def has_a_number(plan: ChargePlan) -> bool:
    figures = (plan.current, plan.minutes, plan.steady, plan.tail, plan.put_in, plan.until_V)
    return any(figure is not None for figure in figures) or bool(plan.bounds)


@pytest.mark.parametrize(
    ("typed", "headline"),
    [
        ({"volts": "3.00 4.20 4.20"}, DO_NOT),
        ({"volts": "3.05 3.80 4.15"}, DO_NOT),
        ({"volts": "2.99 3.00 3.01"}, DO_NOT),
        ({"volts": "2.49 3.30 3.30"}, DO_NOT),
        ({"volts": "0.00 3.70 3.70"}, DO_NOT),
        ({"volts": "4.26 4.20 4.20"}, DO_NOT),
        ({"volts": "4.25 4.24 4.24"}, FULL),
        ({"volts": "4.20 4.20 4.20"}, FULL),
        ({"volts": "4.18 4.19 4.19"}, FULL),
        ({"volts": "3.60 3.75 3.75"}, SLOWLY),
        ({"volts": "3.25 3.27 3.26"}, FIRST),
        ({"volts": "3.00 3.00 3.00"}, FIRST),
        ({}, NOT_NOW),  # nobody read its cells, and nobody knows how full it is
        ({"volts": "3.80 3.81 3.80", "warmth": "40.1"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": "42"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": "45"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": "55"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": "61"}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "warmth": "0"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": "9.9"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": "-5"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": "104 °F"}, MAY),  # 40 °C to the digit
        ({"volts": "3.80 3.81 3.80", "warmth": "105 °F"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "warmth": ""}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "set_cells": "4"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "set_cells": "2"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "set_cells": ""}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "set_chemistry": "LiHV"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "set_chemistry": "nimh"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "set_chemistry": ""}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "attended": "no"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "attended": ""}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "hard_surface": "no"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "hard_surface": ""}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "balance_plug": "no"}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "balance_plug": ""}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "found": ()}, NOT_NOW),
        ({"volts": "3.80 3.81 3.80", "found": ("puffed",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("a bit puffy",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("bloated",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("soft",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("dented",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("smells sweet",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("smoking",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("warm without having been used",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("wet",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("cut",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("damaged lead or plug",)}, DO_NOT),
        ({"volts": "3.80 3.81 3.80", "found": ("nothing", "puffed")}, DO_NOT),
        ({"volts": "3.80 3.81 3.80"}, MAY),
    ],
    ids=str,
)
def test_the_headline_is_the_hardest_answer(packs: Bench, typed: dict[str, Any], headline: Headline) -> None:
    plan = packs.plan(**typed)
    assert plan.headline is headline
    assert has_a_number(plan) is (headline in (MAY, SLOWLY, FIRST))
    if headline.stops:
        assert plan.refusals or plan.reasons


@pytest.mark.parametrize(
    "typed",
    [
        {"volts": "4.35 4.35 4.35"},
        {"volts": "38 38 38"},
        {"volts": "3.8 3.8"},
        {"volts": "11.4"},
        {"volts": "-3.8 3.8 3.8"},
    ],
    ids=str,
)
def test_volts_that_cannot_be_of_this_pack_are_asked_back(packs: Bench, typed: dict[str, str]) -> None:
    with pytest.raises(BadInput):
        packs.plan(**typed)


@pytest.mark.parametrize(
    ("kind", "volts", "headline"),
    [
        ("LiHV", "4.35 4.35 4.34", Headline.NO_PLAN),  # full, and right for it
        ("LiHV", "4.41 4.35 4.34", DO_NOT),
        ("LiHV", "2.99 3.00 3.00", DO_NOT),
        ("LiHV", "3.30 3.85 3.85", DO_NOT),
        ("LiHV", "", NOT_NOW),
        ("LiFe", "3.28 3.30 3.29", Headline.NO_PLAN),  # healthy
        ("LiFe", "3.60 3.60 3.59", Headline.NO_PLAN),
        ("LiFe", "3.71 3.60 3.60", DO_NOT),
        ("LiFe", "2.49 3.00 3.00", DO_NOT),
        ("LiFe", "2.60 2.60 2.60", Headline.NO_PLAN),
        ("LiFe", "", NOT_NOW),
        ("NiMH", "", Headline.NO_PLAN),
    ],
)
def test_each_chemistry_is_judged_by_its_own_volts(
    packs: Bench, kind: str, volts: str, headline: Headline
) -> None:
    packs.add_pack("Other", **OTHERS[kind])
    cells = OTHERS[kind].get("cells", "3")
    plan = packs.plan(pack="Other", volts=volts, set_cells=cells, set_chemistry=OTHERS[kind]["chemistry"])
    assert plan.headline is headline
    assert not has_a_number(plan)
    if headline is Headline.NO_PLAN:
        assert "label" in plan.note and not plan.refusals


def test_an_ordinary_cell_charged_like_another_chemistry_is_over_charged(packs: Bench) -> None:
    packs.add_pack("Fe", **OTHERS["LiFe"])
    with pytest.raises(BadInput, match=r"full at 3\.60 V"):
        packs.measured("3.80 4.10 4.20", pack="Fe", rested="90")
    packs.add_pack("HV", **OTHERS["LiHV"])
    packs.measured("4.34 4.35 4.35", pack="HV", rested="90")
    assert packs.state("HV").verdict != "do not charge"
    assert not packs.state("HV").damaged


def test_a_pack_left_plugged_in_for_a_season_asks_for_its_volts(packs: Bench) -> None:
    """Left full with the switch off, 88 days ago: it may be ruined, and nothing may cheer it on."""
    packs.looked()
    packs.charged("full")
    packs.stands("plugged in with the switch off", car="Bramble")
    packs.clock.on(days=88)
    plan = packs.plan()
    assert plan.headline is NOT_NOW and not has_a_number(plan)
    assert "volts" in {finding.where for finding in plan.refusals}
    todo = [todo for todo in packs_today(packs.workshop).todo if todo.pack_name == PACK]
    assert not [one for one in todo if "has been full for" in one.why]


def test_a_full_pack_left_unplugged_is_still_full_after_a_month(packs: Bench) -> None:
    packs.charged("full")
    packs.stands("unplugged")
    packs.clock.on(days=30)
    todo = [todo for todo in packs_today(packs.workshop).todo if todo.pack_name == PACK]
    assert [one for one in todo if "has been full for" in one.why]


@pytest.mark.parametrize("shelf", ["45.1", "60", "75", "200"])
def test_no_pack_is_stored_in_the_heat(packs: Bench, shelf: str) -> None:
    packs.measured("3.80 3.80 3.80", rested="90")
    with pytest.raises(BadInput, match="cool, dry place"):
        store_advice(packs.workshop, StoreAsked(PACK, "60 days", shelf=shelf))


def test_a_pack_put_away_in_the_heat_is_to_be_moved_now(packs: Bench) -> None:
    packs.measured("3.80 3.80 3.80", rested="90")
    assert "cool, dry place" in draft_stands(packs.workshop, PACK, "unplugged", shelf="48").echo[-1]
    packs.stands("unplugged", shelf="48")
    first = packs_today(packs.workshop).todo[0]
    assert (first.urgency, first.pack_name) == (Urgency.NOW, PACK)
    assert "48 °C" in first.why
    packs.stands("unplugged", shelf="45")
    assert not [todo for todo in packs_today(packs.workshop).todo if "cool, dry" in todo.what]


def test_a_cold_shelf_is_no_reason_to_retire_a_pack(packs: Bench) -> None:
    packs.looked()
    packs.measured("3.80 3.80 3.80", rested="90")
    packs.stands("unplugged", shelf="-5")
    state = packs.state()
    assert not state.withheld and state.charge is not None
    assert "Retire it." not in [todo.what for todo in packs_today(packs.workshop).todo]


@pytest.mark.parametrize(
    ("volts", "apart"),
    [("3.80 3.83 3.83", False), ("3.80 3.831 3.83", True)],
)
def test_thirty_millivolts_are_thirty_millivolts(packs: Bench, volts: str, apart: bool) -> None:
    """The line is the table's own; in whole millivolts, as meters show them."""
    packs.measured(volts, rested="90")
    assert bool([r for r in packs.state().reasons if "apart" in r.says]) is apart


def test_cells_far_apart_get_what_a_balancer_can_even_out(packs: Bench) -> None:
    plan = packs.plan(volts="3.60 3.75 3.75")
    assert plan.current is not None and plan.current.value == pytest.approx(0.5)
    assert plan.minutes is not None and plan.minutes.value > 5 * 3600


def test_the_cut_off_check_names_no_chemistry_a_pack_has_not(packs: Bench) -> None:
    packs.add_pack("Fe", **OTHERS["LiFe"])
    for _ in range(4):
        packs.ran()
    sheet = bench_sheet(packs.workshop, Asked(("Bramble",), minutes=300.0))
    (check,) = [check for check in sheet.checks if check.check == "cut_off_setting"]
    assert "label of the pack" in " ".join(check.steps)
    assert "must say lithium polymer" not in " ".join(check.steps)


def test_every_volt_of_the_checks_stands_in_the_table_of_limits(packs: Bench) -> None:
    """One floor, one row: what the check says is what the charge plan does."""
    facts = packs.workshop.facts
    told = facts.checks["pack_voltages"]
    assert "a cell under 3.00 V, or one over 4.25 V: do not charge" in told.bad
    assert "a cell under 3.00 V, or one over 4.40 V" in told.worded_for("high-voltage lithium").bad
    life = told.worded_for("lithium iron phosphate")
    assert "a cell under 2.50 V, or one over 3.70 V" in life.bad and "3.2 to 3.35 V" in life.good
    assert "4.2" not in life.good + life.bad + " ".join(life.steps)


@pytest.mark.parametrize(
    "typed",
    [
        {"volts": "3.20 4.10 4.10"},
        {"volts": "3.20 3.22 3.22", "found": ("puffed",)},
        {"volts": "3.70 3.75 3.75", "found": ("dented",)},
        {"volts": "4.26 4.20 4.05"},
    ],
    ids=str,
)
def test_nothing_under_do_not_charge_advises_a_charge(packs: Bench, typed: dict[str, Any]) -> None:
    plan = packs.plan(**typed)
    assert plan.headline is DO_NOT
    ways = " ".join(reason.way_back for reason in plan.reasons).casefold()
    assert "charge it" not in ways.replace("do not charge it", "") and "balance-charge" not in ways
