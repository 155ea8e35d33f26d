"""Tooth bending against the printed answers of four textbooks."""

from __future__ import annotations

import math

import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.gears.tooth_strength import (
    Finish,
    FormFactorRow,
    form_factor,
    lewis_force,
    lewis_stress,
    load_tooth,
    pitch_line_speed,
    tangential_force,
    velocity_factor,
)
from tests.physics.mechanics_tables import rows

mm, inch, foot = 1e-3, 0.0254, 0.3048
lbf, psi, hp = 4.4482216152605, 6894.757293168, 745.6998715822702
rpm = 2 * math.pi / 60
TABLE = [FormFactorRow(int(row["teeth"]), float(row["form_factor"])) for row in rows("lewis_form_factors")]


@pytest.mark.parametrize(
    ("module_mm", "teeth", "turns", "power_W", "face_mm", "y", "factor", "force_N", "stress_MPa"),
    [
        (1.25, 18, 1800, 500.0, 12.0, 0.309, 1.348, 235.8, 68.6),
        (8.0, 16, 150, 6000.0, 90.0, 0.296, 1.165, None, 32.6),
    ],
)
def test_metric_bending_problems(
    module_mm: float,
    teeth: int,
    turns: float,
    power_W: float,
    face_mm: float,
    y: float,
    factor: float,
    force_N: float | None,
    stress_MPa: float,
) -> None:
    """Worked: Shigley, 10th edition, problems 14-3 and 14-4."""
    speed_rad_s = turns * rpm
    load = load_tooth(
        torque_Nm=power_W / speed_rad_s,
        speed_rad_s=speed_rad_s,
        pitch_diameter_m=module_mm * teeth * mm,
        module_m=module_mm * mm,
        face_width_m=face_mm * mm,
        form_factor=y,
        allowable_Pa=100e6,
        finish=Finish.CUT,
    )
    assert load.velocity_factor == pytest.approx(factor, abs=5e-4)
    if force_N is not None:
        assert load.tangential_N == pytest.approx(force_N, abs=0.05)
    assert load.stress_Pa / 1e6 == pytest.approx(stress_MPa, abs=0.06)
    assert load.share == pytest.approx(load.stress_Pa / 100e6)


def test_inch_bending_problem() -> None:
    """Worked: Shigley, 10th edition, problem 14-1 (DP 6, 22 teeth, 15 hp, 1200 rpm, face 2 in)."""
    diameter_m, speed_rad_s = 22 / 6 * inch, 1200 * rpm
    speed_m_s = pitch_line_speed(pitch_diameter_m=diameter_m, speed_rad_s=speed_rad_s)
    assert speed_m_s / foot * 60 == pytest.approx(1152, abs=0.5)
    force_N = tangential_force(torque_Nm=15 * hp / speed_rad_s, pitch_diameter_m=diameter_m)
    assert force_N / lbf == pytest.approx(429.7, abs=0.05)
    stress_Pa = lewis_stress(
        tangential_N=force_N,
        face_width_m=2 * inch,
        module_m=inch / 6,
        form_factor=0.331,
        velocity_factor=1 + (speed_m_s / foot * 60) / 1200,
    )
    assert stress_Pa / psi / 1e3 == pytest.approx(7.63, abs=0.005)


def test_forces_between_two_gears() -> None:
    """Worked: Wentzell, examples 12.1 and 12.2 (DP 8, 20 teeth, 5 hp, 1725 rpm)."""
    diameter_m, speed_rad_s = 2.5 * inch, 1725 * rpm
    # The book turns power into torque with 63 000 in place of 63 025.4.
    torque_Nm = 63_000 * 5 / 1725 * lbf * inch
    force_N = tangential_force(torque_Nm=torque_Nm, pitch_diameter_m=diameter_m)
    assert force_N / lbf == pytest.approx(146.09, abs=0.005)
    speed = pitch_line_speed(pitch_diameter_m=diameter_m, speed_rad_s=speed_rad_s) / foot * 60
    assert speed == pytest.approx(1129.0, abs=0.02)


@pytest.mark.parametrize(("strength_ksi", "y", "printed_lbf"), [(47.5, 0.320, 1900.0), (44.0, 0.421, 2315.5)])
def test_force_a_tooth_can_carry(strength_ksi: float, y: float, printed_lbf: float) -> None:
    """Worked: Wentzell, example 12.3 (face 1 in, DP 8)."""
    force_N = lewis_force(
        allowable_Pa=strength_ksi * 1e3 * psi, face_width_m=inch, module_m=inch / 8, form_factor=y
    )
    assert force_N / lbf == pytest.approx(printed_lbf, abs=0.05)


def test_cast_teeth_struck_at_speed() -> None:
    """Worked: Wentzell, example 12.4: (600+1129)/600 times 146 lbf is 420.72 lbf (3.05 m/s: 600.4 ft/min)."""
    factor = velocity_factor(speed_m_s=1129 * foot / 60, finish=Finish.CAST)
    assert factor * 146 == pytest.approx(420.72, rel=1e-3)


def test_beam_strength_of_a_steel_pair() -> None:
    """Worked: Jindal, example 25-3 (m 5, b 60, 150 MPa, Y 0.358): 16 110 N."""
    force_N = lewis_force(allowable_Pa=150e6, face_width_m=60 * mm, module_m=5 * mm, form_factor=0.358)
    assert force_N == pytest.approx(16_110, abs=0.5)


def test_finer_teeth_strike_less_at_speed() -> None:
    """Law: every finish starts at one and rises; at running speed finer is milder."""
    factors = [velocity_factor(speed_m_s=10.0, finish=finish) for finish in Finish]
    assert factors == sorted(factors, reverse=True)
    assert all(velocity_factor(speed_m_s=0.0, finish=finish) == 1.0 for finish in Finish)
    # Pinned: the two root forms are from memory; 50+√V and 78+√V with V in ft/min agree with them.
    for finish, constant in ((Finish.HOBBED, 50.0), (Finish.GROUND, 78.0)):
        feet = 10.0 / foot * 60
        assert velocity_factor(speed_m_s=10.0, finish=finish) == pytest.approx(
            (constant + math.sqrt(feet)) / constant, rel=3e-3
        )


def test_form_factor_table_agrees_with_the_other_published_ones() -> None:
    """Against: the plastics-gear table (without its misprinted 16) and the book's problems."""
    other = {
        12: 0.245,
        13: 0.261,
        14: 0.276,
        15: 0.289,
        17: 0.302,
        18: 0.308,
        19: 0.314,
        20: 0.320,
        21: 0.327,
    }
    other |= {22: 0.330, 24: 0.336, 26: 0.346, 28: 0.352, 16: 0.296, 45: 0.399}
    for teeth, printed in other.items():
        assert form_factor(teeth, TABLE) == pytest.approx(printed, rel=0.015)


def test_form_factor_lies_between_rows_and_stops_at_the_ends() -> None:
    """Law: it rises with the tooth count, as the tooth foot widens."""
    assert form_factor(23, TABLE) == pytest.approx((0.330 + 0.337) / 2)
    assert form_factor(9999, TABLE) == 0.484
    factors = [form_factor(teeth, TABLE) for teeth in range(10, 120)]
    assert factors == sorted(factors)
    with pytest.raises(ImpossibleInput, match="begins at 10"):
        form_factor(9, TABLE)
