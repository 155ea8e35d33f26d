"""The state of a pack as the journal has it, and what the rules refuse about packs.

Authority: the definitions of the tables (what is harm, what has a way back), and laws.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.facts.load import load_facts
from snugfast.records import pack_marks
from snugfast.records.entries import (
    Answer,
    Checked,
    Done,
    Entry,
    Fact,
    Finish,
    PackCharged,
    PackCleared,
    PackHarm,
    PackHurt,
    PackLooked,
    PackMeasured,
    PackStands,
    Ran,
    Reading,
    Stands,
)
from snugfast.records.ledger import Ledger, fold
from snugfast.records.ledger_form import ledger_bytes, ledger_from
from snugfast.records.pack_marks import PackMarks
from snugfast.records.rules import contradictions
from tests.records.making import CAR, OTHER_CAR, PACK, START, car_added, entry, identity, pack_added

ANOTHER_PACK = identity(900_009)


def ledger(*facts: Fact, minutes: int = 30) -> Ledger:
    """A car, a pack, and what happened to them, `minutes` apart."""
    told = [entry(10 + minutes * n, fact) for n, fact in enumerate(facts)]
    return fold([car_added(1), car_added(2, OTHER_CAR), pack_added(3), *told])


def marks(*facts: Fact) -> PackMarks:
    return ledger(*facts).packs[PACK].marks


def ran(**more: Any) -> Ran:
    return Ran(car=CAR, packs=(PACK,), running_min=12.0, **more)


def refused(
    fact: Fact, *before: Fact, later: timedelta = timedelta(days=2), near: tuple[Entry, ...] = ()
) -> str:
    """What the rules say against an entry, as one text."""
    at = START + later
    new = entry(5, fact, happened_at=at, recorded_at=at)
    return "; ".join(finding.sentence for finding in contradictions(new, ledger(*before), near))


def test_the_words_and_modes_of_harm_stand_in_the_tables() -> None:
    facts = load_facts()
    harm = {pack_marks.DAMAGED, pack_marks.VENTED}
    assert harm | {pack_marks.HOT_PLUG, pack_marks.LEAD} <= set(facts.modes)
    told = {a.word for a in facts.checks[pack_marks.LOOK].answers if a.mode in harm}
    assert told == set(pack_marks.HARM_OF_WORD)


def test_harm_found_on_the_sheet_and_harm_told_outright_stand_alike() -> None:
    seen = Checked(
        CAR, "pack_look", PACK, (Answer("swollen", "pack_damaged", done=Done.PUT_RIGHT),)
    )  # a form's “put right” mends no cell
    assert set(marks(seen).harms) == set(marks(PackLooked(PACK, (PackHarm.SWOLLEN,))).harms)
    assert set(marks(PackHurt(PACK, (PackHarm.EJECTED,))).harms) == {PackHarm.EJECTED}
    crust = Checked(CAR, "pack_look", PACK, (Answer("crust", "nickel_vented", done=Done.PUT_RIGHT),))
    assert set(marks(crust).harms) == {PackHarm.LEAKING}


def test_a_tick_is_no_look_and_a_look_is_older_than_the_next_run() -> None:
    assert marks(Checked(CAR, "pack_look", PACK, looked=False)).looked_at is None
    looked = marks(PackLooked(PACK), ran())
    assert looked.looked_at is not None
    assert looked.strained_at is not None
    assert looked.looked_at < looked.strained_at
    charged = marks(ran(), PackLooked(PACK), PackCharged(PACK, Finish.FULL))
    assert charged.looked_at is not None
    assert charged.strained_at is not None
    assert charged.looked_at > charged.strained_at


def test_rest_readings_go_with_the_next_run_or_charge_and_the_lowest_stays() -> None:
    read = PackMeasured(PACK, rest_V=(3.9, 3.1, 3.8), rested_min=90.0)
    for after in (ran(), PackCharged(PACK, Finish.FULL)):
        then = marks(read, after)
        assert then.rest_V == ()
        assert then.lowest_V == then.lowest_ever_V == 3.1
    assert marks(read).rest_V == (3.9, 3.1, 3.8)


def test_the_way_back_ends_harm_and_heat_and_the_lowest_volts_but_not_the_lowest_ever() -> None:
    told = (
        PackMeasured(PACK, rest_V=(2.8, 3.1, 3.8), rested_min=90.0),
        PackHurt(PACK, (PackHarm.OVER_DISCHARGED,), hottest_degC=66.0),
        PackCleared(PACK, (PackHarm.OVER_DISCHARGED,), by="the maker's instructions"),
    )
    then = marks(*told)
    assert not then.harms
    assert then.hottest_degC is None
    assert then.lowest_V is None
    assert then.lowest_ever_V == 2.8


def test_a_pack_is_in_the_car_it_ran_in_until_it_is_said_to_be_out_or_another_pack_goes_in() -> None:
    assert marks(ran()).in_car == CAR
    assert marks(ran(), PackStands(PACK, Stands.UNPLUGGED)).in_car is None
    assert marks(ran(), PackStands(PACK, Stands.PLUGGED_SWITCH_OFF)).in_car == CAR
    assert marks(ran(), Ran(car=CAR, packs=(), running_min=9.0)).in_car is None
    assert marks(ran(), Ran(car=OTHER_CAR, packs=(PACK,), running_min=9.0)).in_car == OTHER_CAR


def test_the_warmest_reading_of_the_pack_is_kept_and_those_of_other_spots_are_not() -> None:
    warm = ran(readings=(Reading("pack", 52.0, "°C"), Reading("motor can", 90.0, "°C")))
    then = marks(warm, ran(readings=(Reading("pack", 41.0, "°C"),)))
    assert (then.hottest_degC, then.warmth_degC) == (52.0, 41.0)


STATES = st.lists(
    st.sampled_from(
        [
            ran(readings=(Reading("pack", 47.0, "°C"),)),
            PackLooked(PACK),
            PackLooked(PACK, (PackHarm.DENTED,)),
            PackHurt(PACK, (PackHarm.EJECTED, PackHarm.IN_PLUG), 61.0, CAR),
            PackCleared(PACK, (PackHarm.EJECTED,)),
            PackCharged(PACK, Finish.FULL, 3.2, cells_V=(4.2, 4.19, 4.2)),
            PackMeasured(PACK, (3.8, 3.81, 3.79), 90.0),
            PackStands(PACK, Stands.SWITCHED_ON, CAR, 31.0),
            PackStands(PACK, Stands.UNPLUGGED),
        ]
    ),
    max_size=8,
)


@given(STATES)
def test_the_ledger_comes_back_from_its_bytes_as_it_was(facts: list[Fact]) -> None:
    told = ledger(*facts)
    assert ledger_from(ledger_bytes(told)) == told


@given(STATES)
def test_no_entry_but_the_way_back_makes_harm_less(facts: list[Fact]) -> None:
    harms: set[PackHarm] = set()
    for n, fact in enumerate(facts):
        now = set(marks(*facts[: n + 1]).harms)
        gone = harms - now
        assert gone <= (set(fact.harms) if isinstance(fact, PackCleared) else set())
        harms = now


@pytest.mark.parametrize("volts", [(3.8, 3.8), (3.8, 3.8, 3.8, 3.8)])
def test_readings_must_be_as_many_as_the_cells(volts: tuple[float, ...]) -> None:
    assert f"{len(volts)} readings for 3 cells" in refused(PackMeasured(PACK, rest_V=volts, rested_min=60.0))
    assert "for 3 cells" in refused(PackCharged(PACK, Finish.FULL, cells_V=volts))


def test_nonsense_about_packs_is_refused_with_a_way_out() -> None:
    assert "nothing was read" in refused(PackMeasured(PACK))
    assert "cell 2 cannot read -1 V" in refused(PackMeasured(PACK, rest_V=(3.8, -1.0, 3.8)))
    assert "one is compared only with itself" in refused(PackMeasured(PACK, resistances_ohm=(0.003,) * 3))
    assert "900 Ah is more than can be" in refused(PackCharged(PACK, Finish.FULL, 900.0))
    assert "0 cannot be" in refused(PackCharged(PACK, Finish.FULL, minutes=0.0))
    assert "what happened to it is missing" in refused(PackHurt(PACK))
    assert "400 °C cannot be" in refused(PackHurt(PACK, hottest_degC=400.0))
    assert "not in the workshop" in refused(PackLooked(ANOTHER_PACK))


def test_there_is_no_way_back_from_a_dent_and_none_before_a_night() -> None:
    dent = PackHurt(PACK, (PackHarm.DENTED,))
    assert "there is no way back from “dented or crushed”" in refused(
        PackCleared(PACK, (PackHarm.DENTED,)), dent
    )
    thrown = PackHurt(PACK, (PackHarm.EJECTED,))
    back = PackCleared(PACK, (PackHarm.EJECTED,))
    assert "at the soonest the next day" in refused(back, thrown, later=timedelta(hours=3))
    assert refused(back, thrown) == ""
    assert "does not stand against" in refused(back)


def test_an_over_discharged_pack_comes_back_only_by_instructions_that_are_named() -> None:
    low = PackHurt(PACK, (PackHarm.OVER_DISCHARGED,))
    assert "qualified help" in refused(PackCleared(PACK, (PackHarm.OVER_DISCHARGED,)), low)
    assert refused(PackCleared(PACK, (PackHarm.OVER_DISCHARGED,), by="the maker's leaflet"), low) == ""


def test_a_pack_is_not_charged_and_driven_at_the_same_time() -> None:
    at = START + timedelta(days=2)
    driven = entry(500, ran(), happened_at=at - timedelta(minutes=20))
    assert "was in Grey truck until" in refused(PackCharged(PACK, Finish.FULL, minutes=60.0), near=(driven,))
    assert refused(PackCharged(PACK, Finish.FULL, minutes=15.0), near=(driven,)) == ""
    charged = entry(500, PackCharged(PACK, Finish.FULL, minutes=60.0), happened_at=at - timedelta(minutes=5))
    assert "was on the charger until" in refused(ran(), near=(charged,))
