"""How full a pack is, by when to act, what to do today; and that a damaged pack is given words alone.

Authority: laws (earlier with drain, warmth and a wider band; charge never outside 0 to 1), the drain sums
worked in tests/physics, and the trade's own facts: about 5 % a month from full, the switch off is not
unplugged, low voltage is worst, and without a storage function full is better than low.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import fields, is_dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.cli.doorway import plain
from snugfast.core.figures import Figure
from snugfast.core.ids import compose
from snugfast.physics.packs.charge_left import Flag
from snugfast.records.entries import (
    Entry,
    Fact,
    Finish,
    PackCharged,
    PackMeasured,
    PackStands,
    Ran,
    SettingChanged,
    Stands,
)
from snugfast.records.ledger import PackRecord
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.past import PackPast, pack_past
from snugfast.usecases.packs.register import draft_charger_left
from snugfast.usecases.packs.state import DRAIN_SETTING, packs_now
from snugfast.usecases.packs.today import Urgency, packs_today
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from tests.usecases.bench import with_truck
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

START = datetime(2026, 5, 1, 12, 0, tzinfo=UTC)
ME, OWN, CAR = (compose(1, bytes([n]) * 10) for n in (1, 2, 3))
RECORD = PackRecord(OWN, PACK, "lithium-polymer", 3, 5.0, START)
HALF = "3.79 3.79 3.79"


def entry(hours: float, fact: Fact) -> Entry:
    at = START + timedelta(hours=hours)
    id = compose(int(at.timestamp() * 1000), bytes(10))
    return Entry(id=id, happened_at=at, recorded_at=at, author=ME, fact=fact)


def past(*told: tuple[float, Fact], until_h: float, drain: Any = None) -> PackPast:
    entries = [entry(hours, fact) for hours, fact in told]
    return pack_past(RECORD, entries, until=START + timedelta(hours=until_h), drain_A=drain)


def figures_in(value: object) -> Iterator[Figure]:
    if isinstance(value, Figure):
        yield value
    elif isinstance(value, tuple):
        for item in value:
            yield from figures_in(item)
    elif is_dataclass(value) and not isinstance(value, type):
        for field in fields(value):
            yield from figures_in(getattr(value, field.name))


FULL = PackCharged(OWN, Finish.FULL)
REST = PackMeasured(OWN, (3.79, 3.79, 3.79), 90.0)


def test_a_full_pack_loses_up_to_five_percent_in_a_month() -> None:
    """The trade's figure is the low end of the band; the likely 2 % and the least 0.3 % stand beside it."""
    warm = PackStands(OWN, Stands.UNPLUGGED, shelf_degC=25.0)
    full, month = past((0, FULL), until_h=0), past((0, FULL), (0.01, warm), until_h=730.5)
    assert full.lowest is not None
    assert month.lowest is not None
    assert full.lowest.charge.likely - month.lowest.charge.likely == pytest.approx(0.02, abs=1e-4)
    assert full.lowest.charge.low - month.lowest.charge.low == pytest.approx(0.0235 / 2 + 0.02, abs=0.012)


def test_a_rest_reading_is_weighed_against_the_count() -> None:
    counted = past((0, FULL), (1, Ran(CAR, (OWN,), 12.0)), until_h=3)
    read = past((0, FULL), (1, Ran(CAR, (OWN,), 12.0)), (3, REST), until_h=3)
    assert counted.lowest is not None
    assert read.lowest is not None
    wide = counted.lowest.charge.high - counted.lowest.charge.low
    narrow = read.lowest.charge.high - read.lowest.charge.low
    assert narrow < wide / 2
    assert "rest voltage" in read.lowest.estimates[0].said_by


def test_a_counted_run_and_its_recharge_leave_the_charge_where_it_was() -> None:
    told = past((0, FULL), (1, Ran(CAR, (OWN,), 12.0, put_back_Ah=4.0)), until_h=1)
    assert told.lowest is not None
    assert told.lowest.charge.likely == pytest.approx(1.0, abs=1e-3)
    assert told.lowest.charge.low < 0.97


