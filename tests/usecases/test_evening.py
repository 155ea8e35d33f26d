"""Several cars on one evening, and what is asked again after a run. Authority: law."""

from __future__ import annotations

import pytest

from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import TRUCK, as_the_tables_mean, facts, ran, with_truck, workshop_in_memory


def sheet_of(workshop: Workshop, **asked: object) -> Sheet:
    """A sheet with room for everything that is worth it."""
    return bench_sheet(workshop, Asked(minutes=120.0, **asked))  # type: ignore[arg-type]


@pytest.mark.slow
def test_a_pack_that_two_cars_share_is_looked_at_once_in_an_evening() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        keep(workshop, [draft_car(workshop, "Thistle", starter(workshop, TRUCK))])
        ran(workshop, "Bramble")
        clock.on(hours=1)
        ran(workshop, "Thistle", packs=("Bramble pack",))
        clock.on(days=2)
        looks = [check for check in sheet_of(workshop).checks if check.check == "pack_look"]
    assert [check.pack_name for check in looks] == ["Bramble pack"]


@pytest.mark.slow
@pytest.mark.parametrize(("ran_since", "asked_again"), [(False, False), (True, True)])
def test_a_check_answered_at_this_bench_is_asked_again_only_after_a_run(
    *, ran_since: bool, asked_again: bool
) -> None:
    with workshop_in_memory(as_the_tables_mean(facts())) as (workshop, clock):
        with_truck(workshop)
        for _ in range(5):
            ran(workshop, minutes="30", hits="many")
        clock.on(hours=1)
        keep(workshop, draft_found(workshop, FoundSaid("Bramble", "wheel_nuts")).entries)
        clock.on(hours=1)
        if ran_since:
            ran(workshop, minutes="30", hits="many")
        sheet = sheet_of(workshop)
        on_sheet = any(check.check == "wheel_nuts" for check in sheet.checks)
        reasons = {out.name: out.reason for out in sheet.left_out}
    assert on_sheet is asked_again
    assert (reasons.get("Check the wheel nuts are tight") == "answered at this bench") is not asked_again


def test_what_moved_is_of_the_last_bench_day_alone() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for check in ("wheel_nuts", "strap_pull"):
            for _ in range(3):
                ran(workshop, minutes="30", hits="many")
                clock.on(hours=1)
            keep(workshop, draft_found(workshop, FoundSaid("Bramble", check)).entries)
            clock.on(days=3)
        names = {moved.name for moved in sheet_of(workshop).moved}
    assert "Battery strap no longer holds" in names
    assert "Wheel nut loose" not in names
