"""The radio as tested: the record, the checks it answers, when it no longer holds, learner limits."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import SnugfastError, WrongData
from snugfast.exchange.paper.lists import outing_leaf
from snugfast.records.entries import Checked, Done, LearnerLimits, RadioTested, WhenOff
from snugfast.usecases.chassis.radio import (
    POWER_UP,
    LimitsSaid,
    RadioSaid,
    draft_limits,
    draft_radio,
    radio_record,
)
from snugfast.usecases.journal.cars import draft_fitted, draft_work
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through whole use-cases


@pytest.fixture
def bench() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def put(workshop: Workshop, **said: object) -> list[object]:
    given = {"car": "Bramble", "radio": "pistol", "when_off": "stopped", **said}
    draft = draft_radio(workshop, RadioSaid(**given))  # type: ignore[arg-type]
    keep(workshop, draft.entries)
    return [entry.fact for entry in draft.entries]


def test_a_failsafe_holds_until_there_is_radio_work(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    assert not radio_record(workshop, "Bramble").failsafe_holds
    tested, checked = put(workshop, receiver="three channels", model="4")
    assert isinstance(tested, RadioTested) and tested.when_off is WhenOff.STOPPED
    assert isinstance(checked, Checked) and (checked.check, checked.answers) == ("fail_safe", ())
    record = radio_record(workshop, "Bramble")
    assert (
        record.failsafe_holds and "three channels" in record.failsafe and record.receiver == "three channels"
    )
    clock.on(hours=1)
    keep(workshop, draft_work(workshop, "Bramble", "radio work", "new plug").entries)
    record = radio_record(workshop, "Bramble")
    assert not record.failsafe_holds and "test it again" in record.failsafe
    clock.on(hours=1)
    put(workshop)
    assert radio_record(workshop, "Bramble").failsafe_holds
    clock.on(hours=1)
    keep(workshop, draft_fitted(workshop, "Bramble", "ESC").entries)
    assert not radio_record(workshop, "Bramble").failsafe_holds


def test_a_motor_that_drove_on_is_a_known_defect(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    _, checked = put(workshop, when_off="drove on")
    assert isinstance(checked, Checked)
    (answer,) = checked.answers
    assert (answer.word, answer.mode, answer.place, answer.done) == (
        "drove on",
        "fail_safe_wrong",
        "receiver",
        Done.LEFT,
    )
    record = radio_record(workshop, "Bramble")
    assert not record.failsafe_holds and "Don’t drive" in record.failsafe
    checks = workshop.facts.checks
    assert {"stopped late", "drove on", "jumped"} <= {one.word for one in checks["fail_safe"].answers}
    assert "twitches near" in {one.word for one in checks["range_walk"].answers}


def test_range_and_memories_of_one_radio_for_many_cars(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    with_truck(workshop, "Plover")
    put(workshop, when_off="", range="80 m", model="4")
    put(workshop, car="Plover", when_off="stopped", model="5")
    clock.on(days=1)
    put(workshop, when_off="", range="30m", twitched=True)
    record = radio_record(workshop, "Bramble")
    assert "It was 80 m before" in record.range
    ((radio, cars),) = record.memories
    assert radio == "pistol" and [(one.car, one.model) for one in cars] == [("Bramble", "4"), ("Plover", "5")]


def test_limits_of_a_learner_are_shown_where_an_outing_begins(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    draft = draft_limits(workshop, LimitsSaid("Bramble", "pistol", "40 %", "70", "menu, end points"))
    keep(workshop, draft.entries)
    record = radio_record(workshop, "Bramble")
    assert record.limits_words == "throttle 40 %, steering rate 70 % on pistol"
    assert any("adult" in line.casefold() for line in record.before_a_child)
    leaf = outing_leaf(workshop)
    cars = next(section for section in leaf.sections if section.title == "Cars")
    assert "Before a child drives: throttle 40 %" in cars.rows[0].text


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"radio": ""}, "which radio"),
        ({"when_off": ""}, "Nothing was tested"),
        ({"when_off": "exploded"}, "not what a motor does"),
        ({"range": "9000 m"}, "is none"),
        ({"cells": "400 V"}, "no transmitter"),
    ],
)
def test_what_is_no_test_is_refused_with_what_to_do(
    bench: tuple[Workshop, Clock], said: dict[str, str], words: str
) -> None:
    with pytest.raises(SnugfastError, match=words) as refused:
        put(bench[0], **said)
    assert refused.value.way_out


def test_limits_and_entries_that_cannot_be(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    for throttle, radio in (("2", "pistol"), ("", "pistol"), ("40", "")):
        with pytest.raises(SnugfastError) as refused:
            draft_limits(workshop, LimitsSaid("Bramble", radio, throttle))
        assert refused.value.way_out
    car, _ = car_and_build(workshop, "Bramble")
    for wrong in (
        RadioTested(car.id, ""),
        RadioTested(car.id, "pistol"),
        RadioTested(car.id, "pistol", range_m=90000.0),
        RadioTested(car.id, "pistol", transmitter_V=0.5),
        LearnerLimits(car.id, "pistol"),
        LearnerLimits(car.id, "", 40.0),
        LearnerLimits(car.id, "pistol", 150.0),
    ):
        with pytest.raises(WrongData):
            keep(workshop, [workshop.entry(wrong)])


def test_the_first_power_up_is_in_order() -> None:
    """Law of the bench: battery out first, transmitter on before the battery, failsafe before the range "
    "walk."""
    names = [step.name for step in POWER_UP]
    order = (
        "Battery out",
        "Transmitter on first",
        "Battery in, hands clear",
        "Failsafe tested",
        "Range walk",
    )
    assert [names.index(name) for name in order] == sorted(names.index(name) for name in order)
    assert names[-1] == "Battery out first, transmitter off last"