def test_what_a_run_took_is_put_back_when_it_was_logged_and_not_before() -> None:
    """A rest reading between the run and the evening's charge is no contradiction."""
    run = replace(entry(1, Ran(CAR, (OWN,), 12.0, put_back_Ah=4.0)), recorded_at=START + timedelta(hours=20))
    low = entry(4, PackMeasured(OWN, (3.69, 3.69, 3.69), 120.0))
    full = entry(0, FULL)
    before, after = (
        pack_past(RECORD, [full, run, low], until=START + timedelta(hours=hours)) for hours in (5, 30)
    )
    assert before.lowest is not None
    assert after.lowest is not None
    assert Flag.DISAGREE not in before.lowest.flags
    assert before.lowest.charge.likely == pytest.approx(0.2, abs=0.06)
    assert after.lowest.charge.likely == pytest.approx(1.0, abs=0.06)
    logged = entry(19, PackCharged(OWN, Finish.FULL, 4.0))  # the same charge, logged by itself
    once = pack_past(RECORD, [full, run, low, logged], until=START + timedelta(hours=30))
    assert once.lowest is not None
    assert Flag.ABOVE_FULL not in once.lowest.flags


def test_the_lowest_cell_is_the_one_that_counts() -> None:
    told = past((0, PackMeasured(OWN, (3.85, 3.72, 3.85), 90.0)), until_h=0)
    assert told.lowest == told.cells[1]


def test_a_count_from_low_to_full_tells_the_capacity() -> None:
    """3.70 V is 20.9 % of the curve, so 3.6 Ah to full say 4.55 Ah."""
    low = PackMeasured(OWN, (3.70, 3.70, 3.70), 90.0, temperature_degC=25.0)
    told = past((0, low), (1, PackCharged(OWN, Finish.FULL, 3.6)), until_h=1)
    assert told.counted_Ah == (pytest.approx(3.6 / (1 - 0.209), rel=0.005),)
    assert told.calibrated
    unread = past((0, FULL), (1, Ran(CAR, (OWN,), 12.0)), (2, PackCharged(OWN, Finish.FULL, 3.6)), until_h=3)
    assert unread.counted_Ah == ()


def test_two_readings_of_a_plugged_in_pack_tell_what_its_car_draws() -> None:
    """Worked in tests/physics: 3.95 to 3.85 V in 10 days, 5 Ah, 2 % a month: 2.45 mA. Here at 20 °C."""
    off = PackStands(OWN, Stands.PLUGGED_SWITCH_OFF, CAR, shelf_degC=25.0)
    one, other = (PackMeasured(OWN, (volts,) * 3, 90.0, temperature_degC=25.0) for volts in (3.95, 3.85))
    told = past((0, one), (0.1, off), (240, other), until_h=240)
    capacity_C = told.capacity_C.likely
    assert told.drain_A[CAR].likely == pytest.approx(2.450e-3 * capacity_C / 18000, rel=0.01)
    assert told.drain_A[CAR].low < told.drain_A[CAR].likely < told.drain_A[CAR].high
    unplugged = past((0, one), (240, other), until_h=240)
    assert not unplugged.drain_A


FACTS = st.lists(
    st.sampled_from(
        [
            FULL,
            REST,
            PackCharged(OWN, Finish.STORAGE, -1.2),
            PackCharged(OWN, Finish.PART, 1.5),
            PackCharged(OWN, Finish.PART),
            PackMeasured(OWN, (2.95, 3.1, 4.21), 65.0, (0.003, 0.004, 0.003), "meter", 21.0),
            PackMeasured(OWN, (3.6, 3.61, 3.62), 15.0),
            Ran(CAR, (OWN,), 12.0),
            Ran(CAR, (OWN,), 12.0, put_back_Ah=4.4),
            PackStands(OWN, Stands.SWITCHED_ON, CAR),
            PackStands(OWN, Stands.PLUGGED_SWITCH_OFF, CAR),
            PackStands(OWN, Stands.UNPLUGGED),
        ]
    ),
    max_size=9,
)


@given(FACTS, st.floats(0.0, 2000.0))
def test_charge_never_leaves_zero_to_one_whatever_happened(facts: list[Fact], hours: float) -> None:
    told = past(*((n * 7.0, fact) for n, fact in enumerate(facts)), until_h=7.0 * len(facts) + hours)
    for cell in told.cells:
        assert 0.0 <= cell.charge.low <= cell.charge.likely <= cell.charge.high <= 1.0
    assert told.capacity_C.low > 0.0


