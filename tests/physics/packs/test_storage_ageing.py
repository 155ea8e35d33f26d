"""What standing costs. Authority: the published coefficients, worked tables, and a golden grid."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import watching
from snugfast.physics.packs.storage_ageing import (
    BEYOND_USE,
    YEAR_S,
    StorageCost,
    lost_after,
    lost_in_a_year,
    rate_by_anode_potential,
    rate_by_cell_voltage,
    storage_cost,
)
from tests.physics.pack_tables import DAY_S, GOLDEN, ageing_views, kelvin, product_curve, resistance_law, rows

CURVE, VIEWS = product_curve(), ageing_views()
CAPACITY, RESISTANCE = VIEWS.by_cell_voltage, resistance_law()


def lost_percent(cell_V: float, degC: float, days: float, already: float = 0.0) -> float:
    rate = rate_by_cell_voltage(law=CAPACITY, cell_V=cell_V, temperature_K=kelvin(degC))
    total = lost_after(rate=rate, exponent=CAPACITY.exponent, stood_s=days * DAY_S, already=already)
    return 100 * (total - already)


def cost(charge: float, degC: float, days: float, ages_s: tuple[float, ...] = (0.0, YEAR_S)) -> StorageCost:
    return storage_cost(
        charge=charge,
        temperature_K=kelvin(degC),
        stood_s=days * DAY_S,
        views=VIEWS,
        curve=CURVE,
        storage_V=3.80,
        ages_s=ages_s,
    )


def test_the_golden_grid_of_capacity_and_resistance() -> None:
    """280 rows worked from the published coefficients apart from this code."""
    grid = rows(GOLDEN / "calendar_ageing_schmalstieg2014.csv")
    assert len(grid) == 280
    for row in grid:
        for law, name in ((CAPACITY, "q_loss_percent"), (RESISTANCE, "r_gain_percent")):
            rate = rate_by_cell_voltage(law=law, cell_V=row["voltage_V"], temperature_K=kelvin(row["temp_C"]))
            found = 100 * lost_after(rate=rate, exponent=law.exponent, stood_s=row["days"] * DAY_S)
            assert found == pytest.approx(row[name], abs=1.1e-4, rel=1e-4)


@pytest.mark.parametrize(
    ("days", "full_25", "stored_25", "full_40", "stored_40", "stored_15"),
    [
        (2, 0.092, 0.057, 0.282, 0.175, 0.025),
        (7, 0.235, 0.146, 0.722, 0.447, 0.065),
        (14, 0.396, 0.245, 1.214, 0.752, 0.109),
        (30, 0.701, 0.434, 2.150, 1.332, 0.193),
        (90, 1.598, 0.990, 4.901, 3.036, 0.440),
        (365, 4.566, 2.829, 14.01, 8.677, 1.256),
    ],
)
def test_the_worked_table_of_leaving_it_full(
    days: float, full_25: float, stored_25: float, full_40: float, stored_40: float, stored_15: float
) -> None:
    asked = ((4.20, 25), (3.80, 25), (4.20, 40), (3.80, 40), (3.80, 15))
    told = (full_25, stored_25, full_40, stored_40, stored_15)
    for (volts, degC), percent in zip(asked, told, strict=True):
        assert lost_percent(volts, degC, days) == pytest.approx(percent, rel=1e-3, abs=5.1e-4)


def test_the_worked_ratios_with_warmth() -> None:
    at_25 = lost_percent(4.2, 25, 365)
    for degC, ratio in ((40, 3.067), (35, 2.137), (0, 0.1175)):
        assert lost_percent(4.2, degC, 365) / at_25 == pytest.approx(ratio, rel=1e-3)


@pytest.mark.parametrize(
    ("anode_V", "percents"),
    [
        (0.12330, (0.11, 0.29, 1.01, 3.17)),
        (0.09426, (0.46, 1.10, 3.61, 10.6)),
        (0.08638, (0.67, 1.57, 5.10, 14.8)),
    ],
)
def test_the_anode_potential_law_gives_the_worked_years(anode_V: float, percents: tuple[float, ...]) -> None:
    law = VIEWS.by_anode_potential
    for degC, percent in zip((0, 10, 25, 40), percents, strict=True):
        rate = rate_by_anode_potential(law=law, anode_V=anode_V, temperature_K=kelvin(degC))
        found = 100 * lost_after(rate=rate, exponent=law.exponent, stood_s=365 * DAY_S)
        assert found == pytest.approx(percent, rel=6e-3, abs=5.1e-3)


def test_two_stretches_add_up_to_the_worked_year_in_either_order() -> None:
    """14 days full at 25 °C and 351 days stored at 15 °C: 1.4185 %, whichever comes first (worked)."""
    full = rate_by_cell_voltage(law=CAPACITY, cell_V=4.20, temperature_K=kelvin(25))
    stored = rate_by_cell_voltage(law=CAPACITY, cell_V=3.80, temperature_K=kelvin(15))
    assert full == pytest.approx(5.46827e-4, rel=1e-5)
    assert stored == pytest.approx(1.50411e-4, rel=1e-5)
    stretches = ((full, 14.0), (stored, 351.0))
    for order in (stretches, stretches[::-1]):
        total = 0.0
        for rate, days in order:
            total = lost_after(rate=rate, exponent=0.75, stood_s=days * DAY_S, already=total)
        assert 100 * total == pytest.approx(1.4185, abs=1e-4)


@pytest.mark.parametrize(
    ("charge", "degC", "new_volts", "aged_volts", "new_anode", "aged_anode"),
    [(1.0, 25, 0.396, 0.153, 1.592, 0.727), (1.0, 40, 1.214, 0.662, 4.606, 3.617)],
)
def test_two_weeks_full_cost_what_was_worked_for_new_and_aged_cells(
    charge: float, degC: float, new_volts: float, aged_volts: float, new_anode: float, aged_anode: float
) -> None:
    by_volts, by_anode = cost(charge, degC, 14).opinions
    assert 100 * by_volts.high == pytest.approx(new_volts, rel=2e-3)
    assert 100 * by_volts.low == pytest.approx(aged_volts, rel=5e-3)
    assert 100 * by_anode.high == pytest.approx(new_anode, rel=2e-3)
    # Our aged cell stood at 3.80 V, 52 % charged; the worked one at 50 %, which had aged a little less.
    assert 100 * by_anode.low == pytest.approx(aged_anode, rel=0.08)


def test_a_year_costs_what_the_published_views_span() -> None:
    """At 25 °C full 4.6 to 20 %, about half 1 to 4 %; the views disagree and stay side by side."""
    full, half = cost(1.0, 25, 365, (0.0,)), cost(0.45, 25, 365, (0.0,))
    assert 100 * full.low == pytest.approx(4.57, abs=0.01)
    assert 100 * full.high == pytest.approx(20.0, abs=0.01)
    assert 100 * half.low == pytest.approx(1.01, abs=0.01)
    assert 100 * half.high == pytest.approx(5.3, abs=0.1)
    assert len({opinion.name for opinion in full.opinions}) == 3


def test_the_handbook_table_stands_as_printed_and_is_not_used_for_a_week() -> None:
    table = VIEWS.by_year_table
    for degC, charge, kept in ((0, 0.4, 0.98), (25, 0.4, 0.96), (40, 0.4, 0.85), (25, 1, 0.8), (40, 1, 0.65)):
        assert lost_in_a_year(table, charge=charge, temperature_K=kelvin(degC)) == pytest.approx(1 - kept)
    assert len(cost(1.0, 25, 7).opinions) == 2


@given(st.floats(0.3, 1.0), st.floats(0.0, 0.3), st.floats(0, 45), st.floats(0, 10), st.floats(1, 400))
def test_the_cost_rises_with_charge_warmth_and_time(
    charge: float, fuller: float, degC: float, warmer: float, days: float
) -> None:
    calm = cost(charge, degC, days)
    for worse in (
        cost(min(charge + fuller, 1.0), degC, days),
        cost(charge, degC + warmer, days),
        cost(charge, degC, days * 1.2),
    ):
        assert worse.low >= calm.low - 1e-12
        assert worse.high >= calm.high - 1e-12


def test_a_cost_beyond_use_says_so_and_never_exceeds_all() -> None:
    hot = cost(1.0, 60, 3650)
    assert BEYOND_USE in hot.cautions
    assert hot.high <= 1.0


def test_volts_below_the_law_carry_a_caution_and_cost_nothing_negative() -> None:
    with watching() as left:
        assert 0.0 <= rate_by_cell_voltage(law=CAPACITY, cell_V=3.0, temperature_K=kelvin(25)) < 1e-6
    assert left.sentences


def test_time_below_nought_cannot_be() -> None:
    with pytest.raises(ImpossibleInput):
        cost(0.5, 25, -1)
