"""A charge session: every question is asked, amperes and minutes follow, and harm gets no number.

Authority: the session rules of the tables (published limits, common practice) and their arithmetic.
"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from snugfast.core.errors import BadInput, WrongData
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.charge import ChargeAsked, ChargePlan, Headline, plan_charge
from snugfast.usecases.packs.last_charge import last_charge
from snugfast.usecases.packs.state import pack_now
from snugfast.usecases.packs.together import joining
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def against(plan: ChargePlan) -> str:
    """Everything that stands against the charge, as one text."""
    reasons = [f"{reason.says} {reason.way_back}" for reason in plan.reasons]
    return "; ".join([*(finding.sentence for finding in plan.refusals), *reasons])


def no_numbers(plan: ChargePlan) -> bool:
    figures = (plan.current, plan.minutes, plan.steady, plan.tail, plan.put_in, plan.until_V)
    return all(figure is None for figure in figures) and plan.bounds == () and plan.start_by is None


def test_five_ampere_hours_are_charged_with_five_amperes(packs: Bench) -> None:
    packs.measured("3.75 3.75 3.75", rested="90")
    plan = packs.plan()
    assert plan.may_begin
    assert plan.current is not None
    assert plan.current.value == pytest.approx(5.0, rel=0.01)
    assert "once the capacity" in plan.held_by
    assert plan.minutes is not None
    assert plan.minutes.low is not None
    assert plan.minutes.high is not None
    assert plan.minutes.low < plan.minutes.value < plan.minutes.high
    assert plan.steady is not None
    assert plan.tail is not None
    assert plan.tail.value > 0.0  # the constant-voltage tail


@pytest.mark.parametrize(
    ("charger", "amps", "held_by"),
    [
        ({"amps": "3 A"}, 3.0, "channel"),
        ({"watts": "50 W"}, 50.0 / 12.6, "watts"),
        ({"supply": "60 W"}, 60.0 * 0.85 / 12.6, "supply"),
    ],
)
def test_the_current_is_the_least_of_all_bounds(
    packs: Bench, charger: dict[str, Any], amps: float, held_by: str
) -> None:
    packs.add_charger("Small", **charger)
    plan = packs.plan(charger="Small", volts="3.75 3.75 3.75")
    assert plan.current is not None
    assert plan.current.value == pytest.approx(amps)
    assert held_by in plan.held_by
    assert min(bound.current.value for bound in plan.bounds) == plan.current.value


def test_two_channels_share_their_supply(packs: Bench) -> None:
    packs.add_charger("Small", supply="100 W")
    said = {"charger": "Small", "volts": "3.75 3.75 3.75"}
    alone, shared = packs.plan(**said), packs.plan(**said, other_channels="1")
    assert alone.current is not None
    assert shared.current is not None
    assert shared.current.value == pytest.approx(50.0 * 0.85 / 12.6)
    assert shared.current.value < alone.current.value


def test_a_low_label_holds_the_current_and_a_high_one_does_not_raise_it(packs: Bench) -> None:
    packs.add_pack("Low", charge_label="0.5C")
    packs.add_pack("High", charge_label="4C")
    low, high = (packs.plan(pack=name, volts="3.75 3.75 3.75") for name in ("Low", "High"))
    assert low.current is not None
    assert high.current is not None
    assert low.current.value == pytest.approx(2.5)
    assert "label" in low.held_by
    assert high.current.value <= 5.0


QUESTIONS = {
    "found": (),
    "warmth": "",
    "set_cells": "",
    "set_chemistry": "",
    "attended": "",
    "hard_surface": "",
}


@pytest.mark.parametrize("left_out", QUESTIONS)
def test_no_question_is_skipped(packs: Bench, left_out: str) -> None:
    plan = packs.plan(**{left_out: QUESTIONS[left_out]})
    assert not plan.may_begin
    assert no_numbers(plan)
    assert "Nobody said" in against(plan)


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        ({"set_cells": "4"}, "3 cells in series and the charger is set to 4"),
        ({"set_chemistry": "nimh"}, "can start a fire"),
        ({"attended": "no"}, "Nobody will stay"),
        ({"hard_surface": "no"}, "The surface can burn"),
        ({"balance_plug": "no"}, "balance plug is not connected"),
        ({"warmth": "47"}, "above 45 °C"),
        ({"warmth": "-2"}, "below 0 °C"),
        ({"found": ("swollen",)}, "puffed"),
        ({"volts": "2.90 3.6 3.6"}, "over-discharged"),
        ({"volts": "4.28 4.2 4.2"}, "over-charged"),
    ],
)
def test_what_is_wrong_stands_in_the_way_of_the_charge(
    packs: Bench, answer: dict[str, Any], words: str
) -> None:
    plan = packs.plan(**answer)
    assert not plan.may_begin
    assert no_numbers(plan)
    assert words in against(plan)


def test_a_pack_fresh_from_the_car_rests_first(packs: Bench) -> None:
    packs.ran(when="2026-05-03 07:50")
    assert "let it cool and rest" in against(packs.plan()).casefold()
    packs.clock.on(minutes=40)
    assert packs.plan(volts="3.75 3.75 3.75").may_begin


def test_harm_found_at_the_charger_is_kept_although_the_charge_is_refused(packs: Bench) -> None:
    plan = packs.plan(found=("swollen",))
    keep(packs.workshop, plan.looked.entries)
    assert packs.state().damaged
    assert not packs.plan().may_begin  # nor at the next attempt with “nothing found”


def test_a_warm_pack_is_not_charged_above_forty_degrees(packs: Bench) -> None:
    """The fire service says 40 °C, cell makers 45: the stricter holds, since no sum overrules a caution."""
    plan = packs.plan(warmth="42", volts="3.75 3.75 3.75")
    assert not plan.may_begin
    assert no_numbers(plan)
    assert "the fire service says not to charge" in against(plan)


def test_cautions_stand_at_the_session_even_when_all_is_well(packs: Bench) -> None:
    text = " ".join(caution.text for caution in packs.plan().cautions)
    for words in ("smell", "Stay with", "cannot burn", "call the fire service"):
        assert words in text


def test_when_to_start_to_be_ready_by_a_time(packs: Bench) -> None:
    packs.measured("3.75 3.75 3.75", rested="90")
    plan = packs.plan(ready_by="2026-05-03 14:00")
    assert plan.start_by is not None
    assert plan.ready_by is not None
    assert plan.minutes is not None
    assert plan.minutes.high is not None
    assert plan.ready_by - plan.start_by == timedelta(seconds=plan.minutes.high)
    late = packs.plan(ready_by="2026-05-03 08:10")
    assert late.start_by is None
    assert "do not raise the current" in against(late)
    with pytest.raises(WrongData, match="is past"):
        packs.plan(ready_by="2026-05-01")


def test_a_worn_pack_is_charged_by_what_it_holds_now(packs: Bench) -> None:
    packs.measured("3.70 3.70 3.70", rested="90", warmth="25")
    packs.charged(put_in="3200")  # counted: 4.05 Ah
    packs.clock.on(hours=2)
    plan = packs.plan(volts="3.75 3.75 3.75")
    assert plan.current is not None
    assert plan.current.value == pytest.approx(3.2 / (1 - 0.209), rel=0.02)


def test_long_life_stops_below_full_and_storage_takes_charge_out(packs: Bench) -> None:
    packs.measured("3.75 3.75 3.75", rested="90")
    life = packs.plan(target="a little below full")
    assert life.until_V is not None
    assert life.until_V.value == 4.10
    packs.charged()
    store = packs.plan(target="storage charge")
    assert "takes charge out" in store.note


def test_without_a_storage_function_the_charger_is_refused_for_storage(packs: Bench) -> None:
    packs.add_charger("Plain", stores="no")
    assert "no storage function" in against(packs.plan(charger="Plain", target="storage"))


def test_a_chemistry_without_a_table_gets_its_cautions_and_no_sum(packs: Bench) -> None:
    packs.add_pack("Nick", chemistry="nimh", cells="7")
    plan = packs.plan(pack="Nick", set_cells="7", set_chemistry="nimh", balance_plug="no")
    assert not plan.may_begin
    assert no_numbers(plan)
    assert plan.headline is Headline.NO_PLAN
    assert "follow its label" in plan.note
    assert not plan.refusals
    assert not any("balance plug" in caution.text for caution in plan.cautions)
    assert any("NiMH" in caution.text for caution in plan.cautions)
    wrong = packs.plan(pack="Nick", set_cells="7", set_chemistry="lipo")
    assert "can start a fire" in against(wrong)


def test_four_thirty_five_at_the_charger_is_refused_outright(packs: Bench) -> None:
    with pytest.raises(BadInput, match=r"4\.35 V"):
        packs.plan(volts="4.35 4.2 4.2")


def beside(packs: Bench, **more: Any) -> str:
    packs.measured("3.80 3.80 3.80", rested="90")
    packs.add_pack("Ember 2", **more)
    packs.looked(pack="Ember 2")
    return against(packs.plan(with_packs=("Ember 2",)))


def test_packs_side_by_side_must_agree_in_everything(packs: Bench) -> None:
    assert "were not read within a day" in beside(packs)
    packs.measured("3.80 3.80 3.80", pack="Ember 2", rested="90")
    plan = packs.plan(with_packs=("Ember 2",))
    assert plan.may_begin
    assert plan.current is not None
    assert plan.current.value == pytest.approx(10.0, rel=0.01)  # each takes its five
    assert any("Packs side by side" in caution.text for caution in plan.cautions)
    packs.measured("3.80 3.84 3.80", pack="Ember 2", rested="90")
    assert "40 mV apart" in against(packs.plan(with_packs=("Ember 2",)))


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"cells": "2"}, "different cell counts"),
        ({"type_name": "another"}, "different types"),
        ({"capacity": "4000 mAh"}, "different types or capacities"),
        ({"chemistry": "lifepo4"}, "different chemistry"),
        ({"type_name": ""}, "Nobody booked which type"),
    ],
)
def test_unlike_packs_are_not_charged_side_by_side(packs: Bench, other: dict[str, Any], words: str) -> None:
    assert words in beside(packs, **other)


def test_a_damaged_pack_is_joined_with_nothing(packs: Bench) -> None:
    beside(packs)
    packs.hurt("dented", pack="Ember 2")
    told = joining(packs.workshop, [PACK, "Ember 2"], how="series")
    assert not told.may_join
    assert any("dented" in finding.problem for finding in told.refusals)


def test_the_charger_and_the_target_of_the_last_time_need_not_be_said_again(packs: Bench) -> None:
    pack = pack_now(packs.workshop, PACK).record.id
    assert last_charge(packs.workshop, pack).charger == "Twin"  # the only one there is
    packs.add_charger("Field", stores="no")
    assert last_charge(packs.workshop, pack).charger == ""  # now it may be either
    packs.charged("a little below full", charger="Field")
    packs.clock.on(days=1)
    found = last_charge(packs.workshop, pack)
    assert (found.charger, found.target.value) == ("Field", "a little below full")
    packs.ran()
    packs.clock.on(days=1)
    plan = packs.plan(charger="", volts="3.70 3.70 3.70")
    assert plan.charger_name == "Field" and plan.may_begin


def test_what_is_looked_at_and_read_off_is_never_taken_from_the_last_time(packs: Bench) -> None:
    packs.charged("full", charger="Twin")
    packs.clock.on(days=3)
    asked = plan_charge(packs.workshop, ChargeAsked(pack=PACK, charger=""))
    assert {"look", "warmth", "attended", "surface", "chemistry", "cells"} <= {
        finding.where for finding in asked.refusals
    }
