"""The rhythm a damaged bearing beats: which part of it is pitted, told by the frequency of its noise."""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.possible import require_positive


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
