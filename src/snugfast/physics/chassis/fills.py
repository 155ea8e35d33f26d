"""How much oil goes into a shock or a diff, and how much room it needs when it gets warm."""

from __future__ import annotations

import math

from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive


@formula(source="fluid-practice", where="a cylinder: bore over stroke and a little more")
def shock_volume(*, bore_m: float, stroke_m: float, beyond_m: float) -> float:
    """What a shock holds with its shaft out: its bore over the stroke and a little more. m³."""
    require_positive(bore_m=bore_m, stroke_m=stroke_m)
    require_not_negative(beyond_m=beyond_m)
    return math.pi / 4.0 * bore_m**2 * (stroke_m + beyond_m)


@formula(source="silicone-oil-pages", where="about 1 % for 10 K", warmer_K=Span(0.0, 100.0))
def air_to_leave(*, swells_per_K: float, warmer_K: float) -> float:
    """The share of a case to leave empty, so that warm oil has room: s/(1 + s), s = swelling. 0 to 1."""
    require_not_negative(swells_per_K=swells_per_K, warmer_K=warmer_K)
    swelling = swells_per_K * warmer_K
    return swelling / (1.0 + swelling)
