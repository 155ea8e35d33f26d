"""Spur gears: the circles of one gear, and what two of them do at a given distance of their shafts.

Everything follows from the involute: a flank is the track of a taut thread unwound from the base circle, so
two gears drawn apart still turn evenly; only the pressure angle, the overlap of contacts and the play change.
ISO 53 profile A is the default: pressure angle 20°, tooth tip one module above the pitch circle, root 1.25
below. Lengths in metres, angles in radians, factors in modules.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.gears.tooth_pitch import check_teeth
from snugfast.physics.validation import require_not_negative, require_positive

PRESSURE_ANGLE_rad = math.radians(20.0)
ADDENDUM = 1.0
DEDENDUM = 1.25
_STEEPEST_rad = 1.5


@formula(source="eritenel-spur-gears", where="table of definitions, pitch diameter")
def pitch_diameter(*, module_m: float, teeth: int) -> float:
    """The circle that rolls on its mate's when both stand at their reference distance, d = m·z. Metres."""
    return module_m * teeth


@formula(source="eritenel-spur-gears", where="table of definitions, base diameter")
def base_diameter(*, pitch_diameter_m: float, pressure_angle_rad: float) -> float:
    """The circle the flanks unwind from, d_b = d·cos α. Metres."""
    return pitch_diameter_m * math.cos(pressure_angle_rad)


@formula(source="eritenel-spur-gears", where="table of definitions, tip diameter")
def tip_diameter(
    *,
    pitch_diameter_m: float,
    module_m: float,
    profile_shift: float = 0.0,
    tip_shortening: float = 0.0,
    addendum: float = ADDENDUM,
) -> float:
    """What a caliper reads over the teeth, d_a = d + 2m(h_a + x − k). Metres; heights in modules."""
    return pitch_diameter_m + 2.0 * module_m * (addendum + profile_shift - tip_shortening)


@formula(source="eritenel-spur-gears", where="table of definitions, root diameter")
def root_diameter(
    *, pitch_diameter_m: float, module_m: float, profile_shift: float = 0.0, dedendum: float = DEDENDUM
) -> float:
    """The circle at the bottom of the spaces, d_f = d + 2m(x − h_f). Metres; factors in modules."""
    return pitch_diameter_m + 2.0 * module_m * (profile_shift - dedendum)


@formula(source="eritenel-spur-gears", where="table of definitions, base pitch")
def base_pitch(*, module_m: float, pressure_angle_rad: float) -> float:
    """The distance from one flank to the next along the line of action, p_b = π·m·cos α. Metres."""
    return math.pi * module_m * math.cos(pressure_angle_rad)


@formula(source="eritenel-spur-gears", where="involute function")
def involute(*, angle_rad: float) -> float:
    """inv α = tan α − α: how far a flank has wound round the gear where its pressure angle is α. Radians."""
    return math.tan(angle_rad) - angle_rad


def angle_of_involute(*, involute_rad: float) -> float:
    """The pressure angle whose involute is given: the way back, by Newton's rule from above the root.

    tan α − α is convex and its derivative is tan²α, so from (3·inv)^⅓, which lies above, each step comes down
    without passing the root. Returns radians, exact to rounding. Raises ImpossibleInput below zero.
    """
    require_not_negative(involute_rad=involute_rad)
    if involute_rad > involute(angle_rad=_STEEPEST_rad):
        raise ImpossibleInput("The shafts stand too far apart for any flank.", "Check the centre distance.")
    if involute_rad == 0.0:
        return 0.0
    angle_rad = min(_STEEPEST_rad, math.cbrt(3.0 * involute_rad))
    for _ in range(50):
        step = (involute(angle_rad=angle_rad) - involute_rad) / math.tan(angle_rad) ** 2
        angle_rad -= step
        if abs(step) <= 4e-16 * angle_rad:
            break
    return angle_rad


@formula(source="eritenel-spur-gears", where="table of definitions, reference centre distance")
def reference_centre_distance(*, module_m: float, teeth_1: int, teeth_2: int) -> float:
    """Where the shafts belong: pitch circles just touching, a₀ = m(z₁+z₂)/2. Metres."""
    return module_m * (teeth_1 + teeth_2) / 2.0


@formula(source="eritenel-spur-gears", where="operating pressure angle")
def operating_pressure_angle(
    *, centre_distance_m: float, reference_centre_distance_m: float, pressure_angle_rad: float
) -> float:
    """How steeply the teeth push once the shafts stand at a, from cos α_w = (a₀/a)·cos α. Radians.

    Raises ImpossibleInput when the shafts are so close that the base circles overlap.
    """
    require_positive(
        centre_distance_m=centre_distance_m, reference_centre_distance_m=reference_centre_distance_m
    )
    cosine = reference_centre_distance_m / centre_distance_m * math.cos(pressure_angle_rad)
    if cosine > 1.0:
        raise ImpossibleInput(
            f"Shafts {centre_distance_m * 1e3:.3f} mm apart leave no room for these gears.",
            f"The reference distance is {reference_centre_distance_m * 1e3:.3f} mm.",
        )
    return math.acos(cosine)


