"""What people in the trade know, held against the sums. Authority: common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from snugfast.records.store.store import Store
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.workshop import Workshop
from tests.stories.shed import NOW, Clock, demo, ran, shed
from tests.usecases.bench import as_the_tables_mean

SET_SCREWS = {"Check the pinion and its set screw", "Check the set screws of the universal joints"}
FIVE_MINUTES = Asked(("Bramble",), minutes=5)


@pytest.fixture
def hard_driven() -> Iterator[tuple[Workshop, Clock]]:
    """A new truck, driven as the tables mean; `outing` adds three packs on gravel, a few hard hits each."""
    clock = Clock(NOW)
    with Store.create("sqlite://", clock=clock) as store:
        tables = as_the_tables_mean(demo().workshop.facts)
        workshop = Workshop(store, tables, clock, demo().workshop.author, "UTC")
        keep(workshop, [draft_car(workshop, "Bramble", starter(workshop, "truck-1-10-4wd-3s"))])
        keep(workshop, [draft_pack(workshop, PackSaid("Ember 1", "3", "5000 mAh"))])
        yield workshop, clock


def outing(workshop: Workshop, clock: Clock) -> None:
    """Three hard packs, and a week until the next."""
    clock.at += timedelta(days=7)
    for _ in range(3):
        clock.at += timedelta(minutes=40)
        ran(workshop, "Bramble", "Ember 1", hits="a few")


def weighed(sheet: Sheet) -> list[tuple[str, float, float]]:
    """What is no gate and fits into five minutes, best first: name, gain with the minutes unpaid, minutes."""
    minute = sheet.values.bench_minute / 100.0
    kept = [
        (check.name, check.gain.value, check.minutes)
        for check in sheet.checks
        if check.gain and not check.gate
    ]
    out = [(left.name, left.gain.value + minute * left.minutes, left.minutes) for left in sheet.left_out]
    return sorted((row for row in kept + out if row[2] <= 5.0), key=lambda row: -row[1])


def test_on_a_hard_driven_car_the_wheel_nuts_are_on_every_short_sheet(
    hard_driven: tuple[Workshop, Clock],
) -> None:
    """“Wheel nuts are looked at after every run, and on a hard-driven car they belong at or near the top.”"""
    for _ in range(2):
        outing(*hard_driven)
        sheet = bench_sheet(hard_driven[0], FIVE_MINUTES)
        assert "Check the wheel nuts are tight" in [check.name for check in sheet.checks]


def test_no_other_weighed_check_gives_as_much_for_its_minutes(hard_driven: tuple[Workshop, Clock]) -> None:
    outing(*hard_driven)
    rows = weighed(bench_sheet(hard_driven[0], FIVE_MINUTES))
    per_minute = {name: gain / minutes for name, gain, minutes in rows}
    best = sorted(per_minute, key=lambda name: -per_minute[name])
    assert "Check the wheel nuts are tight" in best[:4]


def test_set_screws_of_pinion_cups_and_shafts_come_next(hard_driven: tuple[Workshop, Clock]) -> None:
    """After the nuts; beside them stand only looks that take in many things. Cups wait for the body off."""
    outing(*hard_driven)
    outing(*hard_driven)
    names = [name for name, _, _ in weighed(bench_sheet(hard_driven[0], FIVE_MINUTES))]
    assert set(names[:12]) & SET_SCREWS
    longer = bench_sheet(hard_driven[0], Asked(("Bramble",), minutes=60))
    chosen = {check.check for check in longer.checks}
    assert "pinion_screw" in chosen
    assert chosen & {"joint_screws", "shaft_pins"}


def test_half_a_minute_on_the_nuts_is_worth_many_times_what_it_costs(
    hard_driven: tuple[Workshop, Clock],
) -> None:
    outing(*hard_driven)
    sheet = bench_sheet(hard_driven[0], FIVE_MINUTES)
    nuts = next(check for check in sheet.checks if check.check == "wheel_nuts")
    assert nuts.gain is not None
    assert nuts.gain.value > 3.0 * nuts.cost.value
    assert nuts.firm


def test_nuts_tried_after_the_last_run_need_no_second_look_before_the_next(tmp_path: Path) -> None:
    """Until the car runs again nothing can have changed."""
    with shed(tmp_path) as (workshop, clock):

        def nuts_gain() -> float:
            rows = {name: gain for name, gain, _ in weighed(bench_sheet(workshop, FIVE_MINUTES))}
            return rows.get("Check the wheel nuts are tight", 0.0)

        ran(workshop, "Bramble", "Ember 3", hits="a few")
        before = nuts_gain()
        keep(workshop, draft_found(workshop, FoundSaid("Bramble", "wheel_nuts")).entries)
        looked = nuts_gain()
        clock.at += timedelta(hours=1)
        ran(workshop, "Bramble", "Ember 2", hits="a few")
        assert looked < before and looked < nuts_gain()


def test_over_tight_is_a_fault_too_and_the_sheet_asks_for_it() -> None:
    check = demo().workshop.facts.checks["wheel_nuts"]
    assert any("must turn freely" in step for step in check.steps)
    assert "binding" in [answer.word for answer in check.answers]
    assert check.thread_lock.startswith("None")
