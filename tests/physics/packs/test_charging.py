"""Charge sessions. Authority: published limits, one worked charge, and SciPy's integrator for the tail."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from snugfast.core.errors import BadInput, ImpossibleInput, RefusedAction
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.charge_setup import ChargeRefused, Setup, require_setup, setup_refusals
from snugfast.physics.packs.charging import (
    Bound,
    ChargeCurrent,
    Charger,
    Session,
    charge_current,
    latest_start,
    plan_session,
)
from snugfast.physics.packs.chemistry import Chemistry, NoTable
from snugfast.physics.packs.reasons import Level, Reason
from snugfast.physics.packs.verdict import Cleared, Withheld
from tests.physics.pack_tables import AH_C, product_curve, product_limits

CURVE, LIMITS = product_curve(), product_limits().cell
GOOD = Cleared(Level.USE, ())
SWOLLEN = Withheld(Level.DO_NOT_CHARGE, (Reason(Level.DO_NOT_CHARGE, "The pack shows: swollen.", "None."),))
FIVE_AH_C = 5.0 * AH_C
SETUP = Setup(
    pack_chemistry=Chemistry.LITHIUM_POLYMER,
    pack_cells=2,
    charger_chemistry=Chemistry.LITHIUM_POLYMER,
    charger_cells=2,
    attended=True,
    surface_burns=False,
    through_balance_plug=True,
)


def amps(**changes: object) -> ChargeCurrent:
    asked: dict[str, object] = {
        "verdict": GOOD,
        "capacity_C": FIVE_AH_C,
        "setup": SETUP,
        "charger": Charger(most_A=10, efficiency=0.85, most_W=100),
        "limits": LIMITS,
    }
    return charge_current(**(asked | changes))  # type: ignore[arg-type]


def session(
    *,
    current_A: float = 5.0,
    charge: Band | None = None,
    ohm: Band | None = None,
    until_V: float = 4.20,
    capacity_C: Band | None = None,
    balance_s: float = 0.0,
    verdict: Cleared | Withheld = GOOD,
    setup: Setup = SETUP,
) -> Session:
    return plan_session(
        verdict=verdict,
        setup=setup,
        current=ChargeCurrent(current_A, Bound.USUAL, {}),
        charge=charge or Band.exactly(0.3),
        capacity_C=capacity_C or Band.exactly(FIVE_AH_C),
        cell_resistance_ohm=ohm or Band.exactly(0.006),
        until_V=until_V,
        balance_s=balance_s,
        curve=CURVE,
        limits=LIMITS,
    )


@pytest.mark.parametrize(
    ("changes", "held_by", "expected_A"),
    [
        ({}, Bound.USUAL, 5.0),
        ({"label_A": 2.5}, Bound.LABEL, 2.5),
        ({"label_A": 25.0}, Bound.USUAL, 5.0),
        ({"charger": Charger(most_A=3, efficiency=0.85, most_W=100)}, Bound.CHANNEL, 3.0),
        ({"charger": Charger(most_A=10, efficiency=0.85, most_W=30)}, Bound.WATTS, 30 / 8.4),
        (
            {"charger": Charger(most_A=10, efficiency=0.85, most_W=100, supply_W=40)},
            Bound.SUPPLY,
            40 * 0.85 / 8.4,
        ),
    ],
)
def test_the_least_bound_holds_the_current(
    changes: dict[str, object], held_by: Bound, expected_A: float
) -> None:
    found = amps(**changes)
    assert found.held_by is held_by
    assert found.current_A == pytest.approx(expected_A)


def test_three_ampere_hours_at_once_the_capacity_take_36_minutes_before_the_tail() -> None:
    """Worked: 3.0 Ah returned to a 5 Ah pack at 1C; a cell of hardly any resistance has no tail."""
    ideal = session(charge=Band.exactly(0.4), ohm=Band.exactly(1e-9))
    assert ideal.steady_s / 60 == pytest.approx(36.0, rel=1e-6)
    assert ideal.tail_s < 1.0
    assert ideal.put_in_C.likely / AH_C == pytest.approx(3.0, rel=1e-6)


def test_the_tail_agrees_with_an_integrator_of_another_library() -> None:
    """SciPy's solve_ivp on dz/dt = I/Q with I the lesser of the set current and (4.20 − U)/R."""
    ohm, set_A = 0.020, 5.0

    def amps_at(charge: float) -> float:
        return min(set_A, (4.20 - float(np.interp(charge, CURVE.charge, CURVE.rest_V))) / ohm)

    def done(_time_s: float, charge: np.ndarray) -> float:
        return amps_at(charge[0]) - 0.1 * set_A

    done.terminal = True  # type: ignore[attr-defined]
    other = solve_ivp(
        lambda _t, z: [amps_at(z[0]) / FIVE_AH_C], (0, 2e4), [0.3], events=done, rtol=1e-9, max_step=5.0
    )
    ours = session(ohm=Band.exactly(ohm))
    assert ours.whole_s.likely == pytest.approx(other.t[-1], abs=1.0)
    assert ours.tail_s > 300.0


