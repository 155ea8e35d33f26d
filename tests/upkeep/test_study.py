"""Seasons of simulated cars.

Authorities: *law* (the closed form of an alternating renewal process; perfect looking leaves fewest failures;
the same seed gives the same season). The order of policies is held on the running-minute modes of the
frozen table.
"""

from __future__ import annotations

import numpy as np
import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.choosing import Access, Check
from snugfast.upkeep.study import Table, compare, everything, mean_and_error, never, sheet, simulate
from snugfast.upkeep.worth import Cover
from tests.upkeep.upkeep_golden import golden


def one_mode(*, between: float = 10.0, delay: float = 5.0, detection: float = 1.0) -> Table:
    """Cars all alike, with one mode and one check of a minute that costs nothing."""
    one = np.ones(1)
    return Table(
        between * one, 1e9 * one, delay * one, 0.0 * one, 0.0 * one, one, 9.0 * one,
        ({"look": Cover(detection)},), (Check("look", 10, ("lid",)),), (Access("lid", 5),), 0.0,
    )  # fmt: skip


def frozen() -> Table:
    """The running-minute modes of the frozen table, at 12 minutes and 0.15 money a bench minute."""
    document = golden("failure_modes")
    modes = [mode for mode in document["modes"] if mode["clock"] == "run_min"]
    column = {name: np.array([float(mode[name]) for mode in modes]) for name in modes[0] if name in NUMBERS}
    return Table(
        between_defects=column["mtbd"] / 12.0,
        spread=column["a"],
        delay=column["delay"] / 12.0,
        delay_log_sd=np.full(len(modes), 0.4),
        sudden_share=np.zeros(len(modes)),
        restore_cost=column["restore_cost"] + 0.15 * column["restore_min"],
        failure_cost=column["fail_cost"] + 0.4 * column["lost_min"],
        covers=tuple({mode["id"]: Cover(mode["r"])} for mode in modes),
        checks=tuple(Check(m["id"], round(10 * m["check_min"]), tuple(m["access"])) for m in modes),
        access=tuple(Access(w["id"], round(10 * w["min"]), w["parent"]) for w in document["access"]),
        bench_minute=0.15,
    )


NUMBERS = ("mtbd", "a", "delay", "restore_cost", "restore_min", "fail_cost", "lost_min")


def test_cars_nobody_looks_at_fail_as_often_as_the_closed_form_says() -> None:
    table, packs = one_mode(), 40
    season = simulate(table, never(table), cars=4000, packs=packs, seed=3)
    rate, fading = 0.1, 0.2
    both = rate + fading
    expected = rate * fading / both * (packs + np.expm1(-both * packs) / both)
    mean, error = mean_and_error(season.failures)
    assert abs(mean - expected) < 4.0 * error


def test_perfect_looking_before_every_pack_leaves_only_what_arises_and_fails_within_one() -> None:
    table, packs = one_mode(between=50.0), 40
    season = simulate(table, everything(table, every=1), cars=4000, packs=packs, seed=3)
    rate, fading = 0.02, 0.2
    both = rate + fading
    expected = packs * rate * fading / both * (1.0 + np.expm1(-both) / both)
    mean, error = mean_and_error(season.failures)
    assert abs(mean - expected) < 4.0 * error
    assert np.all(season.bench_min_per_pack == 1.5)


def test_the_more_often_everything_is_looked_at_the_fewer_fail() -> None:
    table = one_mode()
    policies = [everything(table, every=1), everything(table, every=4), never(table)]
    often, seldom, not_at_all = compare(table, policies, cars=500, packs=40, seed=5)
    assert often.failures.sum() < seldom.failures.sum() < not_at_all.failures.sum()


def test_the_same_seed_gives_the_same_season_and_another_seed_another() -> None:
    table = one_mode()
    first, again = compare(table, [never(table)] * 2, cars=50, packs=20, seed=5)
    other = simulate(table, never(table), cars=50, packs=20, seed=6)
    assert np.array_equal(first.money, again.money)
    assert not np.array_equal(first.money, other.money)


def test_columns_of_different_length_are_refused() -> None:
    one = np.ones(1)
    with pytest.raises(ImpossibleInput):
        Table(np.ones(2), one, one, one, one, one, one, ({},), (), (), 0.0)


@pytest.mark.slow
def test_never_looking_and_looking_at_everything_are_dearer_than_the_sheet_on_the_frozen_table() -> None:
    table = frozen()
    policies = [never(table), everything(table, every=1), sheet(table, every=4, minutes=20.0)]
    nothing, every, best = compare(table, policies, cars=60, packs=40, seed=11)
    for dearer in (nothing, every):
        gap, error = mean_and_error(dearer.money_per_hour - best.money_per_hour)
        assert gap > 3.0 * error
