"""A fault hunt through the journal: put down and taken up, undone, answered by two, ended, learned from.

Authority: laws of this project.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from snugfast.core.errors import BadInput, RefusedAction, StaleRecord
from snugfast.facts.hunts import WhereSafe
from snugfast.records.entries import Done, Hunted, HuntEnd, HuntSaid, HuntStep
from snugfast.usecases.beliefs.hunt_looks import clean_looks
from snugfast.usecases.hunt.answering import (
    Ended,
    answer_cause,
    answer_test,
    begin,
    found,
    give_up,
    symptoms_meant,
    take_back,
)
from snugfast.usecases.hunt.hunt import HuntView, Stage, hunt_view, hunts_of
from snugfast.usecases.hunt.learned import learned_strengths
from snugfast.usecases.hunt.reasoning import Reasoning
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.marks import journal_lines
from snugfast.usecases.journal.page import JournalAsked, entry_page, journal_page
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import TRUCK, Clock, car_story, facts, workshop_in_memory
from tests.usecases.hunt_cars import begun

pytestmark = pytest.mark.slow


@pytest.fixture
def shed() -> Iterator[Workshop]:
    with workshop_in_memory() as (workshop, clock):
        keep(workshop, [draft_car(workshop, "Bramble", starter(workshop, TRUCK))])
        _on(clock)
        yield workshop


def _on(clock: Clock) -> None:
    clock.on(hours=3)


def slips(workshop: Workshop) -> HuntView:
    """A hunt of a pinion that turns on its shaft, up to the cause."""
    view = begin(workshop, "Bramble", ["motor turns, wheels don’t"])
    shows = {
        "touch_throttle": "Motor turns, spur stands still",
        "mesh_play": "Pinion turns or slides on its shaft",
    }
    while view.test is not None:
        word = shows.get(view.test.key, "")
        said = HuntSaid.SHOWN if word else HuntSaid.NOTHING_WRONG
        view = answer_test(workshop, view.entry, view.test.key, said, word)
    return view


def defects(workshop: Workshop) -> list[str]:
    with workshop.store.reading() as reads:
        car = ledger_now(reads).car_named("Bramble")
    assert car is not None
    return [one.mode for one in car.defects.open]


def test_it_is_put_down_taken_up_and_undone_by_one_answer(shed: Workshop) -> None:
    asked = begin(shed, "Bramble", ["wheels do not turn"])
    assert asked.test is not None
    once = answer_test(shed, asked.entry, asked.test.key, HuntSaid.NOTHING_WRONG)
    assert hunt_view(shed, "Bramble") == once and len(once.told) == 1
    back = take_back(shed, once.entry)
    assert back.test == asked.test and back.likely == asked.likely and not back.told
    assert len(hunts_of(shed)) == 1
    with pytest.raises(RefusedAction, match="open already"):
        begin(shed, "Bramble", ["slow"])


def test_who_answers_what_was_answered_meanwhile_is_told(shed: Workshop) -> None:
    asked = begin(shed, "Bramble", ["slow"])
    assert asked.test is not None
    answer_test(shed, asked.entry, asked.test.key, HuntSaid.NOTHING_WRONG)
    with pytest.raises(StaleRecord):
        answer_test(shed, asked.entry, asked.test.key, HuntSaid.CANNOT_TELL)


def test_a_second_tap_keeps_nothing_twice(shed: Workshop) -> None:
    asked, tap = begin(shed, "Bramble", ["slow"]), shed.new_id()
    assert asked.test is not None
    first = answer_test(shed, asked.entry, asked.test.key, HuntSaid.NOTHING_WRONG, id=tap)
    assert answer_test(shed, asked.entry, asked.test.key, HuntSaid.NOTHING_WRONG, id=tap) == first


def test_a_fixed_cause_teaches_like_a_failure_and_says_how(shed: Workshop) -> None:
    view = slips(shed)
    assert view.stage is Stage.PROPOSAL and view.mending is not None
    mending = view.mending
    assert mending.cause == "pinion_loose" and mending.chance.value > 0.9
    assert mending.steps and mending.how_tight and "medium strength" in mending.thread_lock.lower()
    assert any("hex driver" in tool or "mm" in tool for tool in mending.tools)
    story, car = car_story(shed)
    row = story.scope(car).of_modes(["pinion_screw_flat_locked"])[0]
    rate = float(story.bank[story.scope(car).rows[[row]]].rate_multiplier[0])
    ended = found(shed, view.entry, mending.cause, Ended(Done.PUT_RIGHT))
    assert ended.stage is Stage.ENDED and defects(shed) == []
    story, car = car_story(shed)
    assert float(story.bank[story.scope(car).rows[[row]]].rate_multiplier[0]) > rate
    assert story.marks[int(story.scope(car).rows[row])].how == "failed"


def test_a_temporary_mend_stays_not_fixed_until_it_is(shed: Workshop) -> None:
    view = slips(shed)
    assert view.mending is not None and view.mending.temporary
    ended = found(shed, view.entry, view.mending.cause, Ended(Done.PUT_RIGHT, temporary=True))
    assert ended.temporary and defects(shed) == ["pinion_screw_flat_locked"]
    story, car = car_story(shed)
    row = story.scope(car).of_modes(["pinion_screw_flat_locked"])
    assert float(story.bank[story.scope(car).rows[row]].presence[0]) > 0.9


def presence_of(workshop: Workshop, mode: str) -> float:
    story, car = car_story(workshop)
    row = story.scope(car).of_modes([mode])
    return float(story.bank[story.scope(car).rows[row]].presence[0])


def test_a_clean_test_is_a_look_once_the_hunt_has_ended(shed: Workshop) -> None:
    """Bayes by hand: p(1 − d) / (p(1 − d) + (1 − p)(1 − a))."""
    pinion, nut = "pinion_screw_flat_locked", "wheel_nut_loose"
    before, other = presence_of(shed, pinion), presence_of(shed, nut)
    view = begin(shed, "Bramble", ["motor turns, wheels don’t"])
    view = answer_test(shed, view.entry, "pinion_screw", HuntSaid.NOTHING_WRONG)
    view = answer_test(shed, view.entry, "lamps", HuntSaid.CANNOT_TELL)
    assert presence_of(shed, pinion) == pytest.approx(before), "an open hunt weighs it already"
    give_up(shed, view.entry)
    shows = sum(
        facts().hunt_strengths[answer.links["pinion_loose"]].chance
        for answer in facts().hunt_tests["pinion_screw"].answers
        if "pinion_loose" in answer.links
    )
    alarm, early = (facts().assumptions[key].value for key in ("hunt_false_alarm", "hunt_early_share"))
    hidden = before * (1.0 - early * shows)
    assert presence_of(shed, pinion) == pytest.approx(
        hidden / (hidden + (1.0 - before) * (1.0 - alarm)), rel=1e-6
    )
    assert presence_of(shed, nut) == pytest.approx(other)


def test_what_was_found_is_no_clean_look_though_a_test_had_missed_it() -> None:
    with workshop_in_memory() as (workshop, _):
        car = workshop.new_id()
    missed = HuntStep(HuntSaid.NOTHING_WRONG, "pinion_screw")
    hunt = Hunted(car, ("wheels_still",), (missed,), end=HuntEnd.GIVEN_UP)
    assert "pinion_screw_flat_locked" in next(clean_looks(facts(), hunt))
    found_it = replace(hunt, end=HuntEnd.FOUND, cause="pinion_loose")
    assert "pinion_screw_flat_locked" not in next(clean_looks(facts(), found_it))
    assert not list(clean_looks(facts(), replace(hunt, end=HuntEnd.OPEN)))


def test_the_journal_shows_a_hunt_as_one_entry(shed: Workshop) -> None:
    view = slips(shed)
    lines = journal_page(shed, JournalAsked(kinds=("hunted",))).lines
    assert [line.state for line in lines] == [""] and "still open" in lines[0].what
    assert [line.state for line in journal_lines(shed, kind="hunts", limit=1)] == [""]
    assert len(journal_lines(shed, limit=2)) == 2, "the car that was added is the other"
    assert len(entry_page(shed, view.entry).chain) == len(view.told) + 1, "its answers are behind it"


def test_what_is_no_way_to_fail_ends_a_hunt_all_the_same(shed: Workshop) -> None:
    view = begin(shed, "Bramble", ["dead"])
    ended = found(shed, view.entry, "pack_flat", Ended(Done.PUT_RIGHT))
    assert ended.stage is Stage.ENDED
    fact = hunts_of(shed)[0].fact
    assert isinstance(fact, Hunted) and fact.broke is None and fact.cause == "pack_flat"


def test_given_up_is_over_and_another_may_begin(shed: Workshop) -> None:
    view = give_up(shed, begin(shed, "Bramble", ["slow"]).entry)
    assert view.stage is Stage.ENDED and hunt_view(shed, "Bramble") is None
    assert begin(shed, "Bramble", ["slow", "clicks"]).symptoms == (
        "Slow: low top speed",
        "Noise: clicks under power",
    )


def test_mended_in_vain_is_believed(shed: Workshop) -> None:
    view = slips(shed)
    assert view.mending is not None
    after = answer_cause(shed, view.entry, view.mending.cause, HuntSaid.NOT_CURED)
    assert after.mending is None or after.mending.cause != "pinion_loose"
    assert next((b.chance.value for b in after.likely if b.cause == "pinion_loose"), 0.0) < 0.6


def test_words_people_say_and_words_that_could_be_several() -> None:
    assert symptoms_meant(facts(), ["one wheel dead", "slow"])[0].key == "one_wheel"
    with pytest.raises(BadInput, match="several"):
        symptoms_meant(facts(), ["runs hot"])
    with pytest.raises(BadInput, match="no symptom"):
        symptoms_meant(facts(), ["sings"])
    with pytest.raises(BadInput):
        symptoms_meant(facts(), [])


def after(reasoning: Reasoning, said: HuntSaid, test: str) -> Reasoning:
    from snugfast.records.entries import HuntStep

    return reasoning.further(HuntStep(said, test))


def test_who_has_no_stand_is_not_asked_for_another_test_on_it() -> None:
    begin_ = begun(TRUCK, "wheels_still")
    left = after(begin_, HuntSaid.CANNOT_DO, "touch_throttle")
    assert any(facts().hunt_tests[key].where is WhereSafe.ON_STAND for key in begin_.open_tests)
    assert not any(facts().hunt_tests[key].where is WhereSafe.ON_STAND for key in left.open_tests)
    assert left.now == pytest.approx(begin_.now)


def test_a_hot_battery_is_looked_at_before_anything_is_powered() -> None:
    hot = begun(TRUCK, "pack_hot")
    assert hot.next[0] == "battery_case" and not hot.may_power
    assert after(hot, HuntSaid.NOTHING_WRONG, "battery_case").may_power


def test_finished_hunts_teach_slowly() -> None:
    with workshop_in_memory() as (workshop, _):
        car = workshop.new_id()
    hunt = Hunted(car, ("clicks",), end=HuntEnd.FOUND, cause="debris")
    table = facts().hunt_strengths["sometimes"].chance
    one = learned_strengths(facts(), [hunt])["clicks", "debris"]
    many = learned_strengths(facts(), [hunt] * 40)["clicks", "debris"]
    assert table < one < table + 0.05 and many > 0.7
    assert learned_strengths(facts(), [replace(hunt, end=HuntEnd.GIVEN_UP)]) == {}
