"""A replay gives the same numbers to the last bit, whoever else is in the bank (*law*)."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.upkeep.beliefs import BeliefBank, Beliefs
from snugfast.upkeep.grid import Grid
from snugfast.upkeep.mode_law import NEW, ModeLaw, Start, UnknownExposure

ROWS = 23


def laws() -> list[ModeLaw]:
    rng = np.random.default_rng(4)
    return [
        ModeLaw(
            mean_between_defects=float(rng.uniform(3.0, 4000.0)),
            spread_shape=float(rng.uniform(1.0, 3.0)),
            mean_delay=float(rng.uniform(4.0, 400.0)),
            sudden_share=float(rng.choice([0.0, 0.2])),
            wear_shape=float(rng.choice([1.0, 1.0, 2.5])),
            fade=20.0,
        )
        for _ in range(ROWS)
    ]


def story(beliefs: Beliefs, row_exposures: np.ndarray) -> Beliefs:
    """One of everything that treats rows by themselves."""
    now = beliefs.ran(exposure=row_exposures)
    now = now.checked_clean(detection=0.8, false_alarm=0.01, looked=0.7)
    now = now.raised(factor=3.0).ran(exposure=0.3 * row_exposures)
    now = now.found(detection=0.9, false_alarm=0.02).restored(works=0.95)
    now = now.failed_within(exposure=row_exposures).ran_unknown(exposure=UnknownExposure.between(3.0, 90.0))
    now = now.disturbed(chance=0.01).ran_with_clean_checks(exposure=60.0, checks=3, detection=0.7)
    return now.failed_at(exposure=row_exposures).ran(exposure=200.0)


EXPOSURES = np.random.default_rng(9).uniform(0.05, 60.0, ROWS)
START = Beliefs.begin(laws(), [NEW] * ROWS)


@pytest.mark.slow
@settings(max_examples=40)
@given(chosen=st.lists(st.integers(0, ROWS - 1), min_size=1, max_size=ROWS, unique=True))
def test_a_row_does_not_notice_the_rows_beside_it(chosen: list[int]) -> None:
    """Every subset, in every order, gives each row the bits it gets in the full bank and alone."""
    bank = BeliefBank()
    bank.add(laws(), [NEW] * ROWS)
    bank[chosen] = story(bank[chosen], EXPOSURES[chosen])
    together = story(START, EXPOSURES)
    for row in chosen:
        assert np.array_equal(bank[[row]].weights[0], together.weights[row])
        assert np.array_equal(bank[[row]].presences[0], together.presences[row])
        assert np.array_equal(bank[[row]].clocks[0], together.clocks[row])


def test_rows_that_an_event_does_not_name_stay_as_they_were() -> None:
    bank = BeliefBank()
    rows = bank.add(laws(), [NEW] * ROWS)
    before = bank.copy()
    bank[rows[:5]] = bank[rows[:5]].ran(exposure=12.0)
    rest = rows[5:]
    assert np.array_equal(bank[rest].weights, before[rest].weights)
    assert np.array_equal(bank[rest].presences, before[rest].presences)
    assert bank != before


def test_rows_added_later_start_as_if_they_had_been_there_from_the_first() -> None:
    one, two = BeliefBank(), BeliefBank()
    one.add(laws(), [NEW] * ROWS)
    two.add(laws()[:7], [NEW] * 7)
    assert two.add(laws()[7:], [NEW] * (ROWS - 7)).tolist() == list(range(7, ROWS))
    assert one == two
    assert len(one) == ROWS


def test_the_same_journal_told_twice_gives_equal_banks_and_another_order_of_cars_does_not_matter() -> None:
    """Two cars in turn; entries of different cars may swap, entries of one car may not."""

    def replay(order: list[int]) -> BeliefBank:
        bank = BeliefBank()
        rows = bank.add(laws(), [NEW] * ROWS)
        cars = [rows[:12], rows[12:]]
        told = [0, 0]
        for car in order:
            at = cars[car]
            told[car] += 1
            bank[at] = bank[at].ran(exposure=5.0 + told[car])
            if told[car] % 2:
                bank[at[:3]] = bank[at[:3]].checked_clean(detection=0.9)
        return bank

    assert replay([0, 1, 0, 1, 1, 0]) == replay([0, 1, 0, 1, 1, 0])
    assert replay([0, 0, 0, 1, 1, 1]) == replay([1, 0, 1, 0, 1, 0])


def test_a_bank_kept_and_opened_again_is_equal_and_its_own() -> None:
    bank = BeliefBank(grid=Grid((0.5, 1.0, 2.0), (0.7, 1.4)))
    rows = bank.add(laws()[:4], [Start(age=3.0, presence=0.1)] * 4)
    opened = BeliefBank.from_arrays(bank.to_arrays())
    assert opened == bank
    opened[rows] = opened[rows].ran(exposure=9.0)
    assert opened != bank
    assert bank != BeliefBank()
    assert bank.__eq__(3) is NotImplemented


def test_an_event_leaves_the_beliefs_it_started_from_untouched() -> None:
    before = {name: getattr(START, name).copy() for name in ("weights", "presences", "clocks")}
    story(START, EXPOSURES)
    START.one_failed_within(exposure=10.0)
    for name, array in before.items():
        assert np.array_equal(getattr(START, name), array)


def test_an_unexplained_breakdown_needs_a_suspect() -> None:
    with pytest.raises(ImpossibleInput, match="No part could have failed"):
        Beliefs.begin([], []).one_failed_within(exposure=1.0)


def test_a_part_far_beyond_its_life_is_told_the_same_in_one_run_or_many() -> None:
    """Law: splitting an exposure changes nothing, also where thousands of arrivals fall into one run."""
    law = ModeLaw(1300.0, 3.0, 300.0, delay_log_sd=0.5, sudden_share=0.03, wear_shape=4.0)
    for age, exposure in ((26_000.0, 14.0), (5_000.0, 40.0), (0.0, 9_000.0)):
        bank = BeliefBank()
        rows = bank.add([law], [Start(age=age)])
        at_once, bit_by_bit = bank[rows].ran(exposure=exposure), bank[rows]
        for _ in range(200):
            bit_by_bit = bit_by_bit.ran(exposure=exposure / 200.0)
        assert at_once.presence == pytest.approx(bit_by_bit.presence, rel=1e-9)
        assert at_once.log_evidence == pytest.approx(bit_by_bit.log_evidence, rel=1e-7)


def test_a_part_far_beyond_its_life_takes_a_handful_of_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    """Law of our own: the steps of one run do not grow with the age of a part that is never renewed."""
    from snugfast.upkeep import arrival

    taken = []
    one_step = arrival._one_step

    def counted(*args: Any) -> arrival.Passage:
        taken.append(1)
        return one_step(*args)

    monkeypatch.setattr(arrival, "_one_step", counted)
    law = ModeLaw(1300.0, 3.0, 300.0, wear_shape=4.0)
    bank = BeliefBank()
    rows = bank.add([law], [Start(age=260_000.0)])
    bank[rows].ran(exposure=14.0)
    assert len(taken) < 60
