"""What is said about packs: read, echoed, kept; and everything that is refused, with nothing saved.

Authority: the published and customary limits in the tables (4.35 V is full on another chemistry), and the
rule that nothing is saved of what cannot be.
"""

from __future__ import annotations

import re

import pytest

from snugfast.core.errors import BadInput, NotKnown, SnugfastError, WrongData
from snugfast.records.entries import PackHarm
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.packs.log import draft_cleared
from snugfast.usecases.packs.register import (
    ChargerSaid,
    PackSaid,
    draft_charger,
    draft_pack,
    draft_pack_left,
    pack_entry,
    said_of,
)
from snugfast.usecases.packs.state import pack_now
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import tell
from tests.usecases.bench import with_truck
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def position(packs: Bench) -> int:
    with packs.workshop.store.reading() as reads:
        return reads.position()


def told(refused: SnugfastError) -> str:
    return re.sub(r"\s+", " ", str(refused))


def test_a_pack_is_booked_with_its_label_plug_and_size(packs: Bench) -> None:
    packs.add_pack(
        "Wide",
        label="50C",
        charge_label="10 A",
        plug="two flat blades",
        pin_mm="",
        size_mm="139 x 47 x 25",
        mass_g="280",
        price="48.00",
    )
    details = packs.state("Wide").details
    assert details.label_multiple_per_h == 50.0
    assert details.label_charge_A == 10.0
    assert details.size_mm == (139.0, 47.0, 25.0)
    assert details.mass_g == 280.0


def test_a_label_in_amperes_and_one_in_multiples_say_the_same(packs: Bench) -> None:
    packs.add_pack("One", label="25C")
    packs.add_pack("Two", label="125 A")
    assert packs.state("One").details == packs.state("Two").details


def test_everything_wrong_with_a_new_pack_is_said_at_once(packs: Bench) -> None:
    before = position(packs)
    with pytest.raises(WrongData) as refused:
        draft_pack(packs.workshop, PackSaid("X", "three", "5000 Ah V", size_mm="1 x 2", label="-3C"))
    assert len(refused.value.findings) == 4
    assert position(packs) == before


def test_a_pack_is_corrected_and_keeps_its_history(packs: Bench) -> None:
    packs.ran()
    record = pack_now(packs.workshop, PACK).record
    first = pack_entry(packs.workshop, record)
    said = said_of(first)
    again = draft_pack(
        packs.workshop, PackSaid(said.name, "3", "5200 mAh", plug="bullets 4 mm"), replaces=first
    )
    keep(packs.workshop, [again])
    after = packs.state()
    assert after.capacity_Ah == 5.2
    assert after.details.plug == "bullets 4 mm"
    assert after.wear.runs == 1


def test_a_pack_in_its_own_words_comes_back_as_it_was(packs: Bench) -> None:
    packs.add_pack("Wide", label="50C", charge_label="2C", plug="two flat blades", size_mm="139x47x25")
    record = pack_now(packs.workshop, "Wide").record
    first = pack_entry(packs.workshop, record)
    again = draft_pack(packs.workshop, said_of(first), replaces=first)
    assert again.fact == first.fact


def test_volts_of_another_chemistry_are_refused_and_nothing_is_kept(packs: Bench) -> None:
    before = position(packs)
    with pytest.raises(BadInput) as refused:
        packs.measured("4.35 4.35 4.35")
    assert "4.35 V" in told(refused.value)
    assert "full at 4.20 V" in told(refused.value)
    assert position(packs) == before


def test_four_thirty_five_is_no_news_on_a_high_voltage_pack(packs: Bench) -> None:
    """It is full there by its own limits; without a curve no sum is made."""
    packs.add_pack("High", chemistry="high-voltage lithium", cells="2")
    packs.measured("4.35 4.34", pack="High")
    state = packs.state("High")
    assert state.charge is None
    assert state.cases == ()
    assert "4.35 V" in state.note
    assert not state.damaged
    assert any("LiHV setting" in caution.text for caution in state.cautions)


@pytest.mark.parametrize(
    ("volts", "words"), [("3.8 3.8", "Two readings for three cells"), ("3.8", "One reading")]
)
def test_a_reading_for_each_cell_or_none_at_all(packs: Bench, volts: str, words: str) -> None:
    before = position(packs)
    with pytest.raises(BadInput, match=words):
        packs.measured(volts)
    assert position(packs) == before


def test_three_readings_for_four_cells(packs: Bench) -> None:
    packs.add_pack("Four", cells="4")
    with pytest.raises(BadInput, match="Three readings for four cells"):
        packs.measured("3.80 3.81 3.79", pack="Four")


def test_volts_read_minutes_after_a_run_are_refused(packs: Bench) -> None:
    packs.ran(when="2026-05-03 08:00")
    packs.clock.on(minutes=4)
    with pytest.raises(BadInput, match="rested"):
        packs.measured("3.80 3.81 3.79", when="2026-05-03 08:03")


def test_how_long_a_pack_rested_follows_from_its_last_use(packs: Bench) -> None:
    packs.ran(when="2026-05-03 08:00")
    packs.clock.on(hours=3)
    packs.measured("3.80 3.81 3.79", when="2026-05-03 10:00")
    (read,) = pack_now(packs.workshop, PACK).past.rests
    assert read.rested_min == pytest.approx(120.0)


