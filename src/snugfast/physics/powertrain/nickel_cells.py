"""Nickel-metal hydride cells as the power train sees them: a rest voltage by charge, from a published law.

The law is one of discharge. Its constants belong to one cell and are recalled, so whoever uses it takes a
wide band; what a car does with such a pack is good for comparing gears, not for trusting a decimal.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.marks import Span, formula

LEAST_CHARGE = 0.02
"""Below this share the law falls without end; what is left then is taken to stand still."""


@dataclass(frozen=True, slots=True)
class NickelLaw:
    """Constants of one cell: volts, volts, volts, and the exponent for a whole charge (no unit)."""

    constant_V: float
    polarisation_V: float
    exponential_V: float
    exponent: float


@formula(
    source="tremblay-dessaint-2009",
    where="discharge model: E0 − K·Q/(Q − it) + A·exp(−B·it), with charge as a share",
    charge_share=Span(0.1, 1.0),
)
def nickel_rest_V(*, charge_share: float, law: NickelLaw) -> float:
    """Volts of one nickel cell without current, by the share of its charge that is left.

    Flat for most of the way, with a knee at the end.
    """
    charge = max(charge_share, LEAST_CHARGE)
    fall_V = law.polarisation_V / charge
    rise_V = law.exponential_V * math.exp(-law.exponent * (1.0 - charge))
    return law.constant_V - fall_V + rise_V
