"""The climb of a pack's resistance, told from the journal.

Authority: a worked Theil–Sen example (eleven readings, one of them bad: 0.004875 mΩ per run, twice its start
after 613 runs with a 95 % band of 472 to 747), and the definitions of the wear table.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from statistics import median

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import NotKnown, RefusedAction
from snugfast.usecases.packs.climb import Climb
from snugfast.usecases.packs.past import CellReading
from snugfast.usecases.packs.state import PackSeen, pack_now
from snugfast.usecases.packs.trend import PackTrend, pack_trend, trend_of
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

WORKED = (3.02, 3.05, 3.11, 3.08, 3.19, 3.23, 3.27, 3.30, 3.41, 4.60, 3.49)


def seen_with(
    packs: Bench, series: tuple[float, ...], instrument: str = "meter", warmth: float = 25.0
) -> PackSeen:
    """The pack with a reading each ten runs, as if they had been logged."""
    seen = pack_now(packs.workshop, PACK)
    readings = tuple(
        CellReading(packs.clock.now + timedelta(days=n), 10 * n, (milliohm / 1000.0,) * 3, warmth, instrument)
        for n, milliohm in enumerate(series)
    )
    return replace(seen, past=replace(seen.past, readings=readings))


def trend(packs: Bench, series: tuple[float, ...] = WORKED, **more: object) -> PackTrend:
    return trend_of(seen_with(packs, series, **more))  # type: ignore[arg-type]


def test_the_worked_climb_and_its_crossings(packs: Bench) -> None:
    cell = trend(packs).cells[0]
    assert cell.growth.value == pytest.approx(0.004875e-3)
    assert cell.hard_driving_until is not None
    crossing = cell.hard_driving_until
    assert (crossing.low, crossing.value, crossing.high) == pytest.approx((472, 613, 747), abs=1)
    assert cell.watch_at is not None
    assert cell.watch_at.value == pytest.approx(306, abs=1)
    assert cell.done_at is not None
    assert cell.done_at.value > crossing.value
    assert cell.climbs
    assert "11 readings" in cell.sureness


def test_five_readings_are_no_trend_and_the_way_out_is_told(packs: Bench) -> None:
    told = trend(packs, WORKED[:5])
    assert told.cells == ()
    assert "a trend needs 6" in told.waiting


def test_nothing_is_announced_of_readings_that_do_not_climb(packs: Bench) -> None:
    told = trend(packs, (3.1, 3.0, 3.1, 3.0, 3.1, 3.0, 3.1))
    assert not told.cells[0].climbs
    assert told.cells[0].hard_driving_until is None


def test_instruments_are_never_mixed(packs: Bench) -> None:
    for n in range(2):
        packs.measured(resistances=f"3.{n} 3.1 3.0", instrument="meter", warmth="22")
    packs.measured(resistances="2.1 2.1 2.1", instrument="charger", warmth="22")
    told = pack_trend(packs.workshop, PACK)
    assert told.instrument == "meter"
    assert told.others == ("charger",)
    assert len(told.readings) == 2
    assert len(pack_trend(packs.workshop, PACK, instrument="Charger").readings) == 1
    with pytest.raises(NotKnown, match="never read"):
        pack_trend(packs.workshop, PACK, instrument="oracle")


def test_the_weak_cell_is_named(packs: Bench) -> None:
    packs.measured(resistances="3.0 3.1 6.0", instrument="meter", warmth="22")
    told = pack_trend(packs.workshop, PACK)
    assert [cell.place for cell in told.weak] == [3]
    assert packs.state().verdict == "retire"


def test_a_pack_twice_its_own_resistance_is_driven_gently_and_three_times_is_done(packs: Bench) -> None:
    for milliohm in ("3.0", "3.0", "3.0", "6.1", "6.2", "6.1"):
        packs.measured(resistances=" ".join([milliohm] * 3), instrument="meter", warmth="25")
    packs.looked()
    assert packs.state().verdict == "go easy"
    assert packs.state().wear.resistance_ratio == pytest.approx(2.03, abs=0.01)
    for _ in range(3):
        packs.measured(resistances="9.3 9.3 9.3", instrument="meter", warmth="25")
    state = packs.state()
    assert state.verdict == "retire"
    assert state.withheld
    assert state.wear.resistance_ratio is None  # words alone
    assert trend(packs).cells[0].hard_driving_until is None


def test_a_cold_reading_counts_as_what_it_would_be_at_room_warmth(packs: Bench) -> None:
    """5.20 mΩ at 5 °C is 2.911 mΩ at 25 °C (worked in the tables' source)."""
    for milliohm, warmth in (("2.911", "25"),) * 3 + (("5.20", "5"),) * 3:
        packs.measured(resistances=" ".join([milliohm] * 3), instrument="meter", warmth=warmth)
    assert packs.state().wear.resistance_ratio == pytest.approx(1.0, abs=0.001)


def test_a_damaged_pack_has_no_future_to_tell(packs: Bench) -> None:
    packs.measured(resistances="3.0 3.1 3.0", instrument="meter", warmth="22")
    packs.hurt("run over")
    with pytest.raises(RefusedAction, match="run over"):
        pack_trend(packs.workshop, PACK)


@given(st.lists(st.floats(1e-3, 9e-3), max_size=12))
def test_the_climb_keeps_enough_of_the_readings_to_say_what_all_of_them_say(ohms: list[float]) -> None:
    """*law*: first and last three, folded reading by reading, against the list they came from."""
    climb = Climb()
    for ohm in ohms:
        climb = climb.further(ohm)
    wanted = median(ohms[-3:]) / median(ohms[:3]) if len(ohms) > 3 else None
    assert climb.ratio == (None if wanted is None else pytest.approx(wanted))


def test_where_a_cell_stands_is_told_at_the_warmth_its_line_is_told_at(packs: Bench) -> None:
    """*Law*: a pack that never climbed stands where its line began, read at 15 °C or at 25 °C."""
    warm = trend_of(seen_with(packs, (3.0,) * 7, warmth=25.0))
    cold = trend_of(seen_with(packs, (3.97,) * 7, warmth=15.0))  # 1.323 times as much, at 20 kJ/mol
    for trend in (warm, cold):
        for cell in trend.cells:
            assert cell.now == pytest.approx(cell.as_new.value, rel=1e-6)
    assert cold.cells[0].now == pytest.approx(warm.cells[0].now, rel=1e-3)
