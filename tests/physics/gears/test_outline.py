"""The drawn gears: true involutes, right size, and flanks that touch without overlapping."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.gears.gears import Gear
from snugfast.physics.gears.mesh import Mesh
from snugfast.physics.gears.outline import Outline, gear_outline, mesh_outlines, tooth_half_angle

mm = 1e-3


def inside(outline: Outline, x_m: NDArray[np.float64], y_m: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which points lie inside an outline: the even-odd rule."""
    x1, y1 = outline.x_m, outline.y_m
    x2, y2 = np.roll(x1, -1), np.roll(y1, -1)
    px, py = x_m[:, np.newaxis], y_m[:, np.newaxis]
    straddles = (y1 > py) != (y2 > py)
    with np.errstate(divide="ignore", invalid="ignore"):
        crossing = x1 + (py - y1) / (y2 - y1) * (x2 - x1)
    odd: NDArray[np.bool_] = np.count_nonzero(straddles & (px < crossing), axis=1) % 2 == 1
    return odd


def overlaps(one: Outline, other: Outline) -> bool:
    """Whether any corner of one lies inside the other, looking only where they come near."""
    near = (other.x_m < one.x_m.max()) & (np.abs(other.y_m) < 0.01)
    far = (one.x_m > other.x_m.min()) & (np.abs(one.y_m) < 0.01)
    return bool(
        inside(one, other.x_m[near], other.y_m[near]).any() or inside(other, one.x_m[far], one.y_m[far]).any()
    )


def test_outline_runs_from_root_to_tip_and_round_once_counter_clockwise() -> None:
    """Law: radii are the gear's circles, the area is positive, every tooth is the first one turned."""
    gear = Gear(22, 0.6 * mm)
    outline = gear_outline(gear)
    radius = np.hypot(outline.x_m, outline.y_m)
    assert radius.min() == pytest.approx(gear.root_diameter_m / 2)
    assert radius.max() == pytest.approx(gear.tip_diameter_m / 2)
    at_tip = np.count_nonzero(np.isclose(radius, gear.tip_diameter_m / 2, rtol=1e-9))
    at_root = np.count_nonzero(np.isclose(radius, gear.root_diameter_m / 2, rtol=1e-9))
    assert at_tip == 7 * gear.teeth  # four points to each side of the tip, its middle once
    assert at_root == 7 * gear.teeth
    x, y = outline.x_m, outline.y_m
    area = 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))
    assert math.pi / 4 * gear.root_diameter_m**2 < area < math.pi / 4 * gear.tip_diameter_m**2
    one_tooth = radius.reshape(gear.teeth, -1)
    assert np.allclose(one_tooth, one_tooth[0])
    steps = np.hypot(np.diff(x), np.diff(y))
    assert steps.min() > 0.0


@pytest.mark.parametrize("shift", [0.0, 0.3])
def test_tooth_thickness_on_the_pitch_circle_is_half_the_pitch_plus_the_shift(shift: float) -> None:
    """Worked: Elements of Metric Gear Technology, table 10-1 (m 10, z 12, x 0.3): s 17.8918, 8.54270°."""
    gear = Gear(12, 10 * mm, profile_shift=shift)
    half = float(tooth_half_angle(gear, np.array([gear.pitch_diameter_m / 2]))[0])
    thickness_mm = half * gear.pitch_diameter_m / mm
    assert thickness_mm == pytest.approx({0.0: math.pi * 5, 0.3: 17.8918}[shift], abs=5e-5)
    if shift:
        assert math.degrees(half) == pytest.approx(8.54270, abs=5e-6)


def test_flank_is_the_track_of_a_taut_thread() -> None:
    """Law: from any flank point the tangent to the base circle is as long as the arc it unwound."""
    gear = Gear(30, 1.0 * mm)
    base_m = gear.base_diameter_m / 2
    radius = np.linspace(base_m, gear.tip_diameter_m / 2, 9)
    tangent = np.sqrt(radius**2 - base_m**2)
    start = float(tooth_half_angle(gear, np.array([base_m]))[0])
    wound = start - tooth_half_angle(gear, radius) + np.arctan2(tangent, base_m)
    assert np.allclose(tangent, base_m * wound, rtol=1e-12, atol=1e-15)


@pytest.mark.slow
@pytest.mark.parametrize("opening_mm", [0.05, 0.3])
@pytest.mark.parametrize("turn", [0.0, 0.21, 0.47, 0.83])
def test_in_mesh_the_gears_have_air_between_them_and_touch_when_leaned(
    opening_mm: float, turn: float
) -> None:
    """Law: the drawn play is the computed play. Leaned just short of it they are free, just past it not."""
    mesh = Mesh(Gear(22, 0.6 * mm), Gear(78, 0.6 * mm), (30.0 + opening_mm) * mm)
    turn_rad = turn * 2 * math.pi / 22
    for lean, touching in ((0.0, False), (0.98, False), (-0.98, False), (1.05, True), (-1.05, True)):
        pinion, spur = mesh_outlines(mesh, turn_rad=turn_rad, lean=lean, flank_points=80)
        assert overlaps(pinion, spur) is touching, lean


def test_a_closed_mesh_is_drawn_overlapping() -> None:
    """Law."""
    mesh = Mesh(Gear(22, 0.6 * mm), Gear(78, 0.6 * mm), 29.9 * mm)
    assert overlaps(*mesh_outlines(mesh, flank_points=40))


def test_play_cut_into_the_teeth_is_drawn() -> None:
    """Law: thinned teeth at the reference distance leave the air they were cut for."""
    mesh = Mesh(Gear(22, 0.6 * mm), Gear(78, 0.6 * mm), 30.0 * mm, built_in_backlash_m=0.08 * mm)
    assert not overlaps(*mesh_outlines(mesh, lean=0.97, flank_points=80))
    assert overlaps(*mesh_outlines(mesh, lean=1.05, flank_points=80))


def test_teeth_that_would_end_in_a_point_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="end in a point"):
        gear_outline(Gear(10, 1 * mm, profile_shift=1.0))
