"""What plastics bear: the tooth-foot strength of acetal and nylon gears, warm and after many loads.

From memory of VDI 2736 part 2 and never checked against its text: marked so, and never the only ground for
a verdict.
"""

from __future__ import annotations

import math

from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_positive

MPa = 1e6


@formula(
    source="vdi-2736-2",
    where="tooth-root fatigue strength, acetal",
    temperature_degC=Span(20.0, 100.0),
    load_cycles=Span(1e5, 1e9),
)
def acetal_tooth_strength(*, temperature_degC: float, load_cycles: float) -> float:
    """The bending stress an acetal tooth foot survives for a number of loads. Pascals.

    σ = 26 − 0.0025·ϑ² + 400·N^−0.2 in MPa, ϑ the tooth temperature in °C.
    """
    require_positive(load_cycles=load_cycles)
    return (26.0 - 0.0025 * temperature_degC**2 + 400.0 * math.pow(load_cycles, -0.2)) * MPa


@formula(
    source="vdi-2736-2",
    where="tooth-root fatigue strength, polyamide 66",
    temperature_degC=Span(20.0, 100.0),
    load_cycles=Span(1e5, 1e9),
)
def nylon_tooth_strength(*, temperature_degC: float, load_cycles: float) -> float:
    """The bending stress a nylon 6/6 tooth foot survives for a number of loads. Pascals.

    σ = 30 − 0.22·ϑ + (4600 − 900·ϑ^0.3)·N^(−1/3) in MPa, ϑ the tooth temperature in °C.
    """
    require_positive(load_cycles=load_cycles, temperature_degC=temperature_degC)
    warm = 4600.0 - 900.0 * math.pow(temperature_degC, 0.3)
    return (30.0 - 0.22 * temperature_degC + warm / math.cbrt(load_cycles)) * MPa
