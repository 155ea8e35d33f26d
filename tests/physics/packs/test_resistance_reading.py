"""A pack's resistance. Authority: the two-step figure of IEC 61960 and a worked twelve-sample run."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput, ImpossibleInput
from snugfast.physics.packs.resistance_reading import (
    RunFit,
    pulse_resistance,
    run_resistance,
    two_step_resistance,
)
from tests.physics.pack_tables import AH_C

AMPS = (0.5, 5, 10, 20, 30, 40, 60, 80, 25, 50, 15, 70)
USED_AH = (0, 0.06, 0.14, 0.30, 0.52, 0.76, 1.05, 1.40, 1.70, 2.00, 2.25, 2.50)
VOLTS = (8.199, 8.136, 8.082, 7.952, 7.821, 7.669, 7.435, 7.167, 7.603, 7.307, 7.571, 7.019)


def fitted(volts: tuple[float, ...] = VOLTS) -> RunFit:
    return run_resistance(current_A=AMPS, charge_used_C=[used * AH_C for used in USED_AH], volts_V=volts)


def test_two_steps_give_the_worked_four_milliohm() -> None:
    found = two_step_resistance(small_A=1.0, volts_at_small_V=3.790, large_A=5.0, volts_at_large_V=3.774)
    assert found == pytest.approx(0.004, rel=1e-9)


def test_a_ten_second_pulse_gives_the_worked_raw_figure() -> None:
    assert pulse_resistance(before_V=3.83650, after_V=3.69814, pulse_A=25) == pytest.approx(
        0.005534, abs=1e-6
    )


def test_a_clean_run_gives_the_worked_resistance() -> None:
    """Least squares with the charge term: 8.20101 V, 9.031 ± 0.062 mΩ, 0.21995 V/Ah (worked).

    Huber's weights also hold down the largest of the honest residuals, so the last digits may move.
    """
    found = fitted()
    assert found.rest_V == pytest.approx(8.20101, abs=0.002)
    assert found.resistance_ohm * 1000 == pytest.approx(9.031, abs=0.062)
    assert found.fall_V_per_C * AH_C == pytest.approx(0.21995, abs=0.0018)
    assert found.resistance_sd_ohm * 1000 == pytest.approx(0.062, abs=0.02)


def test_one_bad_sample_hardly_moves_it() -> None:
    """The seventh sample written as 7.185 V: 8.20122 V, 9.115 mΩ, 0.21861 V/Ah (worked)."""
    bad = (*VOLTS[:6], 7.185, *VOLTS[7:])
    found = fitted(bad)
    assert found.rest_V == pytest.approx(8.20122, abs=1e-5)
    assert found.resistance_ohm * 1000 == pytest.approx(9.115, abs=1e-3)
    assert found.fall_V_per_C * AH_C == pytest.approx(0.21861, abs=1e-5)


def test_without_the_charge_term_half_too_much_would_be_booked() -> None:
    """Worked: 13.43 mΩ instead of 9.00."""
    slope = np.polyfit(AMPS, VOLTS, 1)[0]
    assert -slope * 1000 == pytest.approx(13.43, abs=0.01)


@given(
    st.floats(7.5, 8.4), st.floats(0.001, 0.05), st.floats(0.0, 0.5), st.integers(0, 11), st.floats(0.05, 3.0)
)
def test_a_known_truth_comes_back_through_one_wild_sample(
    rest_V: float, ohm: float, fall_V_per_Ah: float, which: int, wild_V: float
) -> None:
    volts = rest_V - ohm * np.array(AMPS) - fall_V_per_Ah * np.array(USED_AH)
    exact = fitted(tuple(volts))
    assert exact.resistance_ohm == pytest.approx(ohm, rel=1e-6)
    assert exact.rest_V == pytest.approx(rest_V, rel=1e-9)
    quiet = volts + 0.003 * np.array([1, -1, 1, -1, -1, 1, 1, -1, -1, 1, 1, -1])
    wild = quiet.copy()
    wild[which] -= wild_V
    plain = np.linalg.lstsq(
        np.column_stack([np.ones(12), -np.array(AMPS), -np.array(USED_AH)]), wild, rcond=None
    )[0]
    robust = fitted(tuple(wild))
    gap = abs(robust.resistance_ohm - fitted(tuple(quiet)).resistance_ohm)
    assert gap <= abs(plain[1] - fitted(tuple(quiet)).resistance_ohm) + 5e-4


def test_too_few_samples_or_a_steady_current_show_no_resistance() -> None:
    with pytest.raises(BadInput, match="at least six"):
        run_resistance(current_A=[1, 2], charge_used_C=[0, 1], volts_V=[8, 7.9])
    with pytest.raises(BadInput, match="hardly changes"):
        run_resistance(current_A=[20] * 8, charge_used_C=range(8), volts_V=[8.0] * 8)


def test_steps_and_pulses_the_wrong_way_round_are_refused() -> None:
    with pytest.raises(ImpossibleInput):
        two_step_resistance(small_A=5, volts_at_small_V=3.7, large_A=1, volts_at_large_V=3.8)
    with pytest.raises(ImpossibleInput):
        pulse_resistance(before_V=3.8, after_V=3.7, pulse_A=0)
