"""The pack that stands plugged in a car is the first line of its sheet. Authority: the trade."""

from __future__ import annotations

from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet
from tests.usecases.pack_bench import PACK, Bench


def sheet_of(packs: Bench) -> Sheet:
    return bench_sheet(packs.workshop, Asked(("Bramble",), minutes=20.0))


def test_a_pack_that_stands_plugged_in_comes_first_with_its_deadline(packs: Bench) -> None:
    packs.measured("3.80 3.80 3.80", rested="90")
    packs.stands("plugged in with the switch off", car="Bramble")
    packs.clock.on(days=1)
    (inside,) = sheet_of(packs).plugged_in
    assert inside.pack_name == PACK and inside.sure and not inside.switched_on
    assert inside.sentence.startswith(f"Unplug {PACK}: it stands in Bramble")
    assert inside.act_by is not None and "Store or recharge by" in inside.sentence
    assert inside.cautions
    packs.stands("unplugged")
    assert sheet_of(packs).plugged_in == ()


def test_one_left_switched_on_is_harder_than_one_with_the_switch_off(packs: Bench) -> None:
    packs.add_pack("Ember 2")
    packs.stands("plugged in with the switch off", pack="Ember 2", car="Bramble")
    packs.stands("left switched on", car="Bramble")
    first, second = sheet_of(packs).plugged_in
    assert first.pack_name == PACK and first.switched_on and "Switch Bramble off" in first.sentence
    assert second.pack_name == "Ember 2"


def test_after_a_run_it_is_asked_whether_the_pack_is_still_in(packs: Bench) -> None:
    packs.ran()
    packs.clock.on(hours=2)
    (inside,) = sheet_of(packs).plugged_in
    assert not inside.sure and "if it is still in Bramble" in inside.sentence


def test_another_car_is_not_told_of_it(packs: Bench) -> None:
    from snugfast.usecases.journal.cars import draft_car, starter
    from snugfast.usecases.journal.keeping import keep

    keep(
        packs.workshop,
        [draft_car(packs.workshop, "Quarry", starter(packs.workshop, "truck-1-10-4wd-3s"))],
    )
    packs.stands("plugged in with the switch off", car="Bramble")
    assert bench_sheet(packs.workshop, Asked(("Quarry",), minutes=20.0)).plugged_in == ()
