"""From a servo's horn to the front wheels: a chain of four-bar loops, closed in the plane or in space.

x points forward, y left, z up; the middle of the front axle is the origin. Angles turn left seen from above.
Kingpins and bellcrank pivots are taken as upright: caster and kingpin lean change a wheel's angle by some
hundredths, and the suspension is taken at ride height.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.validation import require_positive

Point = tuple[float, float, float]


class Layout(Enum):
    """How the servo's swing reaches the two steering rods."""

    BELLCRANK = "one bellcrank turns both rods"
    RACK = "two bellcranks with a centre link"
    DIRECT = "rods straight onto the horn"
    AXLE = "drag link to one knuckle, tie rod across"


class HornPlane(Enum):
    """In which plane the horn swings."""

    FLAT = "lies flat and swings level"
    SIDEWAYS = "stands upright and swings sideways"
    FORE_AND_AFT = "stands upright and swings fore and aft"


@formula(
    source="four-bar-vector-loop", where="position analysis; law of cosines, in space with an upright pivot"
)
def arm_angle(*, driven: Point, pivot: Point, rod_m: float, arm_m: float, branch: int) -> float | None:
    """The angle of an arm about an upright pivot whose end stays a rod's length from a driven point, in rad.

    With D the level distance from pivot to driven point and h the height between them:
    ψ = atan2(A − P) ± acos((c² + D² + h² − b²)/(2cD)). `branch` is +1 or −1, the way the loop was assembled.
    None where no angle closes the loop: the linkage has locked before it gets there.
    """
    require_positive(rod_m=rod_m, arm_m=arm_m)
    across, along, up = (one - other for one, other in zip(driven, pivot, strict=True))
    level = math.hypot(across, along)
    if level == 0.0:
        return None
    cosine = (arm_m**2 + level**2 + up**2 - rod_m**2) / (2.0 * arm_m * level)
    if abs(cosine) > 1.0:
        return None
    return math.atan2(along, across) + branch * math.acos(cosine)


@formula(source="grashof-condition", where="shortest + longest ≤ sum of the other two")
def turns_right_round(*, lengths_m: tuple[float, float, float, float]) -> bool:
    """Whether one link of a plane four-bar can turn right round. No steering needs to."""
    shortest, second, third, longest = sorted(lengths_m)
    return shortest + longest <= second + third


@formula(source="mechanism-toolkit", where="acos[(r1² + r2² − (r3 + r4)²)/(2·r1·r2)]")
def swing_limit(*, ground_m: float, input_m: float, coupler_m: float, output_m: float) -> float | None:
    """How far the input of a plane four-bar may swing from its ground line, in rad; None where freely."""
    require_positive(ground_m=ground_m, input_m=input_m, coupler_m=coupler_m, output_m=output_m)
    cosine = (ground_m**2 + input_m**2 - (coupler_m + output_m) ** 2) / (2.0 * ground_m * input_m)
    return math.acos(cosine) if abs(cosine) <= 1.0 else None


