"""Whether a tooth can carry the torque: Lewis's bending sum with Barth's allowance for speed.

Lewis takes the whole load on the tip of one tooth, the case of an opened mesh. There is no single allowable
stress for plastic gears, so a verdict here is only as good as the allowable that is shown beside it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive


@formula(source="wentzell-machine-design", where="ch. 12, exs. 12.1 and 12.2")
def tangential_force(*, torque_Nm: float, pitch_diameter_m: float) -> float:
    """The force a torque puts on the teeth at the pitch circle, W_t = 2T/d. Newtons."""
    require_positive(pitch_diameter_m=pitch_diameter_m)
    return 2.0 * torque_Nm / pitch_diameter_m


@formula(source="wentzell-machine-design", where="ch. 12, ex. 12.2")
def pitch_line_speed(*, pitch_diameter_m: float, speed_rad_s: float) -> float:
    """How fast the teeth pass the pitch point, ω·d/2. Metres per second."""
    return speed_rad_s * pitch_diameter_m / 2.0


class Finish(Enum):
    """How the teeth were made; it decides how hard speed makes them strike."""

    CAST = "cast or moulded"
    CUT = "cut or milled"
    HOBBED = "hobbed or shaped"
    GROUND = "shaved or ground"


@formula(
    source="gear-stress-lecture",
    where="Barth factors (600+V)/600 and (1200+V)/1200, V in ft/min; the root forms are from memory",
    speed_m_s=Span(0.0, 20.0),
)
def velocity_factor(*, speed_m_s: float, finish: Finish) -> float:
    """How much speed multiplies the stress, K_v ≥ 1. Many books print its inverse, C_v = 1/K_v.

    Cast 1 + V/3.05, cut 1 + V/6.1, hobbed 1 + √V/3.56, ground 1 + √V/5.56, V in metres per second.
    """
    require_not_negative(speed_m_s=speed_m_s)
    match finish:
        case Finish.CAST:
            return 1.0 + speed_m_s / 3.05
        case Finish.CUT:
            return 1.0 + speed_m_s / 6.1
        case Finish.HOBBED:
            return 1.0 + math.sqrt(speed_m_s) / 3.56
        case Finish.GROUND:
            return 1.0 + math.sqrt(speed_m_s) / 5.56


@formula(source="shigley-10-problems", where="problems 14-1, 14-3, 14-4")
def lewis_stress(
    *, tangential_N: float, face_width_m: float, module_m: float, form_factor: float, velocity_factor: float
) -> float:
    """Bending stress at the foot of a tooth loaded at its tip, σ = K_v·W_t/(F·m·Y). Pascals."""
    require_positive(face_width_m=face_width_m, module_m=module_m, form_factor=form_factor)
    return velocity_factor * tangential_N / (face_width_m * module_m * form_factor)


@formula(source="wentzell-machine-design", where="ch. 12, ex. 12.3")
def lewis_force(
    *,
    allowable_Pa: float,
    face_width_m: float,
    module_m: float,
    form_factor: float,
    velocity_factor: float = 1.0,
) -> float:
    """The tangential force one tooth can carry at an allowable stress, W_t = σ·F·m·Y/K_v. Newtons."""
    require_positive(allowable_Pa=allowable_Pa, face_width_m=face_width_m, velocity_factor=velocity_factor)
    return allowable_Pa * face_width_m * module_m * form_factor / velocity_factor


@dataclass(frozen=True, slots=True)
class FormFactorRow:
    """One row of a Lewis form-factor table: 20° full depth, load at the tip."""

    teeth: int
    form_factor: float


def form_factor(teeth: int, table: Sequence[FormFactorRow]) -> float:
    """The Lewis form factor of a tooth count, straight between the rows of a table in rising order.

    Published tables differ by up to 1.5 %, so the table is handed in and named. Above the last row its value
    is kept (a rack has hardly more); below the first ImpossibleInput is raised.
    """
    if teeth < table[0].teeth:
        raise ImpossibleInput(
            f"The form-factor table begins at {table[0].teeth} teeth, not {teeth}.",
            "No strength is given for so small a pinion.",
        )
    if teeth >= table[-1].teeth:
        return table[-1].form_factor
    upper = next(index for index, row in enumerate(table) if row.teeth > teeth)
    low, high = table[upper - 1], table[upper]
    share = (teeth - low.teeth) / (high.teeth - low.teeth)
    return low.form_factor + share * (high.form_factor - low.form_factor)


@dataclass(frozen=True, slots=True)
class ToothLoad:
    """What a torque does to a tooth: force, speed, stress, and the share of the allowable that it uses."""

    tangential_N: float
    speed_m_s: float
    velocity_factor: float
    stress_Pa: float
    allowable_Pa: float

    @property
    def share(self) -> float:
        """Stress over allowable; above one the tooth is overloaded."""
        return self.stress_Pa / self.allowable_Pa


def load_tooth(
    *,
    torque_Nm: float,
    speed_rad_s: float,
    pitch_diameter_m: float,
    module_m: float,
    face_width_m: float,
    form_factor: float,
    allowable_Pa: float,
    finish: Finish,
) -> ToothLoad:
    """The whole chain for one gear: torque to force, speed to velocity factor, both to stress."""
    require_positive(allowable_Pa=allowable_Pa)
    force_N = tangential_force(torque_Nm=torque_Nm, pitch_diameter_m=pitch_diameter_m)
    speed_m_s = pitch_line_speed(pitch_diameter_m=pitch_diameter_m, speed_rad_s=speed_rad_s)
    factor = velocity_factor(speed_m_s=speed_m_s, finish=finish)
    stress_Pa = lewis_stress(
        tangential_N=force_N,
        face_width_m=face_width_m,
        module_m=module_m,
        form_factor=form_factor,
        velocity_factor=factor,
    )
    return ToothLoad(force_N, speed_m_s, factor, stress_Pa, allowable_Pa)
