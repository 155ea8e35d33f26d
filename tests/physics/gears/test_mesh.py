"""A mesh after a hit, and where to set it again."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.gears.gears import Gear
from snugfast.physics.gears.mesh import (
    Mesh,
    MeshVerdict,
    Stripped,
    backlash_of_rim_play,
    judge_mesh,
    mesh_felt_at_rim,
    mesh_set_with_paper,
    mesh_with_backlash,
)

mm = 1e-3
PINION = Gear(22, 0.6 * mm)
SPUR = Gear(78, 0.6 * mm)


def opened(by_mm: float, built_in_mm: float = 0.0) -> Mesh:
    return Mesh(PINION, SPUR, (30.0 + by_mm) * mm, built_in_mm * mm)


@given(play_mm=st.floats(0.0, 0.5), built_in_mm=st.floats(0.0, 0.1))
def test_a_mesh_set_for_a_play_has_that_play(play_mm: float, built_in_mm: float) -> None:
    """Law: the inverse problem gives back what it was asked for."""
    mesh = mesh_with_backlash(
        PINION, SPUR, normal_backlash_m=play_mm * mm, built_in_backlash_m=built_in_mm * mm
    )
    assert mesh.normal_backlash_m == pytest.approx(play_mm * mm, abs=1e-12)


@given(opening_mm=st.floats(0.01, 0.6), rim_mm=st.floats(10.0, 40.0))
def test_the_play_felt_at_the_rim_gives_back_the_centre_distance(opening_mm: float, rim_mm: float) -> None:
    """Law: there and back."""
    mesh = opened(opening_mm)
    felt_m = mesh.rim_play(rim_radius_m=rim_mm * mm)
    found = mesh_felt_at_rim(PINION, SPUR, rim_play_m=felt_m, rim_radius_m=rim_mm * mm)
    assert found.centre_distance_m == pytest.approx(mesh.centre_distance_m, rel=1e-12)


def test_play_at_the_base_circle_is_the_play_between_the_flanks() -> None:
    """Law: the normal of an involute is tangent to its base circle, so there the lever is one to one."""
    radius_m = SPUR.base_diameter_m / 2
    play_m = backlash_of_rim_play(
        rim_play_m=0.1 * mm, rim_radius_m=radius_m, base_diameter_m=SPUR.base_diameter_m
    )
    assert play_m == pytest.approx(0.1 * mm)


def test_paper_opens_the_mesh_by_the_two_bounds_of_its_thickness() -> None:
    """Against: t/(2·sin 20°) = 0.146 mm and t/sin 20° = 0.292 mm for 0.1 mm, by the linear rule.

    The exact form needs a little less, since the play grows faster than the opening.
    """
    paper = mesh_set_with_paper(PINION, SPUR, paper_thickness_m=0.1 * mm)
    for mesh, bound_mm, flanks in ((paper.one_flank, 0.1462, 1), (paper.both_flanks, 0.2924, 2)):
        assert mesh.normal_backlash_m == pytest.approx(flanks * 0.1 * mm)
        assert 0.94 * bound_mm < mesh.opening_m / mm < bound_mm
    thin = mesh_set_with_paper(PINION, SPUR, paper_thickness_m=1e-7)
    assert 2.0 * thin.one_flank.opening_m * math.sin(math.radians(20)) == pytest.approx(1e-7, rel=1e-3)


def test_play_cut_into_the_teeth_is_added_and_taken_up_first() -> None:
    """Law."""
    assert opened(0.1, 0.05).normal_backlash_m == pytest.approx(opened(0.1).normal_backlash_m + 0.05 * mm)
    paper = mesh_set_with_paper(PINION, SPUR, paper_thickness_m=0.1 * mm, built_in_backlash_m=0.1 * mm)
    assert paper.one_flank.opening_m == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("opening_mm", "verdict", "drivable"),
    [
        (-0.05, MeshVerdict.BINDS, False),
        (0.05, MeshVerdict.TIGHT, True),
        (0.15, MeshVerdict.GOOD, True),
        (0.40, MeshVerdict.ROUGH, True),
        (0.60, MeshVerdict.SKIPS, False),
        (3.00, MeshVerdict.SKIPS, False),
    ],
)
def test_verdict_follows_play_and_overlap(opening_mm: float, verdict: MeshVerdict, drivable: bool) -> None:
    """Worked: limits 1.0 and 1.2 of the contact ratio as the design notes print them."""
    state = judge_mesh(opened(opening_mm))
    assert (state.verdict, state.drivable) == (verdict, drivable)
    assert state.sentence.endswith(".") or state.sentence.endswith("mesh.")
    assert state.strips_first is None


def test_a_mesh_closed_until_tips_hit_the_bottom_binds() -> None:
    """Law: tip clearance at the reference distance is 0.25 m; past it the tips hit, play or no play."""
    assert opened(0.0).tip_clearance_m == pytest.approx(0.25 * 0.6 * mm)
    assert judge_mesh(opened(-0.2, built_in_mm=0.3)).verdict is MeshVerdict.BINDS


def test_a_small_pinion_at_a_close_distance_is_dug_into() -> None:
    """Law: 12 teeth lie below the 16 that clear a mate four and more times as large; shift cures it."""
    small, large = Gear(12, 0.6 * mm), Gear(78, 0.6 * mm)
    mesh = Mesh(small, large, 27.0 * mm)
    assert mesh.tips_dig_in
    assert not opened(0.0).tips_dig_in
    state = judge_mesh(mesh.moved(0.12 * mm))
    assert state.verdict is MeshVerdict.ROUGH
    assert "feet" in state.sentence


@pytest.mark.parametrize(
    ("pinion_N", "spur_N", "first"),
    [(300.0, 100.0, Stripped.SPUR), (90.0, 100.0, Stripped.PINION), (100.0, 101.0, Stripped.BOTH_ALIKE)],
)
def test_the_gear_that_carries_less_strips_first(pinion_N: float, spur_N: float, first: Stripped) -> None:
    state = judge_mesh(opened(0.4), pinion_tooth_N=pinion_N, spur_tooth_N=spur_N)
    assert state.strips_first is first


def test_gears_of_different_kind_are_refused() -> None:
    with pytest.raises(ImpossibleInput, match="must not run together"):
        Mesh(Gear(20, 0.5 * mm), Gear(80, 25.4 / 48 * mm), 26 * mm)
    with pytest.raises(ImpossibleInput, match="pressure angles"):
        Mesh(Gear(20, 0.5 * mm), Gear(80, 0.5 * mm, pressure_angle_rad=math.radians(14.5)), 25 * mm)
    with pytest.raises(ImpossibleInput, match="leave no room"):
        Mesh(PINION, SPUR, 25 * mm)