@dataclass(frozen=True, slots=True)
class Linkage:
    """A steering linkage as measured, in metres, wheels straight. Not every layout needs every length.

    `servo` is the horn's spline, `crank` the bellcrank's pivot (of RACK the middle between the two).
    `crank_out_m` runs forward from the pivot to the line of the inner balls, with a minus backward; of DIRECT
    it says which way the horn points. `stud_half_m` is half the distance between the inner balls. `arm_end_m`
    is the left steering arm's ball seen from its kingpin: so much forward (minus: behind the axle) and so
    much left (minus: inwards). `crank_in_m` runs left from the pivot, with a minus right.
    """

    layout: Layout
    wheelbase_m: float
    kingpin_track_m: float
    arm_end_m: tuple[float, float]
    servo_m: Point
    horn_m: float
    horn_plane: HornPlane = HornPlane.FLAT
    crank_m: Point = (0.0, 0.0, 0.0)
    crank_in_m: float = 0.0
    crank_out_m: float = 0.0
    stud_half_m: float = 0.0
    arm_height_m: float = 0.0  # of the outer balls over the inner ones
    tie_left_m: float | None = None  # measured; None: so long that the wheels stand straight
    tie_right_m: float | None = None
    drag_m: float | None = None

    def __post_init__(self) -> None:
        require_positive(
            wheelbase_m=self.wheelbase_m, kingpin_distance_m=self.kingpin_track_m, servo_horn_m=self.horn_m
        )
        if self.layout is Layout.DIRECT and self.horn_plane is HornPlane.FORE_AND_AFT:
            raise ImpossibleInput(
                "Rods straight on a horn that swings fore and aft steer no wheel.",
                "Choose how the horn swings again, or another layout.",
            )
        if math.hypot(*self.arm_end_m) == 0.0:
            raise ImpossibleInput(
                "A steering arm of no length turns no wheel.", "Measure from the kingpin to the ball."
            )
        if self.layout in (Layout.BELLCRANK, Layout.RACK) and self.crank_in_m == 0.0:
            raise ImpossibleInput(
                "A bellcrank arm of no length turns nothing.",
                "Measure from its pivot to the ball of the drag link.",
            )
        if self.layout in (Layout.BELLCRANK, Layout.RACK) and self.crank_out_m == 0.0:
            raise ImpossibleInput(
                "A bellcrank arm of no length moves no rod.", "Measure from its pivot to the inner balls."
            )


@dataclass(frozen=True, slots=True)
class Steered:
    """The linkage with the servo at one angle. Wheel angles are positive to the left, from straight ahead.

    A transmission angle is that between a rod and the arm it pushes: at 90° all the push turns, at 0° none.
    """

    servo_rad: float
    crank_rad: float
    left_rad: float
    right_rad: float
    transmission_left_rad: float
    transmission_right_rad: float
    horn_end_m: Point
    inner_m: tuple[Point, Point]
    outer_m: tuple[Point, Point]
    crank_in_end_m: Point | None

    @property
    def transmission_rad(self) -> float:
        """The worse of the two."""
        return min(self.transmission_left_rad, self.transmission_right_rad)