def early(packs: Bench, how: str) -> float:
    (case,) = [case for case in packs.state().cases if case.left.value == how]
    assert case.act.low is not None
    return case.act.low


UNPLUGGED, OFF, ON = (stands.value for stands in Stands)


def test_act_by_comes_earlier_with_drain(packs: Bench) -> None:
    packs.measured(HALF, rested="90")
    assert early(packs, UNPLUGGED) > 20 * early(packs, OFF) > 20 * early(packs, ON)
    assert early(packs, ON) < 8 * 3600.0  # left switched on: hours


def test_act_by_comes_earlier_when_warm_and_with_a_wider_band(packs: Bench) -> None:
    packs.measured(HALF, rested="90")
    packs.stands("unplugged", shelf="20")
    cool = early(packs, UNPLUGGED)
    packs.stands("unplugged", shelf="40")
    assert early(packs, UNPLUGGED) == pytest.approx(cool / 4, rel=0.01)  # doubles with each 10 °C
    packs.stands("unplugged", shelf="20")
    packs.measured(HALF, rested="15")  # provisional: a wider band
    assert early(packs, UNPLUGGED) < cool
    assert any("an hour" in flag for flag in packs.state().charge.flags)  # type: ignore[union-attr]


def test_danger_follows_after_the_act_by_time_in_every_case(packs: Bench) -> None:
    packs.measured(HALF, rested="90")
    for case in packs.state().cases:
        assert case.by is not None
        assert case.danger_by is not None
        assert packs.clock.now < case.by < case.danger_by


def test_the_owners_own_drain_replaces_the_guess(packs: Bench) -> None:
    packs.ran(when="2026-05-03 01:00")
    packs.measured(HALF, rested="7 h", when="2026-05-03 08:00")
    guessed = early(packs, OFF)
    with packs.workshop.store.reading() as reads:
        car = car_called(ledger_now(reads), "Bramble").id
    keep(packs.workshop, [packs.workshop.entry(SettingChanged(car, DRAIN_SETTING, "1 mA"))])
    (case,) = [case for case in packs.state().cases if case.left.value == OFF]
    assert case.measured
    assert early(packs, OFF) > 5 * guessed


@pytest.mark.parametrize(
    "harm", ["swollen", "thrown out of the car", "under water", "over-discharged", "damaged lead or plug"]
)
def test_a_damaged_pack_is_given_words_and_no_number(packs: Bench, harm: str) -> None:
    packs.charged(put_in="3100")
    packs.measured(HALF, rested="90")
    packs.hurt(harm)
    packs.clock.on(days=9)
    state = packs.state()
    assert state.damaged
    assert list(figures_in(state)) == []
    assert state.charge is None
    assert state.cases == ()
    assert state.reasons[0].way_back
    assert state.reasons[0].cautions
    told = json.dumps(plain(state))
    assert "act" not in json.loads(told)
    (todo,) = packs_today(packs.workshop).todo
    assert todo.urgency is Urgency.NOW
    assert "Do not charge it, do not drive it." in todo.what
    assert todo.by is None
    assert any("hazardous-waste" in caution.text for caution in todo.cautions)


def test_low_volts_are_damage_below_three_and_a_matter_of_today_below_three_point_three(packs: Bench) -> None:
    packs.measured("3.25 3.4 3.4", rested="90")
    packs.looked()
    assert packs.state().verdict == "check first"
    assert any("charge it today" in todo.what for todo in packs_today(packs.workshop).todo)
    packs.measured("2.95 3.4 3.4", rested="90")
    assert packs.state().damaged
    packs.charged()
    packs.measured("4.1 4.1 4.1", rested="90")
    assert packs.state().damaged  # what once happened to a cell stands, whatever it reads today


def test_a_hot_pack_waits_and_a_very_hot_one_is_looked_over_for_damage(packs: Bench) -> None:
    packs.ran(readings=("pack 52 °C 30 s",))
    packs.looked()
    assert packs.state().verdict == "check first"
    assert any("45 °C" in reason.says for reason in packs.state().reasons)
    packs.clock.on(hours=2)
    assert packs.state().verdict == "OK"
    packs.ran(readings=("pack 63 °C 30 s",))
    assert packs.state().damaged


