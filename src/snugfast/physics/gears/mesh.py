"""Two gears in mesh: what a shift of the motor leaves, and where to set it again.

A hit moves the motor on its slots either way. Opened, the mesh loses overlap and the load lands on the tips
of single teeth; closed, it binds, heats and eats itself. Both strip gears. The play is a good gauge because
it can be felt: hold one gear, rock the other, and read the play at its rim.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.gears.gears import (
    Gear,
    angle_of_involute,
    base_pitch,
    contact_length_beyond_pitch_point,
    contact_ratio,
    involute,
    least_backlash,
    normal_backlash,
    operating_pressure_angle,
    reference_centre_distance,
)
from snugfast.physics.gears.tooth_pitch import PitchMatch, compare_pitches
from snugfast.physics.validation import require_not_negative, require_positive

LEAST_CONTACT_RATIO = 1.0
GOOD_CONTACT_RATIO = 1.2


@dataclass(frozen=True, slots=True)
class Mesh:
    """A pinion and a spur gear at a centre distance.

    `built_in_backlash_m` is the play, at right angles to the flanks, that the cutter left in the teeth of the
    two together at the reference distance. Raises ImpossibleInput for a pair of different pitch or pressure
    angle, and for shafts so close that the base circles overlap.
    """

    pinion: Gear
    spur: Gear
    centre_distance_m: float
    built_in_backlash_m: float = 0.0

    def __post_init__(self) -> None:
        require_not_negative(built_in_backlash_m=self.built_in_backlash_m)
        pitches = compare_pitches(module_1_m=self.pinion.module_m, module_2_m=self.spur.module_m)
        if pitches.match is PitchMatch.REFUSED:
            raise ImpossibleInput(pitches.sentence)
        if not math.isclose(self.pinion.pressure_angle_rad, self.spur.pressure_angle_rad):
            raise ImpossibleInput(
                "The two gears have different pressure angles and cannot mesh.", "Fit two gears of one kind."
            )
        # Worked out once here, so that an impossible distance is refused when it is given.
        _ = self.pressure_angle_rad

    @property
    def module_m(self) -> float:
        """The module the pair runs at: the mean, where the two differ within the refusal line."""
        return (self.pinion.module_m + self.spur.module_m) / 2.0

    @property
    def reference_distance_m(self) -> float:
        """Where the pitch circles just touch."""
        return reference_centre_distance(
            module_m=self.module_m, teeth_1=self.pinion.teeth, teeth_2=self.spur.teeth
        )

    @property
    def opening_m(self) -> float:
        """How far the shafts stand from the reference distance; negative when closed."""
        return self.centre_distance_m - self.reference_distance_m

    @property
    def pressure_angle_rad(self) -> float:
        """The operating pressure angle."""
        return operating_pressure_angle(
            centre_distance_m=self.centre_distance_m,
            reference_centre_distance_m=self.reference_distance_m,
            pressure_angle_rad=self.pinion.pressure_angle_rad,
        )

    @property
    def pinion_pitch_diameter_m(self) -> float:
        """The pinion's operating pitch circle, 2a·z₁/(z₁+z₂)."""
        return 2.0 * self.centre_distance_m * self.pinion.teeth / self._teeth

    @property
    def spur_pitch_diameter_m(self) -> float:
        """The spur gear's operating pitch circle, 2a·z₂/(z₁+z₂)."""
        return 2.0 * self.centre_distance_m * self.spur.teeth / self._teeth

    @property
    def approach_m(self) -> float:
        """Path of contact before the pitch point, pinion driving: set by the spur gear's tips."""
        return self._reach(self.spur)

    @property
    def recess_m(self) -> float:
        """Path of contact after the pitch point: set by the pinion's tips."""
        return self._reach(self.pinion)

    @property
    def contact_ratio(self) -> float:
        """How many tooth pairs carry on average; zero or less when the tips no longer reach each other."""
        pitch_m = base_pitch(module_m=self.module_m, pressure_angle_rad=self.pinion.pressure_angle_rad)
        return contact_ratio(path_of_contact_m=self.approach_m + self.recess_m, base_pitch_m=pitch_m)

    @property
    def normal_backlash_m(self) -> float:
        """Play at right angles to the flanks: what a feeler or paper strip measures. Negative: overlap."""
        play = normal_backlash(
            base_radii_m=self._base_radii_m,
            operating_involute_rad=involute(angle_rad=self.pressure_angle_rad),
            closed_involute_rad=_closed_involute(self.pinion, self.spur),
        )
        return play + self.built_in_backlash_m

    @property
    def circumferential_backlash_m(self) -> float:
        """The same play along the operating pitch circle, j_bn/cos α_w."""
        return self.normal_backlash_m / math.cos(self.pressure_angle_rad)

    @property
    def reference_backlash_m(self) -> float:
        """The same play on the reference pitch circle, j_bn/cos α: what the linear rule estimates."""
        return self.normal_backlash_m / math.cos(self.pinion.pressure_angle_rad)

    @property
    def tip_clearance_m(self) -> float:
        """The smaller gap between a tip and the mate's root; negative when tips hit the bottom."""
        gaps = (
            self.centre_distance_m - (tip.tip_diameter_m + root.root_diameter_m) / 2.0
            for tip, root in ((self.pinion, self.spur), (self.spur, self.pinion))
        )
        return min(gaps)

    @property
    def tips_dig_in(self) -> bool:
        """Whether a tip reaches past the end of the mate's involute and cuts into its foot."""
        limit_m = self.centre_distance_m * math.sin(self.pressure_angle_rad)
        return any(gear.tip_tangent_m > limit_m for gear in (self.pinion, self.spur))

    def rim_play(self, *, rim_radius_m: float) -> float:
        """The play felt at the rim of the spur gear, at `rim_radius_m`, with the pinion held. Metres."""
        require_positive(rim_radius_m=rim_radius_m)
        return self.normal_backlash_m * rim_radius_m / (self.spur.base_diameter_m / 2.0)

    def moved(self, shift_m: float) -> Mesh:
        """The same pair with the shafts moved apart by `shift_m`, or together when it is negative."""
        return replace(self, centre_distance_m=self.centre_distance_m + shift_m)

    @property
    def _teeth(self) -> int:
        return self.pinion.teeth + self.spur.teeth

    @property
    def _base_radii_m(self) -> float:
        return self.reference_distance_m * math.cos(self.pinion.pressure_angle_rad)

    def _reach(self, gear: Gear) -> float:
        return contact_length_beyond_pitch_point(
            tip_diameter_m=gear.tip_diameter_m,
            base_diameter_m=gear.base_diameter_m,
            operating_pressure_angle_rad=self.pressure_angle_rad,
        )


