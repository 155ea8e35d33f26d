"""The shape of a gear, point by point, for drawing two of them in mesh to scale.

The flanks are true involutes. Below the base circle the foot is drawn as a radial line: a cutter leaves a
fillet there whose shape depends on the cutter and carries no contact.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.gears.gears import Gear, involute
from snugfast.physics.gears.mesh import Mesh

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed outline, counter-clockwise, its first point not repeated: x and y in metres, of one length."""

    x_m: Points
    y_m: Points


def tooth_half_angle(gear: Gear, radius_m: Points, *, thinning_m: float = 0.0) -> Points:
    """Half the angle one tooth fills at each radius, seen from the shaft. Radians, same shape as `radius_m`.

    ψ(r) = π/2z + 2x·tan α/z + inv α − inv α_r with cos α_r = r_b/r, less the thinning at right angles to the
    flanks over the base diameter. Radii below the base circle take its value (radial foot).
    """
    base_m = gear.base_diameter_m / 2.0
    angle = np.arccos(base_m / np.maximum(radius_m, base_m))
    at_pitch = (math.pi / 2.0 + 2.0 * gear.profile_shift * math.tan(gear.pressure_angle_rad)) / gear.teeth
    half: Points = (
        at_pitch
        + involute(angle_rad=gear.pressure_angle_rad)
        - (np.tan(angle) - angle)
        - thinning_m / gear.base_diameter_m
    )
    return half


def gear_outline(
    gear: Gear,
    *,
    centre_x_m: float = 0.0,
    centre_y_m: float = 0.0,
    turn_rad: float = 0.0,
    thinning_m: float = 0.0,
    flank_points: int = 16,
    arc_points: int = 4,
) -> Outline:
    """The whole gear as one closed outline, its first tooth pointing along `turn_rad`. Metres.

    `thinning_m` is what each tooth was cut thinner, at right angles to its flanks, than its space.
    Raises ImpossibleInput when the teeth would come to a point below the tip circle.
    """
    radius_m, angle_rad = _one_tooth(gear, thinning_m, flank_points, arc_points)
    starts = turn_rad + 2.0 * math.pi / gear.teeth * np.arange(gear.teeth)
    angles = (starts[:, np.newaxis] + angle_rad).ravel()
    radii = np.tile(radius_m, gear.teeth)
    return Outline(centre_x_m + radii * np.cos(angles), centre_y_m + radii * np.sin(angles))


def _one_tooth(gear: Gear, thinning_m: float, flank_points: int, arc_points: int) -> tuple[Points, Points]:
    """Radii and angles of one tooth and the half spaces beside it, tooth at angle zero, running upwards."""
    tip_m, root_m = gear.tip_diameter_m / 2.0, gear.root_diameter_m / 2.0
    foot_m = max(root_m, gear.base_diameter_m / 2.0)
    # Rolled evenly rather than spaced evenly: the involute bends most near its base.
    roll = np.linspace(
        math.sqrt(foot_m**2 - (gear.base_diameter_m / 2) ** 2), gear.tip_tangent_m, flank_points
    )
    flank_r = np.hypot(roll, gear.base_diameter_m / 2.0)
    flank_a = tooth_half_angle(gear, flank_r, thinning_m=thinning_m)
    if flank_a[-1] < 0.0:
        raise ImpossibleInput(
            f"With {gear.teeth} teeth and this profile shift the teeth end in a point below the tip circle.",
            "Give a smaller shift or a shorter tooth.",
        )
    half_pitch = math.pi / gear.teeth
    root_a = np.linspace(half_pitch, flank_a[0], arc_points, endpoint=root_m < foot_m)
    tip_a = np.linspace(flank_a[-1], 0.0, arc_points)[1:]
    rising_r = np.concatenate([np.full(root_a.size, root_m), flank_r, np.full(tip_a.size, tip_m)])
    rising_a = -np.concatenate([root_a, flank_a, tip_a])
    # The falling side mirrors the rising one; the tip's middle and the far root point are not said twice.
    return (
        np.concatenate([rising_r, rising_r[-2:0:-1]]),
        np.concatenate([rising_a, -rising_a[-2:0:-1]]),
    )


def mesh_outlines(
    mesh: Mesh, *, turn_rad: float = 0.0, lean: float = 0.0, flank_points: int = 16
) -> tuple[Outline, Outline]:
    """Both gears in mesh: the pinion at the origin turned by `turn_rad`, the spur gear rolled to suit.

    The spur gear's shaft stands at (a, 0). `lean` shares out the play: 0 puts each tooth in the middle of
    its space, +1 and −1 lay the flanks on one another, as driving one way or the other. Metres.
    """
    thinning_m = mesh.built_in_backlash_m / 2.0
    spur = mesh.spur
    rolled = math.pi + math.pi / spur.teeth - turn_rad * mesh.pinion.teeth / spur.teeth
    leaning = lean * mesh.normal_backlash_m / spur.base_diameter_m
    return (
        gear_outline(mesh.pinion, turn_rad=turn_rad, thinning_m=thinning_m, flank_points=flank_points),
        gear_outline(
            spur,
            centre_x_m=mesh.centre_distance_m,
            turn_rad=rolled + leaning,
            thinning_m=thinning_m,
            flank_points=flank_points,
        ),
    )
