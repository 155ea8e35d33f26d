"""What to carry and what to buy: from the beliefs of the cars that go, within limits, in whole packs.

Authority: laws of this project; the mathematics is held in tests/upkeep/test_spares.py.
"""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from time import process_time

import pytest

from snugfast.core.errors import BadInput, NotKnown
from snugfast.exchange.box_lists import buy_csv, carry_csv
from snugfast.exchange.paper.leaf import leaf_lines
from snugfast.exchange.paper.lists import outing_leaf
from snugfast.exchange.paper.spares import buy_leaf, carry_leaf
from snugfast.records.entries import LaidUp
from snugfast.usecases.beliefs.stakes import Values
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_car, draft_fitted, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.money.money import money_told
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.buy import buy_list
from snugfast.usecases.spares.carry import CarrySaid, carry_list
from snugfast.usecases.spares.demand import Day, KindWanted, by_kind, cars_going
from snugfast.usecases.spares.plan import PlanSaid, day_plan
from snugfast.usecases.stock.drafts import BoxPartSaid, draft_arrived, draft_ordered, draft_part
from tests.usecases.bench import Clock, as_the_tables_mean, facts, ran, with_truck, workshop_in_memory

MEANT = as_the_tables_mean(facts())  # the driver whom the tables mean, whatever a short season says


def with_part(workshop: Workshop, at: str, count: str, **said: str) -> None:
    keep(workshop, draft_part(workshop, BoxPartSaid("Bramble", at, count=count, **said)).entries)  # type: ignore[arg-type]


def kinds(workshop: Workshop, *cars: str, outings: float = 1.0) -> dict[str, KindWanted]:
    ledger, going = cars_going(workshop, cars, Day(outings=outings))
    values = Values.of(ledger.settings, workshop.facts)
    return {kind.name: kind for kind in by_kind(workshop, ledger, going, values)}


def season(workshop: Workshop, clock: Clock, outings: int, **said: object) -> None:
    for _ in range(outings):
        clock.on(days=9)
        ran(workshop, **said)


def test_more_parts_fail_on_average_than_the_chance_that_any_does() -> None:
    """*Law*: the mean of a count is at least the chance of one or more, and the two agree for one part."""
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        _, (one,) = cars_going(workshop, (), Day())
        for risk in one.risks:
            assert risk.failures >= risk.fail_chance - 1e-12 and risk.failures_spread >= 0.0
            if risk.place is not None and len(risk.place.spots) < 2:
                assert risk.failures == pytest.approx(risk.fail_chance, abs=1e-9)
            assert risk.failures >= risk.sudden_chance - 1e-12  # what no check could catch is in it


def test_the_same_part_of_two_cars_is_wanted_as_one() -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        alone = kinds(workshop)
        with_truck(workshop, "Burdock")
        both = kinds(workshop)
        nut = next(name for name in both if "flanged nylon" in name)
        assert both[nut].demand.mean == pytest.approx(2.0 * alone[nut].demand.mean, rel=1e-6)
        assert both[nut].demand.variance >= both[nut].demand.mean
        assert both[nut].loss == pytest.approx(alone[nut].loss)
        arm = [name for name in both if name == "suspension arm"]
        assert arm  # of the same build and the same place: one part too


def test_what_broke_often_is_wanted_more() -> None:
    with workshop_in_memory(MEANT) as (workshop, clock):
        with_truck(workshop)
        season(workshop, clock, 3)
        before = kinds(workshop)
        nut = next(name for name in before if "flanged nylon" in name)
        season(workshop, clock, 3, broke=("wheel nut loose: replaced",))
        after = kinds(workshop)
        assert after[nut].demand.mean > 1.2 * before[nut].demand.mean


def test_the_limits_hold_and_the_best_is_proved() -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        wide = carry_list(workshop, CarrySaid())
        assert wide.lines and wide.is_proved and wide.saves.value <= wide.at_stake.value
        few = carry_list(workshop, CarrySaid(pieces="3", grams="60 g", litres="0.1", trip="50"))
        assert few.pieces <= 3 and few.mass.value <= 60.0 and few.room.value <= 0.1
        assert sum(line.take for line in few.lines) == few.pieces
        assert [step.left.value for step in few.curve] == sorted(
            (step.left.value for step in few.curve), reverse=True
        )
        assert few.at_stake.value > wide.at_stake.value  # the way there is lost with a car that stands
        assert carry_list(workshop, CarrySaid(pieces="0")).lines == ()
        with pytest.raises(BadInput):
            carry_list(workshop, CarrySaid(pieces="-1"))
        with pytest.raises(NotKnown):
            carry_list(workshop, CarrySaid(cars=("Nobody",)))


def test_without_money_only_what_the_box_has_is_taken_and_it_is_named_with_its_drawer() -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        assert carry_list(workshop, CarrySaid(money="0", trip="20")).lines == ()
        with_part(workshop, "wheel nuts", "2", place="drawer 2")
        (line,) = carry_list(workshop, CarrySaid(money="0", trip="20")).lines
        assert 1 <= line.take <= 2 and line.have == line.take and line.buy == 0 and line.place == "drawer 2"
        assert 0.0 < line.chance.value < 1.0 and any("Wheel nut loose" in why for why in line.why)
        told = leaf_lines(outing_leaf(workshop))
        assert any(line.name in one for one in told)
        assert carry_list(workshop, CarrySaid(money="0", trip="20")).tools
        from_box = carry_list(workshop, CarrySaid(trip="20"))
        assert "from the box alone" in from_box.limits and all(not one.buy for one in from_box.lines)
        bought = carry_list(workshop, CarrySaid(trip="20", money="50"))
        assert any(one.buy for one in bought.lines) and bought.saves.value > from_box.saves.value


