"""Steering at the bench: the job, what is kept per radio, what it does to the belief, and what lengths "
"say."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import SnugfastError, WrongData
from snugfast.physics.chassis.linkage import HornPlane
from snugfast.physics.chassis.steering import Stops
from snugfast.records.entries import Checked, Done, SteeringSet, TravelUnit, WorkDone
from snugfast.usecases.chassis.lengths import read_drive, read_full, read_linkage
from snugfast.usecases.chassis.steering_job import (
    SteeringSaid,
    draft_lengths,
    draft_steering,
    steering_job,
    steps_of,
)
from snugfast.usecases.chassis.steering_past import steering_of
from snugfast.usecases.chassis.steering_sums import steering_sums
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, car_story, ran, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through whole use-cases

LENGTHS = {
    "wheelbase": "280 mm",
    "kingpins": "190",
    "arm": "22",
    "balls": "175.864",
    "horn": "18",
    "servo_behind": "95",
    "servo_left": "2",
    "crank_behind": "45",
    "crank_in": "20",
    "crank_out": "25",
    "inner": "16",
    "drag": "50",
    "wheel_stop": "30°",
}


@pytest.fixture
def bench() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def put(workshop: Workshop, **said: str) -> list[object]:
    given = {"radio": "pistol", "left": "92 %", "right": "88 %", "heard": "quiet", **said}
    draft = draft_steering(workshop, SteeringSaid("Bramble", **given))  # type: ignore[arg-type]
    keep(workshop, draft.entries)
    return [entry.fact for entry in draft.entries]


def chance(workshop: Workshop) -> float:
    """That the end points are wrong now."""
    story, car = car_story(workshop)
    row = next(
        n
        for n, mode in zip(story.scope(car).rows, story.scope(car).modes, strict=True)
        if mode.key == "steering_end_wrong"
    )
    return float(story.bank[[int(row)]].presence[0])


def test_what_was_set_is_kept_per_radio_and_as_the_check(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    steered, checked = put(workshop)
    assert isinstance(steered, SteeringSet) and isinstance(checked, Checked)
    assert (steered.left, steered.right, steered.unit) == (92.0, 88.0, TravelUnit.PERCENT)
    assert checked.check == "steering_sweep" and checked.answers == ()
    clock.on(days=1)
    put(workshop, radio="stick", left="1720us", right="1.29 ms", heard="fixed")
    car, _ = car_and_build(workshop, "Bramble")
    past = steering_of(workshop, car)
    assert past.radios == ("stick", "pistol")
    on_stick, on_pistol = past.on_radio("Stick"), past.on_radio("pistol")
    assert on_stick is not None and on_pistol is not None
    assert (on_stick.left, on_stick.right, on_stick.unit) == (1720.0, 1290.0, TravelUnit.MICROSECONDS)
    assert on_pistol.left == 92.0


def test_a_servo_that_hums_raises_the_belief_and_a_quiet_one_lowers_it(bench: tuple[Workshop, Clock]) -> None:
    """Law: fitting a horn raises it, quiet at both ends lowers it, still humming makes it certain."""
    workshop, clock = bench
    ran(workshop)
    clock.on(hours=2)
    before = chance(workshop)
    draft = draft_fitted(workshop, "Bramble", "servo horn")
    assert any(isinstance(entry.fact, WorkDone) and entry.fact.place == "servo" for entry in draft.entries)
    keep(workshop, draft.entries)
    clock.on(hours=1)
    ran(workshop)
    clock.on(hours=2)
    raised = chance(workshop)
    assert raised > 5.0 * before
    put(workshop)
    quiet = chance(workshop)
    assert quiet < 0.3 * raised
    clock.on(hours=1)
    (_, checked) = put(workshop, heard="hums")
    assert isinstance(checked, Checked) and checked.answers[0].done is Done.LEFT
    assert chance(workshop) > 0.9
    clock.on(hours=1)
    put(workshop, heard="fixed")
    assert chance(workshop) < 0.1


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"radio": ""}, "one radio"),
        ({"right": ""}, "Both end points"),
        ({"left": "1720 µs"}, "in per cent and the other in µs"),
        ({"left": "ninety"}, "is no end point"),
        ({"left": "3100us", "right": "1200us"}, "none a servo follows"),
        ({"heard": ""}, "was not entered"),
        ({"heard": "loud"}, "not one of the answers"),
    ],
)
def test_what_is_no_end_point_is_refused_with_what_to_do(
    bench: tuple[Workshop, Clock], said: dict[str, str], words: str
) -> None:
    with pytest.raises(SnugfastError, match=words) as refused:
        put(bench[0], **said)
    assert refused.value.way_out


def test_an_entry_from_elsewhere_is_judged(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    car, _ = car_and_build(workshop, "Bramble")
    for wrong in (
        SteeringSet(car.id, "pistol", TravelUnit.MICROSECONDS, 300.0, 1200.0),
        SteeringSet(car.id, "pistol", TravelUnit.MICROSECONDS, 1500.0, 1500.0),
        SteeringSet(car.id, "", TravelUnit.PERCENT, 90.0, 90.0),
        SteeringSet(car.id, "pistol", TravelUnit.PERCENT, 900.0, 90.0),
        SteeringSet(car.id),
    ):
        with pytest.raises(WrongData):
            keep(workshop, [workshop.entry(wrong)])


def test_lengths_are_kept_and_say_where_it_ends(bench: tuple[Workshop, Clock]) -> None:
    """Worked: the reference linkage, typed as a person measures it: 1747 and 1253 µs, 49 %."""
    workshop, clock = bench
    keep(workshop, draft_lengths(workshop, "Bramble", LENGTHS).entries)
    put(workshop, left="1850us", right="1260us", heard="hums")
    sums = steering_sums(workshop, "Bramble", {})
    left, right = sums.ends
    assert (left.first, right.first) == (Stops.WHEEL, Stops.WHEEL)
    assert left.pulse.value == pytest.approx(1747.14, abs=0.3)
    assert right.pulse.value == pytest.approx(1252.88, abs=0.3)
    assert left.percent.value == pytest.approx(49.4, abs=0.1)
    assert left.pulse.low is not None and left.pulse.high is not None
    assert 5.0 < left.pulse.high - left.pulse.value < 40.0
    assert any("1850 µs is past its stop by about 95 µs" in line for line in sums.set_now)
    assert any("1260 µs fits" in line for line in sums.set_now)
    clock.on(days=1)
    other = steering_sums(workshop, "Bramble", {"full": "400", "wheel_stop": "20"})
    assert other.ends[0].percent.value < left.percent.value * 500 / 400
    assert {source.key for source in sums.sources} >= {"four-bar-vector-loop", "elicited-chassis"}


def test_an_upright_horn_and_torque(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    said = {**LENGTHS, "drag": "", "horn_swings": "fore and aft", "torque": "9 kg·cm", "torque_at": "6"}
    assert read_linkage(said).horn_plane is HornPlane.FORE_AND_AFT
    sums = steering_sums(workshop, "Bramble", {**said, "supply": "7.4 V"})
    assert sums.torque is not None and sums.torque.has is not None
    assert sums.torque.has.value == pytest.approx(9 * 0.0980665 * 7.4 / 6.0)
    assert "ruts, landings and kerbs" in sums.torque.sentence
    weak = steering_sums(workshop, "Bramble", {**said, "torque": "2 kg·cm"})
    assert weak.torque is not None and "weak" in weak.torque.sentence


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"horn": "0"}, "Servo horn"),
        ({"horn": ""}, "still missing"),
        ({"drag": "5"}, "cannot close"),
        ({"balls": "100"}, "does not reach"),
        ({"travel": "90"}, "none we know"),
        ({"wheelbase": "280 m"}, "longer than any car"),
        ({"layout": "magic"}, "none of the choices"),
        ({"full": "5"}, "no radio’s"),
        ({"hornn": "18"}, "No length is called"),
        ({"shaft_limit": "20", "droop": "25"}, "already bends"),
    ],
)
def test_lengths_that_cannot_be_are_refused_with_what_to_do(
    bench: tuple[Workshop, Clock], change: dict[str, str], words: str
) -> None:
    with pytest.raises(SnugfastError, match=words) as refused:
        steering_sums(bench[0], "Bramble", {**LENGTHS, **change})
    assert refused.value.way_out


def test_every_starter_build_has_a_job_in_order(bench: tuple[Workshop, Clock]) -> None:
    """Each step says what to do and what good is; where the servo can stall its caution stands there."""
    workshop, _ = bench
    for build in workshop.facts.starters.values():
        steps = steps_of(workshop, build, build.of_role("servo")[0])
        assert [step.key for step in steps][:2] == ["model", "horn"]
        assert all(step.do and step.good for step in steps)
        stalls = {step.key for step in steps if any("two seconds" in c.text for c in step.cautions)}
        assert stalls == {"left", "right", "ground"}
    assert steering_job(workshop, "Bramble").radio == ""
    assert read_full({}) == 500.0
    assert read_drive({}).rad_per_us == pytest.approx(0.0015708, abs=1e-6)
