"""What set screws hold, and what that means for a joint."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.physics.joints.set_screws import (
    HoldingRow,
    HoldVerdict,
    SetScrewHold,
    ShaftSeat,
    holding_torque,
    holding_when_seated,
    judge_set_screws,
    pair_factor,
    rotor_stop_torque,
    seating_limit,
)
from tests.physics.mechanics_tables import rows

mm, inch, lbf = 1e-3, 0.0254, 4.4482216152605
TABLE = {row["size"]: row for row in rows("set_screw_holding")}
METRIC = {row["size"]: row["holding_row"] for row in rows("set_screw_metric")}
SEATING = {row["size"]: float(row["set_alloy_Nm"]) for row in rows("seating_torques")}


def row_of(size: str) -> HoldingRow:
    row = TABLE[METRIC[size]]
    return HoldingRow(float(row["seating_Nm"]), float(row["holding_N"]))


def judged(
    size: str = "M3",
    *,
    seating_Nm: float | None = None,
    shaft_mm: float = 5.0,
    peak_Nm: float = 0.5,
    seat: ShaftSeat = ShaftSeat.ROUND,
    angle_deg: float | None = None,
    point_factor: float = 1.0,
) -> SetScrewHold:
    return judge_set_screws(
        row=row_of(size),
        seating_Nm=SEATING[size] if seating_Nm is None else seating_Nm,
        shaft_diameter_m=shaft_mm * mm,
        peak_torque_Nm=peak_Nm,
        seat=seat,
        angle_between_rad=None if angle_deg is None else math.radians(angle_deg),
        point_factor=point_factor,
    )


@pytest.mark.parametrize(
    ("size", "shaft_in", "printed_lbf_in"),
    [
        ("#0", 1 / 16, 1.5),
        ("#0", 1 / 8, 3.1),
        ("#0", 1 / 4, 6.2),
        ("#1", 1 / 16, 2.0),
        ("#1", 1 / 8, 4.0),
        ("#1", 1 / 4, 8.1),
        ("#2", 1 / 16, 2.6),
        ("#2", 1 / 8, 5.3),
        ("#2", 1 / 4, 10.6),
    ],
)
def test_torque_on_a_shaft_is_the_printed_one(size: str, shaft_in: float, printed_lbf_in: float) -> None:
    """Worked: torsional table of the set-screw chart; printed to one digit, cut and not rounded."""
    torque_Nm = holding_torque(holding_N=float(TABLE[size]["holding_N"]), shaft_diameter_m=shaft_in * inch)
    assert torque_Nm / (lbf * inch) == pytest.approx(printed_lbf_in, abs=0.1)


@pytest.mark.parametrize(
    ("size", "shaft_mm", "torque_Nm"), [("M3", 3.17, 1.13), ("M3", 5, 1.78), ("M4", 5, 4.28), ("M5", 5, 6.0)]
)
def test_metric_sizes_by_their_nearest_row(size: str, shaft_mm: float, torque_Nm: float) -> None:
    """Against: the same table worked out apart, seated in full and divided by nothing."""
    row = row_of(size)
    holding_N = holding_when_seated(row=row, seating_Nm=row.seating_Nm)
    found = holding_torque(holding_N=holding_N, shaft_diameter_m=shaft_mm * mm)
    assert found == pytest.approx(torque_Nm, abs=0.006)


def test_m3_never_holds_more_than_712_newtons() -> None:
    """Law: M3 is seated harder than its row, yet takes the row's figure and no more."""
    assert SEATING["M3"] > row_of("M3").seating_Nm
    for seating_Nm in (0.6, 0.92, 5.0):
        assert judged(seating_Nm=seating_Nm).axial_N == pytest.approx(712.0)
    assert judged().high_Nm == pytest.approx(712.0 * 2.5 * mm)


@given(seating_Nm=st.floats(0.01, 0.56))
def test_holding_follows_the_seating_torque(seating_Nm: float) -> None:
    """Worked: Machine Design, “Setscrews”: almost directly proportional."""
    row = row_of("M3")
    share = holding_when_seated(row=row, seating_Nm=seating_Nm) / row.holding_N
    assert share == pytest.approx(seating_Nm / row.seating_Nm)


