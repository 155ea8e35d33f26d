"""A wheel spun by hand and timed until it stands: the friction of its bearings and seals.

Only where the wheel runs free of the drive; a wheel that turns a gear or a motor measures those instead, and
is push-rolled. No wheel is spun by the motor for this.
"""

from __future__ import annotations

import math

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.bearings.timed_trials import Measured, product_uncertainty
from snugfast.physics.validation import require_positive


@formula(source="openstax-university-physics-1", where="ch. 10 key equations, Στ = Iα and ω = ω₀ + αt")
def drag_from_speeds(*, inertia_kgm2: float, start_rad_s: float, end_rad_s: float, time_s: float) -> float:
    """The mean friction that slowed a wheel from one speed to another, I·(ω₁−ω₂)/t. Newton metres."""
    require_positive(inertia_kgm2=inertia_kgm2, time_s=time_s)
    if end_rad_s > start_rad_s:
        raise ImpossibleInput("A wheel left alone cannot speed up.", "Give the faster speed first.")
    return inertia_kgm2 * (start_rad_s - end_rad_s) / time_s


@formula(
    source="openstax-university-physics-1", where="ch. 10 key equations, Στ = Iα and θ = ½αt² run backwards"
)
def drag_from_turns(*, inertia_kgm2: float, turns: float, time_s: float) -> float:
    """The friction from nothing but counted turns and the time until the wheel stands, 4π·N·I/t². N·m.

    Constant friction slows evenly, so the wheel makes θ = ½(τ/I)t² in its last t seconds, whatever its start.
    """
    require_positive(inertia_kgm2=inertia_kgm2, turns=turns, time_s=time_s)
    return 4.0 * math.pi * turns * inertia_kgm2 / time_s**2


def measured_drag_from_turns(*, inertia_kgm2: Measured, turns: Measured, time_s: Measured) -> Measured:
    """The same with its standard uncertainty; the time counts twice. Newton metres."""
    torque_Nm = drag_from_turns(inertia_kgm2=inertia_kgm2.value, turns=turns.value, time_s=time_s.value)
    share = product_uncertainty((inertia_kgm2, 1.0), (turns, 1.0), (time_s, -2.0))
    return Measured(torque_Nm, share * torque_Nm)