def test_the_switch_off_is_not_unplugged(packs: Bench) -> None:
    packs.measured(HALF, rested="90")
    packs.stands("plugged", car="Bramble")
    (unplug, *more) = packs_today(packs.workshop).todo
    assert unplug.what == "Unplug it from Bramble."
    assert "still draws" in unplug.why
    assert "Plugged in with the switch off" in more[0].why


def test_a_pack_left_switched_on_is_a_matter_of_now(packs: Bench) -> None:
    packs.measured(HALF, rested="90")
    packs.stands("left switched on", car="Bramble")
    first = packs_today(packs.workshop).todo[0]
    assert first.urgency is Urgency.NOW
    assert "Switch Bramble off and unplug it." in first.what
    assert "hours" in first.why


def test_a_half_full_unplugged_pack_counts_down_quietly(packs: Bench) -> None:
    packs.looked()
    packs.measured(HALF, rested="90")
    packs.stands("unplugged")
    today = packs_today(packs.workshop)
    assert today.todo == ()
    (countdown,) = today.countdown
    assert countdown.by is not None
    assert countdown.by > packs.clock.now + timedelta(days=90)


def test_the_countdown_reaches_today_and_low_voltage_is_called_worst(packs: Bench) -> None:
    packs.measured(HALF, rested="90")
    packs.stands("plugged", car="Bramble")
    packs.clock.on(days=30)
    told = [todo for todo in packs_today(packs.workshop).todo if "Low voltage is worst" in todo.why]
    assert told
    assert told[0].urgency is Urgency.TODAY


def test_both_views_are_told_of_a_pack_that_stays_full_without_a_storage_function(packs: Bench) -> None:
    packs.charged()
    packs.stands("unplugged")
    packs.clock.on(days=4)
    (full,) = [todo for todo in packs_today(packs.workshop).todo if "full for" in todo.why]
    assert "storage function" in full.what
    _sell_chargers(packs)
    (full,) = [todo for todo in packs_today(packs.workshop).todo if "full for" in todo.why]
    assert "Published figures" in full.why
    assert "full is better than low" in full.why


def _sell_chargers(packs: Bench) -> None:
    keep(packs.workshop, draft_charger_left(packs.workshop, "Twin").entries)


def test_a_pack_nobody_looked_at_is_not_cleared_but_still_counts_down(packs: Bench) -> None:
    packs.ran(when="2026-05-03 06:00")
    packs.measured(HALF, rested="2 h", when="2026-05-03 08:00")
    state = packs.state()
    assert not state.looked
    assert state.verdict == "check first"
    assert not state.withheld
    assert state.case is not None
    packs.looked()
    assert packs.state().verdict == "OK"


def test_the_look_on_the_sheet_counts_as_a_look(packs: Bench) -> None:
    packs.ran(when="2026-05-03 06:00")
    found = FoundSaid("Bramble", "pack_look", ("swollen",), pack=PACK)
    keep(packs.workshop, draft_found(packs.workshop, found).entries)
    assert packs.state().damaged


def test_a_pack_follows_its_story_from_car_to_car(packs: Bench) -> None:
    with_truck(packs.workshop, "Alder")
    packs.clock.on(days=1)
    packs.ran()
    packs.ran()
    packs.clock.on(days=1)
    packs.ran(name="Alder")
    (seen,) = [one for one in packs_now(packs.workshop).packs if one.record.name == PACK]
    assert [stay.runs for stay in seen.past.stays] == [2, 1]
    assert seen.state.in_car == "Alder"


def test_energy_and_air_band_follow_the_label(packs: Bench) -> None:
    """3 × 3.7 V × 5 Ah = 55.5 Wh; 6 × 3.7 × 5 = 111 Wh needs the airline's approval."""
    assert packs.state().energy is not None
    assert packs.state().energy.value == pytest.approx(55.5)  # type: ignore[union-attr]
    assert packs.state().air_band == "up to 100 Wh"
    packs.add_pack("Six", cells="6")
    assert packs.state("Six").air_band == "100 to 160 Wh"
    assert "ask the airline" in packs.state("Six").air_says


def test_unknown_words_for_a_chemistry_get_no_sums() -> None:
    odd = PackRecord(UUID(int=9), "Old", "lithium-ion", 3, 5.0, START)
    told = pack_past(odd, [entry(0, FULL), entry(1, REST)], until=START + timedelta(hours=2))
    assert told.cells == ()
    assert told.charges
