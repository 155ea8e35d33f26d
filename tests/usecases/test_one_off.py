"""One-off sheets: which one a car gets, its minutes and price, what was answered, and what is done with it.

Authority: laws of this project; the price worked by hand from the prices of the build.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import pytest

from snugfast.core.errors import NotKnown, WrongData
from snugfast.facts.model import Occasion
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.one_off import draft_lay_up, draft_sheet_done, draft_wake_up, one_off_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_back, draft_car, starter
from snugfast.usecases.journal.keeping import keep, refuse_contradictions, undo
from snugfast.usecases.pedigree import row_called
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import TRUCK, Clock, facts, ran, with_truck, workshop_in_memory

Bench = tuple[Workshop, Clock]


@pytest.fixture
def bench() -> Iterator[Bench]:
    """A truck new from the box, and one from a barn."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        barn = draft_car(workshop, "Barn", starter(workshop, TRUCK), history="second-hand")
        keep(workshop, [barn])
        clock.on(days=1)
        yield workshop, clock


def occasion(workshop: Workshop, car: str = "Bramble") -> Occasion:
    return one_off_sheet(workshop, car).occasion


@pytest.mark.slow
def test_the_sheet_is_that_of_what_happened_last(bench: Bench) -> None:
    workshop, clock = bench
    assert occasion(workshop) is Occasion.NEW
    assert occasion(workshop, "Barn") is Occasion.SECOND_HAND
    keep(workshop, [draft_back(workshop, "Bramble", "2", "5")])
    assert occasion(workshop) is Occasion.LOAN
    clock.on(days=1)
    keep(workshop, draft_lay_up(workshop, "Bramble", words="shelf").entries)
    assert occasion(workshop) is Occasion.LAY_UP
    clock.on(days=100)
    keep(workshop, draft_wake_up(workshop, "Bramble").entries)
    assert occasion(workshop) is Occasion.WAKE_UP
    undo(workshop)
    assert occasion(workshop) is Occasion.LAY_UP


def test_minutes_count_each_cover_once(bench: Bench) -> None:
    """Worked: work and checks as in the tables, and each cover they are behind once."""
    workshop, _ = bench
    sheet = one_off_sheet(workshop, "Barn")
    covers = {access.name: access.minutes for access in facts().access.values()}
    behind = {name for check in sheet.checks for name in check.access}
    assert behind
    by_hand = sum(covers[name] for name in behind)
    by_hand += sum(work.minutes for work in (*sheet.before, *sheet.after))
    by_hand += sum(check.minutes for check in sheet.checks)
    assert sheet.minutes == pytest.approx(by_hand)


def test_the_price_is_the_builds_own(bench: Bench) -> None:
    """Worked: four wheel nuts, a set of transmitter cells, seals of both differentials."""
    workshop, _ = bench
    _, build = car_and_build(workshop, "Barn")
    one = {role: build.of_role(role)[0].price_minor for role in ("wheel_nut", "transmitter", "diff_seal")}
    nuts = sum(len(place.spots) for place in build.of_role("wheel_nut"))
    seals = sum(place.price_minor for place in build.of_role("diff_seal"))
    by_hand = nuts * one["wheel_nut"] + 0.03 * one["transmitter"] + seals
    assert one_off_sheet(workshop, "Barn").price.value == pytest.approx(by_hand / 100.0)


def test_what_the_checks_will_find_costs_more_on_a_car_nobody_knows(bench: Bench) -> None:
    """Law: a car from its box has few faults, a car from a barn many (trade judgement)."""
    workshop, _ = bench
    assert 0.05 < one_off_sheet(workshop, "Bramble").likely.value < 1.0
    assert one_off_sheet(workshop, "Barn").likely.value > 1.0


def test_answers_since_are_ticked_off_and_their_minutes_too(bench: Bench) -> None:
    workshop, _ = bench
    before = one_off_sheet(workshop, "Barn")
    keep(workshop, draft_found(workshop, FoundSaid("Barn", "wheel_nuts")).entries)
    after = one_off_sheet(workshop, "Barn")
    done = [check.check for check in after.checks if check.done_at]
    assert done == ["wheel_nuts"]
    assert before.minutes_left - after.minutes_left == pytest.approx(facts().checks["wheel_nuts"].minutes)
    assert after.minutes == before.minutes