def test_a_flat_adds_six_percent_around_and_nothing_along_and_says_it_drives() -> None:
    """Worked: Machine Design, “Setscrews”."""
    flat, plain = judged(seat=ShaftSeat.FLAT), judged()
    assert flat.torque_Nm / plain.torque_Nm == pytest.approx(1.06)
    assert flat.axial_N == plain.axial_N
    assert "still drives" in flat.sentence
    assert "put the screw on a flat" in plain.sentence


@pytest.mark.parametrize(
    ("degrees", "factor"), [(60, 1.75), (180, 1.29), (120, 1.52), (30, 1.75), (200, 1.29)]
)
def test_two_screws_hold_less_than_double(degrees: float, factor: float) -> None:
    """Pinned: the two numbers are from memory; that it is less than double was read."""
    assert pair_factor(angle_between_rad=math.radians(degrees)) == pytest.approx(factor)
    assert judged(angle_deg=degrees).torque_Nm == pytest.approx(factor * judged().torque_Nm)


def test_point_factor_scales_the_holding() -> None:
    """Worked: socket-screw guide: cone 1.07, oval 0.90 of a cup point."""
    factors = {row["point"]: float(row["factor"]) for row in rows("set_screw_points")}
    assert (factors["cup"], factors["cone"], factors["oval"]) == (1.0, 1.07, 0.9)
    assert judged(point_factor=0.9).axial_N == pytest.approx(0.9 * 712.0)


@pytest.mark.parametrize(
    ("peak_Nm", "verdict"),
    [(0.5, HoldVerdict.HOLDS), (1.6, HoldVerdict.MAY_SLIP), (1.9, HoldVerdict.SLIPS)],
)
def test_verdict_against_the_peak_torque(peak_Nm: float, verdict: HoldVerdict) -> None:
    """Law: below the band it holds, inside it may slip, above it slips."""
    found = judged(peak_Nm=peak_Nm)
    assert found.verdict is verdict
    assert found.low_Nm < found.torque_Nm <= found.high_Nm
    assert verdict.value in found.sentence


def test_the_band_spans_the_driver_and_a_hard_shaft() -> None:
    """Worked: ±30 % of an ordinary driver and up to 15 % for hardness, as both guides print them."""
    row = row_of("M4")
    found = judged("M4", seating_Nm=1.0)
    full_Nm = row.holding_N / row.seating_Nm * 2.5 * mm
    assert found.low_Nm == pytest.approx(0.85 * 0.7 * full_Nm)
    assert found.torque_Nm == pytest.approx(full_Nm)
    assert found.high_Nm == pytest.approx(1.3 * full_Nm)


def test_industrial_factors_stand_beside_and_do_not_judge() -> None:
    """Worked: set-screw chart, 4 to 8 for live loads."""
    found = judged(peak_Nm=1.0)
    assert found.industrial_Nm == pytest.approx((found.torque_Nm / 8, found.torque_Nm / 4))
    assert found.industrial_Nm[1] < 1.0
    assert found.verdict is HoldVerdict.HOLDS


def test_every_metric_size_names_a_row_no_larger_than_the_next_size_up() -> None:
    """Law: the row lies within a tenth of the screw's diameter, and never far above it."""
    for size, name in METRIC.items():
        assert float(TABLE[name]["diameter_mm"]) < 1.05 * float(size[1:])


def test_a_set_screw_is_seated_no_tighter_than_the_weakest_of_screw_key_and_chart() -> None:
    """*Law*: the least of the three; a good 1.5 mm key stays bent at 1.02 N·m, a worn one bears 0.6 of it."""
    assert seating_limit(chart_Nm=0.92, key_yield_Nm=1.02, soft_screw_Nm=9.0) == pytest.approx(0.612)
    assert seating_limit(chart_Nm=0.92, key_yield_Nm=9.0, soft_screw_Nm=0.6) == 0.6
    assert seating_limit(chart_Nm=0.21, key_yield_Nm=9.0, soft_screw_Nm=9.0) == 0.21


def test_a_rotor_stopped_in_milliseconds_asks_more_than_the_tyres_do() -> None:
    """*By hand*: 1.3e-6 · 3000 / 0.005 = 0.78 N·m."""
    assert rotor_stop_torque(rotor_kgm2=1.3e-6, speed_rad_s=3000.0, stops_in_s=0.005) == pytest.approx(0.78)
