"""The plan of a day out: packs to the cars that take them, what to charge, nothing that is not there.

Authority: laws of this project, and sums by hand.
"""

from __future__ import annotations

import pytest

from snugfast.core.errors import BadInput
from snugfast.exchange.paper.leaf import leaf_lines
from snugfast.exchange.paper.spares import plan_leaf
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.log import draft_looked
from snugfast.usecases.packs.register import ChargerSaid, PackSaid, draft_charger, draft_pack
from snugfast.usecases.spares.plan import PlanSaid, day_plan
from tests.usecases.bench import with_truck, workshop_in_memory


def test_packs_go_to_the_cars_that_take_them_and_what_lacks_is_said() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(workshop, [draft_pack(workshop, PackSaid("Other", "3", "5000 mAh"))])
        keep(workshop, [draft_pack(workshop, PackSaid("Big", "8", "5000 mAh"))])
        plan = day_plan(workshop, PlanSaid(packs="3"))
        (car,) = plan.cars
        assert car.runs == 3 and car.lacking == 3 - len(car.packs)
        assert "Big" not in car.packs  # eight cells do not go in this car
        assert plan.sheet_min > 0.0
        lines = leaf_lines(plan_leaf(workshop, plan))
        assert any("short" in line for line in lines) and lines[0] == "Plan for Bramble"


def test_two_cars_do_not_get_the_same_pack() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        with_truck(workshop, "Burdock")
        plan = day_plan(workshop, PlanSaid(packs="2"))
        packs = [pack for car in plan.cars for pack in car.packs]
        assert len(packs) == len(set(packs)) == 2
        assert sum(car.lacking for car in plan.cars) == 2


def test_charging_takes_as_long_as_the_sum_by_hand() -> None:
    """5 Ah at 1C from nothing known: an hour and a fifth each; two on one channel one after the other."""
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(workshop, [draft_pack(workshop, PackSaid("Other", "3", "5000 mAh"))])
        keep(workshop, draft_charger(workshop, ChargerSaid("One", "10 A", "200 W", "1")).entries)
        plan = day_plan(workshop, PlanSaid(packs="2"))
        by_hand = [72.0 * (1.0 - (one.charge.value if one.charge else 0.0)) for one in plan.charge]
        assert [one.minutes.value for one in plan.charge] == pytest.approx(by_hand)
        assert plan.charge_min.value == pytest.approx(sum(by_hand))
        keep(workshop, draft_charger(workshop, ChargerSaid("Two", "10 A", "200 W", "1")).entries)
        assert day_plan(workshop, PlanSaid(packs="2")).charge_min.value == pytest.approx(max(by_hand))
        assert plan.cautions


def test_a_damaged_pack_is_not_planned_with() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        keep(workshop, draft_looked(workshop, "Bramble pack", ("swollen",)).entries)
        plan = day_plan(workshop, PlanSaid(packs="1"))
        assert plan.cars[0].packs == () and plan.cars[0].lacking == 1
        assert plan.see_to and plan.see_to[0].startswith("Bramble pack")


def test_how_wet_it_will_be_is_held_against_the_parts() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        plan = day_plan(workshop, PlanSaid(wet="mud"))
        assert any("Bramble, mud" in one for one in plan.wet)
        assert not day_plan(workshop, PlanSaid()).wet
        with pytest.raises(BadInput):
            day_plan(workshop, PlanSaid(packs="a few"))
