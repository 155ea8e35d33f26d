"""A damaged pack keeps its car's sheet shut until it is said to be out of the car.

Authority: the rule itself, seen from the door: no step stands on the sheet of such a car.
"""

from __future__ import annotations

import pytest

from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from tests.usecases.bench import with_truck
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def sheet(packs: Bench, *cars: str) -> Sheet:
    return bench_sheet(packs.workshop, Asked(cars or ("Bramble",), minutes=30.0))


def test_the_sheet_is_shut_while_a_damaged_pack_is_in_the_car(packs: Bench) -> None:
    packs.ran()
    packs.looked()
    assert sheet(packs).blocked == ()
    packs.hurt("dented")
    shut = sheet(packs)
    (block,) = shut.blocked
    assert block.car_name == "Bramble"
    assert "Ember 1 is damaged" in block.sentence
    assert "Take it out" in block.way_out
    assert any("fire service" in caution.text for caution in block.cautions)
    assert shut.steps == ()
    assert shut.cars == ()


def test_the_sheet_opens_when_the_pack_is_out_and_asks_nothing_of_that_pack(packs: Bench) -> None:
    packs.ran()
    packs.hurt("dented")
    packs.stands("unplugged")
    opened = sheet(packs)
    assert opened.blocked == ()
    assert opened.checks
    assert not [check for check in opened.checks if check.pack_name == PACK]


def test_another_pack_driven_in_the_car_says_that_the_first_is_out(packs: Bench) -> None:
    packs.ran()
    packs.hurt("dented")
    packs.add_pack("Ember 2")
    packs.ran(pack="Ember 2")
    assert sheet(packs).blocked == ()


def test_a_run_with_a_damaged_pack_is_kept_with_a_warning(packs: Bench) -> None:
    packs.hurt("dented")
    told = draft_runs(packs.workshop, (RunSaid("Bramble", (PACK,), "12"),))
    assert any("Ember 1 is out of use (dented or crushed)" in line for line in told.echo)
    packs.add_pack("Ember 2")
    sound = draft_runs(packs.workshop, (RunSaid("Bramble", ("Ember 2",), "12"),))
    assert not any("out of use" in line for line in sound.echo)


def test_only_the_car_with_the_pack_is_shut(packs: Bench) -> None:
    with_truck(packs.workshop, "Alder")
    packs.clock.on(days=1)
    packs.ran()
    packs.ran(name="Alder", pack="Alder pack")
    packs.hurt("dented")
    evening = sheet(packs, "Alder", "Bramble")
    assert [car.name for car in evening.cars] == ["Alder"]
    assert [block.car_name for block in evening.blocked] == ["Bramble"]


def test_water_shuts_it_too_and_the_way_back_opens_it(packs: Bench) -> None:
    packs.ran()
    packs.hurt("water in the plug")
    assert sheet(packs).blocked
    packs.clock.on(days=2)
    packs.cleared(by="dried for a day, no corrosion")
    assert sheet(packs).blocked == ()