def _closed_involute(pinion: Gear, spur: Gear) -> float:
    """The involute of the pressure angle at which the pair, cut without play, touches on both flanks."""
    angle_rad = pinion.pressure_angle_rad
    shift = 2.0 * (pinion.profile_shift + spur.profile_shift) / (pinion.teeth + spur.teeth)
    return involute(angle_rad=angle_rad) + shift * math.tan(angle_rad)


def mesh_with_backlash(
    pinion: Gear, spur: Gear, *, normal_backlash_m: float, built_in_backlash_m: float = 0.0
) -> Mesh:
    """The mesh set so that the flanks have the wanted play: where the motor belongs.

    The exact way back: j_bn gives inv α_w, that gives α_w, and a = a₀·cos α/cos α_w. Play at right angles to
    the flanks, metres; negative play is refused with ImpossibleInput when no distance can give it.
    """
    reference_m = reference_centre_distance(
        module_m=(pinion.module_m + spur.module_m) / 2.0, teeth_1=pinion.teeth, teeth_2=spur.teeth
    )
    base_radii_m = reference_m * math.cos(pinion.pressure_angle_rad)
    opened = (normal_backlash_m - built_in_backlash_m) / (2.0 * base_radii_m)
    angle_rad = angle_of_involute(involute_rad=_closed_involute(pinion, spur) + opened)
    return Mesh(pinion, spur, base_radii_m / math.cos(angle_rad), built_in_backlash_m)


@formula(
    source="eritenel-spur-gears", where="base circle: a turn θ moves the flank by r_b·θ along its normal"
)
def backlash_of_rim_play(*, rim_play_m: float, rim_radius_m: float, base_diameter_m: float) -> float:
    """Turns the play felt at a gear's rim, its mate held, into play at right angles to the flanks. Metres."""
    require_not_negative(rim_play_m=rim_play_m)
    require_positive(rim_radius_m=rim_radius_m, base_diameter_m=base_diameter_m)
    return rim_play_m / rim_radius_m * base_diameter_m / 2.0


def mesh_felt_at_rim(
    pinion: Gear, spur: Gear, *, rim_play_m: float, rim_radius_m: float, built_in_backlash_m: float = 0.0
) -> Mesh:
    """Where the motor stands now, from the play felt at the spur gear's rim with the pinion held."""
    play_m = backlash_of_rim_play(
        rim_play_m=rim_play_m, rim_radius_m=rim_radius_m, base_diameter_m=spur.base_diameter_m
    )
    return mesh_with_backlash(pinion, spur, normal_backlash_m=play_m, built_in_backlash_m=built_in_backlash_m)


@dataclass(frozen=True, slots=True)
class PaperSetting:
    """What a strip of paper rolled through the mesh sets, between its two bounds.

    `one_flank`: the paper fills the gap on the driving side only; `both_flanks`: it lies along both sides of
    every tooth, which is what a strip rolled through does until it is crushed. The truth lies between.
    """

    one_flank: Mesh
    both_flanks: Mesh


