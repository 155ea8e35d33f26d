"""The rhythm a damaged bearing beats: which part of it is pitted, told by the frequency of its noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.validation import require_positive

FILLED_rad = math.radians(186.0)


@dataclass(frozen=True, slots=True)
class Balls:
    """The inside of a bearing: number and diameter of balls, diameter of their ring, contact angle."""

    count: int
    ball_diameter_m: float
    ring_diameter_m: float
    contact_angle_rad: float = 0.0

    def __post_init__(self) -> None:
        require_positive(
            count=self.count, ball_diameter_m=self.ball_diameter_m, ring_diameter_m=self.ring_diameter_m
        )
        if self.ball_diameter_m >= self.ring_diameter_m:
            raise ImpossibleInput("The balls are larger than the ring they run in.", "Measure both again.")


@formula(
    source="elicited-mechanics",
    where="usual inside of a deep-groove bearing: balls 0.3 (D − d), their ring (D + d)/2, filled over 186°",
)
def usual_balls(*, bore_m: float, outer_m: float) -> Balls:
    """What is likely inside a small bearing, when nobody has opened it.

    A ball takes three tenths of the ring's height, and as many go in as fill a little over half the ring
    when the inner ring is pushed aside. Within 3 % of a bearing whose inside is published; the number of
    balls may be one off.
    """
    require_positive(bore_m=bore_m, outer_m=outer_m)
    if bore_m >= outer_m:
        raise ImpossibleInput("The bore is as wide as the bearing.", "Give bore, outside diameter, width.")
    ball_m, ring_m = 0.3 * (outer_m - bore_m), (outer_m + bore_m) / 2.0
    return Balls(round(1.0 + FILLED_rad / (2.0 * math.asin(ball_m / ring_m))), ball_m, ring_m)


@dataclass(frozen=True, slots=True)
class DefectRhythm:
    """Beats per turn of the inner ring, for each part that can be damaged; times turns per second: hertz."""

    cage: float
    ball: float
    outer_ring: float
    inner_ring: float


@formula(
    source="bearing-vibration-catalogue", where="vibration and noise; example 6205 in bearing-defect-page"
)
def defect_rhythm(balls: Balls) -> DefectRhythm:
    """Beats per turn of a bearing whose inner ring turns: cage, ball, outer and inner ring.

    With q = (d/D)·cos β: cage (1−q)/2, outer ring z(1−q)/2, inner ring z(1+q)/2, ball spin (D/2d)(1−q²). The
    two rings add up to z beats a turn; an outer-ring pit is always the slower of them.
    """
    q = balls.ball_diameter_m / balls.ring_diameter_m * math.cos(balls.contact_angle_rad)
    return DefectRhythm(
        cage=(1.0 - q) / 2.0,
        ball=balls.ring_diameter_m / (2.0 * balls.ball_diameter_m) * (1.0 - q**2),
        outer_ring=balls.count * (1.0 - q) / 2.0,
        inner_ring=balls.count * (1.0 + q) / 2.0,
    )
