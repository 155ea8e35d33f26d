"""Springs, corners, shocks, oil, bars, shafts and diffs against printed answers, the reference and laws."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.chassis.suspension import (
    bar_end_rate,
    coil_rate,
    corner_speed_difference,
    damping_ratio,
    diff_drag_of_fall,
    displaced_area,
    gap_conductance,
    hole_conductance,
    joint_ripple,
    mixed_viscosity,
    motion_ratio,
    overshoot,
    rate_of_two_loads,
    ride_frequency,
    roll_stiffness,
    sag,
    shaft_at_height,
    share_for,
    shock_damping,
    shock_force,
    silicone_viscosity,
    wheel_rate,
)
from tests.physics.chassis.test_steering import outputs

mm, cSt = 1e-3, 1e-6
RHO = 965.0


@pytest.mark.parametrize(
    ("wire", "coil", "coils", "shear", "rate"),
    [
        (12 * mm, 150 * mm, 10, 80e9, 6144.0),  # Bhavikatti prints 6.14 N/mm
        (4.25 * mm, 34 * mm, 13.9453125, 84e9, 6250.0),  # Singh: 50 N in 8 mm
        (20 * mm, 200 * mm, 20, 80e9, 10e3),  # Sarkar prints 10 kN/m
        (1.2 * mm, 14.5 * mm, 8, 79.3e9, 842.7799),
    ],
)
def test_coil_springs(wire: float, coil: float, coils: float, shear: float, rate: float) -> None:
    """Worked: three textbooks and the small spring of the reference."""
    got = coil_rate(wire_m=wire, mean_diameter_m=coil, active_coils=coils, shear_Pa=shear)
    assert got == pytest.approx(rate, rel=1e-6)


def test_a_spring_weighed_and_what_a_caliper_costs() -> None:
    """Worked: 0.6288 N/mm from two loads; 0.05 mm of wire is 17.7 %, half a mm of coil 9.7 %."""
    rate = rate_of_two_loads(
        lighter_N=0.2 * 9.81, longer_m=27.4 * mm, heavier_N=0.7 * 9.81, shorter_m=19.6 * mm
    )
    assert rate == pytest.approx(628.846, rel=1e-5)
    base = coil_rate(wire_m=1.2 * mm, mean_diameter_m=14.5 * mm, active_coils=8)
    thick = coil_rate(wire_m=1.25 * mm, mean_diameter_m=14.5 * mm, active_coils=8)
    wide = coil_rate(wire_m=1.2 * mm, mean_diameter_m=15.0 * mm, active_coils=8)
    assert 100 * (thick / base - 1) == pytest.approx(17.7376, abs=1e-3)
    assert 100 * (wide / base - 1) == pytest.approx(-9.6704, abs=1e-3)


def test_motion_ratio_rate_and_frequency() -> None:
    """Worked: 50 N/mm at 0.75 and 350 kg print 28.1 N/mm and 1.43 Hz; a leaning shock; Meriam; Bevan."""
    assert wheel_rate(spring_N_m=50e3, ratio=0.75) == pytest.approx(28.1e3, rel=2e-3)
    assert ride_frequency(wheel_rate_N_m=28125.0, mass_kg=350.0) == pytest.approx(1.43, rel=3e-3)
    assert wheel_rate(spring_N_m=300.0, ratio=0.75) == pytest.approx(168.75)
    lean = motion_ratio(mount_m=50 * mm, arm_m=75 * mm, lean_rad=math.radians(25))
    assert lean == pytest.approx(0.604205, abs=1e-6)
    assert lean**2 == pytest.approx(0.365064, abs=1e-6)
    pound, foot = 0.45359237, 0.3048
    k = 160 * 4.4482216152605 / foot
    assert ride_frequency(wheel_rate_N_m=k, mass_kg=25 * pound) == pytest.approx(2.28475, rel=2e-3)
    k = 100 * 4.4482216152605 / 0.0254
    assert ride_frequency(wheel_rate_N_m=k, mass_kg=50 * pound) == pytest.approx(4.424, rel=1e-3)
    corner = wheel_rate(spring_N_m=450.0, ratio=0.62)
    assert corner == pytest.approx(172.98)
    assert ride_frequency(wheel_rate_N_m=corner, mass_kg=0.38) == pytest.approx(3.3957, abs=1e-4)


@given(factor=st.floats(0.2, 5.0), rate=st.floats(50.0, 5000.0), mass=st.floats(0.1, 5.0))
@settings(max_examples=30, deadline=None)
def test_a_stiffer_spring_raises_the_frequency_by_its_root(factor: float, rate: float, mass: float) -> None:
    """Law: four times the rate is twice the frequency."""
    one, other = (ride_frequency(wheel_rate_N_m=k, mass_kg=mass) for k in (rate, factor * rate))
    assert other / one == pytest.approx(math.sqrt(factor), rel=1e-12)


def test_sag_and_what_a_collar_does() -> None:
    """Worked: 21.55, 18.32 and 13.49 mm; a millimetre of collar lifts the car by 1/MR and changes no rate."""
    load = 0.38 * 9.81
    for preload, z in ((0.0, 21.550468), (2.0, 18.324662), (5.0, 13.485952)):
        got = sag(load_N=load, spring_N_m=450.0, ratio=0.62, preload_m=preload * mm)
        assert 1e3 * got == pytest.approx(z, abs=1e-5)
    assert sag(load_N=load, spring_N_m=450.0, ratio=0.62, preload_m=1.0) == 0.0


def golden_damping(nu: float = 400.0, holes: int = 2, hole: float = 1.7, gap: float = 0.04) -> float:
    mu = nu * cSt * RHO
    return shock_damping(
        area_m2=displaced_area(bore_m=12 * mm, rod_m=3 * mm),
        holes_m3_Pa_s=hole_conductance(holes=holes, hole_m=hole * mm, plate_m=2 * mm, viscosity_Pa_s=mu),
        gap_m3_Pa_s=gap_conductance(bore_m=12 * mm, gap_m=gap * mm, plate_m=2 * mm, viscosity_Pa_s=mu),
    )


def test_the_worked_shock() -> None:
    """Worked: areas, both conductances, damping and ratio of the reference; and each sensitivity it lists."""
    wanted = outputs("SU23_damper_golden")
    mu = 400 * cSt * RHO
    assert displaced_area(bore_m=12 * mm, rod_m=3 * mm) == pytest.approx(wanted["Ae_m2"], rel=1e-9)
    holes = hole_conductance(holes=2, hole_m=1.7 * mm, plate_m=2 * mm, viscosity_Pa_s=mu)
    gap = gap_conductance(bore_m=12 * mm, gap_m=0.04 * mm, plate_m=2 * mm, viscosity_Pa_s=mu)
    assert (holes, gap) == pytest.approx((wanted["G_holes"], wanted["G_gap"]), rel=1e-9)
    c = golden_damping()
    assert c == pytest.approx(wanted["c_N_s_per_m"], rel=1e-9)
    zeta = damping_ratio(shock_N_s_m=c, ratio=0.62, wheel_rate_N_m=172.98, mass_kg=0.38)
    assert zeta == pytest.approx(wanted["zeta"], rel=1e-9)
    changed = outputs("SU25_damper_sensitivity")
    assert golden_damping(nu=500.0) == pytest.approx(changed["oil_500"], rel=1e-9)
    assert golden_damping(hole=1.6) == pytest.approx(changed["holes_1p6"], rel=1e-9)
    assert golden_damping(hole=1.8) == pytest.approx(changed["holes_1p8"], rel=1e-9)
    assert golden_damping(holes=3, hole=1.2) == pytest.approx(changed["three_holes_1p2"], rel=1e-9)
    worn = outputs("SU26_worn_piston")
    assert golden_damping(gap=0.2) == pytest.approx(worn["c_gap_0.2mm"], rel=1e-9)


def test_printed_flows() -> None:
    """Worked: Massey 6.4, the ring of a dashpot: 0.0065 m/s; Massey 6.1, a pipe: 40 889 Pa/m."""
    gap = gap_conductance(bore_m=0.05, gap_m=0.2 * mm, plate_m=0.13, viscosity_Pa_s=0.087)
    speed = gap * 1.4e6 / (math.pi * 0.025**2)  # the flow past the rim is what the piston displaces
    assert speed == pytest.approx(0.0065, rel=0.02)
    long = hole_conductance(holes=1, hole_m=12 * mm, plate_m=1000.0, viscosity_Pa_s=0.08)
    flow = 2.3 * math.pi / 4 * (12 * mm) ** 2
    assert flow / long / 1000.0 == pytest.approx(40888.9, rel=1e-4)


def test_a_fast_shock_is_stiffer_than_its_oil() -> None:
    """Worked: the reference's forces, to the rim's share (under 1 %); the square part is not small."""
    wanted = outputs("SU24_damper_force_speed")
    mu = 400 * cSt * RHO
    total = hole_conductance(holes=2, hole_m=1.7 * mm, plate_m=2 * mm, viscosity_Pa_s=mu) + gap_conductance(
        bore_m=12 * mm, gap_m=0.04 * mm, plate_m=2 * mm, viscosity_Pa_s=mu
    )
    for speed in (0.05, 0.1, 0.2, 0.5, 1.0):
        force = shock_force(
            speed_m_s=speed,
            area_m2=displaced_area(bore_m=12 * mm, rod_m=3 * mm),
            conductance_m3_Pa_s=total,
            holes=2,
            hole_m=1.7 * mm,
            density_kg_m3=RHO,
            inertia=2.0,
        )
        assert force == pytest.approx(wanted[f"F_at_{speed}"], rel=0.01)


def test_overshoot_is_as_listed_and_as_simulated() -> None:
    """Worked and against: the listed shares, and SciPy's integration of the same corner."""
    for name, percent in outputs("SU18_overshoot").items():
        if name.startswith("overshoot"):
            got = overshoot(damping=float(name.rsplit("_", 1)[1]))
            assert 100 * got == pytest.approx(percent, rel=1e-9)
    zeta = 0.4
    run = solve_ivp(
        lambda _, y: [y[1], -2 * zeta * y[1] - y[0]], (0.0, 6.0), [1.0, 0.0], rtol=1e-9, atol=1e-12
    )
    assert -min(run.y[0]) == pytest.approx(overshoot(damping=zeta), rel=0.02)
    assert overshoot(damping=1.2) == 0.0


