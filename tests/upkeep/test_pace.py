"""The pace learned from sheets. Authority: by hand (normal mean), law, known truth recovered."""

from __future__ import annotations

from math import exp, log, sqrt

import numpy as np
import pytest

from snugfast.upkeep.pace import pace_of

SPREADS = {"hands_differ": 0.3, "sheets_differ": 0.4, "at_most": 3.0}


def test_nothing_known_is_the_pace_of_the_table() -> None:
    pace = pace_of([], **SPREADS)
    assert (pace.times, pace.sheets) == (1.0, 0)
    assert pace.spread == pytest.approx(0.3)


def test_one_sheet_by_hand() -> None:
    """Posterior mean of the logarithm: ln(0.6) · (1/0.16) / (1/0.09 + 1/0.16) = −0.1839."""
    pace = pace_of([0.6], **SPREADS)
    assert pace.times == pytest.approx(exp(log(0.6) * 0.09 / (0.09 + 0.16)), rel=1e-12)
    assert pace.spread == pytest.approx(sqrt(0.09 * 0.16 / (0.09 + 0.16)), rel=1e-12)


def test_a_sheet_left_lying_or_ticked_through_says_nothing() -> None:
    assert pace_of([0.8, 40.0, 0.01], **SPREADS) == pace_of([0.8], **SPREADS)


def test_quicker_sheets_never_make_it_slower() -> None:
    paces = [pace_of([ratio, 1.1], **SPREADS).times for ratio in (0.5, 0.7, 1.0, 1.5, 2.9)]
    assert paces == sorted(paces)


def test_a_known_hand_is_found_and_its_band_holds_what_it_says() -> None:
    """Hands and sheets drawn as the prior says: nine in ten true paces lie in the nine-in-ten band."""
    rng = np.random.default_rng(7)
    inside = 0
    for _ in range(2000):
        truth = rng.normal(0.0, 0.3)
        pace = pace_of(np.exp(rng.normal(truth, 0.4, 5)), hands_differ=0.3, sheets_differ=0.4, at_most=1e9)
        inside += abs(log(pace.times) - truth) < 1.645 * pace.spread
    assert inside / 2000 == pytest.approx(0.9, abs=0.02)
    many = pace_of(np.exp(rng.normal(log(0.75), 0.4, 400)), **SPREADS)
    assert many.times == pytest.approx(0.75, rel=0.05)


def test_spreads_that_cannot_be_are_refused() -> None:
    with pytest.raises(ValueError, match="0"):
        pace_of([1.0], hands_differ=0.0, sheets_differ=0.4, at_most=3.0)
