"""Connectors: volts lost across a contact, its heat, what a reading in millivolts says of it."""

from __future__ import annotations

import math

from snugfast.core.marks import Span, formula
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.validation import require_not_negative, require_positive

LORENZ_V2_K2 = 2.44e-8


@formula(source="openstax-university-physics-2", where="ch. 9.5, P = I²·R")
def contact_heat(*, ohm: float, rms_A: float) -> float:
    """What one contact turns into heat. Watts; the current is the root mean square of the run."""
    require_not_negative(ohm=ohm, rms_A=rms_A)
    return ohm * rms_A**2


@formula(source="openstax-university-physics-2", where="ch. 9.4, R = V/I, of the reading across one pair")
def contact_resistance(*, drop_V: float, current_A: float) -> float:
    """What a contact resists, from the volts across it at a known current. Ohms."""
    require_positive(drop_V=drop_V, current_A=current_A)
    return drop_V / current_A


@formula(
    source="contact-physics-page", where="T² = T₀² + U²/(4L); near 3200 K a volt", drop_V=Span(0.0, 0.13)
)
def hottest_spot(*, drop_V: float, body_degC: float) -> float:
    """How hot the spots are where metal touches metal, inside a contact that drops so many volts. °C."""
    require_not_negative(drop_V=drop_V)
    return math.sqrt((body_degC + ZERO_CELSIUS_K) ** 2 + drop_V**2 / (4.0 * LORENZ_V2_K2)) - ZERO_CELSIUS_K


@formula(source="contact-physics-page", where="Babikow: R = c·F^(−m)", force_N=Span(10.0, 200.0))
def clean_contact(*, constant_ohm: float, force_N: float, exponent: float) -> float:
    """The spots of a clean contact under a force. Ohms. What a plug shows above it is film and metal."""
    require_positive(constant_ohm=constant_ohm, force_N=force_N)
    return float(constant_ohm * force_N**-exponent)
