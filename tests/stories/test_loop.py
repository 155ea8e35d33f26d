"""The loop on the demo: a sheet, what was found, and the next sheet that says what moved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet, SheetCheck
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.workshop import Workshop
from tests.stories.shed import Clock, ran, shed

pytestmark = pytest.mark.slow
SHORT = Asked(("Bramble",), minutes=12)


def nuts(sheet: Sheet) -> SheetCheck | None:
    """The wheel nuts on a sheet, if they are there."""
    return next((check for check in sheet.checks if check.check == "wheel_nuts"), None)


def hard_outing(workshop: Workshop, clock: Clock) -> None:
    """Three hard packs on gravel."""
    for pack in ("Ember 2", "Ember 3", "Ember 4"):
        clock.at = clock.at.replace(hour=clock.at.hour + 1)
        ran(workshop, "Bramble", pack, hits="a few")


def answer(workshop: Workshop, check: str, *words: str) -> None:
    """Keep the answer to one check."""
    keep(workshop, draft_found(workshop, FoundSaid("Bramble", check, words)).entries)


def test_a_nut_found_loose_moves_the_next_sheet_and_the_sheet_says_so(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, clock):
        hard_outing(workshop, clock)
        longer = replace(SHORT, minutes=60.0)
        first = bench_sheet(workshop, longer)
        on_first = nuts(first)
        assert on_first is not None
        answer(workshop, "wheel_nuts", "loose @ front left: put right")
        second = bench_sheet(workshop, longer)
        moved = next(line for line in second.moved if line.name == "Wheel nut loose")
        assert moved.how == "loose"
        assert moved.after < moved.before
        on_second = nuts(second)
        assert on_second is None or on_second.why[0].belief.value < on_first.why[0].belief.value
        assert second.checks != first.checks


def test_what_was_found_sound_leaves_minutes_for_other_things(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, clock):
        hard_outing(workshop, clock)
        first = bench_sheet(workshop, replace(SHORT, minutes=20.0))
        weighed = [check for check in first.checks if not check.gate and check.pack is None]
        assert weighed
        for check in weighed:
            answer(workshop, check.check, "sound")
        second = bench_sheet(workshop, SHORT)
        again = {check.check for check in second.checks} & {check.check for check in weighed}
        assert not again
        assert second.cars[0].stop_chance.value < first.cars[0].stop_chance.value


def test_a_tick_without_looking_moves_less_than_a_look(tmp_path: Path) -> None:
    def after(words: str, name: str) -> tuple[float, float]:
        (tmp_path / name).mkdir()
        with shed(tmp_path / name) as (workshop, clock):
            hard_outing(workshop, clock)
            bench_sheet(workshop, SHORT)
            answer(workshop, "wheel_nuts", words)
            sheet = bench_sheet(workshop, SHORT)
            line = next(line for line in sheet.moved if line.name == "Wheel nut loose")
            return line.before, line.after

    before, looked = after("sound", "looked")
    _, ticked = after("ticked", "ticked")
    assert looked < ticked < before


def test_a_sheet_for_the_whole_evening_is_for_every_car_that_is_here(tmp_path: Path) -> None:
    with shed(tmp_path) as (workshop, _):
        sheet = bench_sheet(workshop, Asked(minutes=40))
        assert [car.name for car in sheet.cars] == ["Bramble", "Nettle", "Sorrel", "Thistle"]
        assert sheet.minutes <= 40
        assert all(0.0 < car.stop_chance_after.value < car.stop_chance.value < 1.0 for car in sheet.cars)
