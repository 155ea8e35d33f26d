"""Bearing load, life, drag, heat and rhythm against handbooks and textbooks."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.bearings.bearings import (
    BearingSize,
    Edition,
    ThrustRow,
    basic_life,
    equivalent_load,
    fatigue_sentence,
    life_at_speed,
    load_factors,
    mean_load,
    reliability_factor,
    system_life,
)
from snugfast.physics.bearings.defect_frequencies import Balls, defect_rhythm, usual_balls
from snugfast.physics.bearings.drag import (
    HubVerdict,
    SealRow,
    drag_power,
    judge_drag_heat,
    rolling_drag,
    seal_drag,
    seized_drag,
    steady_temperature,
)
from tests.physics.mechanics_tables import rows

mm = 1e-3
rpm = 2 * math.pi / 60
THRUST = [
    ThrustRow(float(row["relative_axial_load"]), float(row["limit"]), float(row["axial_factor"]))
    for row in rows("bearing_thrust_factors")
]


def hours(rating: float, load: float, turns_per_minute: float) -> float:
    turns = basic_life(rating_N=rating, load_N=load)
    return life_at_speed(life_turns=turns, speed_rad_s=turns_per_minute * rpm) / 3600.0


@pytest.mark.parametrize(
    ("rating", "load", "speed", "printed_h", "within"),
    [
        (29_100, 2500, 900, 29_205.5, 1e-5),  # handbook example 1: “about 29 000 h”
        (29_100, 3070, 900, 15_771, 1e-4),  # handbook example 3, its rounded load
        (32_500, 3200, 650, 26_862, 1e-4),  # second handbook, example 1: “about 27 000 h”
        (55_300, 10_000, 3000, 939.5, 1e-4),  # general catalogue, example 1: 940 h
        (5050, 2400, 1750, 88.73, 1e-4),  # Wentzell, example 20.1
        (41_000, 20_000, 720, 199.424, 1e-5),  # Jindal, example 18-4
    ],
)
def test_basic_life_is_the_printed_one(
    rating: float, load: float, speed: float, printed_h: float, within: float
) -> None:
    """Worked: bearing handbooks and textbooks, each named beside its row."""
    assert hours(rating, load, speed) == pytest.approx(printed_h, rel=within)


def test_life_in_turns_of_a_catalogue_example() -> None:
    """Worked: general catalogue, example 1, p. 78: 169 million turns."""
    assert basic_life(rating_N=55_300, load_N=10_000) / 1e6 == pytest.approx(169.1, abs=0.05)


def test_small_bearings_last_far_longer_than_any_car() -> None:
    """Against: rating of 5 × 10 × 4 and 8 × 16 × 5 by the first handbook at 20 N and 20 000 rpm."""
    ratings = {row["designation"]: float(row["dynamic_1_N"] or "nan") for row in rows("bearing_sizes")}
    assert hours(ratings["MR105"], 20, 20_000) == pytest.approx(8282, abs=1)
    assert hours(ratings["688"], 20, 20_000) == pytest.approx(434_717, abs=40)
    assert fatigue_sentence(177_804 * 3600.0).startswith("Over 10,000 hours")
    assert fatigue_sentence(8282 * 3600.0).startswith("On paper 8,282 hours")


@pytest.mark.parametrize(
    ("radial", "axial", "static", "f0", "ring", "axial_factor", "load", "within"),
    [
        (2500, 1000, 17_900, 14.0, 1.0, 1.67, 3066.3, 1e-4),  # handbook example 3: Y 1.67, P 3070 N
        (3200, 1800, 17_800, 14.0, 1.0, 1.44, 4384.0, 1.5e-3),  # second handbook, example 2, Y rounded
        (5000, 2000, 10_000, 12.2, 1.0, 1.27, 5340.0, 3e-3),  # Shigley 11-21
        (7000, 3000, 34_000, 12.26, 1.2, 1.53, 9290.0, 3e-3),  # Shigley 11-20, outer ring turning
    ],
)
def test_equivalent_load_is_the_printed_one(
    radial: float,
    axial: float,
    static: float,
    f0: float,
    ring: float,
    axial_factor: float,
    load: float,
    within: float,
) -> None:
    """Worked: each row names its book.

    The tables of problems 11-20 and 11-21 go by Fa/C0; f0 here is what turns its neighbouring rows into ours.
    """
    factors = load_factors(
        THRUST,
        radial_N=radial,
        axial_N=axial,
        static_rating_N=static,
        geometry_factor=f0,
        ring_factor=ring,
    )
    assert factors.radial_factor == 0.56
    assert factors.axial_factor == pytest.approx(axial_factor, abs=0.006)
    found = equivalent_load(
        radial_N=radial,
        axial_N=axial,
        radial_factor=factors.radial_factor,
        axial_factor=factors.axial_factor,
        ring_factor=ring,
    )
    assert found == pytest.approx(load, rel=within)


@pytest.mark.parametrize(("ring_factor", "million_turns"), [(1.0, 57.3), (1.2, 43.46)])
def test_life_under_thrust_with_either_ring_turning(ring_factor: float, million_turns: float) -> None:
    """Worked: Jindal, example 18-2 (C 5590, Fr 1250, Fa 625, X 0.56, Y 1.2)."""
    load = equivalent_load(
        radial_N=1250, axial_N=625, radial_factor=0.56, axial_factor=1.2, ring_factor=ring_factor
    )
    assert basic_life(rating_N=5590, load_N=load) / 1e6 == pytest.approx(million_turns, abs=0.006)


def test_a_little_thrust_costs_nothing() -> None:
    """Law: up to e times the radial load X is 1 and Y 0; ends of the table are kept."""
    light = load_factors(THRUST, radial_N=100, axial_N=5, static_rating_N=1000, geometry_factor=12)
    assert (light.radial_factor, light.axial_factor) == (1.0, 0.0)
    assert light.limit == 0.19
    heavy = load_factors(THRUST, radial_N=100, axial_N=5000, static_rating_N=1000, geometry_factor=12)
    assert (heavy.axial_factor, heavy.limit) == (1.0, 0.44)


@pytest.mark.parametrize("row", rows("bearing_reliability"), ids=lambda row: row["reliability"])
def test_reliability_factor_is_that_of_the_named_edition(row: dict[str, str]) -> None:
    """Worked: a1 tables of both editions; they disagree above 90 %."""
    reliability = float(row["reliability"])
    found = reliability_factor(reliability=reliability, edition=Edition.ISO_281_2007)
    assert found == pytest.approx(float(row["a1_2007"]), abs=0.006)
    if row["a1_1990"]:
        older = reliability_factor(reliability=reliability, edition=Edition.ISO_281_1990)
        assert older == pytest.approx(float(row["a1_1990"]), abs=0.006)


def test_duty_of_two_loads() -> None:
    """Worked: Shigley, 10th edition, problem 11-39: 26.46 kN, 451 585 turns, 22.58 cycles of 20 000."""
    load_N = mean_load([18_000, 30_000], [8000, 12_000])
    assert load_N / 1e3 == pytest.approx(26.46, abs=0.005)
    assert basic_life(rating_N=20_300, load_N=load_N) == pytest.approx(451_585, rel=6e-4)


def test_several_bearings_last_less_than_the_weakest_of_them() -> None:
    """Law: n alike last n^(−9/10) of one; one alone lasts its own life; a strong one adds little."""
    assert system_life([1000.0]) == pytest.approx(1000.0)
    assert system_life([1000.0] * 8) == pytest.approx(1000.0 * 8**-0.9)
    assert 980.0 < system_life([1000.0, 50_000.0]) < 1000.0


@pytest.mark.parametrize(
    "row", rows("bearing_sizes"), ids=lambda row: f"{row['designation']}-{row['outer_mm']}"
)
def test_every_listed_size_can_be_and_carries_less_at_rest(row: dict[str, str]) -> None:
    """Law: bore < outside; a small ball bearing's static rating lies below its dynamic one."""
    size = BearingSize(*(float(row[name]) * mm for name in ("bore_mm", "outer_mm", "shielded_width_mm")))
    assert str(size).startswith(f"{row['bore_mm']} × {row['outer_mm']}")
    pairs = [(row[f"static_{number}_N"], row[f"dynamic_{number}_N"]) for number in (1, 2, 3)]
    assert any(dynamic for _, dynamic in pairs)
    for static, dynamic in pairs:
        assert bool(static) == bool(dynamic)
        assert not static or 0.25 < float(static) / float(dynamic) < 0.65


