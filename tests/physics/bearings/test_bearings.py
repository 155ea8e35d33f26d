"""Bearing load, life, drag, heat and rhythm against handbooks and textbooks."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.bearings.bearings import BearingSize, basic_life, fatigue_sentence, life_at_speed
from snugfast.physics.bearings.defect_frequencies import Balls, defect_rhythm, usual_balls
from snugfast.physics.bearings.drag import (
    HubVerdict,
    SealRow,
    drag_power,
    judge_drag_heat,
    seal_drag,
    seized_drag,
    steady_temperature,
)
from tests.physics.mechanics_tables import rows

mm = 1e-3
rpm = 2 * math.pi / 60


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


def test_friction_power_of_a_textbook_roller() -> None:
    """Worked: Jindal, example 18-1: 352 N·mm at 1440 rpm make 53.08 W."""
    assert drag_power(torque_Nm=0.352, speed_rad_s=1440 * rpm) == pytest.approx(53.08, abs=0.005)


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
