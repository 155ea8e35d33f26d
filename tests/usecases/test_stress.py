"""Heat and load of a run make the clocks they drive run faster, and the sheet says so.

Authority: laws of this project (docs/decisions/0008, 0011); the numbers are estimates (facts/stress.toml and
facts/overload.toml).
"""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.facts.load import build_document
from snugfast.facts.model import Event, Mode
from snugfast.records.entries import Ground, Reading
from snugfast.usecases.beliefs.stakes import AtRisk, Values, at_risk
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.stress import CarStress, Driving, RunStress, times_as_fast, times_as_worn
from snugfast.usecases.beliefs.upcoming import Ahead
from snugfast.usecases.bench.sheet_words import why_of
from snugfast.usecases.journal.cars import draft_fitted, draft_work
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.says import (
    AXLES,
    CAN,
    CONTROLLER,
    MINUTES,
    PLUG,
    TEETH,
    TwinSays,
    at,
    mark_of_build,
    twin_says,
)
from tests.usecases.bench import TRUCK, car_story, facts, ran, with_truck, workshop_in_memory

RULE = facts().stress["motor_can"]
MOTOR, SPUR = facts().modes["motor_heat"], facts().modes["spur_worn"]
PLUG_MODE = facts().modes["controller_plug_hot"]
USUAL_min = facts().assumptions["habit_running_min"].value


def read(degC: float, spot: str = "motor can", after_s: float | None = 20.0) -> Reading:
    return Reading(spot, degC, "°C", after_s)


def driving(*readings: Reading, ground: Ground = Ground.DIRT, minutes: float = 12.0) -> Driving:
    return Driving(ground.value, minutes, None, readings)


def without_twin() -> CarStress:
    return CarStress(facts())


def says(can_K: float, *, load: float = 1.0) -> TwinSays:
    """A twin that warms in a straight line, by `can_K` over the usual minutes, and carries a load."""
    rises = tuple(can_K * minute / USUAL_min for minute in MINUTES)
    one = {CAN: rises, CONTROLLER: rises, PLUG: (load,), TEETH: (load,), AXLES: (load,)}
    return {ground.value: one for ground in Ground}


def with_twin(came_K: float, now_K: float, *, load: float = 1.0) -> CarStress:
    return CarStress(facts(), says(came_K), says(now_K, load=load))


# What was read.


def test_ten_kelvin_double_the_clock_between_its_ends() -> None:
    """Law: 2^(ΔT / 10 K); one at the reference."""
    assert times_as_fast(RULE, RULE.reference_degC) == 1.0
    assert times_as_fast(RULE, RULE.reference_degC + 10.0) == pytest.approx(2.0)
    assert times_as_fast(RULE, 300.0) == RULE.most
    assert times_as_fast(RULE, -20.0) == RULE.least


def test_only_the_modes_that_heat_drives_are_touched() -> None:
    stress = without_twin().of_run([MOTOR, SPUR], driving(read(80.0)))
    assert stress.factor[0] == pytest.approx(4.0)
    assert stress.factor[1] == 1.0
    assert stress.read_degC[0] == 80.0
    assert np.isnan(stress.read_degC[1])


def test_a_reading_takes_the_place_of_the_guess_by_ground() -> None:
    """Law: grass counts double because it heats; where the heat was read it is not counted twice."""
    grass = without_twin().of_run([MOTOR], driving(read(80.0), ground=Ground.GRASS))
    assert grass.factor[0] * MOTOR.ground_factor["grass"] == pytest.approx(4.0)


@pytest.mark.parametrize(
    "unused",
    [
        read(95.0, after_s=None),
        read(95.0, after_s=600.0),
        read(95.0, spot="motor plug"),
        read(95.0, spot="front diff"),
        Reading("motor can", 95.0, "km/h", 20.0),
    ],
)
def test_a_reading_of_another_spot_or_without_its_seconds_counts_nothing(unused: Reading) -> None:
    assert without_twin().of_run([MOTOR], driving(unused)).factor[0] == 1.0


def test_a_plug_is_read_by_its_own_name() -> None:
    stress = without_twin().of_run([MOTOR, PLUG_MODE], driving(read(60.0, spot="controller plug")))
    assert stress.factor[0] == 1.0
    assert stress.factor[1] == pytest.approx(4.0)


# What the twin says where nobody read.


@given(rise_K=st.floats(5.0, 120.0), ground=st.sampled_from(list(Ground)))
def test_a_car_as_it_came_driven_as_usual_counts_once(rise_K: float, ground: Ground) -> None:
    """Law: the tables' rates are meant for it, however warm its twin gets."""
    stress = with_twin(rise_K, rise_K).of_run([MOTOR, SPUR], driving(ground=ground))
    assert stress.factor == pytest.approx(1.0)