def test_time_does_not_run_backwards(packs: Bench) -> None:
    before = position(packs)
    with pytest.raises(WrongData, match="is before"):
        packs.charged(began="2026-05-03 07:50", when="2026-05-03 06:30")
    packs.ran(when="2026-05-03 07:55")
    with pytest.raises(BadInput, match="was used after these volts were read"):
        packs.measured("3.80 3.81 3.79", when="2026-05-03 06:00")
    with pytest.raises(BadInput, match="has not come yet"):
        packs.charged(when="2027-01-01")
    assert position(packs) == before + 1


def test_a_look_says_what_it_found(packs: Bench) -> None:
    with pytest.raises(WrongData, match="what was found is missing"):
        packs.looked("")
    with pytest.raises(WrongData, match="is not one of the words"):
        packs.looked("wobbly")
    packs.looked("swollen; an odd, sweet smell")
    assert packs.state().damaged


def test_resistances_need_their_warmth_and_their_instrument(packs: Bench) -> None:
    with pytest.raises(WrongData, match="compared at one warmth"):
        packs.measured(resistances="3.1 3.2 3.0", instrument="meter")
    with pytest.raises(WrongData, match="compared only with itself"):
        packs.measured(resistances="3.1 3.2 3.0", warmth="21")
    packs.measured(resistances="3.1 3.2 3.0", warmth="21", instrument="meter")
    (read,) = pack_now(packs.workshop, PACK).past.readings
    assert read.resistances_ohm == pytest.approx((0.0031, 0.0032, 0.003))


def test_a_pack_is_not_plugged_in_nowhere(packs: Bench) -> None:
    with pytest.raises(BadInput, match="In which car"):
        packs.stands("plugged in with the switch off")
    packs.ran()
    packs.stands("plugged")
    assert packs.state().in_car == "Bramble"
    packs.stands("unplugged")
    assert packs.state().in_car == ""


def test_a_pack_in_two_cars_at_once_is_refused(packs: Bench) -> None:
    with_truck(packs.workshop, "Alder")
    packs.clock.on(days=1)
    packs.ran(when="2026-05-03 10:20")
    before = position(packs)
    with pytest.raises(WrongData, match="Ember 1 was in Bramble until 10:20"):
        packs.ran(name="Alder", when="2026-05-03 10:25")
    assert position(packs) == before


def test_a_crash_keeps_a_pack_out_until_the_way_back_was_walked(packs: Bench) -> None:
    packs.hurt("thrown out of the car", car="Bramble")
    assert packs.state().damaged
    packs.clock.on(hours=2)
    with pytest.raises(WrongData, match="at the soonest the next day"):
        packs.cleared(by="looked over outdoors")
    packs.clock.on(days=1)
    packs.cleared(by="looked over outdoors, cold, volts steady")
    state = packs.state()
    assert not state.withheld
    assert state.looked


def test_no_way_back_from_a_swollen_pack_but_a_slip_is_taken_back(packs: Bench) -> None:
    packs.looked("swollen")
    packs.clock.on(days=3)
    with pytest.raises(BadInput, match="no way back"):
        draft_cleared(packs.workshop, PACK, by="hope")
    undo(packs.workshop)
    assert not packs.state().withheld


def test_every_harm_can_be_said_and_withholds_the_pack(packs: Bench) -> None:
    for harm in PackHarm:
        packs.hurt(harm.value)
        state = packs.state()
        assert state.damaged, harm
        assert state.charge is None
        undo(packs.workshop)
    assert not packs.state().withheld


def test_each_entry_is_told_in_one_sentence(packs: Bench) -> None:
    packs.looked()
    packs.charged(
        put_in="3100", minutes="55", volts="4.2 4.19 4.2", charger="Twin", resistances="3 3 3", warmth="20"
    )
    packs.stands("unplugged")
    packs.hurt("run over", hottest="63")
    with packs.workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        lines = [tell(row.entry, packs.workshop.facts, ledger) for row in reads.entries_after(0)]
    text = "\n".join(lines)
    assert "looked at, felt and smelled: nothing found." in text
    assert "charged: full, 3100 mAh put in, 55 min, cells 4.2 / 4.19 / 4.2 V at the end." in text
    assert "resistances 3 / 3 / 3 mΩ by charger Twin, 20 °C" in text
    assert "put away unplugged." in text
    assert "run over and 63 °C." in text


def test_a_pack_leaves_and_its_name_is_free_again(packs: Bench) -> None:
    keep(packs.workshop, draft_pack_left(packs.workshop, PACK, "handed in").entries)
    with pytest.raises(NotKnown):
        packs.state()
    packs.add_pack()
    assert packs.state().wear.runs == 0


def test_a_charger_says_amperes_and_watts_per_channel(packs: Bench) -> None:
    with pytest.raises(WrongData, match="read them off the charger"):
        draft_charger(packs.workshop, ChargerSaid("Other", "", "200"))
    with pytest.raises(WrongData, match="already a charger called"):
        packs.add_charger("twin")
