"""The choice of checks is exact.

Authorities: *against* twenty instances with proven optima (golden/upkeep/knapsack_instances.json), a sum over
all subsets, and a mixed-integer solver on larger cases; *law* for the rest.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import pairwise
from typing import Any, TypedDict

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import Bounds, LinearConstraint, milp

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.choosing import Access, AtStake, Check, Choice, Outcome, Reason, choose
from tests.upkeep.upkeep_golden import golden

INSTANCES = golden("knapsack_instances")["instances"]


class Bench(TypedDict):
    """What `choose` is asked."""

    checks: list[Check]
    access: list[Access]
    at_stake: list[AtStake]
    tenths: int
    price_per_tenth: float


@st.composite
def benches(draw: st.DrawFn, most_checks: int = 9) -> Bench:
    """Nested access, covers of one to three checks, and any worth for each set of them."""
    nodes = draw(st.integers(0, 4))
    access = [
        Access(
            f"a{k}",
            draw(st.integers(0, 30)),
            None if k == 0 else draw(st.sampled_from([None, *(f"a{j}" for j in range(k))])),
            harm=draw(st.sampled_from([0.0, 0.0, 0.0, 0.9])),
        )
        for k in range(nodes)
    ]
    count = draw(st.integers(1, most_checks))
    ways = st.lists(st.sampled_from([node.key for node in access]), max_size=2) if nodes else st.just([])
    checks = [
        Check(
            f"c{j}",
            draw(st.integers(0, 25)),
            tuple(draw(ways)),
            must=draw(st.sampled_from([False] * 7 + [True])),
            possible=draw(st.sampled_from([True] * 7 + [False])),
        )
        for j in range(count)
    ]
    checks = [
        check if check.must else replace(check, likely=draw(st.sampled_from([0, 0, 0, 12])))
        for check in checks
    ]
    at_stake = []
    for m in range(draw(st.integers(0, 8))):
        cover = draw(st.lists(st.integers(0, count - 1), min_size=1, max_size=min(3, count), unique=True))
        worth = draw(
            st.lists(st.integers(-200, 900), min_size=(1 << len(cover)) - 1, max_size=(1 << len(cover)) - 1)
        )
        keys = tuple(f"c{j}" for j in cover)
        at_stake.append(AtStake(f"m{m}", keys, (0.0, *(money / 100 for money in worth))))
    return Bench(
        checks=checks,
        access=access,
        at_stake=at_stake,
        tenths=draw(st.integers(0, 150)),
        price_per_tenth=draw(st.sampled_from([0.0, 0.01, 0.05])),
    )


def opened_by(bench: Bench, keys: set[str]) -> set[str]:
    parents = {node.key: node.parent for node in bench["access"]}
    opened: set[str] = set()
    for check in bench["checks"]:
        for way in check.access if check.key in keys else ():
            step: str | None = way
            while step is not None:
                opened.add(step)
                step = parents[step]
    return opened


def net_and_time(bench: Bench, keys: set[str]) -> tuple[float, int]:
    """Money after the price of the minutes, and minutes, added up once more from the words."""
    opened = opened_by(bench, keys)
    time = sum(check.tenths for check in bench["checks"] if check.key in keys)
    time += sum(node.tenths for node in bench["access"] if node.key in opened)
    cures = sum(check.likely for check in bench["checks"] if check.key in keys)  # their price is in the worth
    harm = sum(node.harm for node in bench["access"] if node.key in opened)
    worth = sum(
        mode.worth[sum(1 << bit for bit, key in enumerate(mode.checks) if key in keys)]
        for mode in bench["at_stake"]
    )
    return worth - bench["price_per_tenth"] * time - harm, time + cures


def best_of_all_subsets(bench: Bench) -> tuple[float, int] | None:
    """The best money, and the least time that brings it; None when what must be done does not fit."""
    must = {check.key for check in bench["checks"] if check.must and check.possible}
    free = [check.key for check in bench["checks"] if check.possible and not check.must]
    best: tuple[float, int] | None = None
    for number in range(1 << len(free)):
        keys = must | {key for bit, key in enumerate(free) if number >> bit & 1}
        net, time = net_and_time(bench, keys)
        if time <= bench["tenths"] and (
            best is None or (round(net, 6), -time) > (round(best[0], 6), -best[1])
        ):
            best = net, time
    return best


@pytest.mark.slow
@settings(max_examples=150)
@given(bench=benches())
def test_no_subset_is_better_with_overlap_nested_access_and_checks_that_must_be_done(bench: Bench) -> None:
    choice, best = choose(**bench), best_of_all_subsets(bench)
    net, time = net_and_time(bench, set(choice.keys))
    assert (choice.net, choice.tenths) == (pytest.approx(net, abs=1e-6), time)
    if best is None:
        assert choice.outcome is Outcome.MUST_DOES_NOT_FIT
    else:
        assert choice.outcome is Outcome.BEST
        assert choice.net == pytest.approx(best[0], abs=1e-6)
        assert choice.tenths == best[1]
        assert choice.tenths <= bench["tenths"]


@pytest.mark.parametrize("instance", INSTANCES, ids=lambda instance: instance["id"])
def test_the_proven_instances_come_out_at_their_optimum(instance: dict[str, Any]) -> None:
    choice = choose(
        checks=[Check(item["id"], item["t"], tuple(item["access"])) for item in instance["items"]],
        access=[Access(way["id"], way["s"], way["parent"]) for way in instance["access"]],
        at_stake=[AtStake(item["id"], (item["id"],), (0.0, float(item["b"]))) for item in instance["items"]],
        tenths=instance["B"],
        price_per_tenth=float(instance["v"]),
    )
    optimum = instance["optimum"]
    assert choice.net == optimum["value"]
    if optimum["number_of_optimal_sets"] == 1:
        assert list(choice.keys) == sorted(optimum["checks"])
        assert sorted(choice.access) == sorted(optimum["access"])
        assert choice.tenths == optimum["minutes"]


def big_bench(seed: int) -> Bench:
    """Forty checks, eight access nodes, forty modes, half of them covered by two or three checks."""
    rng = random.Random(seed)
    access = [
        Access(f"a{k}", rng.randint(5, 40), None if k < 3 else f"a{rng.randrange(k)}") for k in range(8)
    ]
    checks = [
        Check(f"c{j:02d}", rng.randint(2, 25), (f"a{rng.randrange(8)}",) if rng.random() < 0.8 else ())
        for j in range(40)
    ]
    at_stake = []
    for m in range(40):
        cover = rng.sample(range(40), rng.choice([1, 1, 2, 3]))
        most = rng.gammavariate(1.5, 1.0)
        at_stake.append(
            AtStake.by_detection(
                f"m{m:02d}",
                {f"c{j:02d}": rng.uniform(0.4, 0.97) for j in cover},
                lambda r, most=most: most * r,
            )
        )
    return Bench(checks=checks, access=access, at_stake=at_stake, tenths=200, price_per_tenth=0.015)


def solver_value(bench: Bench) -> float:
    """The same choice for HiGHS: one binary for each check, access node and set of checks of a mode."""
    checks = {check.key: i for i, check in enumerate(bench["checks"])}
    ways = {node.key: len(checks) + i for i, node in enumerate(bench["access"])}
    sets = [(mode, mask) for mode in bench["at_stake"] for mask in range(len(mode.worth))]
    size = len(checks) + len(ways) + len(sets)
    gain, rows, low, high = np.zeros(size), [], [], []

    def row(entries: dict[int, float], least: float, most: float) -> None:
        line = np.zeros(size)
        for place, number in entries.items():
            line[place] += number
        rows.append(line)
        low.append(least)
        high.append(most)

    times = {checks[c.key]: c.tenths for c in bench["checks"]}
    times |= {ways[a.key]: a.tenths for a in bench["access"]}
    for place, time in times.items():
        gain[place] = bench["price_per_tenth"] * time
    row({place: float(time) for place, time in times.items()}, -np.inf, bench["tenths"])
    for check in bench["checks"]:
        for way in check.access:
            row({checks[check.key]: 1.0, ways[way]: -1.0}, -np.inf, 0.0)
    for node in bench["access"]:
        if node.parent is not None:
            row({ways[node.key]: 1.0, ways[node.parent]: -1.0}, -np.inf, 0.0)
    start = len(checks) + len(ways)
    for place, (mode, mask) in enumerate(sets):
        gain[start + place] = -mode.worth[mask]
    for mode in bench["at_stake"]:
        own = [start + i for i, (other, _) in enumerate(sets) if other is mode]
        row(dict.fromkeys(own, 1.0), 1.0, 1.0)
        for bit, key in enumerate(mode.checks):
            row({own[m]: 1.0 for m in range(len(own)) if m >> bit & 1} | {checks[key]: -1.0}, 0.0, 0.0)
    solved = milp(
        gain,
        integrality=np.ones(size),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(np.array(rows), low, high),
        options={"mip_rel_gap": 0.0},
    )
    return float(-solved.fun)


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8))
def test_large_choices_are_worth_what_a_mixed_integer_solver_finds(seed: int) -> None:
    bench = big_bench(seed)
    assert choose(**bench).net == pytest.approx(solver_value(bench), abs=1e-5)


@pytest.mark.slow
@given(bench=benches(), order=st.randoms(use_true_random=False))
def test_the_order_of_what_is_given_does_not_matter(bench: Bench, order: random.Random) -> None:
    def shuffled(some: list[Any]) -> list[Any]:
        return order.sample(some, len(some))

    again = choose(
        checks=shuffled(bench["checks"]),
        access=shuffled(bench["access"]),
        at_stake=shuffled(bench["at_stake"]),
        tenths=bench["tenths"],
        price_per_tenth=bench["price_per_tenth"],
    )
    assert again == choose(**bench)


@pytest.mark.slow
@given(bench=benches(most_checks=6), minutes=st.lists(st.integers(0, 150), min_size=2, max_size=4))
def test_more_minutes_are_never_worth_less(bench: Bench, minutes: list[int]) -> None:
    choices = [choose(**{**bench, "tenths": tenths}) for tenths in sorted(minutes)]
    for less, more in pairwise(choice for choice in choices if choice.outcome is Outcome.BEST):
        assert less.net <= more.net + 1e-9


@pytest.mark.slow
@given(bench=benches())
def test_an_access_nobody_needs_stays_shut_and_every_check_is_accounted_for(bench: Bench) -> None:
    bench["access"] = [*bench["access"], Access("unused", 1)]
    choice = choose(**bench)
    assert set(choice.access) == opened_by(bench, set(choice.keys))
    assert sorted([*choice.keys, *(left.key for left in choice.left_out)]) == sorted(
        check.key for check in bench["checks"]
    )


@pytest.mark.slow
@given(bench=benches(most_checks=7))
def test_what_each_check_brings_is_the_difference_it_makes(bench: Bench) -> None:
    choice = choose(**bench)
    keys = set(choice.keys)
    net, time = net_and_time(bench, keys)
    for kept in choice.kept:
        without, less = net_and_time(bench, keys - {kept.key})
        assert (kept.gain, kept.tenths) == (pytest.approx(net - without, abs=1e-5), time - less)
    for left in choice.left_out:
        with_it, more = net_and_time(bench, keys | {left.key})
        assert (left.gain, left.tenths) == (pytest.approx(with_it - net, abs=1e-5), more - time)
        if left.gain > 1e-5 and left.reason is not Reason.NOT_POSSIBLE_NOW:
            assert left.reason is Reason.NOT_ENOUGH_MINUTES


def small(*, tenths: int = 200, **changes: dict[str, Any]) -> Choice:
    """Nuts, pinion behind the cover, and a battery look that must be done; changes by check key."""
    checks = [
        Check("nuts", 7),
        Check("pinion", 8, ("cover",)),
        Check("spin wheels", 8),
        Check("pack", 6, must=True),
    ]
    return choose(
        checks=[replace(check, **changes.get(check.key, {})) for check in checks],
        access=[Access("body", 7), Access("cover", 8, "body")],
        at_stake=[
            AtStake("nut loose", ("nuts",), (0.0, 0.9)),
            AtStake("pinion screw", ("pinion",), (0.0, 0.6)),
            AtStake("bearing dry", ("spin wheels",), (0.0, 0.05)),
        ],
        tenths=tenths,
        price_per_tenth=0.015,
    )


def test_with_minutes_to_spare_what_is_worth_it_is_done_and_the_rest_says_why_not() -> None:
    choice = small()
    assert choice.keys == ("nuts", "pack", "pinion")
    assert choice.access == ("body", "cover")
    assert choice.tenths == 7 + 8 + 7 + 8 + 6
    assert choice.must_tenths == 6
    assert choice.worth == pytest.approx(1.5)
    assert choice.net == pytest.approx(1.5 - 0.015 * 36)
    assert [(left.key, left.reason) for left in choice.left_out] == [("spin wheels", Reason.NOT_WORTH_IT)]


def test_with_few_minutes_the_nuts_stay_and_the_pinion_waits_for_want_of_minutes() -> None:
    choice = small(tenths=20)
    assert choice.keys == ("nuts", "pack")
    waiting = {left.key: left for left in choice.left_out}
    assert waiting["pinion"].reason is Reason.NOT_ENOUGH_MINUTES
    assert waiting["pinion"].tenths == 23
    assert waiting["pinion"].gain == pytest.approx(0.6 - 0.015 * 23)


def test_checks_that_must_be_done_are_never_dropped_even_when_they_do_not_fit() -> None:
    choice = small(tenths=20, pinion={"must": True})
    assert choice.outcome is Outcome.MUST_DOES_NOT_FIT
    assert choice.keys == ("pack", "pinion")
    assert choice.must_tenths == choice.tenths == 29
    assert all(left.key not in ("pack", "pinion") for left in choice.left_out)


def test_a_check_that_cannot_be_done_now_is_named_even_if_it_must_be() -> None:
    choice = small(pack={"possible": False}, nuts={"possible": False})
    assert choice.keys == ("pinion",)
    left = {left.key: left for left in choice.left_out}
    assert left["pack"].reason is left["nuts"].reason is Reason.NOT_POSSIBLE_NOW
    assert left["pack"].must
    assert not left["nuts"].must


def test_two_cars_of_one_evening_share_the_minutes() -> None:
    """The minutes go where they bring most, not half to each car."""

    def car(name: str, worth: float) -> tuple[list[Check], list[AtStake]]:
        checks = [Check(f"{name}/nuts", 7), Check(f"{name}/arms", 8)]
        return checks, [AtStake(f"{name}/{n}", (c.key,), (0.0, worth)) for n, c in enumerate(checks)]

    one, two = car("blue", 2.0), car("red", 1.0)
    choice = choose(
        checks=one[0] + two[0], access=[], at_stake=one[1] + two[1], tenths=22, price_per_tenth=0.01
    )
    assert choice.keys == ("blue/arms", "blue/nuts", "red/nuts")


def test_two_checks_of_one_mode_are_not_both_done_for_the_same_gain() -> None:
    mode = AtStake.by_detection("wheel", {"rock": 0.9, "spin": 0.8}, lambda r: 2.0 * r)
    assert mode.worth == pytest.approx((0.0, 1.8, 1.6, 1.96))
    choice = choose(
        checks=[Check("rock", 8), Check("spin", 8)],
        access=[],
        at_stake=[mode],
        tenths=100,
        price_per_tenth=0.05,
    )
    assert choice.keys == ("rock",)


def test_of_equal_sets_the_shorter_is_taken() -> None:
    choice = choose(
        checks=[Check("long", 20), Check("short", 10)],
        access=[],
        at_stake=[AtStake("m", ("long", "short"), (0.0, 1.0, 1.0, 1.0))],
        tenths=100,
        price_per_tenth=0.0,
    )
    assert choice.keys == ("short",)


def test_nothing_to_choose_from_is_an_empty_choice() -> None:
    choice = choose(checks=[], access=[], at_stake=[], tenths=0, price_per_tenth=0.1)
    assert (choice.keys, choice.tenths, choice.net, choice.outcome) == ((), 0, 0.0, Outcome.BEST)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"checks": [Check("a", 1), Check("a", 2)]}, "there twice"),
        ({"checks": [Check("a", 1, ("nowhere",))]}, "nobody described"),
        ({"checks": [Check("a", -1)]}, "below zero"),
        ({"access": [Access("x", 1, "y"), Access("y", 1, "x")]}, "no way in"),
        ({"at_stake": [AtStake("m", ("b",), (0.0, 1.0))]}, "is no check"),
        ({"tenths": -1}, "below zero"),
        ({"price_per_tenth": float("nan")}, "cannot be worth"),
    ],
)
def test_what_does_not_fit_together_is_refused(wrong: dict[str, Any], words: str) -> None:
    bench: dict[str, Any] = {
        "checks": [Check("a", 1)],
        "access": [],
        "at_stake": [],
        "tenths": 10,
        "price_per_tenth": 0.1,
    }
    with pytest.raises(ImpossibleInput, match=words):
        choose(**(bench | wrong))


@pytest.mark.parametrize(
    ("checks", "worth"),
    [
        (("a", "a"), (0.0, 1.0, 1.0, 1.0)),
        (("a",), (0.0,)),
        (("a",), (0.5, 1.0)),
        (("a",), (0.0, float("nan"))),
    ],
)
def test_a_mode_whose_worth_does_not_fit_its_checks_is_refused(
    checks: tuple[str, ...], worth: tuple[float, ...]
) -> None:
    with pytest.raises(ImpossibleInput):
        AtStake("m", checks, worth)


def test_checks_that_only_together_pay_for_a_cover_wait_for_want_of_minutes() -> None:
    """Each alone does not pay for the cover; both do, and there is no time. A third adds nothing."""
    choice = choose(
        checks=[Check("nuts", 7), *(Check(key, 5, ("cover",)) for key in ("pinion", "spur", "dust"))],
        access=[Access("body", 7), Access("cover", 8, "body")],
        at_stake=[
            AtStake("nut loose", ("nuts",), (0.0, 0.9)),
            AtStake("pinion screw", ("pinion",), (0.0, 0.19)),
            AtStake("spur worn", ("spur",), (0.0, 0.19)),
            AtStake("dusty", ("dust",), (0.0, 0.01)),
        ],
        tenths=10,
        price_per_tenth=0.01,
    )
    assert choice.keys == ("nuts",)
    reasons = {left.key: left.reason for left in choice.left_out}
    assert all(left.gain < 0.0 for left in choice.left_out)
    assert reasons["pinion"] is reasons["spur"] is Reason.NOT_ENOUGH_MINUTES
    assert reasons["dust"] is Reason.NOT_WORTH_IT


def test_a_way_in_whose_checks_bring_exactly_what_it_costs_is_not_worth_opening() -> None:
    """Law: a tie at nothing is no reason to wait for more minutes."""
    access = [Access("lid", 10)]
    checks = [Check("behind", 10, ("lid",)), Check("also", 10, ("lid",))]
    stakes = [AtStake(key, (key,), (0.0, 1.5)) for key in ("behind", "also")]
    chosen = choose(checks=checks, access=access, at_stake=stakes, tenths=5, price_per_tenth=0.1)
    assert {out.key: out.reason for out in chosen.left_out} == {
        "behind": Reason.NOT_WORTH_IT,
        "also": Reason.NOT_WORTH_IT,
    }


def test_a_way_in_that_spoils_more_than_it_finds_stays_shut() -> None:
    """Law: what opening may plant is weighed with what lies behind."""
    checks, stakes = [Check("look", 5, ("lid",))], [AtStake("m", ("look",), (0.0, 2.0))]
    for harm, worth_it in ((0.0, True), (0.9, True), (1.1, False)):
        access = [Access("lid", 5, harm=harm)]
        made = choose(checks=checks, access=access, at_stake=stakes, tenths=60, price_per_tenth=0.1)
        assert bool(made.keys) is worth_it


def test_likely_cures_count_against_the_minutes_and_not_twice_against_the_money() -> None:
    """Law: the price of a cure is in the worth of finding it; its minutes are not."""
    stakes = [AtStake(key, (key,), (0.0, 2.0)) for key in ("a", "b")]

    def keys(likely: int, tenths: int) -> tuple[str, ...]:
        checks = [Check("a", 10, likely=likely), Check("b", 10)]
        return choose(checks=checks, access=[], at_stake=stakes, tenths=tenths, price_per_tenth=0.1).keys

    assert keys(0, 20) == ("a", "b")
    assert keys(30, 20) == ("b",)
    assert keys(30, 50) == ("a", "b")


def test_a_must_is_never_dropped_for_what_it_will_probably_find() -> None:
    """Law: likely cures of what must be done take minutes from the rest, never from the must itself."""
    checks = [Check("must", 10, must=True, likely=100), Check("more", 5)]
    stakes = [AtStake("m", ("more",), (0.0, 9.0))]
    tight = choose(checks=checks, access=[], at_stake=stakes, tenths=20, price_per_tenth=0.1)
    assert tight.outcome is Outcome.BEST and tight.keys == ("must",)
    roomy = choose(checks=checks, access=[], at_stake=stakes, tenths=120, price_per_tenth=0.1)
    assert roomy.keys == ("more", "must")


def test_a_stopped_search_says_what_the_best_could_bring_beyond_it() -> None:
    """Law: what was found plus the gap is never less than the best; unstopped there is no gap."""
    for seed in range(6):
        bench = big_bench(seed)
        best = choose(**bench)
        stopped = choose(**bench, most_nodes=1)
        assert best.gap == 0.0
        assert stopped.net <= best.net + 1e-9 <= stopped.net + stopped.gap + 1e-6
