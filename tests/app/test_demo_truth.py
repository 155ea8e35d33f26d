"""The truth behind the demo follows the law that beliefs assume, with errors of the size it says."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import numpy as np
import pytest

from snugfast.app.demo.hidden import (
    DELAY_ERROR_LOG_SD,
    RATE_ERROR_LOG_SD,
    Hidden,
    HiddenRow,
)
from snugfast.app.demo.season import OUTINGS, season
from snugfast.facts.model import Event
from snugfast.upkeep.arrival import arrivals, law_array
from snugfast.usecases.beliefs.exposure import law_of
from tests.stories.shed import NOW, demo

MANY = 4000
BETWEEN, DELAY, SUDDEN = 200.0, 18.0, 0.08  # often enough for a cohort to tell, whatever the tables say


def cohort(mode_key: str, *, sudden: float = SUDDEN) -> list[HiddenRow]:
    """Many sound rows of one mode, raised as the tables say, with the rate and delay of this test."""
    changes = {"between_defects": BETWEEN, "delay": DELAY, "sudden": sudden}
    mode = replace(demo().workshop.facts.modes[mode_key], **changes)  # type: ignore[arg-type]
    rows = []
    for number in range(MANY):
        chance = Random(f"cohort/{number}")
        rows.append(
            HiddenRow("car", None, mode, law_of(mode), 1.0, 1.0, chance, to_arrival=chance.expovariate(1.0))
        )
    return rows


def share_failed(rows: list[HiddenRow], steps: int, step: float) -> tuple[float, float]:
    """Share that fails within so many equal steps, and share defective at the end of those that live."""
    alive = rows
    for _ in range(steps):
        left = []
        for row in alive:
            arrived = float(
                arrivals(
                    laws=law_array([row.law]),
                    age=np.array([row.age]),
                    extra=np.array([row.extra]),
                    exposure=np.array([step]),
                )[0]
            )
            if not row.run(step, arrived):
                left.append(row)
        alive = left
    return 1.0 - len(alive) / len(rows), sum(row.defective for row in alive) / len(rows)


def test_sound_parts_fail_as_often_as_the_closed_form_says() -> None:
    """*against* the chances of the delay-time model worked by hand: steady arrival, exponential delay."""
    rate, delay, sudden, end = 1 / BETWEEN, DELAY, SUDDEN, 60.0
    good = np.exp(-rate * end)
    alpha = 1.0 / delay
    defective = (1 - sudden) * rate / (alpha - rate) * (np.exp(-rate * end) - np.exp(-alpha * end))
    failed, bad = share_failed(cohort("wheel_nut_loose"), steps=6, step=end / 6)
    spread = 4.0 * np.sqrt(0.25 / MANY)
    assert failed == pytest.approx(1.0 - good - defective, abs=spread)
    assert bad == pytest.approx(defective, abs=spread)


def test_a_raised_rate_brings_as_many_more_defects_as_it_says() -> None:
    """*against* the integral: a rate three times as high that fades by e over fifteen minutes."""
    rows = cohort("wheel_nut_loose", sudden=0.0)
    for row in rows:
        row.happened(Event.FITTED)
    share_failed(rows, steps=4, step=5.0)
    fade, factor, rate = rows[0].law.fade, 3.0, 1 / BETWEEN
    expected = 1.0 - np.exp(-rate * (20.0 + (factor - 1.0) * fade * (1.0 - np.exp(-20.0 / fade))))
    assert sum(row.defects > 0 for row in rows) / MANY == pytest.approx(expected, abs=0.02)


def test_the_tables_are_wrong_by_the_spread_that_is_said_and_right_on_average() -> None:
    """*law*: over many seeds the shared error is lognormal with mean one and the log spread of scenario C."""
    facts = demo().workshop.facts
    mode = replace(facts.modes["wheel_nut_loose"], spread=1e6, delay_log_sd=1e-6)
    rates, delays = [], []
    for seed in range(MANY):
        hidden = Hidden(facts, seed)
        hidden.join("car", [(mode, None)], second_hand=False)
        rates.append(hidden.rows["car"][0].rate_factor)
        delays.append(hidden.rows["car"][0].delay_factor)
    assert np.std(np.log(rates)) == pytest.approx(RATE_ERROR_LOG_SD, rel=0.05)
    assert np.std(np.log(delays)) == pytest.approx(DELAY_ERROR_LOG_SD, rel=0.05)
    assert np.mean(rates) == pytest.approx(1.0, abs=0.15)
    assert np.mean(delays) == pytest.approx(1.0, abs=0.05)


def test_cars_of_one_workshop_share_the_error_and_differ_by_their_own_spread() -> None:
    hidden = demo().hidden
    nuts = {
        owner: [r for r in rows if r.mode.key == "wheel_nut_loose"] for owner, rows in hidden.rows.items()
    }
    factors = [rows[0].rate_factor for rows in nuts.values() if rows]
    assert len(set(factors)) == len(factors) == 4


def test_a_mode_more_in_the_tables_changes_nothing_for_the_others() -> None:
    facts = demo().workshop.facts
    few = list(facts.modes.values())[:5]
    alone, beside = Hidden(facts, 3), Hidden(facts, 3)
    alone.join("car", [(mode, None) for mode in few], second_hand=False)
    beside.join("car", [(mode, None) for mode in facts.modes.values()], second_hand=False)
    assert alone.as_document() == beside.as_document()[:5]


def test_a_season_is_drawn_without_looking_at_the_tables_and_ends_on_its_last_day() -> None:
    outings = season(9, NOW.date())
    assert len(outings) == OUTINGS
    assert outings[-1].day == NOW.date()
    assert [outing.day for outing in outings] == sorted({outing.day for outing in outings})
    assert outings == season(9, NOW.date())