def test_a_rise_half_as_high_again_counts_as_its_kelvins_say() -> None:
    """Worked by hand: 60 °C is 40 K over mild air; 1.5 times as much is 80 °C; 2^(20/10) = 4."""
    stress = with_twin(30.0, 45.0).of_run([MOTOR], driving())
    assert stress.warmer_K[0] == pytest.approx(20.0)
    assert stress.factor[0] == pytest.approx(4.0)
    assert np.isnan(stress.read_degC[0])


def test_on_grass_the_tables_guess_is_what_the_twin_multiplies() -> None:
    """Worked by hand: grass counts twice, so 70 °C, 50 K over the air; 1.2 times is 80 °C: twice 70 °C."""
    stress = with_twin(30.0, 36.0).of_run([MOTOR], driving(ground=Ground.GRASS))
    assert stress.warmer_K[0] == pytest.approx(10.0)
    assert stress.factor[0] == pytest.approx(2.0)


@given(minutes=st.floats(1.0, 40.0), more=st.floats(1.0, 30.0))
def test_longer_runs_and_warmer_air_never_count_less(minutes: float, more: float) -> None:
    stress = with_twin(30.0, 30.0)

    def factor(minutes: float, air_degC: float) -> float:
        return float(stress.of_run([MOTOR], Driving("dirt", minutes, air_degC)).factor[0])

    assert factor(minutes, 20.0) <= factor(minutes + more, 20.0)
    assert factor(minutes, 20.0) <= factor(minutes, 20.0 + more)


def test_a_reading_goes_before_the_twin() -> None:
    stress = with_twin(30.0, 60.0).of_run([MOTOR], driving(read(70.0)))
    assert stress.factor[0] == pytest.approx(2.0)
    assert np.isnan(stress.warmer_K[0])


def test_without_a_twin_nothing_is_made_up() -> None:
    for stress in (without_twin(), CarStress(facts(), says(30.0), None)):
        assert stress.of_run([MOTOR, SPUR], driving()).factor == pytest.approx(1.0)


def test_teeth_wear_with_their_load() -> None:
    """Archard: worn volume goes with load."""
    stress = with_twin(30.0, 30.0, load=1.5).of_run([SPUR], driving())
    assert stress.factor[0] == pytest.approx(1.5)
    assert stress.load[0] == pytest.approx(1.5)
    rule = facts().overload["tooth_load"]
    assert times_as_worn(rule, 100.0) == rule.most
    assert times_as_worn(rule, 0.01) == rule.least


# What was read teaches.


def test_what_was_read_counts_for_the_runs_that_nobody_read() -> None:
    """Worked by hand, one Kalman step: ln(65/40) seen, prior 0.3, a run 0.2; gain 0.09/0.13."""
    stress = with_twin(30.0, 30.0)
    stress.learn([MOTOR], Driving("dirt", 12.0, 20.0, (read(85.0),)))
    log = 0.09 / 0.13 * math.log(65.0 / 40.0)
    assert stress.of_run([MOTOR], driving()).warmer_K[0] == pytest.approx(40.0 * math.exp(log) - 40.0)


@given(readings=st.lists(st.floats(50.0, 110.0), min_size=1, max_size=6))
def test_many_readings_are_the_mean_that_a_prior_and_all_of_them_give_at_once(readings: list[float]) -> None:
    """Law: steps one by one equal the closed form of a normal prior with normal readings."""
    stress = with_twin(30.0, 30.0)
    for degC in readings:
        stress.learn([MOTOR], Driving("dirt", 12.0, 20.0, (read(degC),)))
    seen = [math.log((degC - 20.0) / 40.0) for degC in readings]
    precision = 1 / 0.09 + len(seen) / 0.04
    level = stress.levels["motor_can"]
    assert level.log == pytest.approx(sum(seen) / 0.04 / precision)
    assert level.variance == pytest.approx(1.0 / precision)


def test_a_reading_without_the_air_beside_it_teaches_nothing() -> None:
    stress = with_twin(30.0, 30.0)
    stress.learn([MOTOR], Driving("dirt", 12.0, None, (read(85.0),)))
    assert not stress.levels


