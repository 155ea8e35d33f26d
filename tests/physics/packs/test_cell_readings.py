"""Readings that cannot be used are refused in one sentence (law: nothing is made of them)."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from snugfast.core.errors import BadInput
from snugfast.physics.packs.cell_readings import checked_cell_volts, elapsed_s
from tests.physics.pack_tables import product_limits

LIMITS = product_limits().cell


def test_good_readings_come_back_in_order() -> None:
    assert checked_cell_volts(cell_V=[3.8, 3.79], cells=2, limits=LIMITS) == (3.8, 3.79)


def test_three_readings_for_four_cells_are_refused() -> None:
    with pytest.raises(BadInput, match="Three readings for four cells") as refused:
        checked_cell_volts(cell_V=[3.8, 3.8, 3.8], cells=4, limits=LIMITS)
    assert "Read every cell once" in refused.value.way_out


def test_a_reading_of_another_chemistry_is_refused_and_says_what_to_do_if_it_stands() -> None:
    with pytest.raises(BadInput, match=r"Cell 2 reads 4\.35 V") as refused:
        checked_cell_volts(cell_V=[4.19, 4.35], cells=2, limits=LIMITS)
    assert "do not charge" in refused.value.way_out


@pytest.mark.parametrize("volts", [-0.1, float("nan"), float("inf")])
def test_a_voltage_that_cannot_be_is_refused(volts: float) -> None:
    with pytest.raises(BadInput, match="Cell 1 cannot read"):
        checked_cell_volts(cell_V=[volts], cells=1, limits=LIMITS)


def test_an_over_charged_cell_is_not_refused_but_left_to_the_verdict() -> None:
    assert checked_cell_volts(cell_V=[4.27], cells=1, limits=LIMITS) == (4.27,)


def test_time_running_backwards_is_refused_with_both_moments() -> None:
    noon, later = (datetime(2026, 5, 2, hour, 0, tzinfo=UTC) for hour in (12, 13))
    assert elapsed_s(earlier=noon, later=later, what="Charge") == 3600.0
    with pytest.raises(BadInput, match="Charge: 02 May 2026 12:00 is before 02 May 2026 13:00"):
        elapsed_s(earlier=later, later=noon, what="Charge")
