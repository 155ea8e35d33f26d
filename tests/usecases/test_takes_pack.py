"""A pack the car cannot take is asked back when it is logged, and stands on no sheet.

Authority: the sizes of the builds (cells the pack place and the speed controller are made for).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any
from uuid import UUID

import pytest

from snugfast.core.errors import WrongData
from snugfast.records.entries import Ran
from snugfast.records.ledger import PackRecord
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.log import draft_stands
from snugfast.usecases.packs.state import pack_now
from snugfast.usecases.shared.takes_pack import why_not
from tests.usecases.bench import facts
from tests.usecases.pack_bench import PACK, Bench

LIPO, LIHV, LIFE, NIMH = (
    "lithium-polymer",
    "high-voltage lithium",
    "lithium iron phosphate",
    "nickel-metal hydride",
)


@pytest.mark.parametrize(
    ("build", "chemistry", "cells", "takes"),
    [
        ("truck-1-10-4wd-3s", LIPO, 3, True),
        ("truck-1-10-4wd-3s", LIPO, 2, True),
        ("truck-1-10-4wd-3s", LIPO, 4, False),
        ("truck-1-10-4wd-3s", LIPO, 6, False),
        ("truck-1-10-4wd-3s", LIPO, 1, False),
        ("truck-1-10-4wd-3s", LIHV, 3, True),
        ("truck-1-10-4wd-3s", LIFE, 3, True),
        ("truck-1-10-4wd-3s", NIMH, 7, False),
        ("truck-1-5-4wd-8s", LIPO, 4, True),
        ("truck-1-5-4wd-8s", LIPO, 8, False),
        ("short-course-1-10-2wd-brushed", NIMH, 6, True),
        ("short-course-1-10-2wd-brushed", NIMH, 7, True),
        ("short-course-1-10-2wd-brushed", LIPO, 2, True),
        ("short-course-1-10-2wd-brushed", LIPO, 3, False),
    ],
)
def test_cells_and_chemistry_are_those_the_car_is_made_for(
    packs: Bench, build: str, chemistry: str, cells: int, takes: bool
) -> None:
    record: PackRecord = replace(pack_now(packs.workshop, PACK).record, chemistry=chemistry, cells=cells)
    assert (why_not(facts().starters[build], record) == "") is takes


def test_a_build_that_says_nothing_takes_what_it_is_given(packs: Bench) -> None:
    bare = replace(facts().starters["truck-1-10-4wd-3s"], traits={}, places=())
    assert why_not(bare, replace(pack_now(packs.workshop, PACK).record, cells=6)) == ""


@pytest.mark.parametrize(
    ("more", "words"),
    [
        ({"cells": "4"}, "has 4 cells in series and the car takes 3"),
        ({"chemistry": "nimh", "cells": "7"}, "NiMH"),
    ],
)
def test_a_run_with_a_pack_the_car_cannot_take_is_asked_back(
    packs: Bench, more: dict[str, Any], words: str
) -> None:
    packs.add_pack("Big", **more)
    with pytest.raises(WrongData) as refused:
        packs.ran("Big")
    (finding,) = refused.value.findings
    assert words in finding.problem and "Bramble" in finding.way_out
    with pytest.raises(WrongData, match="Big"):
        packs.stands("plugged in with the switch off", pack="Big", car="Bramble")
    packs.stands("unplugged", pack="Big")  # standing on the shelf asks for no car


def test_two_packs_in_a_car_for_one_are_asked_back(packs: Bench) -> None:
    from tests.usecases.bench import ran

    packs.add_pack("Ember 2")
    with pytest.raises(WrongData, match="takes one pack at a time"):
        ran(packs.workshop, packs=(PACK, "Ember 2"))


def test_a_pack_logged_so_long_ago_stands_on_no_sheet(packs: Bench) -> None:
    """An old journal may hold such a run; it is kept, and the sheet asks nothing of that pack."""
    packs.add_pack("Big", cells="6")
    car = next(iter(outlooks(packs.workshop, lambda ledger: list(ledger.cars.values())).cars)).car.id
    big: UUID = pack_now(packs.workshop, "Big").record.id
    keep(packs.workshop, [packs.workshop.entry(Ran(car=car, packs=(big,), running_min=10.0))])
    packs.clock.on(days=1)
    sheet = bench_sheet(packs.workshop, Asked(("Bramble",), minutes=60.0))
    assert "Big" not in {check.pack_name for check in sheet.checks}
    (outlook,) = outlooks(packs.workshop, lambda ledger: list(ledger.cars.values())).cars
    assert big not in {risk.pack for risk in outlook.risks}


def test_put_away_plugged_in_asks_the_car_it_was_last_known_in_too(packs: Bench) -> None:
    """An old journal may say that it ran there; a pack the car cannot take is not plugged in."""
    packs.add_pack("Big", cells="6")
    car = next(iter(outlooks(packs.workshop, lambda ledger: list(ledger.cars.values())).cars)).car.id
    big: UUID = pack_now(packs.workshop, "Big").record.id
    keep(packs.workshop, [packs.workshop.entry(Ran(car=car, packs=(big,), running_min=10.0))])
    packs.clock.on(hours=1)
    assert draft_stands(packs.workshop, "Big", "unplugged").entries
    with pytest.raises(WrongData, match="Big"):
        draft_stands(packs.workshop, "Big", "plugged in with the switch off")
