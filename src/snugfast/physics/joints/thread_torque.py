"""Screw threads: their sizes, and what turns torque into pull and pull into torque.

Nine tenths of a tightening torque go into friction, which nobody at a bench knows to better than a third. So
each way from torque to pull is given with its friction named, and the rooms above show bands, not figures.
"""

from __future__ import annotations

import math
from enum import Enum

from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive

REUSABLE_SHARE = 0.75
TO_YIELD_SHARE = 0.9


@formula(source="vdi-2230-code", where="ISO 724 relation d2 = d − 0.649519·P")
def thread_pitch_diameter(*, diameter_m: float, pitch_m: float) -> float:
    """Where thread and nut share the material evenly, d₂ = d − 0.649519·P. Metres."""
    require_positive(diameter_m=diameter_m, pitch_m=pitch_m)
    return diameter_m - 0.649519 * pitch_m


@formula(source="vdi-2230-code", where="ISO 724 relation d3 = d − 1.226869·P")
def thread_root_diameter(*, diameter_m: float, pitch_m: float) -> float:
    """The core left under the thread, d₃ = d − 1.226869·P. Metres."""
    require_positive(diameter_m=diameter_m, pitch_m=pitch_m)
    return diameter_m - 1.226869 * pitch_m


@formula(source="thread-calculations", where="stress area (π/4)(d − 0.9382·P)²")
def stress_area(*, diameter_m: float, pitch_m: float) -> float:
    """The cross-section that carries the pull, A_s = (π/4)(d − 0.9382·P)². Square metres."""
    require_positive(diameter_m=diameter_m, pitch_m=pitch_m)
    return math.pi / 4.0 * (diameter_m - 0.9382 * pitch_m) ** 2


@formula(source="fastener-data-sheet", where="proof and ultimate loads after ISO 898-1")
def proof_load(*, proof_stress_Pa: float, stress_area_m2: float) -> float:
    """The pull a screw must bear without staying longer, S_p·A_s. Newtons."""
    return proof_stress_Pa * stress_area_m2


@formula(source="bolt-torque-tutorial", where="0.75 × proof load for joints that are opened again")
def reusable_preload(*, proof_load_N: float) -> float:
    """The pull to aim at in a joint that will be opened again, three quarters of the proof load. Newtons."""
    return REUSABLE_SHARE * proof_load_N


@formula(
    source="vdi-2230-code", where="section 5.4.3, M_A", mu_thread=Span(0.04, 0.35), mu_head=Span(0.04, 0.35)
)
def tightening_torque(
    *,
    preload_N: float,
    pitch_m: float,
    pitch_diameter_m: float,
    mu_thread: float,
    head_friction_diameter_m: float,
    mu_head: float,
) -> float:
    """Torque that turns a screw up to a wanted pull, M = F(0.16·P + 0.58·d₂·μ_G + D_Km/2·μ_K).

    Lifting along the thread, friction in the thread, friction under the head. Newton metres.
    """
    lever_m = _torque_lever(pitch_m, pitch_diameter_m, mu_thread, head_friction_diameter_m, mu_head)
    return preload_N * lever_m


@formula(
    source="vdi-2230-code",
    where="section 5.4.3, M_A solved for the pull",
    mu_thread=Span(0.04, 0.35),
    mu_head=Span(0.04, 0.35),
)
def preload_of_torque(
    *,
    torque_Nm: float,
    pitch_m: float,
    pitch_diameter_m: float,
    mu_thread: float,
    head_friction_diameter_m: float,
    mu_head: float,
) -> float:
    """The pull that a torque leaves in the screw: the way back from `tightening_torque`. Newtons."""
    lever_m = _torque_lever(pitch_m, pitch_diameter_m, mu_thread, head_friction_diameter_m, mu_head)
    return torque_Nm / lever_m


