"""What a radio sends to a servo: pulses, per cent, centre offset, rate, curve.

Per cent is no unit: each radio means another pulse by it. Pulses are kept in microseconds.
"""

from __future__ import annotations

import math
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_positive

CENTRE_us = 1500.0
PULSES_us = Span(500.0, 2500.0)


def check_pulse(name: str, pulse_us: float) -> None:
    """Raise ImpossibleInput for a pulse no hobby servo is sent; milliseconds are named as the likely slip."""
    if math.isfinite(pulse_us) and PULSES_us.holds(pulse_us):
        return
    way_out = f"Give {PULSES_us.low:.0f} to {PULSES_us.high:.0f} µs; centre is about {CENTRE_us:.0f} µs."
    if 0.5 <= pulse_us <= 2.5:
        way_out = f"If that is milliseconds, write {pulse_us * 1e3:.0f} µs."
    elif abs(pulse_us) <= 150.0:
        way_out = f"If that is per cent, write {pulse_us:g} %. " + way_out
    raise ImpossibleInput(f"{name}: a pulse of {pulse_us:g} µs is none a servo follows.", way_out)


@formula(source="servo-pulse-convention", where="1000 µs one end, 2000 µs the other; others use 400 µs")
def pulse_of_percent(*, percent: float, half_range_us: float, centre_us: float = CENTRE_us) -> float:
    """The pulse that so many per cent of a radio's travel mean, in µs: centre + half range · per cent / 100.

    `half_range_us` is what 100 % means on that radio: 500 by one convention, 400 by another.
    """
    require_positive(half_range_us=half_range_us)
    return centre_us + half_range_us * percent / 100.0


@formula(source="servo-pulse-convention", where="1000 µs one end, 2000 µs the other; others use 400 µs")
def percent_of_pulse(*, pulse_us: float, half_range_us: float, centre_us: float = CENTRE_us) -> float:
    """How many per cent of a radio's travel a pulse is, without a sign for the side."""
    require_positive(half_range_us=half_range_us)
    return 100.0 * abs(pulse_us - centre_us) / half_range_us


class OffsetLaw(Enum):
    """What a centre offset (sub-trim) does to the ends."""

    LIMITS_STAY = "the ends stay"
    THROW_SHIFTS = "the ends move with it"


@formula(
    source="transmitter-manual", where="centre offset: limits stay, or the whole throw shifts and is clipped"
)
def pulse_of_demand(
    *, demand: float, centre_us: float, low_us: float, high_us: float, half_range_us: float, law: OffsetLaw
) -> float:
    """The pulse for a steering demand from −1 to 1 with an offset centre, in µs; never past an end point."""
    if not low_us < centre_us < high_us:
        raise ImpossibleInput(
            f"A centre of {centre_us:g} µs does not lie between the ends {low_us:g} and {high_us:g} µs.",
            "Give the shorter pulse first, then centre, then the longer.",
        )
    if law is OffsetLaw.LIMITS_STAY:
        return centre_us + demand * ((high_us - centre_us) if demand >= 0.0 else (centre_us - low_us))
    return min(high_us, max(low_us, centre_us + demand * half_range_us))


@formula(source="steering-curve", where="y = (1 − e)·x + e·x³")
def softened(*, demand: float, softness: float) -> float:
    """The demand after a curve: softer in the middle, the ends the same. `softness` 0 is a straight line."""
    return (1.0 - softness) * demand + softness * demand**3