def mesh_set_with_paper(
    pinion: Gear, spur: Gear, *, paper_thickness_m: float, built_in_backlash_m: float = 0.0
) -> PaperSetting:
    """The centre distance and play that a strip of paper leaves when the motor is pressed home on it.

    A thickness t between the flanks is a play of t at right angles to them, 2t when it lies on both sides.
    Play already cut into the teeth is taken up first. Thickness in metres; office paper of 80 g/m² is about
    0.1 mm (common practice, no source).
    """
    require_positive(paper_thickness_m=paper_thickness_m)
    one, both = (
        mesh_with_backlash(
            pinion,
            spur,
            normal_backlash_m=sides * paper_thickness_m,
            built_in_backlash_m=built_in_backlash_m,
        )
        for sides in (1, 2)
    )
    return PaperSetting(one_flank=one, both_flanks=both)


class MeshVerdict(Enum):
    """What the mesh is good for."""

    GOOD = "good"
    TIGHT = "little play"
    ROUGH = "rough"
    SKIPS = "lets go between teeth"
    BINDS = "binds"


class Stripped(Enum):
    """Which gear's teeth give first."""

    PINION = "pinion"
    SPUR = "spur gear"
    BOTH_ALIKE = "both alike"


@dataclass(frozen=True, slots=True)
class MeshState:
    """The verdict on a mesh as it stands now.

    `drivable` says whether it may be run to get home, not that it should be left so. `strips_first` is None
    when the strength of the teeth was not given.
    """

    mesh: Mesh
    verdict: MeshVerdict
    drivable: bool
    contact_ratio: float
    normal_backlash_m: float
    tip_clearance_m: float
    strips_first: Stripped | None
    sentence: str


def judge_mesh(
    mesh: Mesh, *, pinion_tooth_N: float | None = None, spur_tooth_N: float | None = None
) -> MeshState:
    """Whether a mesh may be driven, and which gear strips first.

    `pinion_tooth_N` and `spur_tooth_N` are the tangential forces one tooth of each can carry (see
    `tooth_strength.lewis_force`); the load is the same on both, so the lower one goes first.
    """
    verdict = _verdict(mesh)
    return MeshState(
        mesh=mesh,
        verdict=verdict,
        drivable=verdict in (MeshVerdict.GOOD, MeshVerdict.TIGHT, MeshVerdict.ROUGH),
        contact_ratio=mesh.contact_ratio,
        normal_backlash_m=mesh.normal_backlash_m,
        tip_clearance_m=mesh.tip_clearance_m,
        strips_first=_weaker(pinion_tooth_N, spur_tooth_N),
        sentence=_sentence(mesh, verdict),
    )


def _verdict(mesh: Mesh) -> MeshVerdict:
    if mesh.normal_backlash_m < 0.0 or mesh.tip_clearance_m < 0.0:
        return MeshVerdict.BINDS
    if mesh.contact_ratio < LEAST_CONTACT_RATIO:
        return MeshVerdict.SKIPS
    if mesh.contact_ratio < GOOD_CONTACT_RATIO or mesh.tips_dig_in:
        return MeshVerdict.ROUGH
    if mesh.normal_backlash_m < least_backlash(
        centre_distance_m=mesh.centre_distance_m, module_m=mesh.module_m
    ):
        return MeshVerdict.TIGHT
    return MeshVerdict.GOOD


def _weaker(pinion_N: float | None, spur_N: float | None) -> Stripped | None:
    if pinion_N is None or spur_N is None:
        return None
    if math.isclose(pinion_N, spur_N, rel_tol=0.02):  # closer than any form-factor table agrees
        return Stripped.BOTH_ALIKE
    return Stripped.PINION if pinion_N < spur_N else Stripped.SPUR


def _sentence(mesh: Mesh, verdict: MeshVerdict) -> str:
    backlash = f"{mesh.normal_backlash_m * 1e3:.2f} mm of backlash"
    overlap = f"contact ratio {mesh.contact_ratio:.2f}"
    if verdict is MeshVerdict.BINDS:
        return "The teeth are pressed into each other and bind. Do not run it: open the mesh."
    if verdict is MeshVerdict.SKIPS:
        return f"Far too loose: it will skip teeth ({overlap}). Do not run it; bring the motor nearer."
    if verdict is MeshVerdict.ROUGH and mesh.tips_dig_in:
        return f"It turns ({backlash}, {overlap}), but the tips of one gear cut into the feet of the other."
    if verdict is MeshVerdict.ROUGH:
        return f"It drives, but rough and on the tips ({overlap}, {backlash}). Reset it before the next run."
    if verdict is MeshVerdict.TIGHT:
        return f"It drives tight ({backlash}, {overlap}): feel it again when warm, at its tightest spot."
    return f"The mesh is good: {backlash}, {overlap}."
