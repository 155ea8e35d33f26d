"""What looking now is worth.

Authorities: *against* an independent program (golden/upkeep/delay_time.json, whose best interval is a grid
value: thresholds agree to four figures); *law*. For the exact programme see test_index_against_programme.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.wear_out import best_age
from snugfast.upkeep.worth import (
    Cover,
    Future,
    future,
    relative_value,
    shares_of_ways,
    worth_of_looking,
    worth_of_sets,
)
from tests.upkeep.upkeep_golden import golden

ROWS = golden("delay_time")["check_value_index"]["rows"]


def one(
    *,
    rate: float = 1 / 400,
    delay: float = 30.0,
    dearer: float = 11.0,
    detection: float = 0.9,
    check_cost: float = 0.3,
    sudden_share: float = 0.0,
    restore_cost: float = 1.0,
    pooled: bool = True,
) -> Future:
    """One mode, of a pool of very many parts or of a single one."""
    ones = np.ones(1)
    return future(
        rate=ones * rate,
        sudden_share=ones * sudden_share,
        delay=ones * delay,
        restore_cost=ones * restore_cost,
        failure_cost=ones * (restore_cost + dearer),
        detection=ones * detection,
        check_cost=ones * check_cost,
        part_rate=0 * ones if pooled else None,
    )


def worth(
    ahead: Future, presence: float, detection: float = 0.9, exposure: float = 12.0, **more: float
) -> float:
    return float(
        worth_of_looking(
            ahead,
            presence=np.array([presence]),
            exposure=np.array([exposure]),
            detection=np.array([detection]),
            **more,
        )[0]
    )


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"r {row['r']}")
def test_at_the_threshold_a_look_is_worth_what_it_costs(row: dict[str, float]) -> None:
    ahead = one(
        rate=row["lam"], delay=row["delta"], dearer=row["dC"], detection=row["r"], check_cost=row["ci"]
    )
    assert ahead.excess[0] == pytest.approx(row["C_star"], rel=1e-7)
    assert ahead.threshold[0] == pytest.approx(row["x_star"], rel=3e-4)
    at = ahead.threshold * (1 - 1e-12)
    gained = relative_value(ahead, at) - relative_value(ahead, (1 - row["r"]) * at)
    assert gained[0] == pytest.approx(row["ci"], rel=1e-9)
    half = relative_value(ahead, at / 2) - relative_value(ahead, (1 - row["r"]) * at / 2)
    assert half[0] == pytest.approx(row["b_half"], rel=3e-3)


def test_a_mode_never_worth_a_check_of_its_own_still_gains_its_failures_avoided() -> None:
    """Then b = Δ·r·x exactly: each defect found now is a failure less."""
    ahead = one(check_cost=5.0)
    assert not np.isfinite(ahead.interval[0])
    assert worth(ahead, 0.06) == pytest.approx(11.0 * 0.9 * 0.06, rel=1e-12)


@given(presence=st.floats(0.0, 1.0), more=st.floats(0.0, 0.2), detection=st.floats(0.0, 1.0))
def test_worth_rises_with_the_chance_of_a_defect_and_with_detection(
    presence: float, more: float, detection: float
) -> None:
    ahead = one()
    assert worth(ahead, 0.0, detection) == pytest.approx(0.0, abs=1e-12)
    now = worth(ahead, presence, detection)
    assert now >= -1e-12
    assert worth(ahead, min(1.0, presence + more), detection) >= now - 1e-9
    assert worth(ahead, presence, min(1.0, detection + more)) >= now - 1e-9


@pytest.mark.slow
@given(presence=st.floats(0.0, 1.0), unit=st.floats(0.01, 100.0))
def test_the_unit_of_the_clock_does_not_matter_and_money_scales(presence: float, unit: float) -> None:
    here = worth(one(), presence)
    other_clock = worth(one(rate=unit / 400, delay=30.0 / unit), presence, exposure=12.0 / unit)
    other_money = worth(one(dearer=11.0 * unit, check_cost=0.3 * unit), presence)
    assert other_clock == pytest.approx(here, rel=1e-6, abs=1e-9)
    assert other_money == pytest.approx(here * unit, rel=1e-6, abs=1e-9 * unit)


@given(presence=st.floats(0.0, 1.0))
def test_nothing_jumps_where_the_stand_alone_check_falls_due(presence: float) -> None:
    ahead = one(detection=0.6)
    below, above = ahead.threshold * (1 - 1e-9), ahead.threshold * (1 + 1e-9)
    assert relative_value(ahead, above)[0] == pytest.approx(relative_value(ahead, below)[0], rel=1e-6)
    here = np.array([presence])
    assert relative_value(ahead, here + 1e-7)[0] >= relative_value(ahead, here)[0]


def test_sudden_failures_take_their_share_off_what_looking_can_gain() -> None:
    plain, sudden = one(), one(sudden_share=1.0)
    assert worth(sudden, 0.0) == 0.0
    assert one(sudden_share=0.4).rate[0] == pytest.approx(0.6 * plain.rate[0])
    assert one(sudden_share=0.4).interval[0] > plain.interval[0]


def test_false_alarms_and_harm_take_money_off() -> None:
    """A false alarm costs a needless restoring; a planted defect that too, and what it does later."""
    ahead = one()
    plain = worth(ahead, 0.05)
    alarmed = worth(ahead, 0.05, false_alarm=0.02)
    harmed = worth(ahead, 0.05, harm=0.02)
    assert alarmed == pytest.approx(plain - 0.02 * 0.95 * 1.0, rel=1e-9)
    assert harmed < alarmed < plain
    assert worth(ahead, 0.0, harm=0.02) < 0.0


def test_a_failure_cheaper_than_restoring_is_never_worth_a_look() -> None:
    assert worth(one(dearer=-2.0), 0.5) == 0.0


@given(
    life=st.floats(20.0, 5000.0),
    shape=st.floats(1.0, 6.0),
    delay_share=st.floats(0.01, 3.0),
    restore=st.floats(0.1, 50.0),
    times=st.floats(1.0, 6.0),
)
def test_a_part_is_renewed_early_only_where_that_costs_less_for_each_hour_of_its_life(
    life: float, shape: float, delay_share: float, restore: float, times: float
) -> None:
    """Renewal reward: c_r a life, or c_f a life with its delay; a look for nothing at a defect says the same.

    Whatever its hazard of the moment is: how it wears has no part in what a life costs.
    """
    ones, delay, failure = np.ones(1), delay_share * life, restore * times
    early, to_failure = restore / life, failure / (life + delay)
    ahead = future(
        rate=ones * shape / life,
        sudden_share=0 * ones,
        delay=ones * delay,
        restore_cost=ones * restore,
        failure_cost=ones * failure,
        detection=ones,
        check_cost=0 * ones,
        part_rate=ones / life,
    )
    gained = worth(ahead, 0.3, detection=1.0)
    if early < to_failure * (1 - 1e-6):
        assert gained > 0.0
    elif early > to_failure * (1 + 1e-6):
        assert gained == 0.0


@pytest.mark.parametrize("dearer", [0.0, 0.5, 1.0, 3.0])
def test_age_replacement_and_the_look_agree_that_nothing_is_renewed_that_costs_as_much_as_it_failing(
    dearer: float,
) -> None:
    """Barlow and Hunter's age is infinite there, finite beyond; so is the worth of seeing it worn."""
    plan = best_age(shape=4.0, scale=1300.0, planned_cost=10.0, failure_cost=10.0 + dearer)
    ahead = one(rate=1 / 1200, delay=1e-3, restore_cost=10.0, dearer=dearer, pooled=False)
    assert plan.never == (worth(ahead, 0.5) == 0.0) == (dearer == 0.0)