def test_sizes_that_cannot_be_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="5 × 10"):
        BearingSize(10 * mm, 5 * mm, 4 * mm)
    with pytest.raises(ImpossibleInput, match=r"0\.25 in, which is 6\.35 mm"):
        BearingSize(0.25 * mm, 9.5 * mm, 3 * mm)
    with pytest.raises(ImpossibleInput, match="reliability of 1"):
        reliability_factor(reliability=1.0, edition=Edition.ISO_281_2007)


def test_friction_power_of_a_textbook_roller() -> None:
    """Worked: Jindal, example 18-1 (μ 0.0011, 16 kN, mean radius 20 mm, 1440 rpm): 352 N·mm, 53.08 W."""
    torque_Nm = rolling_drag(load_N=16_000, bore_m=40 * mm, friction=0.0011)
    assert torque_Nm * 1e3 == pytest.approx(352.0)
    assert drag_power(torque_Nm=torque_Nm, speed_rad_s=1440 * rpm) == pytest.approx(53.08, abs=0.005)


@pytest.mark.parametrize(
    ("bore_mm", "load_N", "torque_Nmm", "power_W"), [(5, 20, 0.075, 0.158), (8, 50, 0.3, 0.63)]
)
def test_small_bearings_hardly_drag(bore_mm: float, load_N: float, torque_Nmm: float, power_W: float) -> None:
    """Against: the catalogue's formula worked out apart at 20 000 rpm, μ 0.0015."""
    torque_Nm = rolling_drag(load_N=load_N, bore_m=bore_mm * mm, friction=0.0015)
    assert torque_Nm * 1e3 == pytest.approx(torque_Nmm)
    power = drag_power(torque_Nm=torque_Nm, speed_rad_s=20_000 * rpm)
    assert power == pytest.approx(power_W, abs=0.002)


