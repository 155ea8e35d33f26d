"""Soldering a thick wire: the heat a joint needs, and what the wire carries away meanwhile."""

from __future__ import annotations

import math

from snugfast.core.marks import formula
from snugfast.physics.leads.wires import COPPER_J_kgK, COPPER_kg_m3
from snugfast.physics.validation import require_positive

BRASS_J_kgK = 380.0
SOLDER_J_kgK, SOLDER_MELTS_J_kg = 170.0, 50e3
COPPER_W_mK = 390.0


@formula(source="openstax-university-physics-2", where="ch. 1.4 and 1.5: Q = m·c·ΔT, and the heat of melting")
def joint_heat(*, area_m2: float, stripped_m: float, cup_kg: float, solder_kg: float, rise_K: float) -> float:
    """What wire end, cup and solder take to be hot enough. Joules."""
    require_positive(area_m2=area_m2, stripped_m=stripped_m, rise_K=rise_K)
    wire_J = area_m2 * stripped_m * COPPER_kg_m3 * COPPER_J_kgK * rise_K
    return wire_J + cup_kg * BRASS_J_kgK * rise_K + solder_kg * (SOLDER_J_kgK * rise_K + SOLDER_MELTS_J_kg)


@formula(source="openstax-university-physics-2", where="ch. 1.6, conduction, P = k·A·ΔT/d")
def carried_away(*, area_m2: float, length_m: float, rise_K: float) -> float:
    """What the wire carries away from the joint. Watts."""
    require_positive(area_m2=area_m2, length_m=length_m)
    return COPPER_W_mK * area_m2 * rise_K / length_m


def seconds_to_melt(*, heat_J: float, iron_W: float, away_W: float) -> float:
    """How long an iron takes; infinite where the wire carries away what it gives."""
    left_W = iron_W - away_W
    return heat_J / left_W if left_W > 0.0 else math.inf