def test_another_build_makes_what_was_read_tell_less() -> None:
    stress = with_twin(30.0, 30.0)
    stress.learn([MOTOR], Driving("dirt", 12.0, 20.0, (read(85.0),)))
    before = stress.levels["motor_can"]
    stress.changed(says(30.0))
    assert stress.levels["motor_can"] == before
    stress.changed(says(40.0))
    assert stress.levels["motor_can"].log == before.log
    assert stress.levels["motor_can"].variance == pytest.approx(before.variance + 0.1**2)


@pytest.mark.parametrize("stress", [without_twin(), with_twin(30.0, 30.0), with_twin(30.0, 41.0)])
def test_it_is_kept_and_read_back_as_it_was(stress: CarStress) -> None:
    import json

    stress.learn([MOTOR], Driving("dirt", 12.0, 20.0, (read(85.0),)))
    kept = json.loads(json.dumps(stress.as_document()))
    assert CarStress.from_document(kept, facts()) == stress


# What the twin is asked.


def test_between_two_minutes_the_twin_is_read_straight() -> None:
    said: Mapping[str, Mapping[str, tuple[float, ...]]] = {"dirt": {CAN: tuple(float(m) for m in MINUTES)}}
    for minutes in (0.0, 0.5, 12.0, 17.5, 44.0):
        assert at(said, "dirt", CAN, minutes) == pytest.approx(minutes)
    assert at(said, "dirt", CAN, 200.0) == 45.0


def test_the_twin_of_a_starter_says_something_for_every_ground() -> None:
    build = facts().starters[TRUCK]
    said = twin_says(mark_of_build(build_document(build)), build)
    assert said is not None
    assert set(said) == {ground.value for ground in Ground}
    for of_ground in said.values():
        assert list(of_ground[CAN]) == sorted(of_ground[CAN])
        assert all(value == round(value, 1) for value in of_ground[CAN])


def test_a_build_without_its_sizes_has_no_twin_and_no_stress() -> None:
    from dataclasses import replace

    build = facts().starters[TRUCK]
    blank = replace(build, places=tuple(p for p in build.places if p.role != "motor"))
    assert twin_says(mark_of_build(build_document(blank)), blank) is None


# In the story and on the sheet.


def since_look(workshop: Workshop, mode: str) -> float:
    story, car = car_story(workshop)
    scope = story.scope(car)
    row = next(row for row, one in zip(scope.rows, scope.modes, strict=True) if one.key == mode)
    return float(story.since_look[row])


def risks(workshop: Workshop) -> dict[str, AtRisk]:
    story, car = car_story(workshop)
    ahead = Ahead(packs=1.0, running_min=12.0, hard_hits=1.0, wet_runs=0.0, days=1.0)
    return {risk.mode.key: risk for risk in at_risk(story, car, car, ahead, workshop.now())}


def why(risk: AtRisk) -> str:
    return why_of([(risk, 1.0)], np.ones(1), Values(15.0, 40.0, "CRD"), 1, zone="UTC")[0].since


def ahead_of(workshop: Workshop, mode: Mode) -> RunStress:
    story, car = car_story(workshop)
    return story.stress_ahead(car, [mode], driving())


def test_a_hot_run_is_a_longer_run_for_the_motor() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, minutes="10", ground="dirt", readings=("motor can 85 °C 20 s",))
        assert since_look(workshop, "motor_heat") == pytest.approx(10.0 * 2.0**2.5)
        assert since_look(workshop, "spur_worn") < 30.0


def test_a_cool_run_counts_for_less() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, minutes="10", ground="dirt", readings=("motor can 50 °C 20 s",))
        assert since_look(workshop, "motor_heat") == pytest.approx(5.0)


def test_a_reason_says_what_was_read_and_how_many_times_it_counts() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, minutes="10", ground="dirt", readings=("motor can 85 °C 20 s",))
        now = risks(workshop)
        assert why(now["motor_heat"]).endswith("; read up to 85 °C, so it counts 5.7 times")
        assert "°C" not in why(now["spur_worn"])