def _torque_lever(
    pitch_m: float, pitch_diameter_m: float, mu_thread: float, head_diameter_m: float, mu_head: float
) -> float:
    require_positive(pitch_m=pitch_m, pitch_diameter_m=pitch_diameter_m)
    require_not_negative(mu_thread=mu_thread, mu_head=mu_head, head_friction_diameter_m=head_diameter_m)
    return 0.16 * pitch_m + 0.58 * pitch_diameter_m * mu_thread + head_diameter_m / 2.0 * mu_head


@formula(source="vdi-2230-code", where="D_Km = (d_w + d_h)/2")
def head_friction_diameter(*, head_diameter_m: float, hole_diameter_m: float) -> float:
    """The mean diameter on which a flat head rubs, (d_w + d_h)/2. Metres."""
    require_positive(head_diameter_m=head_diameter_m, hole_diameter_m=hole_diameter_m)
    return (head_diameter_m + hole_diameter_m) / 2.0


class Edition(Enum):
    """How the twist in the shank is reckoned; the editions differ by 7 to 11 % in the pull."""

    ELASTIC_TWIST = 2.0  # VDI 2230 before about 2001
    PLASTIC_TWIST = 1.5  # since then


@formula(source="vdi-2230-code", where="section 5.5.1, F_M,zul", mu_thread=Span(0.04, 0.35))
def preload_to_yield_share(
    *,
    yield_stress_Pa: float,
    diameter_m: float,
    pitch_m: float,
    mu_thread: float,
    share: float = TO_YIELD_SHARE,
    edition: Edition = Edition.PLASTIC_TWIST,
) -> float:
    """The pull at which pull and twist together use a share of the yield stress, as torque tables assume.

    F = ν·R_p0.2·A₀/√(1 + 3[k(d₂/d₀)(P/(π·d₂) + 1.155·μ)]²), d₀ = (d₂+d₃)/2; name the edition. Newtons.
    """
    pitch_diameter_m = thread_pitch_diameter(diameter_m=diameter_m, pitch_m=pitch_m)
    mean_m = (pitch_diameter_m + thread_root_diameter(diameter_m=diameter_m, pitch_m=pitch_m)) / 2.0
    climb = pitch_m / (math.pi * pitch_diameter_m) + 1.155 * mu_thread
    twist = edition.value * pitch_diameter_m / mean_m * climb
    return share * yield_stress_Pa * math.pi / 4.0 * mean_m**2 / math.sqrt(1.0 + 3.0 * twist**2)


@formula(source="asme-b1-1-2003", where="appendix B, shear area of the internal thread, basic sizes")
def internal_thread_shear_area(*, diameter_m: float, pitch_m: float, engagement_m: float) -> float:
    """The area that tears when the thread in the softer part strips. Square metres.

    A = π·d·(L/P)·(P/2 + (d − D₂)/√3); with basic sizes this is 0.875·π·d·L. It tears at the screw's outside.
    """
    require_not_negative(engagement_m=engagement_m)
    gap_m = diameter_m - thread_pitch_diameter(diameter_m=diameter_m, pitch_m=pitch_m)
    return math.pi * diameter_m * engagement_m / pitch_m * (pitch_m / 2.0 + gap_m / math.sqrt(3.0))


@formula(source="asme-b1-1-2003", where="appendix B, strength as shear area times shear stress")
def stripping_force(*, shear_area_m2: float, shear_strength_Pa: float) -> float:
    """The pull at which a thread of that shear area strips. Newtons."""
    return shear_area_m2 * shear_strength_Pa


@formula(source="hex-key-strength-page", where="torque = 0.2 · tensile strength · (width across flats)³")
def hex_key_torque(*, strength_Pa: float, width_m: float) -> float:
    """The torque at which a hexagon key of that strength gives, 0.2·R·s³. Newton metres."""
    require_positive(strength_Pa=strength_Pa, width_m=width_m)
    return 0.2 * strength_Pa * width_m**3
