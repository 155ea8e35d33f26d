"""The circles of a gear and what two of them do: textbook examples, tables and laws of the involute."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.gears.gears import (
    Gear,
    angle_of_involute,
    base_diameter,
    base_pitch,
    contact_length_beyond_pitch_point,
    contact_ratio,
    fewest_teeth_without_undercut,
    involute,
    least_backlash,
    least_shift_without_undercut,
    normal_backlash,
    operating_pressure_angle,
    pitch_diameter,
    reference_centre_distance,
    root_diameter,
    tip_diameter,
)
from snugfast.physics.gears.mesh import Mesh

TWENTY = math.radians(20.0)
mm = 1e-3


def standard_mesh(
    module_mm: float, pinion_teeth: int, spur_teeth: int, *, opening_mm: float = 0.0, addendum: float = 1.0
) -> Mesh:
    """A standard pair at its reference distance plus an opening."""
    pinion = Gear(pinion_teeth, module_mm * mm, addendum=addendum)
    spur = Gear(spur_teeth, module_mm * mm, addendum=addendum)
    reference_m = reference_centre_distance(module_m=module_mm * mm, teeth_1=pinion_teeth, teeth_2=spur_teeth)
    return Mesh(pinion, spur, reference_m + opening_mm * mm)


@pytest.mark.parametrize(("degrees", "value"), [(20.0, 0.014904), (14.5, 0.005545)])
def test_involute_of_the_usual_pressure_angles_is_the_printed_one(degrees: float, value: float) -> None:
    """Worked: 0.014904 is printed in the profile-shift table; 0.005545 in tables of the involute."""
    assert involute(angle_rad=math.radians(degrees)) == pytest.approx(value, abs=5e-7)


@given(st.floats(0.0, 1.4))
def test_the_way_back_from_an_involute_is_exact(angle_rad: float) -> None:
    """Law: a function and its inverse. Near zero tan α − α loses digits, so the involutes are compared."""
    value = involute(angle_rad=angle_rad)
    found = angle_of_involute(involute_rad=max(0.0, value))
    assert involute(angle_rad=found) == pytest.approx(value, rel=1e-12, abs=1e-16)


def test_an_involute_no_gear_has_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="too far apart"):
        angle_of_involute(involute_rad=20.0)
    with pytest.raises(ImpossibleInput):
        angle_of_involute(involute_rad=-0.01)


def test_textbook_path_of_contact_with_a_short_addendum() -> None:
    """Worked: Khurmi and Gupta, example 12.3 (m 12, 30/80, addendum 10 mm): 52.3 mm, 55.61 mm, ratio 1.5."""
    mesh = standard_mesh(12.0, 30, 80, addendum=10.0 / 12.0)
    path_m = mesh.approach_m + mesh.recess_m
    assert path_m / mm == pytest.approx(52.26, abs=0.01)
    assert path_m / math.cos(TWENTY) / mm == pytest.approx(55.61, abs=0.01)
    assert mesh.contact_ratio == pytest.approx(1.475, abs=0.001)


def test_textbook_turn_of_the_pinion() -> None:
    """Worked: Khurmi and Gupta, example 12.4 (m 5, 20/40, 1.2 m/s): 29.43°, 455.3 mm/s at 36 rad/s."""
    mesh = standard_mesh(5.0, 20, 40)
    turn_rad = (mesh.approach_m + mesh.recess_m) / (mesh.pinion.base_diameter_m / 2.0)
    assert math.degrees(turn_rad) == pytest.approx(29.43, abs=0.005)
    assert 36.0 * mesh.approach_m / mm == pytest.approx(455.3, abs=0.05)
    assert mesh.contact_ratio == pytest.approx(1.63519, abs=1e-5)


def test_textbook_angles_and_the_share_of_sliding() -> None:
    """Worked: Khurmi and Gupta, example 12.6 (m 6, 17/49): 34.6°, 12°, sliding to rolling 0.41 and 0.354."""
    mesh = standard_mesh(6.0, 17, 49)
    path_m = mesh.approach_m + mesh.recess_m
    assert math.degrees(path_m / (mesh.pinion.base_diameter_m / 2)) == pytest.approx(34.6, abs=0.05)
    assert math.degrees(path_m / (mesh.spur.base_diameter_m / 2)) == pytest.approx(12.0, abs=0.05)
    assert mesh.contact_ratio == pytest.approx(1.63297, abs=1e-5)
    rolling_m_s = 1.0 * mesh.pinion.pitch_diameter_m / 2
    for reach_m, printed in ((mesh.approach_m, 0.41), (mesh.recess_m, 0.354)):
        sliding = (1.0 + 17 / 49) * reach_m
        assert sliding / rolling_m_s == pytest.approx(printed, abs=0.005)


def test_profile_shifted_pair_has_the_printed_circles_angle_and_contact_ratio() -> None:
    """Worked: profile-shift table (m 3, 12/24, a 56.5, x 0.6/0.36): every printed line of it."""
    shortening = 0.960 - 0.83333
    pinion = Gear(12, 3 * mm, profile_shift=0.6, tip_shortening=shortening)
    spur = Gear(24, 3 * mm, profile_shift=0.36, tip_shortening=shortening)
    mesh = Mesh(pinion, spur, 56.5 * mm)
    assert math.degrees(mesh.pressure_angle_rad) == pytest.approx(26.0888, abs=1e-4)
    assert involute(angle_rad=mesh.pressure_angle_rad) == pytest.approx(0.034317, abs=1e-6)
    assert mesh.contact_ratio == pytest.approx(1.202, abs=5e-4)
    printed = (
        (pinion.pitch_diameter_m, 36.0),
        (spur.pitch_diameter_m, 72.0),
        (pinion.base_diameter_m, 33.8289),
        (spur.base_diameter_m, 67.6579),
        (mesh.pinion_pitch_diameter_m, 37.667),
        (mesh.spur_pitch_diameter_m, 75.333),
        (pinion.tip_diameter_m, 44.840),
        (spur.tip_diameter_m, 79.400),
        (pinion.root_diameter_m, 32.100),
        (spur.root_diameter_m, 66.660),
    )
    for found_m, value_mm in printed:
        assert found_m / mm == pytest.approx(value_mm, abs=6e-4)
    # The printed shifts close the pair: no play is left at 56.5 mm.
    assert mesh.normal_backlash_m == pytest.approx(0.0, abs=0.001 * mm)


def test_shafts_a_quarter_inch_too_far_apart() -> None:
    """Worked: Shigley example 13-1 (16/40, DP 2, 0.25 in too far). Unrounded; its 22.56° is not."""
    module_mm = 25.4 / 2
    mesh = standard_mesh(module_mm, 16, 40)
    inch = 25.4 * mm
    assert mesh.centre_distance_m / inch == pytest.approx(14.0)
    assert mesh.pinion.base_diameter_m / 2 / inch == pytest.approx(3.75877, abs=1e-5)
    assert mesh.contact_ratio == pytest.approx(1.60613, abs=1e-5)
    opened = mesh.moved(0.25 * inch)
    assert opened.pinion_pitch_diameter_m / inch == pytest.approx(8.142857, abs=1e-6)
    assert opened.spur_pitch_diameter_m / inch == pytest.approx(20.357143, abs=1e-6)
    assert math.degrees(opened.pressure_angle_rad) == pytest.approx(22.60051, abs=1e-5)
    assert opened.contact_ratio == pytest.approx(1.1400, abs=1e-4)
    assert opened.circumferential_backlash_m / inch == pytest.approx(0.19701, abs=1e-5)


def test_small_textbook_pair() -> None:
    """Worked: Wentzell, example 11.3 (16/32, DP 8): 2.00, 4.00, 3.00 in, circular pitch 0.39 in."""
    module = 1.0 / 8.0
    assert pitch_diameter(module_m=module, teeth=16) == pytest.approx(2.0)
    assert pitch_diameter(module_m=module, teeth=32) == pytest.approx(4.0)
    assert reference_centre_distance(module_m=module, teeth_1=16, teeth_2=32) == pytest.approx(3.0)
    assert base_pitch(module_m=module, pressure_angle_rad=0.0) == pytest.approx(0.3927, abs=1e-4)


def test_plain_circles_of_a_standard_gear() -> None:
    """Law: ISO 53 profile A has tooth depth 2.25 m and a base circle cos α times the pitch circle."""
    diameter_m = pitch_diameter(module_m=1.0, teeth=20)
    tip_m = tip_diameter(pitch_diameter_m=diameter_m, module_m=1.0)
    root_m = root_diameter(pitch_diameter_m=diameter_m, module_m=1.0)
    assert (tip_m - root_m) / 2 == pytest.approx(2.25)
    base_m = base_diameter(pitch_diameter_m=diameter_m, pressure_angle_rad=TWENTY)
    assert base_m == pytest.approx(20 * math.cos(TWENTY))


# m, z1, z2, opening, α_w, ε, j_wt, j_t, j_bn: computed independently in double precision from the thickness
# on the operating circle, and published nowhere; the linear rule beside them is eq. 14-2/14-3a.
OPENED = [
    (1.0, 20, 60, 0.05, 20.1956, 1.6215, 0.03661, 0.03657, 0.03436),
    (1.0, 20, 60, 0.10, 20.3889, 1.5727, 0.07366, 0.07347, 0.06904),
    (1.0, 20, 60, 0.20, 20.7690, 1.4763, 0.14903, 0.14829, 0.13935),
    (1.0, 20, 60, 0.30, 21.1407, 1.3816, 0.22609, 0.22441, 0.21087),
    (1.0, 20, 60, 0.50, 21.8608, 1.1967, 0.38519, 0.38044, 0.35750),
    (25.4 / 48, 20, 80, 0.05, 20.2948, 1.5984, 0.03672, 0.03665, 0.03444),
    (25.4 / 48, 20, 80, 0.10, 20.5846, 1.5067, 0.07410, 0.07382, 0.06937),
    (25.4 / 48, 20, 80, 0.20, 21.1494, 1.3270, 0.15077, 0.14964, 0.14061),
    (0.6, 22, 78, 0.10, 20.5166, 1.5385, 0.07395, 0.07370, 0.06925),
    (0.6, 22, 78, 0.20, 21.0177, 1.3793, 0.15016, 0.14917, 0.14017),
]


@pytest.mark.parametrize(("module_mm", "z1", "z2", "opening_mm", "angle", "ratio", "wt", "t", "bn"), OPENED)
def test_opened_pairs_have_the_play_worked_out_elsewhere(
    module_mm: float,
    z1: int,
    z2: int,
    opening_mm: float,
    angle: float,
    ratio: float,
    wt: float,
    t: float,
    bn: float,
) -> None:
    mesh = standard_mesh(module_mm, z1, z2, opening_mm=opening_mm)
    assert math.degrees(mesh.pressure_angle_rad) == pytest.approx(angle, abs=6e-5)
    assert mesh.contact_ratio == pytest.approx(ratio, abs=6e-5)
    assert mesh.circumferential_backlash_m / mm == pytest.approx(wt, abs=6e-6)
    assert mesh.reference_backlash_m / mm == pytest.approx(t, abs=6e-6)
    assert mesh.normal_backlash_m / mm == pytest.approx(bn, abs=6e-6)


@pytest.mark.parametrize(
    ("z1", "z2", "ratio"),
    [
        (17, 17, 1.5148),
        (20, 20, 1.5568),
        (19, 19, 1.5437),
        (20, 40, 1.6352),
        (20, 60, 1.6708),
        (20, 80, 1.6913),
        (13, 60, 1.6136),
        (23, 84, 1.7118),
        (30, 90, 1.7470),
    ],
)
def test_contact_ratios_of_standard_pairs(z1: int, z2: int, ratio: float) -> None:
    """Against: an independent computation of the same published formula."""
    assert standard_mesh(1.0, z1, z2).contact_ratio == pytest.approx(ratio, abs=5e-5)


def test_contact_ratio_is_the_path_over_the_base_pitch() -> None:
    """Law: the parts add up to the published one-line formula of the contact ratio."""
    mesh = standard_mesh(1.0, 20, 60, opening_mm=0.2)
    published = (
        math.sqrt(mesh.pinion.tip_diameter_m**2 - mesh.pinion.base_diameter_m**2)
        + math.sqrt(mesh.spur.tip_diameter_m**2 - mesh.spur.base_diameter_m**2)
        - 2 * mesh.centre_distance_m * math.sin(mesh.pressure_angle_rad)
    ) / (2 * math.pi * 1.0 * mm * math.cos(TWENTY))
    pieces = [
        contact_length_beyond_pitch_point(
            tip_diameter_m=gear.tip_diameter_m,
            base_diameter_m=gear.base_diameter_m,
            operating_pressure_angle_rad=mesh.pressure_angle_rad,
        )
        for gear in (mesh.pinion, mesh.spur)
    ]
    pitch_m = base_pitch(module_m=1.0 * mm, pressure_angle_rad=TWENTY)
    assert contact_ratio(path_of_contact_m=sum(pieces), base_pitch_m=pitch_m) == pytest.approx(published)


@given(
    module_mm=st.floats(0.3, 1.5),
    z1=st.integers(10, 40),
    z2=st.integers(30, 100),
)
def test_exact_play_becomes_the_linear_rule_as_the_opening_shrinks(
    module_mm: float, z1: int, z2: int
) -> None:
    """Law: the linear rules are the first term of the exact form, so the gap shrinks with the opening."""
    gaps = []
    for opening_mm in (1e-3, 1e-4):
        mesh = standard_mesh(module_mm, z1, z2, opening_mm=opening_mm)
        normal = 2.0 * opening_mm * mm * math.sin(TWENTY)  # handbook of metric gears, eqs. 14-2 and 14-3a
        along = 2.0 * opening_mm * mm * math.tan(TWENTY)
        assert mesh.normal_backlash_m == pytest.approx(normal, rel=2e-3)
        assert mesh.circumferential_backlash_m == pytest.approx(along, rel=2e-3)
        gaps.append(mesh.normal_backlash_m / normal - 1.0)
    assert 0.0 < gaps[1] < 0.2 * gaps[0]


def test_no_shift_means_no_play() -> None:
    """Law: at the reference distance the teeth of a standard pair fill each other's spaces exactly."""
    assert standard_mesh(0.6, 22, 78).normal_backlash_m == pytest.approx(0.0, abs=1e-18)
    closed = involute(angle_rad=TWENTY)
    assert (
        normal_backlash(base_radii_m=0.03, operating_involute_rad=closed, closed_involute_rad=closed) == 0.0
    )