def test_done_is_kept_and_a_new_occasion_asks_anew(bench: Bench) -> None:
    workshop, clock = bench
    draft = draft_sheet_done(workshop, "Bramble")
    assert draft.echo[0].endswith("Bramble: done: New from the box.")
    keep(workshop, draft.entries)
    sheet = one_off_sheet(workshop, "Bramble")
    assert sheet.done_at is not None and sheet.minutes_left == 0.0
    clock.on(days=1)
    keep(workshop, [draft_back(workshop, "Bramble", "1", "2")])
    assert one_off_sheet(workshop, "Bramble").done_at is None


@pytest.mark.slow
def test_what_was_answered_or_done_before_the_occasion_does_not_count(bench: Bench) -> None:
    workshop, clock = bench
    keep(workshop, [draft_back(workshop, "Bramble", "1", "2")])
    keep(workshop, draft_found(workshop, FoundSaid("Bramble", "wheel_nuts")).entries)
    keep(workshop, draft_sheet_done(workshop, "Bramble").entries)
    assert one_off_sheet(workshop, "Bramble").done_at is not None
    clock.on(days=20)
    keep(workshop, [draft_back(workshop, "Bramble", "1", "2")])
    again = one_off_sheet(workshop, "Bramble")
    assert again.done_at is None
    assert not [check for check in again.checks if check.done_at]


@pytest.mark.slow
def test_work_that_the_build_cannot_have_is_left_out(bench: Bench) -> None:
    workshop, _ = bench
    oil = "Change the diff oil"
    assert oil in [work.name for work in one_off_sheet(workshop, "Barn").after]
    build = starter(workshop, TRUCK)
    locked = replace(build, traits={**build.traits, "diff": "locked"})
    keep(workshop, [draft_car(workshop, "Stiff", locked, history="unknown")])
    assert oil not in [work.name for work in one_off_sheet(workshop, "Stiff").after]


def test_every_step_has_its_cautions_those_of_its_covers_too(bench: Bench) -> None:
    workshop, _ = bench
    sheet = one_off_sheet(workshop, "Barn")
    mesh = next(check for check in sheet.checks if check.check == "mesh_feel")
    assert any("turn it backwards" in caution.text for caution in mesh.cautions)
    assert all(one.adults_only == any(c.adults_only for c in one.cautions) for one in sheet.before)


@pytest.mark.slow
def test_a_car_put_away_is_not_on_the_sheet_of_the_evening_but_can_be_asked_for(bench: Bench) -> None:
    workshop, clock = bench
    keep(workshop, draft_lay_up(workshop, "Barn").entries)
    assert [car.name for car in bench_sheet(workshop, Asked()).cars] == ["Bramble"]
    assert [car.name for car in bench_sheet(workshop, Asked(("Barn",))).cars] == ["Barn"]
    clock.on(days=30)
    ran(workshop, "Barn", packs=())
    assert [car.name for car in bench_sheet(workshop, Asked()).cars] == ["Barn", "Bramble"]


def test_what_cannot_be_is_refused(bench: Bench) -> None:
    workshop, _ = bench
    with pytest.raises(NotKnown):
        one_off_sheet(workshop, "Brumble")
    with pytest.raises(WrongData, match="is not laid up"):
        refuse_contradictions(workshop, draft_wake_up(workshop, "Bramble").entries)
    keep(workshop, draft_lay_up(workshop, "Bramble").entries)
    with pytest.raises(WrongData, match="laid up already"):
        refuse_contradictions(workshop, draft_lay_up(workshop, "Bramble").entries)
    without = replace(workshop, facts=replace(facts(), one_off_sheets={}))
    with pytest.raises(NotKnown, match="no first-check list"):
        one_off_sheet(without, "Barn")


@pytest.mark.parametrize(
    ("key", "kind", "seen"),
    [
        ("wash_salt", "treatment", "elicited"),
        ("salt water", "wet rule", "practice"),
        ("wake_up", "first-check list", "practice"),
    ],
)
def test_where_these_rows_come_from_can_be_asked(key: str, kind: str, seen: str) -> None:
    row = row_called(facts(), key)
    assert (row.kind, row.source.seen.value) == (kind, seen)
    assert not any("Step(" in value or "Protects(" in value for value in row.values.values())
