"""The smallest kit for some cars.

Authority: trade practice (keys 1.5, 2 and 2.5 mm serve most hardware of 1/10 cars), enumeration of all sets
of tools for the exact cover, and counts by hand from the starter build.
"""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.facts.model import Build
from snugfast.numerics.covering import cheapest_cover
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.mechanics.tool_kit import ToolKit, tool_kit
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def kit(*cars: str) -> ToolKit:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        for key in cars:
            keep(workshop, [draft_car(workshop, key, starter(workshop, key))])
        return tool_kit(workshop)


def test_three_keys_serve_most_hardware_of_a_one_tenth_truck() -> None:
    """Practice: 1.5, 2 and 2.5 mm."""
    counts = dict(kit().hex_keys)
    most = sum(counts.get(size, 0) for size in (1.5, 2.0, 2.5))
    assert most / sum(counts.values()) > 0.8


def test_every_screw_and_nut_is_turned_by_some_tool() -> None:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        answer = tool_kit(workshop)
        build = starter(workshop, "truck-1-10-4wd-3s")
    turned = {turn for tool in answer.tools for turn in tool.turns}
    assert {f"hex driver {size:g} mm" for size in _sizes(build, "key_mm")} <= turned
    assert "wheel nut 7 mm" in turned
    wrenched = {float(turn.split()[-2]) for turn in turned if "hex driver" not in turn}
    assert _sizes(build, "wrench_mm") == wrenched


def _sizes(build: Build, name: str) -> set[float]:
    return {float(place.sizes[name]) for place in build.places if name in place.sizes}


def test_a_wheel_nut_is_not_left_to_an_open_wrench() -> None:
    tool = next(tool for tool in kit().tools if "wheel nut 7 mm" in tool.turns)
    assert not tool.name.startswith("open")


def test_the_kit_of_all_cars_is_no_smaller_than_that_of_one_and_no_larger_than_all_of_them() -> None:
    answer = kit("truck-1-10-4wd-3s")
    sizes = [len(one.tools) for one in answer.per_car]
    assert max(sizes) <= len(answer.tools) <= sum(sizes)


def test_hardware_is_counted_over_all_cars() -> None:
    """By hand: four wheel nuts a truck."""
    answer = kit("truck-1-10-4wd-3s")
    nuts = next(piece for piece in answer.hardware if piece.head == "flanged nylon-insert nut")
    assert nuts.count == 8
    assert dict(nuts.by_car) == {"Bramble": 4, "truck-1-10-4wd-3s": 4}
    assert nuts.keep.value == 2.0 and nuts.keep.origins
    assert nuts.name == "M4 flanged nylon-insert nut"


def test_a_workshop_without_cars_needs_no_tools() -> None:
    with workshop_in_memory() as (workshop, _):
        assert tool_kit(workshop).tools == ()


sets_of_things = st.lists(st.sets(st.integers(0, 6), min_size=1), min_size=1, max_size=8)


@given(sets_of_things, st.data())
def test_no_set_of_tools_is_smaller_than_the_cover(covers: list[set[int]], data: st.DataObject) -> None:
    """*Against* enumeration of all subsets."""
    things = sorted(set().union(*covers))
    numbered = [[things.index(thing) for thing in cover] for cover in covers]
    costs = data.draw(st.lists(st.integers(1, 5), min_size=len(covers), max_size=len(covers)), label="costs")
    taken = cheapest_cover(numbered, costs, len(things))
    assert set().union(*(numbered[number] for number in taken)) == set(range(len(things)))
    least = min(
        sum(costs[number] for number in chosen)
        for size in range(1, len(covers) + 1)
        for chosen in combinations(range(len(covers)), size)
        if set().union(*(numbered[number] for number in chosen)) == set(range(len(things)))
    )
    assert sum(costs[number] for number in taken) == least


def test_a_thing_in_no_set_is_refused() -> None:
    with pytest.raises(ValueError, match="in no set"):
        cheapest_cover([[0]], [1.0], 2)


def test_nothing_to_cover_takes_nothing() -> None:
    assert cheapest_cover([[]], [1.0], 0) == ()
