"""Laws that hold for every row of every car, whatever the tables say.

Authority: laws. Each tells two stories that differ in one thing and holds all their rows side by side.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

import numpy as np
import pytest

from snugfast.facts.model import Clock
from snugfast.records.ledger import CarRecord
from snugfast.usecases.beliefs.stakes import AtRisk, at_risk
from snugfast.usecases.beliefs.upcoming import Ahead
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_fitted, draft_moved
from snugfast.usecases.journal.keeping import keep, redo, undo
from snugfast.usecases.journal.run_log import CatchUpSaid, draft_catch_up
from snugfast.usecases.shared.applicability import car_checks, of_pack
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.typed_words import find_place
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import TRUCK, car_story, facts, ran, with_truck, workshop_in_memory
from tests.usecases.bench import Clock as BenchClock

AHEAD = Ahead(2.0, 24.0, 3.0, 0.2, 0.0)
CHECKS = [
    check.key
    for check in car_checks(facts(), facts().starters[TRUCK])
    if check.covers and not of_pack(facts(), check)
]
Key = tuple[str, str]


@contextmanager
def season() -> Iterator[tuple[Workshop, BenchClock]]:
    """Two trucks with a few days behind them, in the wet and with hits."""
    with workshop_in_memory() as (workshop, clock):
        for name in ("Bramble", "Thistle"):
            with_truck(workshop, name)
        for wet, hits in (("dry", "3"), ("mud", "many"), ("dry", "")):
            clock.on(days=5)
            for name in ("Bramble", "Thistle"):
                ran(workshop, name, wet=wet, hits=hits, ground="gravel")
        clock.on(days=2)
        yield workshop, clock


def risks(workshop: Workshop, name: str = "Bramble") -> dict[Key, AtRisk]:
    story, car = car_story(workshop, name)
    found = at_risk(story, car, car, AHEAD, workshop.now())
    return {(risk.place.key, risk.mode.key): risk for risk in found if risk.place is not None}


def _car(workshop: Workshop) -> CarRecord:
    with workshop.store.reading() as reads:
        return car_called(ledger_now(reads), "Bramble")


def answer(workshop: Workshop, check: str, word: str) -> None:
    keep(workshop, draft_found(workshop, FoundSaid("Bramble", check, (word,))).entries)


@pytest.mark.slow
@pytest.mark.parametrize("check", CHECKS[::5])
def test_a_clean_look_lowers_what_it_covers_a_tick_less_and_another_car_not_at_all(check: str) -> None:
    seen = {}
    for word in ("", "ticked", "sound"):
        with season() as (workshop, _):
            if word:
                answer(workshop, check, word)
            seen[word] = risks(workshop)
            other = risks(workshop, "Thistle")
    covered = {cover.mode for cover in facts().checks[check].covers}
    harm = facts().checks[check].harm  # a key on a screw can plant what it looks for
    opened = bool(harm or facts().checks[check].access)
    assert {key[1] for key in seen[""]} & covered
    for key, before in seen[""].items():
        looked, ticked = seen["sound"][key], seen["ticked"][key]
        if key[1] in covered:
            assert looked.presence <= before.presence + harm + 1e-9
            assert ticked.presence <= before.presence + 1e-9
            assert harm or looked.presence <= ticked.presence + 1e-9
        elif not opened:
            assert looked.presence == pytest.approx(before.presence, rel=1e-6)
    with season() as (workshop, _):
        untouched = risks(workshop, "Thistle")
    assert {k: r.presence for k, r in other.items()} == pytest.approx(
        {k: r.presence for k, r in untouched.items()}
    )


@pytest.mark.slow
@pytest.mark.parametrize("place", ["wheel nuts", "pinion", "driveshafts", "servo"])
def test_a_new_part_never_leaves_more_belief_at_its_place(place: str) -> None:
    with season() as (workshop, _):
        before = risks(workshop)
        keep(workshop, draft_fitted(workshop, "Bramble", place).entries)
        after = risks(workshop)
        place_key = find_place(place, workshop.build(_car(workshop).build)).key
        here = [one for one in before if one[0] == place_key]
        assert here
        for one in here:
            assert after[one].presence <= before[one].presence + 1e-12
            assert after[one].since_look == pytest.approx(0.0, abs=1e-6)  # a breath later


@pytest.mark.slow
def test_one_corner_after_another_ends_the_doubt_corner_by_corner() -> None:
    with season() as (workshop, clock):
        before = risks(workshop)["wheel_nuts", "wheel_nut_loose"].presence
        for n, spot in enumerate(("front left", "front right", "rear left", "rear right")):
            clock.on(minutes=1)
            keep(workshop, draft_fitted(workshop, "Bramble", "wheel nuts", spots=(spot,)).entries)
            now = risks(workshop)["wheel_nuts", "wheel_nut_loose"].presence
            failed_to = (1.0 - workshop.assume("fit_success")) * before
            assert now == pytest.approx(before * (3 - n) / 4 + failed_to * (n + 1) / 4, rel=0.1)


def test_moved_there_and_back_a_part_has_been_through_what_it_has() -> None:
    """Law: what the part has been through goes with it; only the work on it may leave a trace."""
    with season() as (workshop, clock):
        before = risks(workshop)
        for giver, taker in (("Bramble", "Thistle"), ("Thistle", "Bramble")):
            clock.on(minutes=1)
            keep(workshop, draft_moved(workshop, giver, "motor", taker).entries)
        after = risks(workshop)
        for key, risk in before.items():
            assert after[key].since_look == pytest.approx(risk.since_look, abs=0.01)
            assert after[key].presence == pytest.approx(risk.presence, rel=1e-3, abs=1e-6)


@pytest.mark.slow
@pytest.mark.parametrize(("first", "second"), [(1, 1), (3, 14), (12, 12), (20, 7)])
def test_a_run_told_in_two_is_as_long(first: int, second: int) -> None:
    """Law for what runs by minutes without heat: two short runs bring as far as one long one."""
    seen = []
    for parts in ((first + second,), (first, second)):
        with workshop_in_memory() as (workshop, clock):
            with_truck(workshop)
            for minutes in parts:
                clock.on(hours=2)
                ran(workshop, minutes=str(minutes))
            seen.append(risks(workshop))
    heated = {mode for rule in facts().stress.values() for mode in rule.modes}
    for key, whole in seen[0].items():
        if whole.mode.clock is Clock.RUNNING_MIN and key[1] not in heated:
            assert seen[1][key].since_look == pytest.approx(whole.since_look)
            assert seen[1][key].presence == pytest.approx(whole.presence, rel=1e-4, abs=1e-9)


def test_running_remembered_in_bulk_is_worth_those_runs() -> None:
    """Law: three packs of 12 minutes caught up are three runs of 12 minutes, for what runs by minutes."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=10)
        for _ in range(3):
            clock.on(minutes=30)
            ran(workshop, minutes="12", ground="gravel")
        one_by_one = risks(workshop)
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=10, minutes=90)
        said = CatchUpSaid("Bramble", "3", since="2026-05-03", minutes_each="12", ground="gravel")
        keep(workshop, draft_catch_up(workshop, said).entries)
        in_bulk = risks(workshop)
    for key, one in one_by_one.items():
        if one.mode.clock in (Clock.RUNNING_MIN, Clock.PACKS):
            assert in_bulk[key].since_look == pytest.approx(one.since_look, rel=0.02), key


def test_standing_ages_by_days_alone() -> None:
    with season() as (workshop, clock):
        before = risks(workshop)
        clock.on(days=60)
        after = risks(workshop)
    wet = {protected.mode for one in facts().treatments.values() for protected in one.protects}
    grown = {key[1] for key, risk in after.items() if risk.presence > before[key].presence + 1e-12}
    assert grown
    assert all(facts().modes[mode].clock is Clock.DAYS or mode in wet for mode in grown)


@pytest.mark.slow
def test_what_was_taken_back_and_brought_again_stands_as_before() -> None:
    with season() as (workshop, _):
        answer(workshop, "wheel_nuts", "sound")
        said = risks(workshop)
        undo(workshop)
        redo(workshop)
        again = risks(workshop)
        for key, risk in said.items():
            assert again[key].presence == pytest.approx(risk.presence, rel=1e-6, abs=1e-12)


@pytest.mark.slow
def test_more_minutes_never_avoid_less() -> None:
    with season() as (workshop, _):
        avoided = [
            bench_sheet(workshop, Asked(("Bramble",), minutes=float(minutes))).loss_avoided.value
            for minutes in range(0, 61, 6)
        ]
    assert np.all(np.diff(avoided) >= -1e-9)
