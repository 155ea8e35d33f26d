"""A motor on the bench: speed per volt, windings, no-load current, and what a hobby meter can prove.

Three ways of naming rpm per volt from a spun motor differ by up to 41 %: by the peak of the voltage, by what
a controller makes of it (six steps), by what a meter shows. Only the second is what running without load
gives, and it is the one used here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.leads.wires import warm_ratio
from snugfast.physics.validation import require_not_negative, require_positive


class Volts(Enum):
    """Which voltage of a spun motor rpm are divided by."""

    PEAK = "peak"
    SIX_STEP = "six-step mean"
    METER = "r.m.s., as a meter shows it"


_PER_RMS = {
    Volts.PEAK: math.sqrt(2.0),
    Volts.SIX_STEP: 3.0 / math.pi * math.sqrt(2.0),
    Volts.METER: 1.0,
}


@formula(source="dc-motor-note", where="V = I·R + E without load: kV = n/(V − I₀·R)")
def kv_without_load(*, rpm: float, volts_V: float, current_A: float, ohm: float) -> float:
    """Rpm per volt from a run without load. Raises ImpossibleInput where I₀·R takes all the volts."""
    require_positive(rpm=rpm, volts_V=volts_V)
    require_not_negative(current_A=current_A, ohm=ohm)
    left_V = volts_V - current_A * ohm
    if left_V <= 0.0:
        raise ImpossibleInput(
            f"{current_A:g} A through {ohm * 1e3:.3g} mΩ take more than {volts_V:g} V.",
            "Check current and resistance: a two-wire meter reads its own leads too.",
        )
    return rpm / left_V


@formula(source="kv-from-spinning", where="sine between two wires: V_pk = √2·V_rms; six-step mean (3/π)·V_pk")
def kv_spun(*, rpm: float, rms_V: float, by: Volts = Volts.SIX_STEP) -> float:
    """Rpm per volt of a motor turned from outside, from the a.c. volts between two of its wires."""
    require_positive(rpm=rpm, rms_V=rms_V)
    return rpm / (_PER_RMS[by] * rms_V)


@formula(
    source="kv-from-spinning", where="sound windings are alike; a shorted pair was seen at about a tenth"
)
def spread(readings: Sequence[float]) -> float:
    """How far apart readings of three alike windings lie, (most − least)/mean."""
    require_positive(**{f"reading {number}": value for number, value in enumerate(readings, start=1)})
    return (max(readings) - min(readings)) / (sum(readings) / len(readings))


@formula(source="openstax-university-physics-2", where="ch. 10.2: three windings in a star, taken two by two")
def star_windings(*, ab_ohm: float, bc_ohm: float, ca_ohm: float) -> tuple[float, float, float]:
    """The three windings behind what each pair of wires reads, (ab + ca − bc)/2 and so on. Ohms."""
    require_positive(ab_ohm=ab_ohm, bc_ohm=bc_ohm, ca_ohm=ca_ohm)
    half = (ab_ohm + bc_ohm + ca_ohm) / 2.0
    return half - bc_ohm, half - ca_ohm, half - ab_ohm


@formula(source="copper-coefficient", where="R₂₀ = R/(1 + 0.00393·(T − 20 °C))")
def ohm_at_20(*, ohm: float, degC: float) -> float:
    """What a winding read warm would be at 20 °C. Ohms."""
    require_positive(ohm=ohm)
    return ohm / warm_ratio(degC=degC)


@formula(source="jcgm-100-2008", where="5.1.6: relative uncertainties of factors, uncorrelated")
def combined(relatives: Sequence[float]) -> float:
    """The relative uncertainty of a product or quotient: the root of the sum of squares."""
    return math.sqrt(math.fsum(one * one for one in relatives))


@formula(source="dc-motor-note", where="one constant: volts per speed is torque per ampere")
def torque_left(*, kv_now: float, kv_then: float) -> float:
    """How much torque per ampere is left of what there was: rpm per volt go up as magnets weaken."""
    require_positive(kv_now=kv_now, kv_then=kv_then)
    return kv_then / kv_now