def test_sudden_failures_that_a_defect_keeps_away_count_for_leaving_it() -> None:
    """A defective part has no sudden failures of its own, so with them it is left where it else is not."""
    plain = one(rate=1 / 40, delay=30.0, dearer=12.0, restore_cost=5.0, pooled=False)
    sudden = one(rate=1 / 20, delay=30.0, dearer=12.0, restore_cost=5.0, sudden_share=0.5, pooled=False)
    assert sudden.rate[0] == plain.rate[0]
    assert worth(plain, 0.3) > worth(sudden, 0.3) == 0.0


def test_sets_of_checks_are_worth_their_combined_detection() -> None:
    modes = np.zeros(3, dtype=int)
    ahead = one().take(modes)
    presence, exposure = np.array([0.02, 0.3, 0.1]), np.array([12.0, 50.0, 5.0])
    covers = [[Cover(0.9)], [Cover(0.5), Cover(0.7, 0.01, 0.002)], []]
    sets = worth_of_sets(ahead, presence=presence, exposure=exposure, covers=covers)
    assert [len(worths) for worths in sets] == [2, 4, 1]
    assert all(worths[0] == 0.0 for worths in sets)
    assert sets[0][1] == pytest.approx(worth(one(), 0.02))
    assert sets[1][1] == pytest.approx(worth(one(), 0.3, 0.5, 50.0))
    assert sets[1][3] == pytest.approx(worth(one(), 0.3, 0.85, 50.0, false_alarm=0.01, harm=0.002))
    assert sets[1][3] < sets[1][1] + sets[1][2]
    assert worth_of_sets(ahead.take(modes[:0]), presence=presence[:0], exposure=exposure[:0], covers=[]) == []


def test_a_cover_that_cannot_be_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="detection"):
        Cover(1.2)


@given(frequency=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=6), seed=st.integers(0, 999))
def test_those_who_go_through_a_way_pay_together_for_its_openings_and_no_more(
    frequency: list[float], seed: int
) -> None:
    """It is opened as often as the most frequent needs it; what all pay adds up to that."""
    often = np.array(frequency)
    needs = np.random.default_rng(seed).integers(0, 2, (often.size, 3)).astype(float)
    shares = shares_of_ways(frequency=often, needs=needs)
    for way, share in enumerate(shares):
        through = often[needs[:, way] == 1.0]
        if through.sum() > 0.0:
            assert (through * share).sum() == pytest.approx(through.max())
        else:
            assert share == 1.0


def test_who_goes_alone_pays_the_whole_way_and_two_alike_pay_half_of_it() -> None:
    one_way = np.ones((2, 1))
    assert shares_of_ways(frequency=np.array([0.3]), needs=one_way[:1])[0] == 1.0
    assert shares_of_ways(frequency=np.array([0.3, 0.3]), needs=one_way)[0] == pytest.approx(0.5)
    assert shares_of_ways(frequency=np.array([0.3, 0.1]), needs=one_way)[0] == pytest.approx(0.75)