@pytest.mark.parametrize(
    ("lip_mm", "stiff_Nmm", "soft_Nmm"),
    [(6.2, 3.70, 3.40), (9.5, 6.44, 5.64), (10.5, 7.56, 6.56), (12, 9.50, 8.16)],
)
def test_seals_drag_far_more_than_balls(lip_mm: float, stiff_Nmm: float, soft_Nmm: float) -> None:
    """Against: the catalogue's formula and constants worked out apart."""
    seals = {
        row["seal"]: SealRow(float(row["exponent"]), float(row["factor"]), float(row["offset_Nmm"]))
        for row in rows("bearing_seals")
    }
    for kind, printed in (("full-contact seal stiff lip", stiff_Nmm), ("full-contact seal", soft_Nmm)):
        both = seal_drag(lip_diameter_m=lip_mm * mm, seal=seals[kind])
        assert both * 1e3 == pytest.approx(printed, abs=0.006)
        assert seal_drag(lip_diameter_m=lip_mm * mm, seal=seals[kind], seals=1) == pytest.approx(both / 2)
    assert seal_drag(lip_diameter_m=lip_mm * mm, seal=seals["shielded"]) == 0.0
    assert stiff_Nmm > 10 * 0.3


def hub(torque_Nm: float) -> tuple[HubVerdict, float]:
    plastic = next(row for row in rows("hub_plastics") if row["material"] == "acetal")
    heat = judge_drag_heat(
        torque_Nm=torque_Nm,
        speed_rad_s=300.0,
        ambient_degC=25.0,
        thermal_resistance_K_W=15.0,
        keep_below_degC=float(plastic["keep_below_degC"]),
        melting_degC=float(plastic["melting_low_degC"]),
    )
    return heat.verdict, heat.softening_torque_Nm


@pytest.mark.parametrize(
    ("torque_Nm", "verdict"),
    [(0.005, HubVerdict.STAYS_HARD), (0.02, HubVerdict.SOFTENS), (0.05, HubVerdict.MELTS)],
)
def test_a_dragging_bearing_softens_and_then_melts_its_hub(torque_Nm: float, verdict: HubVerdict) -> None:
    """Law: 60 K of margin over 15 K/W and 300 rad/s is 13.3 mN·m; the verdict turns there."""
    found, limit_Nm = hub(torque_Nm)
    assert found is verdict
    assert limit_Nm == pytest.approx(60.0 / (15.0 * 300.0))
    assert hub(limit_Nm * 1.001)[0] is HubVerdict.SOFTENS
    assert hub(limit_Nm * 0.999)[0] is HubVerdict.STAYS_HARD


def test_heat_flows_out_by_the_resistance_and_a_seized_ring_rubs_on_its_radius() -> None:
    """Law: no power, no rise; torque is friction times load times radius."""
    assert steady_temperature(ambient_degC=25.0, power_W=0.0, thermal_resistance_K_W=15.0) == 25.0
    assert steady_temperature(ambient_degC=25.0, power_W=2.0, thermal_resistance_K_W=15.0) == 55.0
    assert seized_drag(load_N=20.0, sliding_diameter_m=10 * mm, friction=0.3) == pytest.approx(0.03)
    melts = judge_drag_heat(
        torque_Nm=seized_drag(load_N=20.0, sliding_diameter_m=10 * mm, friction=0.3),
        speed_rad_s=400.0,
        ambient_degC=25.0,
        thermal_resistance_K_W=15.0,
        keep_below_degC=85.0,
        melting_degC=160.0,
    )
    assert melts.verdict is HubVerdict.MELTS
    assert melts.margin_K == pytest.approx(85.0 - 205.0)
    assert "Replace" in melts.sentence