@pytest.mark.slow
def test_a_tall_pinion_is_seen_ahead_and_then_in_the_runs() -> None:
    """Practice: a tall optional pinion in ordinary driving burns something out; the usual one does not."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        before = risks(workshop)
        assert "warmer" not in why(before["motor_heat"])
        clock.on(hours=1)
        keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part="pinion, 22 teeth").entries)
        after = risks(workshop)
        assert "; the next run: some " in why(after["motor_heat"])
        assert "K warmer than it came, so it will count" in why(after["motor_heat"])
        for mode in ("motor_heat", "controller_heat"):
            assert after[mode].fail_chance > 4.0 * before[mode].fail_chance
        clock.on(hours=1)
        ran(workshop, minutes="12", ground="dirt")
        assert since_look(workshop, "motor_heat") > 4.0 * 12.0
        assert "K warmer than it came, so it counts" in why(risks(workshop)["motor_heat"])


@pytest.mark.slow
def test_a_smaller_pinion_cools_and_a_larger_one_heats_the_more_the_taller() -> None:
    factors = []
    for teeth in (13, 15, 17, 19):
        with workshop_in_memory() as (workshop, _):
            with_truck(workshop)
            keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part=f"pinion, {teeth} teeth").entries)
            factors.append(float(ahead_of(workshop, MOTOR).factor[0]))
    assert factors == sorted(factors)
    assert factors[0] < factors[1] == 1.0 < factors[2]


def _raised(mode: str, told_as: str) -> float:
    """How many times the rate of a mode is raised by a new pinion, against the truck as it came."""
    rates = []
    for pinion in (False, True):
        with workshop_in_memory() as (workshop, clock):
            with_truck(workshop)
            clock.on(hours=1)
            if pinion and told_as == "event":
                keep(workshop, draft_work(workshop, "Bramble", Event.PINION_CHANGED.value).entries)
            elif pinion:
                keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part=told_as).entries)
            risk = risks(workshop)[mode]
            rates.append(risk.rate * risk.exposure)
    return rates[1] / rates[0]


@pytest.mark.slow
def test_a_pinion_with_known_teeth_gets_its_level_from_the_twin_and_an_unknown_one_from_the_table() -> None:
    """Law: what dies away stands for not knowing, and is not set over what the twin says."""
    one_more, seven_more = (_raised("motor_heat", f"pinion, {teeth} teeth") for teeth in (16, 22))
    unknown = _raised("motor_heat", "another pinion")
    assert 1.0 < one_more < 1.5
    assert seven_more > 3.0 * one_more
    assert unknown > 3.0
    assert _raised("motor_heat", "event") == pytest.approx(unknown)
    assert _raised("motor_screw_loose", "pinion, 16 teeth") > 2.0


def test_not_treated_after_wet_is_said_as_a_reason() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, wet="salt water")
        clock.on(days=4)
        ran(workshop)
        said = [why(risk) for risk in risks(workshop).values()]
        assert any("; not treated after wet, so it counts" in words for words in said)


@pytest.mark.slow
def test_stress_kept_and_told_further_equals_stress_told_whole() -> None:
    """Law: a kept story told further is the story told from the start, to the last bit."""
    from snugfast.usecases.beliefs.story_form import story_bytes, story_from

    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for degC, teeth in ((70, 16), (85, 19)):
            clock.on(hours=1)
            ran(workshop, minutes="10", ambient="18 °C", readings=(f"motor can {degC} °C 20 s",))
            clock.on(hours=1)
            keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part=f"pinion, {teeth} teeth").entries)
        clock.on(hours=1)
        ran(workshop, minutes="14")
        with workshop.store.reading() as reads:
            entries = [row.entry for row in reads.entries_after(0)]
            car = ledger_now(reads).car_named("Bramble")
        assert car is not None
        whole = Story(facts(), workshop.build, [car.id])
        for entry in entries:
            whole.take(entry)
        for cut in range(1, len(entries)):
            part = Story(facts(), workshop.build, [car.id])
            for entry in entries[:cut]:
                part.take(entry)
            part = story_from(story_bytes(part), facts(), workshop.build, [car.id])
            for entry in entries[cut:]:
                part.take(entry)
            assert story_bytes(part) == story_bytes(whole)


@pytest.mark.slow
def test_a_story_told_anew_does_not_drive_the_twin_again(monkeypatch: pytest.MonkeyPatch) -> None:
    """Another process, with nothing in its memory, tells it from what was written down."""
    from snugfast.usecases.bench.bench_sheet import bench_sheet
    from snugfast.usecases.bench.sheet import Asked
    from snugfast.usecases.journal.keeping import undo
    from snugfast.usecases.twin import says as said

    def driven(build: object) -> None:
        raise AssertionError("the twin was driven")

    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for teeth in (17, 19):
            clock.on(hours=1)
            keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part=f"pinion, {teeth} teeth").entries)
            bench_sheet(workshop, Asked(minutes=20.0))
        before = since_look(workshop, "motor_heat")
        clock.on(hours=1)
        ran(workshop)
        bench_sheet(workshop, Asked(minutes=20.0))
        undo(workshop)
        monkeypatch.setattr(said, "_said", {})
        monkeypatch.setattr(said, "_driven", driven)
        bench_sheet(workshop, Asked(minutes=20.0))
        assert since_look(workshop, "motor_heat") == before
