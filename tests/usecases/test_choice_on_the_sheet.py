"""What the sheet says of its own choice: how near to the best it is; and what opening spoils is paid for.

Authority: laws.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from snugfast.upkeep import choosing
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import ran, with_truck, workshop_in_memory


@pytest.fixture(scope="module")
def driven() -> Iterator[Workshop]:
    """Two trucks with two days of gravel and hits behind them."""
    with workshop_in_memory() as (workshop, clock):
        for name in ("Bramble", "Thistle"):
            with_truck(workshop, name)
        for _ in range(2):
            clock.on(days=7)
            for name in ("Bramble", "Thistle"):
                ran(workshop, name, ground="gravel", hits="2", minutes="25")
        clock.on(days=1)
        yield workshop


def sheet_of(workshop: Workshop, minutes: float) -> Sheet:
    return bench_sheet(workshop, Asked(minutes=minutes))


def test_a_stopped_search_says_how_near_it_is_and_a_finished_one_says_nothing(
    driven: Workshop, monkeypatch: pytest.MonkeyPatch
) -> None:
    best = sheet_of(driven, 45.0)
    assert best.short_of_best == 0.0 and best.gap_words == ""
    monkeypatch.setattr(choosing, "MOST_NODES", 1)
    stopped = sheet_of(driven, 45.0)
    assert 0.0 < stopped.short_of_best < 0.1
    assert replace(stopped, short_of_best=0.0026).gap_words == ("Within 0.3 % of the best for these minutes.")
    assert replace(stopped, short_of_best=0.0009).gap_words == ""


def test_where_opening_a_way_would_spoil_much_it_stays_shut(driven: Workshop) -> None:
    """Only the harm differs: a planted fault that stops the car nearly every time it is opened."""

    def behind(sheet: Sheet) -> set[str]:
        return {check.key for check in sheet.checks if "gear_cover_off" in check.access}

    usual = driven.facts.access["gear_cover_off"]
    spoils = replace(usual, harm=0.9, roles=(*usual.roles, "wheel_nut", "pinion_screw", "motor_screw"))
    ways = {**driven.facts.access, usual.key: spoils}
    assert behind(sheet_of(driven, 45.0))
    assert not behind(sheet_of(replace(driven, facts=replace(driven.facts, access=ways)), 45.0))
