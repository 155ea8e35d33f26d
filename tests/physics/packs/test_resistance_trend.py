"""The climb of resistance. Authority: SciPy's Theil–Sen on a worked series, and laws of robustness."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput, ImpossibleInput
from snugfast.physics.packs.cells import resistance_factor
from snugfast.physics.packs.resistance_trend import (
    Reading,
    Trend,
    TrendWarmth,
    Worth,
    at_25_degC,
    climb,
    resistance_trend,
    weak_cells,
)
from tests.physics.pack_tables import kelvin, product_limits, toml

WEAR = product_limits().wear
TABLE = toml("reading.toml")["resistance"]
ACTIVATION = TABLE["activation_J_per_mol"]["value"]
WARMTH = TrendWarmth(
    compared_from_degC=TABLE["trend_from_degC"]["value"],
    compared_to_degC=TABLE["trend_to_degC"]["value"],
    corrected_from_degC=TABLE["corrected_from_degC"]["value"],
)
CYCLES = tuple(range(0, 101, 10))
MILLIOHM = (3.02, 3.05, 3.11, 3.08, 3.19, 3.23, 3.27, 3.30, 3.41, 4.60, 3.49)


def readings(degC: float = 25.0, milliohm: tuple[float, ...] = MILLIOHM) -> list[Reading]:
    return [
        Reading(cycles, value / 1000, kelvin(degC), "charger A")
        for cycles, value in zip(CYCLES, milliohm, strict=True)
    ]


def trend(series: list[Reading]) -> Trend:
    return resistance_trend(series, warmth=WARMTH, activation_J_per_mol=ACTIVATION, wear=WEAR)


def test_the_worked_series_gives_slope_start_and_crossings() -> None:
    found = trend(readings())
    assert found.as_new_ohm * 1000 == pytest.approx(2.98625, abs=1e-5)
    assert [1000 * end for end in found.growth_ohm.ends] == pytest.approx(
        [0.004000, 0.004875, 0.006333], abs=1e-6
    )
    assert found.tau == pytest.approx(0.927, abs=1e-3)
    assert found.p == pytest.approx(3e-6, rel=0.2)
    assert found.watch_at is not None and found.hard_driving_until is not None
    assert found.watch_at.ends == pytest.approx((236, 306, 373), abs=0.7)
    assert found.hard_driving_until.ends == pytest.approx((472, 613, 747), abs=0.7)


def test_one_bad_reading_would_halve_the_life_by_least_squares_and_does_not_here() -> None:
    """Worked: least squares says 319 cycles to twice as new; with the reading mended 613, as we say."""
    mended = trend(readings(milliohm=(*MILLIOHM[:9], 3.45, MILLIOHM[10])))
    wild = trend(readings())
    assert mended.hard_driving_until is not None and wild.hard_driving_until is not None
    assert wild.hard_driving_until.likely == pytest.approx(mended.hard_driving_until.likely, rel=0.05)


def test_climb_is_the_median_of_pairwise_slopes() -> None:
    start, slope = climb(cycles=[0, 1, 2, 3], resistance_ohm=[1.0, 2.0, 3.0, 40.0])
    slopes = sorted(
        (b - a) / (j - i) for i, a in enumerate([1, 2, 3, 40]) for j, b in enumerate([1, 2, 3, 40]) if j > i
    )
    assert slope.likely == pytest.approx((slopes[2] + slopes[3]) / 2)
    assert start == pytest.approx(2.5 - slope.likely * 1.5)


def test_hard_driving_ends_before_the_pack_is_done() -> None:
    found = trend(readings())
    assert found.watch_at and found.hard_driving_until and found.done_at
    assert found.watch_at.likely < found.hard_driving_until.likely < found.done_at.likely


def test_a_reading_in_the_cold_comes_out_as_worked_at_25_degrees() -> None:
    """5.20 mΩ at 5 °C is 2.911 mΩ at 25 °C (worked)."""
    cold = Reading(0, 0.00520, kelvin(5), "charger A")
    assert at_25_degC(cold, activation_J_per_mol=ACTIVATION) * 1000 == pytest.approx(2.911, abs=1e-3)


@given(st.floats(6, 45))
def test_the_trend_does_not_depend_on_the_warmth_it_was_measured_at(degC: float) -> None:
    factor = resistance_factor(temperature_K=kelvin(degC), activation_J_per_mol=ACTIVATION)
    there = trend(readings(degC, tuple(value * factor for value in MILLIOHM)))
    assert there.growth_ohm.likely == pytest.approx(trend(readings()).growth_ohm.likely, rel=1e-9)


@pytest.mark.parametrize(
    ("degC", "worth"),
    [
        (4, Worth.LEFT_OUT),
        (8, Worth.CORRECTED),
        (15, Worth.COMPARED),
        (35, Worth.COMPARED),
        (36, Worth.CORRECTED),
    ],
)
def test_warmth_decides_what_a_reading_is_worth(degC: float, worth: Worth) -> None:
    assert WARMTH.worth(kelvin(degC)) is worth


def test_cold_readings_are_counted_out_and_said() -> None:
    mixed = [
        *readings(),
        Reading(110, 0.009, kelvin(0), "charger A"),
        Reading(120, 0.005, kelvin(10), "charger A"),
    ]
    found = trend(mixed)
    assert (found.used, found.left_out, found.corrected) == (12, 1, 1)


def test_instruments_are_never_mixed() -> None:
    mixed = [*readings(), Reading(110, 0.0035, kelvin(25), "meter B")]
    with pytest.raises(BadInput, match="charger A, meter B"):
        trend(mixed)


def test_a_flat_series_announces_no_climb_and_no_end() -> None:
    flat = trend(readings(milliohm=(3.0, 3.1, 3.0, 3.05, 3.1, 3.0, 3.05, 3.0, 3.1, 3.0, 3.05)))
    assert not flat.climbs
    assert flat.hard_driving_until is None and flat.done_at is None


def test_a_band_that_reaches_nought_means_perhaps_never() -> None:
    slow = trend(readings(milliohm=(3.0, 3.06, 3.0, 3.02, 3.08, 3.02, 3.07, 3.0, 3.09, 3.03, 3.1)))
    assert slow.climbs is (slow.hard_driving_until is not None)
    if slow.hard_driving_until is not None and slow.growth_ohm.low <= 0:
        assert math.isinf(slow.hard_driving_until.high)


@pytest.mark.parametrize("count", [0, 5])
def test_fewer_than_six_readings_are_no_trend(count: int) -> None:
    with pytest.raises(BadInput, match="needs 6"):
        trend(readings()[:count])


def test_six_readings_of_one_evening_are_no_trend() -> None:
    with pytest.raises(BadInput):
        trend([Reading(10, 0.003, kelvin(25), "charger A")] * 6)


def test_a_weak_cell_is_found_by_its_pack() -> None:
    found = weak_cells([0.0030, 0.0031, 0.0052, 0.0029], wear=WEAR)
    assert [cell.place for cell in found] == [3]
    assert found[0].ratio == pytest.approx(0.0052 / 0.00305)
    assert not weak_cells([0.0030, 0.0031, 0.0032], wear=WEAR)
    with pytest.raises(BadInput):
        weak_cells([0.003], wear=WEAR)


def test_a_reading_of_no_resistance_cannot_be() -> None:
    with pytest.raises(ImpossibleInput):
        Reading(0, 0.0, kelvin(25), "charger A")