@given(
    opening_mm=st.floats(-0.2, 1.0),
    more_mm=st.floats(1e-3, 0.5),
    z1=st.integers(12, 40),
    z2=st.integers(40, 90),
)
def test_as_centres_open_overlap_falls_and_play_grows(
    opening_mm: float, more_mm: float, z1: int, z2: int
) -> None:
    """Law."""
    near = standard_mesh(0.8, z1, z2, opening_mm=opening_mm)
    far = near.moved(more_mm * mm)
    assert far.contact_ratio < near.contact_ratio
    assert far.normal_backlash_m > near.normal_backlash_m
    assert far.tip_clearance_m > near.tip_clearance_m


@pytest.mark.parametrize(("degrees", "teeth"), [(20.0, 17.097), (14.5, 31.903), (25.0, 11.198)])
def test_undercut_limit(degrees: float, teeth: float) -> None:
    """Worked: design notes print 17 and exam solutions 17.1, “take 18”; the unrounded figure is returned."""
    found = fewest_teeth_without_undercut(pressure_angle_rad=math.radians(degrees))
    assert found == pytest.approx(teeth, abs=5e-4)


@pytest.mark.parametrize(
    ("teeth", "shift"),
    [(10, 0.4151), (11, 0.3566), (12, 0.2981), (13, 0.2396), (14, 0.1812), (15, 0.1227), (16, 0.0642)],
)
def test_least_shift_without_undercut(teeth: int, shift: float) -> None:
    """Against: the design notes' formula computed apart."""
    found = least_shift_without_undercut(teeth=teeth, pressure_angle_rad=TWENTY)
    assert found == pytest.approx(shift, abs=6e-5)
    assert Gear(teeth, 1 * mm).is_undercut
    assert not Gear(teeth, 1 * mm, profile_shift=shift + 1e-4).is_undercut


@pytest.mark.parametrize(
    ("module_mm", "distance_mm", "play_mm"),
    [(0.5, 26, 0.059), (0.6, 30, 0.062), (0.8, 32, 0.067), (1, 40, 0.073)],
)
def test_least_backlash(module_mm: float, distance_mm: float, play_mm: float) -> None:
    """Pinned: the rule is from memory, only its arithmetic is held."""
    found = least_backlash(centre_distance_m=distance_mm * mm, module_m=module_mm * mm)
    assert found / mm == pytest.approx(play_mm, abs=6e-4)


def test_shafts_closer_than_the_base_circles_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="leave no room"):
        operating_pressure_angle(
            centre_distance_m=25 * mm, reference_centre_distance_m=30 * mm, pressure_angle_rad=TWENTY
        )


def test_a_gear_that_cannot_be_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="4 teeth"):
        Gear(4, 0.8 * mm)
    with pytest.raises(ImpossibleInput, match="above zero"):
        Gear(20, -0.8 * mm)
    with pytest.raises(ImpossibleInput, match="pressure angle"):
        Gear(20, 0.8 * mm, pressure_angle_rad=20.0)
