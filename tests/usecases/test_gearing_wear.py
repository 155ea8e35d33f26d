"""What a pair of gears costs in wear.

Authority: laws, and the sheet's own stress after the pair is fitted.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from snugfast.physics.study.gearing import Pair
from snugfast.records.ledger import CarRecord
from snugfast.usecases.beliefs.stress import Driving, RunStress
from snugfast.usecases.beliefs.upcoming import Until, look_ahead
from snugfast.usecases.gearing.wear import PairWear, wear_of_pairs
from snugfast.usecases.journal.cars import draft_car, draft_fitted, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import TRUCK, car_story, ran, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

MOTOR = "the motor can"


def bramble(workshop: Workshop) -> CarRecord:
    with workshop.store.reading() as reads:
        return car_called(ledger_now(reads), "Bramble")


def worn(workshop: Workshop, *teeth: int, air_degC: float = 20.0) -> Sequence[PairWear]:
    pairs = [Pair(pinion, 54) for pinion in teeth]
    return wear_of_pairs(workshop, bramble(workshop), pairs, ground="dirt", air_degC=air_degC)


def times(wear: PairWear, name: str) -> float:
    return next(part.times for part in wear.parts if part.name == name)


def ahead_of(workshop: Workshop) -> RunStress:
    """What the story takes for a run as it is usual here, on dirt at 25 °C."""
    (story, car_id), car = car_story(workshop), bramble(workshop)
    ahead = look_ahead(workshop.facts, car.habits, until=Until.RUN, now=workshop.now())
    motor = workshop.facts.modes["motor_heat"]
    return story.stress_ahead(car_id, [motor], Driving("dirt", ahead.running_min, 25.0))


def test_todays_pair_costs_nothing_more() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        (today,) = worn(workshop, 15)
        assert [part.times for part in today.parts] == pytest.approx([1.0] * len(today.parts))
        assert today.dearer.value == pytest.approx(0.0)


def test_a_taller_pair_wears_the_motor_faster_and_costs_more() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        short, today, tall, taller = worn(workshop, 13, 15, 17, 20)
        assert times(short, MOTOR) < times(today, MOTOR) < times(tall, MOTOR) < times(taller, MOTOR)
        assert short.dearer.value < 0.0 < tall.dearer.value < taller.dearer.value


def test_it_is_the_stress_that_the_sheet_takes_once_the_pinion_is_in() -> None:
    """Against the story: the same pair fitted, the same run ahead."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=1)
        ran(workshop, minutes="14", ambient="18 °C", readings=("motor can 70 °C 20 s",))
        (tall,) = worn(workshop, 18, air_degC=25.0)
        before = ahead_of(workshop)
        clock.on(hours=1)
        keep(workshop, draft_fitted(workshop, "Bramble", "pinion", part="pinion, 18 teeth").entries)
        after = ahead_of(workshop)
        assert times(tall, MOTOR) == pytest.approx(float(after.factor[0] / before.factor[0]), rel=0.01)
        warmer = next(part.warmer for part in tall.parts if part.name == MOTOR)
        assert warmer is not None
        assert warmer.value == pytest.approx(float(after.warmer_K[0] - before.warmer_K[0]), abs=0.2)


def test_a_car_without_a_twin_has_nothing_to_say() -> None:
    with workshop_in_memory() as (workshop, _):
        build = starter(workshop, TRUCK)
        blank = tuple(replace(place, sizes={}) if place.role == "motor" else place for place in build.places)
        keep(workshop, [draft_car(workshop, "Bramble", replace(build, places=blank))])
        assert not worn(workshop, 15)