def test_oil_over_temperature() -> None:
    """Worked: the ratios to 25 °C, and what a 400 oil does to the corner at 5, 40 and 55 °C."""
    for name, ratio in outputs("SU32_silicone_law").items():
        if name.startswith("ratio_") and name.endswith("C"):
            at = silicone_viscosity(at_25_m2_s=1.0, temperature_K=273.15 + float(name[6:-1]))
            assert at == pytest.approx(ratio, rel=1e-9)
    for degC, zeta in ((5, 1.1496571), (40, 0.5674609), (55, 0.4390819)):
        nu = silicone_viscosity(at_25_m2_s=400.0, temperature_K=273.15 + degC)
        c = golden_damping(nu=nu)
        got = damping_ratio(shock_N_s_m=c, ratio=0.62, wheel_rate_N_m=172.98, mass_kg=0.38)
        assert got == pytest.approx(zeta, rel=1e-6)


def test_mixing_two_oils() -> None:
    """Worked: half 200 and half 600 is 346, not 400; 300 and 500 for 400 needs 56 % of the thick one."""
    assert mixed_viscosity(thin_m2_s=200.0, thick_m2_s=600.0, share_of_thick=0.5) == pytest.approx(346.4102)
    assert mixed_viscosity(thin_m2_s=350.0, thick_m2_s=1000.0, share_of_thick=0.25) == pytest.approx(455.0415)
    share = share_for(thin_m2_s=300.0, thick_m2_s=500.0, wanted_m2_s=400.0)
    assert share == pytest.approx(0.5631708)
    assert mixed_viscosity(thin_m2_s=300.0, thick_m2_s=500.0, share_of_thick=share) == pytest.approx(400.0)
    with pytest.raises(ImpossibleInput, match="does not lie between"):
        share_for(thin_m2_s=3e-4, thick_m2_s=5e-4, wanted_m2_s=6e-4)