class Steering:
    """A linkage put together with its wheels straight, ready to be steered.

    Raises ImpossibleInput where measured rods cannot reach from ball to ball.
    """

    def __init__(self, linkage: Linkage) -> None:
        self.linkage = linkage
        self.arm_m = math.hypot(*linkage.arm_end_m)
        half = linkage.kingpin_track_m / 2.0
        self.kingpins: tuple[Point, Point] = (
            (0.0, half, linkage.arm_height_m),
            (0.0, -half, linkage.arm_height_m),
        )
        forward, left = linkage.arm_end_m
        self.straight = (math.atan2(left, forward), math.atan2(-left, forward))
        self._build()

    def _build(self) -> None:
        linkage = self.linkage
        self.drag_m = linkage.drag_m or 0.0
        self.drag_branch = 1
        horn_end = self._horn_end(0.0)
        if linkage.layout in (Layout.BELLCRANK, Layout.RACK):
            reach = abs(linkage.crank_in_m)
            side = math.copysign(math.pi / 2.0, linkage.crank_in_m)
            self.crank_straight = side
            ball = _from(linkage.crank_m, reach, side)
            self.drag_m = linkage.drag_m or math.dist(horn_end, ball)
            self.drag_branch = self._assembled(
                horn_end, linkage.crank_m, self.drag_m, reach, side, "drag link"
            )
        elif linkage.layout is Layout.AXLE:
            ball = _from(self.kingpins[0], self.arm_m, self.straight[0])
            self.drag_m = linkage.drag_m or math.dist(horn_end, ball)
            self.drag_branch = self._assembled(
                horn_end, self.kingpins[0], self.drag_m, self.arm_m, self.straight[0], "drag link"
            )
            outer = [
                _from(kingpin, self.arm_m, angle)
                for kingpin, angle in zip(self.kingpins, self.straight, strict=True)
            ]
            self.tie_m = (0.0, linkage.tie_right_m or math.dist(outer[0], outer[1]))
            self.tie_branch = (
                1,
                self._assembled(
                    outer[0], self.kingpins[1], self.tie_m[1], self.arm_m, self.straight[1], "tie rod"
                ),
            )
            return
        inner = self._inner(0.0)
        ties, branches = [], []
        for side, measured in enumerate((linkage.tie_left_m, linkage.tie_right_m)):
            kingpin, angle = self.kingpins[side], self.straight[side]
            length = measured or math.dist(inner[side], _from(kingpin, self.arm_m, angle))
            ties.append(length)
            branches.append(self._assembled(inner[side], kingpin, length, self.arm_m, angle, _rod_name(side)))
        self.tie_m = (ties[0], ties[1])
        self.tie_branch = (branches[0], branches[1])

    def _assembled(
        self, driven: Point, pivot: Point, rod_m: float, arm_m: float, near: float, what: str
    ) -> int:
        """Which of the two ways a loop was put together: the one that stands nearest to straight ahead."""
        ways = {
            branch: angle
            for branch in (1, -1)
            if (angle := arm_angle(driven=driven, pivot=pivot, rod_m=rod_m, arm_m=arm_m, branch=branch))
            is not None
        }
        if not ways:
            level = math.dist(driven[:2], pivot[:2])
            height = abs(driven[2] - pivot[2])
            least, most = (math.hypot(end, height) for end in (abs(level - arm_m), level + arm_m))
            raise ImpossibleInput(
                f"A {what} of {rod_m * 1e3:.1f} mm cannot close this linkage.",
                f"From ball to ball it is {least * 1e3:.1f} to {most * 1e3:.1f} mm here: measure again, "
                "centre of ball to centre of ball, and the places of servo and pivots too.",
            )
        return min(ways, key=lambda branch: abs(wrapped(ways[branch] - near)))

    def _horn_end(self, servo_rad: float) -> Point:
        linkage = self.linkage
        x, y, z = linkage.servo_m
        swing = linkage.horn_m * math.sin(servo_rad), linkage.horn_m * math.cos(servo_rad)
        if linkage.horn_plane is HornPlane.SIDEWAYS:
            return (x, y + swing[0], z + swing[1])
        if linkage.horn_plane is HornPlane.FORE_AND_AFT:
            return (x + swing[0], y, z + swing[1])
        if linkage.layout in (Layout.DIRECT, Layout.AXLE):
            # The horn stands fore or aft, towards the rods, and its end swings left.
            ahead = math.copysign(1.0, linkage.crank_out_m or 1.0)
            return (x + ahead * swing[1], y + ahead * swing[0], z)
        side = math.copysign(1.0, linkage.crank_in_m)
        return (x - side * swing[0], y + side * swing[1], z)

    def _inner(self, crank_rad: float) -> tuple[Point, Point]:
        """The two inner balls, left and right."""
        linkage = self.linkage
        x, y, z = linkage.crank_m
        out, half = linkage.crank_out_m, linkage.stud_half_m
        if linkage.layout is Layout.DIRECT:
            x, y, z = self._horn_end(crank_rad)
            if linkage.horn_plane is not HornPlane.FLAT:
                c, s = math.cos(crank_rad), math.sin(crank_rad)
                return ((x, y + half * c, z - half * s), (x, y - half * c, z + half * s))
            c, s = half * math.cos(crank_rad), half * math.sin(crank_rad)
            return ((x - s, y + c, z), (x + s, y - c, z))
        c, s = math.cos(crank_rad), math.sin(crank_rad)
        if linkage.layout is Layout.RACK:
            return ((x + out * c, y + out * s + half, z), (x + out * c, y + out * s - half, z))
        return (
            (x + out * c - half * s, y + out * s + half * c, z),
            (x + out * c + half * s, y + out * s - half * c, z),
        )

    def at(self, servo_rad: float) -> Steered | None:
        """The linkage with the servo turned so far; None where it cannot get there."""
        linkage = self.linkage
        horn_end = self._horn_end(servo_rad)
        if linkage.layout is Layout.AXLE:
            return self._axle(servo_rad, horn_end)
        crank_end, crank = None, servo_rad
        if linkage.layout is not Layout.DIRECT:
            found = arm_angle(
                driven=horn_end,
                pivot=linkage.crank_m,
                rod_m=self.drag_m,
                arm_m=abs(linkage.crank_in_m),
                branch=self.drag_branch,
            )
            if found is None:
                return None
            crank = wrapped(found - self.crank_straight)
            crank_end = _from(linkage.crank_m, abs(linkage.crank_in_m), found)
        inner = self._inner(crank)
        wheels, angles, outer = [], [], []
        for side in (0, 1):
            found = arm_angle(
                driven=inner[side],
                pivot=self.kingpins[side],
                rod_m=self.tie_m[side],
                arm_m=self.arm_m,
                branch=self.tie_branch[side],
            )
            if found is None:
                return None
            end = _from(self.kingpins[side], self.arm_m, found)
            outer.append(end)
            wheels.append(wrapped(found - self.straight[side]))
            angles.append(_transmission(self.kingpins[side], end, inner[side]))
        return Steered(
            servo_rad,
            crank,
            wheels[0],
            wheels[1],
            angles[0],
            angles[1],
            horn_end,
            inner,
            (outer[0], outer[1]),
            crank_end,
        )

    def _axle(self, servo_rad: float, horn_end: Point) -> Steered | None:
        left = arm_angle(
            driven=horn_end,
            pivot=self.kingpins[0],
            rod_m=self.drag_m,
            arm_m=self.arm_m,
            branch=self.drag_branch,
        )
        if left is None:
            return None
        left_end = _from(self.kingpins[0], self.arm_m, left)
        right = arm_angle(
            driven=left_end,
            pivot=self.kingpins[1],
            rod_m=self.tie_m[1],
            arm_m=self.arm_m,
            branch=self.tie_branch[1],
        )
        if right is None:
            return None
        right_end = _from(self.kingpins[1], self.arm_m, right)
        return Steered(
            servo_rad,
            0.0,
            wrapped(left - self.straight[0]),
            wrapped(right - self.straight[1]),
            _transmission(self.kingpins[0], left_end, horn_end),
            _transmission(self.kingpins[1], right_end, left_end),
            horn_end,
            (horn_end, left_end),
            (left_end, right_end),
            None,
        )


def wrapped(angle_rad: float) -> float:
    """An angle brought between −π and π."""
    return (angle_rad + math.pi) % (2.0 * math.pi) - math.pi


def _from(pivot: Point, length_m: float, angle_rad: float) -> Point:
    return (
        pivot[0] + length_m * math.cos(angle_rad),
        pivot[1] + length_m * math.sin(angle_rad),
        pivot[2],
    )


def _transmission(pivot: Point, end: Point, far: Point) -> float:
    """The angle between an arm and the rod at its end, 0 to π/2."""
    arm = [one - other for one, other in zip(end, pivot, strict=True)]
    rod = [one - other for one, other in zip(far, end, strict=True)]
    lengths = math.hypot(*arm) * math.hypot(*rod)
    if lengths == 0.0:
        return 0.0
    cosine = sum(one * other for one, other in zip(arm, rod, strict=True)) / lengths
    angle = math.acos(max(-1.0, min(1.0, cosine)))
    return min(angle, math.pi - angle)


def _rod_name(side: int) -> str:
    return f"{('left', 'right')[side]} steering rod"