def test_the_band_takes_the_empty_worn_end_as_late_and_adds_balancing() -> None:
    wide = session(
        charge=Band(0.2, 0.3, 0.4),
        ohm=Band(0.004, 0.006, 0.015),
        capacity_C=Band(0.9 * FIVE_AH_C, FIVE_AH_C, FIVE_AH_C),
        balance_s=900.0,
    )
    assert wide.whole_s.low < session().whole_s.likely < wide.whole_s.high - 900.0
    assert wide.whole_s.likely == pytest.approx(session().whole_s.likely)


@example(
    start=0.8999999999999999, ohm=0.03125, more_ohm=0.03125, current_A=2.0
)  # ends where a table step does
@given(st.floats(0.02, 0.9), st.floats(0.001, 0.05), st.floats(0.001, 0.05), st.floats(0.5, 5))
def test_more_resistance_never_shortens_a_charge(
    start: float, ohm: float, more_ohm: float, current_A: float
) -> None:
    quick = session(charge=Band.exactly(start), ohm=Band.exactly(ohm), current_A=current_A)
    slow = session(charge=Band.exactly(start), ohm=Band.exactly(ohm + more_ohm), current_A=current_A)
    # A charge ends at a tenth of its current, so the slow one also stops a little less full.
    assert slow.whole_s.likely + (quick.put_in_C.likely - slow.put_in_C.likely) / (0.1 * current_A) >= (
        quick.whole_s.likely - 1e-6
    )


@given(st.floats(0.02, 0.9), st.floats(0.001, 0.02))
def test_half_the_current_takes_longer(start: float, ohm: float) -> None:
    fast = session(charge=Band.exactly(start), ohm=Band.exactly(ohm), current_A=5.0)
    slow = session(charge=Band.exactly(start), ohm=Band.exactly(ohm), current_A=2.5)
    assert slow.whole_s.likely > fast.whole_s.likely


def test_a_storage_charge_stops_at_storage_voltage() -> None:
    stored = session(charge=Band.exactly(0.1), until_V=3.80)
    assert 0.1 + stored.put_in_C.likely / FIVE_AH_C == pytest.approx(CURVE.charge_at(3.80), abs=0.01)


def test_a_full_pack_needs_no_time() -> None:
    full = session(charge=Band.exactly(1.0))
    assert full.whole_s.likely == 0.0
    assert full.put_in_C.likely == 0.0


def test_a_withheld_pack_gets_no_current_and_no_minutes() -> None:
    with pytest.raises(RefusedAction, match="swollen"):
        amps(verdict=SWOLLEN)
    with pytest.raises(RefusedAction, match="swollen"):
        session(verdict=SWOLLEN)


@pytest.mark.parametrize(
    ("changes", "where"),
    [
        ({"charger_cells": 3}, "cells"),
        ({"charger_chemistry": Chemistry.HIGH_VOLTAGE_LITHIUM}, "chemistry"),
        ({"attended": False}, "attended"),
        ({"surface_burns": True}, "surface"),
        ({"through_balance_plug": False}, "balance plug"),
    ],
)
def test_a_wrong_setup_is_refused_with_its_reason(changes: dict[str, object], where: str) -> None:
    wrong = replace(SETUP, **changes)  # type: ignore[arg-type]
    assert [finding.where for finding in setup_refusals(wrong)] == [where]
    with pytest.raises(ChargeRefused):
        session(setup=wrong)


def test_all_that_is_wrong_is_listed_at_once() -> None:
    wrong = replace(SETUP, charger_cells=3, attended=False, surface_burns=True)
    with pytest.raises(ChargeRefused) as refused:
        require_setup(wrong)
    assert len(refused.value.findings) == 3


def test_a_target_above_full_is_refused() -> None:
    with pytest.raises(BadInput, match=r"4\.35 V"):
        session(until_V=4.35)


def test_when_to_start_counts_back_from_the_late_end() -> None:
    now = datetime(2026, 5, 2, 9, tzinfo=UTC)
    plan = session(balance_s=600.0)
    ready = now + timedelta(hours=4)
    start = latest_start(ready_by=ready, now=now, session=plan)
    assert (ready - start).total_seconds() == pytest.approx(plan.whole_s.high)
    with pytest.raises(RefusedAction, match="cannot be ready by 09:30"):
        latest_start(ready_by=now + timedelta(minutes=30), now=now, session=plan)
    with pytest.raises(BadInput, match="already past"):
        latest_start(ready_by=now - timedelta(minutes=1), now=now, session=plan)


def test_a_charger_without_amperes_cannot_be() -> None:
    with pytest.raises(ImpossibleInput):
        Charger(most_A=0, most_W=50, efficiency=0.85)


def test_a_current_above_the_usual_rate_is_not_planned_with() -> None:
    with pytest.raises(RefusedAction, match=r"at most 5\.0 A"):
        session(current_A=7.5)


def test_another_chemistry_gets_no_current_and_no_minutes_from_this_table() -> None:
    other = Chemistry.LITHIUM_IRON_PHOSPHATE
    setup = replace(SETUP, pack_chemistry=other, charger_chemistry=other)
    with pytest.raises(NoTable, match="iron phosphate"):
        amps(setup=setup)
    with pytest.raises(NoTable, match="iron phosphate"):
        session(setup=setup)