def test_hub_plastics_soften_well_below_their_melting_point() -> None:
    """Law: the warning level lies below load softening, and that below melting."""
    for row in rows("hub_plastics"):
        assert float(row["melting_low_degC"]) <= float(row["melting_high_degC"])
        if row["softening_degC"]:
            assert (
                float(row["keep_below_degC"]) < float(row["softening_degC"]) < float(row["melting_low_degC"])
            )


def test_rhythm_of_a_well_known_bearing() -> None:
    """Worked: 6205 (9 balls of 7.94 mm on 39.04 mm): 3.585, 5.415, 2.357, 0.398 beats a turn."""
    rhythm = defect_rhythm(Balls(9, 7.94 * mm, 39.04 * mm))
    assert rhythm.outer_ring == pytest.approx(3.585, rel=1e-3)
    assert rhythm.inner_ring == pytest.approx(5.415, rel=1e-3)
    assert rhythm.ball == pytest.approx(2.357, rel=1e-3)
    assert rhythm.cage == pytest.approx(0.398, rel=1e-3)
    assert rhythm.outer_ring * 30.0 == pytest.approx(107.54, abs=0.005)


def test_rhythm_in_hertz_of_the_reference_page() -> None:
    """Worked: vibration reference page, 6205 at 1500 rpm (d 7.94, D 38.5): 9.92, 89.31, 135.69 Hz."""
    rhythm = defect_rhythm(Balls(9, 7.94 * mm, 38.5 * mm))
    assert rhythm.cage * 25 == pytest.approx(9.92, abs=0.005)
    assert rhythm.outer_ring * 25 == pytest.approx(89.31, abs=0.015)
    assert rhythm.inner_ring * 25 == pytest.approx(135.69, abs=0.015)
    assert rhythm.ball * 25 == pytest.approx(58.03, abs=0.005)


@given(
    count=st.integers(5, 15),
    share=st.floats(0.05, 0.45),
    angle_rad=st.floats(0.0, 0.7),
)
def test_both_rings_together_beat_once_for_each_ball(count: int, share: float, angle_rad: float) -> None:
    """Law: outer and inner ring add up to the number of balls, and the outer is the slower."""
    rhythm = defect_rhythm(Balls(count, share, 1.0, angle_rad))
    assert rhythm.outer_ring + rhythm.inner_ring == pytest.approx(count)
    assert rhythm.outer_ring < rhythm.inner_ring
    assert rhythm.outer_ring == pytest.approx(count * rhythm.cage)


def test_balls_larger_than_their_ring_are_refused() -> None:
    with pytest.raises(ImpossibleInput):
        Balls(9, 40 * mm, 39 * mm)


def test_the_usual_inside_comes_near_a_bearing_whose_inside_is_published() -> None:
    """Against: 6205 (25 × 52 mm) has 9 balls of 7.94 mm; catalogued beats 3.585 and 5.415 a turn."""
    balls = usual_balls(bore_m=25 * mm, outer_m=52 * mm)
    assert balls.count == 9
    assert balls.ball_diameter_m == pytest.approx(7.94 * mm, rel=0.03)
    rhythm = defect_rhythm(balls)
    assert rhythm.outer_ring == pytest.approx(3.585, rel=0.02)
    assert rhythm.inner_ring == pytest.approx(5.415, rel=0.02)


@given(st.floats(2, 20), st.floats(1.4, 3.0))
def test_the_usual_inside_fits_into_the_ring_at_any_size(bore: float, ratio: float) -> None:
    """Law: the balls fit side by side with room between them, whatever the unit of length."""
    balls = usual_balls(bore_m=bore * mm, outer_m=bore * ratio * mm)
    assert balls.count * balls.ball_diameter_m < math.pi * balls.ring_diameter_m
    assert balls.count >= 4
    assert usual_balls(bore_m=bore, outer_m=bore * ratio).count == balls.count


def test_a_bearing_without_a_ring_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="as wide as the bearing"):
        usual_balls(bore_m=11 * mm, outer_m=5 * mm)