def test_bars_and_roll() -> None:
    """Worked: 1.2 mm wire is 1.089 N/mm, 1.4 mm 1.853 times that; springs 4.98, bar 6.35 N·m/rad. Law: d⁴."""
    bar = bar_end_rate(wire_m=1.2 * mm, length_m=50 * mm, arm_m=22 * mm)
    assert bar == pytest.approx(1089.347, rel=1e-6)
    assert bar_end_rate(wire_m=2.3 * mm, length_m=70 * mm, arm_m=30 * mm) == pytest.approx(5674.17, rel=1e-5)
    thick = bar_end_rate(wire_m=1.4 * mm, length_m=50 * mm, arm_m=22 * mm)
    assert thick / bar == pytest.approx((1.4 / 1.2) ** 4)
    assert roll_stiffness(end_rate_N_m=172.98, ratio=1.0, track_m=0.24) == pytest.approx(4.981824)
    assert roll_stiffness(end_rate_N_m=bar, ratio=0.45, track_m=0.24) == pytest.approx(6.353072, rel=1e-6)


def test_shafts_at_a_height() -> None:
    """Worked: angle and plunge at four heights; Khurmi & Gupta 9.4: 12 % is 19.64°; ripple at four angles."""
    for z, angle, plunge in ((10, 8.13, 0.71), (20, 15.95, 2.80), (25, 19.65, 4.33), (30, 23.20, 6.16)):
        bend, out = shaft_at_height(span_m=70 * mm, height_m=z * mm)
        assert math.degrees(bend) == pytest.approx(angle, abs=0.005)
        assert 1e3 * out == pytest.approx(plunge, abs=0.005)
    assert joint_ripple(bend_rad=math.radians(19.6442)) == pytest.approx(0.12, abs=1e-5)
    for degrees, percent in ((10, 3.06), (20, 12.45), (30, 28.87), (40, 53.94)):
        assert 100 * joint_ripple(bend_rad=math.radians(degrees)) == pytest.approx(percent, abs=0.005)