@formula(source="khurmi-gupta-theory-of-machines", where="ch. 12, path of approach and of recess")
def contact_length_beyond_pitch_point(
    *, tip_diameter_m: float, base_diameter_m: float, operating_pressure_angle_rad: float
) -> float:
    """How long a tooth pair touches on one side of the pitch point, √(r_a² − r_b²) − r_b·tan α_w. Metres.

    With the driven gear's circles this is the path of approach, with the driver's the path of recess.
    """
    tangent_m = math.sqrt(tip_diameter_m**2 - base_diameter_m**2) / 2.0
    return tangent_m - base_diameter_m / 2.0 * math.tan(operating_pressure_angle_rad)


@formula(source="gear-parameters-notes", where="contact ratio")
def contact_ratio(*, path_of_contact_m: float, base_pitch_m: float) -> float:
    """How many tooth pairs carry on average, ε = path/p_b. Below one, teeth let go too early."""
    return path_of_contact_m / base_pitch_m


@formula(source="gear-parameters-notes", where="undercut limit, rack-cut")
def fewest_teeth_without_undercut(*, pressure_angle_rad: float, addendum: float = ADDENDUM) -> float:
    """Below this count a rack-shaped cutter hollows out the tooth foot, z = 2h_a/sin²α (17.1 for 20°).

    Returned unrounded: “strictly none” is the next whole number up (18), the usual practical figure is 17.
    """
    return 2.0 * addendum / math.sin(pressure_angle_rad) ** 2


@formula(source="gear-parameters-notes", where="smallest shift without undercut")
def least_shift_without_undercut(
    *, teeth: int, pressure_angle_rad: float, addendum: float = ADDENDUM
) -> float:
    """How far a small pinion's profile must move out to keep its foot, x = h_a − z·sin²α/2. In modules."""
    return addendum - teeth * math.sin(pressure_angle_rad) ** 2 / 2.0


@formula(
    source="eritenel-spur-gears", where="tooth thickness s_w = d_w(s/d + inv α − inv α_w), both gears summed"
)
def normal_backlash(
    *, base_radii_m: float, operating_involute_rad: float, closed_involute_rad: float
) -> float:
    """Play at right angles to the flanks, exact at any distance: j_bn = 2(r_b1+r_b2)(inv α_w − inv α_0).

    `base_radii_m` is the sum of the base radii, `closed_involute_rad` the involute of the pressure angle at
    which the flanks touch on both sides. Negative where the teeth would have to overlap. Metres.
    """
    return 2.0 * base_radii_m * (operating_involute_rad - closed_involute_rad)


@formula(source="iso-tr-10064-2", where="recommended least backlash", module_m=Span(0.5e-3, 10e-3))
def least_backlash(*, centre_distance_m: float, module_m: float) -> float:
    """The least play, at right angles to the flanks, that lets a pair warm up without binding. Metres.

    j = ⅔(0.06 + 0.0005·a + 0.03·m) with millimetres; from memory, so a guide and not a limit.
    """
    return 2.0 / 3.0 * (0.06e-3 + 0.0005 * centre_distance_m + 0.03 * module_m)


@dataclass(frozen=True, slots=True)
class Gear:
    """One spur gear. Shift, shortening and the heights are in modules; the circles come out in metres.

    Raises ImpossibleInput for a tooth count or a pressure angle that no gear has. Whether a module can be
    a car's at all is for `tooth_pitch.check_module`, where it was typed.
    """

    teeth: int
    module_m: float
    pressure_angle_rad: float = PRESSURE_ANGLE_rad
    profile_shift: float = 0.0
    tip_shortening: float = 0.0
    addendum: float = ADDENDUM
    dedendum: float = DEDENDUM

    def __post_init__(self) -> None:
        check_teeth(self.teeth)
        require_positive(module_m=self.module_m)
        if not math.radians(10.0) <= self.pressure_angle_rad <= math.radians(30.0):
            degrees = math.degrees(self.pressure_angle_rad)
            raise ImpossibleInput(
                f"A pressure angle of {degrees:g}° is not one gears are cut with.",
                "Usual are 14.5°, 20° and 25°.",
            )

    @property
    def pitch_diameter_m(self) -> float:
        """Reference (pitch) circle."""
        return pitch_diameter(module_m=self.module_m, teeth=self.teeth)

    @property
    def base_diameter_m(self) -> float:
        """Base circle."""
        return base_diameter(
            pitch_diameter_m=self.pitch_diameter_m, pressure_angle_rad=self.pressure_angle_rad
        )

    @property
    def tip_diameter_m(self) -> float:
        """Over the teeth."""
        return tip_diameter(
            pitch_diameter_m=self.pitch_diameter_m,
            module_m=self.module_m,
            profile_shift=self.profile_shift,
            tip_shortening=self.tip_shortening,
            addendum=self.addendum,
        )

    @property
    def root_diameter_m(self) -> float:
        """Bottom of the spaces."""
        return root_diameter(
            pitch_diameter_m=self.pitch_diameter_m,
            module_m=self.module_m,
            profile_shift=self.profile_shift,
            dedendum=self.dedendum,
        )

    @property
    def tip_tangent_m(self) -> float:
        """From the tip circle along a tangent to the base circle: where this gear's contact ends."""
        return math.sqrt(self.tip_diameter_m**2 - self.base_diameter_m**2) / 2.0

    @property
    def is_undercut(self) -> bool:
        """Whether a rack-shaped cutter would hollow out the tooth foot."""
        least = least_shift_without_undercut(
            teeth=self.teeth, pressure_angle_rad=self.pressure_angle_rad, addendum=self.addendum
        )
        return self.profile_shift < least