def test_a_car_that_is_put_away_does_not_go() -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        with_truck(workshop, "Burdock")
        with workshop.store.reading() as reads:
            car = ledger_now(reads).car_named("Burdock")
        assert car is not None
        keep(workshop, [workshop.entry(LaidUp(car.id))])
        assert carry_list(workshop, CarrySaid()).cars == ("Bramble",)


def test_what_a_job_waits_for_is_bought_first_in_whole_packs_and_not_twice() -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        keep(
            workshop,
            draft_found(workshop, FoundSaid("Bramble", "wheel_nuts", ("lost @ front left",))).entries,
        )
        with_part(workshop, "wheel nuts", "0", pack_of="10", price="0.40")
        first = buy_list(workshop).lines[0]
        assert first.needed == 1 and first.buy == 10 and first.price is not None
        assert first.price.value == pytest.approx(4.00)
        keep(workshop, draft_ordered(workshop, "1", "10").entries)
        assert all(line.item != first.item for line in buy_list(workshop).lines)
        keep(workshop, draft_arrived(workshop, "1").entries)
        assert all(line.item != first.item for line in buy_list(workshop).lines)


def test_below_the_minimum_is_bought_though_nobody_will_want_it() -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        with_part(workshop, "steering servo", "0", minimum="1")
        line = next(one for one in buy_list(workshop).lines if one.minimum)
        assert line.buy == 1


def test_parts_that_wear_are_wanted_by_their_age() -> None:
    """The same car with the same past: with new tyres it wants fewer of them than with the old ones."""
    with workshop_in_memory(MEANT) as (workshop, clock):
        with_truck(workshop)
        season(workshop, clock, 12, minutes="40")
        found = kinds(workshop)
        tyre = next(name for name in found if "tyre" in name)
        worn = _by_mode(found[tyre], "tyre_worn")
        keep(workshop, draft_fitted(workshop, "Bramble", "tyres").entries)
        fresh = _by_mode(kinds(workshop)[tyre], "tyre_worn")
        assert 0.0 < fresh < 0.7 * worn


def _by_mode(kind: KindWanted, mode: str) -> float:
    return sum(one.demand.mean for one in kind.wanted if one.mode.key.startswith(mode))


def test_money_is_never_passed_and_what_is_left_out_is_named() -> None:
    with workshop_in_memory(MEANT) as (workshop, clock):
        with_truck(workshop)
        season(workshop, clock, 3)
        everything = buy_list(workshop)
        assert len(everything.lines) > 2 and not everything.left_out
        some = buy_list(workshop, f"{everything.price.value / 2.0:.2f}")
        assert some.price.value <= everything.price.value / 2.0 + 1e-9
        assert len(some.lines) + len(some.left_out) == len(everything.lines)
        assert some.gap.value == pytest.approx(0.0, abs=1e-6)


def test_both_lists_go_on_paper_and_into_a_spreadsheet() -> None:
    with workshop_in_memory(MEANT) as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        with_part(workshop, "wheel nuts", "2", name="+nuts")
        carried = carry_list(workshop, CarrySaid(trip="20"))
        rows = list(csv.DictReader(io.StringIO(carry_csv(carried).decode("utf-8-sig"))))
        assert len(rows) == len(carried.lines) and "'+nuts" in {row["part"] for row in rows}
        bought = buy_list(workshop)
        assert len(buy_csv(bought).decode().splitlines()) == len(bought.lines) + 1
        assert leaf_lines(carry_leaf(workshop, carried))[0] == "Spares to carry for Bramble"
        assert leaf_lines(buy_leaf(workshop, bought))[0] == "To buy"
        assert workshop.now() - clock.now < timedelta(seconds=1)


@pytest.mark.soak
def test_eight_cars_and_four_hundred_kinds_of_part_are_weighed_at_once() -> None:
    """Bar: the whole question under 200 ms of processor time, the beliefs of the cars already worked out."""
    with workshop_in_memory() as (workshop, _):
        for number, key in enumerate(list(workshop.facts.starters)[:8]):
            keep(workshop, [draft_car(workshop, f"Car {number}", starter(workshop, key))])
        assert len(kinds(workshop)) > 250
        taken_s = []
        for _ in range(4):
            began = process_time()
            found = carry_list(workshop, CarrySaid())
            taken_s.append(process_time() - began)
        assert min(taken_s) < 0.2 and found.is_proved


@pytest.mark.parametrize("typed", ["-1", "1e300", "nan", "12 XXX"])
def test_money_that_cannot_be_spent_is_refused(typed: str) -> None:
    """Found by the soak of requests: a budget below zero was packed, and a day of 1e300 packs never ended."""
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        with pytest.raises(BadInput):
            buy_list(workshop, money=typed)
        with pytest.raises(BadInput):
            money_told(workshop, budget=typed)


@pytest.mark.parametrize("said", [{"packs": "-1"}, {"packs": "1e300"}, {"minutes": "1e300"}, {"sheet": "-5"}])
def test_a_day_that_cannot_be_is_refused(said: dict[str, str]) -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        with pytest.raises(BadInput, match="cannot be"):
            day_plan(workshop, PlanSaid(**said))


@pytest.mark.parametrize("said", [{"packs": "-3"}, {"trip": "1e300"}, {"pieces": "-1"}])
def test_a_box_that_cannot_be_is_refused(said: dict[str, str]) -> None:
    with workshop_in_memory(MEANT) as (workshop, _):
        with_truck(workshop)
        with pytest.raises(BadInput):
            carry_list(workshop, CarrySaid(**said))