def test_a_diff_timed_with_a_weight() -> None:
    """Worked: 0.2 kg on 50 mm at 0.1 m/s is 0.024525 N·m·s; a corner of 3 m turns the wheels 11.4 rad/s "
    "apart."""
    assert diff_drag_of_fall(mass_kg=0.2, wheel_radius_m=0.05, fall_m_s=0.1) == pytest.approx(0.024525)
    apart = corner_speed_difference(speed_m_s=6.0, track_m=0.24, radius_m=3.0, wheel_m=0.042)
    assert apart == pytest.approx(11.428571)


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: wheel_rate(spring_N_m=450.0, ratio=1.655),
        lambda: motion_ratio(mount_m=0.05, arm_m=0.075, lean_rad=2.0),
        lambda: displaced_area(bore_m=0.003, rod_m=0.012),
        lambda: coil_rate(wire_m=0.02, mean_diameter_m=0.012, active_coils=5),
        lambda: rate_of_two_loads(lighter_N=7.0, longer_m=0.02, heavier_N=2.0, shorter_m=0.03),
        lambda: mixed_viscosity(thin_m2_s=2e-4, thick_m2_s=4e-4, share_of_thick=50.0),
        lambda: joint_ripple(bend_rad=2.0),
    ],
)
def test_what_cannot_be_is_refused_with_what_to_do(wrong: object) -> None:
    with pytest.raises(ImpossibleInput) as refused:
        wrong()  # type: ignore[operator]
    assert refused.value.way_out
