"""Heat that was read after a run makes the clocks it drives run faster, and the sheet says so.

Authority: laws of this project; the numbers are estimates (facts/stress.toml).
"""

from __future__ import annotations

import numpy as np
import pytest

from snugfast.records.entries import Ground, Ran, Reading
from snugfast.usecases.sheet_words import why_of
from snugfast.usecases.stakes import Values, at_risk
from snugfast.usecases.stress import run_stress, times_as_fast
from snugfast.usecases.upcoming import Ahead
from snugfast.usecases.what_stands import beliefs_about, ledger_now
from snugfast.usecases.workshop import Workshop
from tests.usecases.bench import facts, ran, with_truck, workshop_in_memory

RULE = facts().stress["motor_can"]
MOTOR, SPUR = facts().modes["motor_heat"], facts().modes["spur_worn"]


def a_run(*readings: Reading, ground: Ground = Ground.DIRT) -> Ran:
    from uuid import UUID

    return Ran(UUID(int=1), (), 12.0, ground=ground, readings=readings)


def read(degC: float, spot: str = "motor can", after_s: float | None = 20.0) -> Reading:
    return Reading(spot, degC, "°C", after_s)


def test_ten_kelvin_double_the_clock_between_its_ends() -> None:
    """Law: 2^(ΔT / 10 K); one at the reference."""
    assert times_as_fast(RULE, RULE.reference_degC) == 1.0
    assert times_as_fast(RULE, RULE.reference_degC + 10.0) == pytest.approx(2.0)
    assert times_as_fast(RULE, 300.0) == RULE.most
    assert times_as_fast(RULE, -20.0) == RULE.least


def test_only_the_modes_that_heat_drives_are_touched() -> None:
    stress = run_stress(facts().stress, [MOTOR, SPUR], a_run(read(80.0)))
    assert stress.factor[0] == pytest.approx(4.0)
    assert stress.factor[1] == 1.0
    assert stress.read_degC[0] == 80.0
    assert np.isnan(stress.read_degC[1])


def test_a_reading_takes_the_place_of_the_guess_by_ground() -> None:
    """Law: grass counts double because it heats; where the heat was read it is not counted twice."""
    grass = run_stress(facts().stress, [MOTOR], a_run(read(80.0), ground=Ground.GRASS))
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
    assert run_stress(facts().stress, [MOTOR], a_run(unused)).factor[0] == 1.0


def since_look(workshop: Workshop, mode: str) -> float:
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        car = ledger.car_named("Bramble")
        assert car is not None
        story = beliefs_about(workshop, reads, ledger, car.id)
    scope = story.scope(car.id)
    row = next(row for row, one in zip(scope.rows, scope.modes, strict=True) if one.key == mode)
    return float(story.since_look[row])


def test_a_hot_run_is_a_longer_run_for_the_motor() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, minutes="10", ground="dirt", readings=("motor can 85 °C 20 s",))
        assert since_look(workshop, "motor_heat") == pytest.approx(10.0 * 2.0**2.5)
        assert since_look(workshop, "spur_worn") < 30.0


def test_a_reason_says_what_was_read_and_how_many_times_it_counts() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, minutes="10", ground="dirt", readings=("motor can 85 °C 20 s",))
        with workshop.store.reading() as reads:
            ledger = ledger_now(reads)
            car = ledger.car_named("Bramble")
            assert car is not None
            story = beliefs_about(workshop, reads, ledger, car.id)
        ahead = Ahead(packs=1.0, running_min=12.0, hard_hits=1.0, wet_runs=0.0, days=1.0)
        risks = at_risk(story, car.id, car.id, ahead, workshop.now())
        motor = next(risk for risk in risks if risk.mode.key == "motor_heat")
        spur = next(risk for risk in risks if risk.mode.key == "spur_worn")
        values = Values(15.0, 40.0, "CRD")
        said = [why_of([(risk, 1.0)], np.ones(1), values, 1, zone="UTC")[0].since for risk in (motor, spur)]
        assert said[0].endswith("; read up to 85 °C, so it counts 5.7 times")
        assert "°C" not in said[1]


def test_a_cool_run_counts_for_less() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, minutes="10", ground="dirt", readings=("motor can 50 °C 20 s",))
        assert since_look(workshop, "motor_heat") == pytest.approx(5.0)


def test_stress_kept_and_told_further_equals_stress_told_whole() -> None:
    """Law: a kept story told further is the story told from the start, to the last bit."""
    from snugfast.usecases.story import Story
    from snugfast.usecases.story_form import story_bytes, story_from

    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        for degC in (70, 85):
            clock.on(hours=1)
            ran(workshop, minutes="10", readings=(f"motor can {degC} °C 20 s",))
        with workshop.store.reading() as reads:
            entries = [row.entry for row in reads.entries_after(0)]
            car = ledger_now(reads).car_named("Bramble")
        assert car is not None
        whole = Story(facts(), workshop.build, [car.id])
        part = Story(facts(), workshop.build, [car.id])
        for entry in entries:
            whole.take(entry)
        for entry in entries[:-1]:
            part.take(entry)
        part = story_from(story_bytes(part), facts(), workshop.build, [car.id])
        part.take(entries[-1])
        for name in ("since_look", "by_heat", "hottest"):
            assert np.array_equal(getattr(part, name), getattr(whole, name), equal_nan=True)
