"""A pack's resistance from two steps, from a pulse, or from the volts and amperes of a whole run.

Leads and plugs are part of what is measured. Each way gives its own series; they are never mixed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import BadInput, ImpossibleInput
from snugfast.core.marks import formula

Floats = NDArray[np.float64]

# Residuals beyond this many scales are weighed down; 95 % as sharp as least squares on clean data.
HUBER_SCALES = 1.345
# Median absolute residual of a normal spread, in standard deviations.
MAD_OF_NORMAL = 0.6745
ROUNDS = 200


@dataclass(frozen=True, slots=True)
class RunFit:
    """What a logged run says of a pack: rest volts at its start, resistance, fall of volts per coulomb.

    `resistance_sd_ohm` is the standard error of the resistance.
    """

    rest_V: float
    resistance_ohm: float
    fall_V_per_C: float
    resistance_sd_ohm: float


@formula(source="iec-61960", where="direct-current resistance, two currents")
def two_step_resistance(
    *, small_A: float, volts_at_small_V: float, large_A: float, volts_at_large_V: float
) -> float:
    """Resistance in Ω from the volts at a small and then a large current.

    (U1 − U2)/(I2 − I1). Raises ImpossibleInput unless the second current is larger.
    """
    if not large_A > small_A >= 0:
        raise ImpossibleInput(
            "The second current is not larger than the first.", "Give the small current first."
        )
    return (volts_at_small_V - volts_at_large_V) / (large_A - small_A)


@formula(source="doe-battery-manual", where="pulse resistance, change of volts over change of current")
def pulse_resistance(*, before_V: float, after_V: float, pulse_A: float) -> float:
    """Resistance in Ω from the volts at rest and at the end of a pulse; it holds the charge used as well."""
    if not pulse_A > 0:
        raise ImpossibleInput("A pulse has a current above zero.", "Give the current of the pulse.")
    return (before_V - after_V) / pulse_A


@formula(source="huber-1964", where="weights of 1.345 scales, repeated")
def run_resistance(
    *, current_A: Sequence[float], charge_used_C: Sequence[float], volts_V: Sequence[float]
) -> RunFit:
    """A pack's resistance from a logged run, with a few bad samples let pass.

    V = U0 − R·I − b·q: without the charge term b the falling rest voltage would be booked as resistance.
    Least squares repeated with Huber's weights until nothing moves. Raises BadInput with fewer than six
    samples, or with samples that cannot tell the terms apart.
    """
    if not len(current_A) == len(charge_used_C) == len(volts_V) >= 6:
        raise BadInput(
            "A run needs at least six samples of volts, amperes and charge.", "Log the run a little longer."
        )
    volts = np.asarray(volts_V, float)
    # Charge is scaled to its largest so that the three columns are of one size.
    used = np.asarray(charge_used_C, float)
    scale_C = float(np.max(np.abs(used))) or 1.0
    terms = np.column_stack([np.ones_like(volts), -np.asarray(current_A, float), -used / scale_C])
    if np.linalg.matrix_rank(terms) < 3:
        raise BadInput(
            "The current hardly changes in this run, so it does not show the resistance.",
            "Log a run with soft and hard throttle.",
        )
    found, weights = _huber(terms, volts)
    residuals = volts - terms @ found
    spread = float(np.sum(weights * residuals**2)) / (len(volts) - 3)
    cover = np.linalg.inv(terms.T @ (weights[:, None] * terms)) * spread
    return RunFit(
        rest_V=float(found[0]),
        resistance_ohm=float(found[1]),
        fall_V_per_C=float(found[2]) / scale_C,
        resistance_sd_ohm=float(np.sqrt(cover[1, 1])),
    )


def _huber(terms: Floats, volts: Floats) -> tuple[Floats, Floats]:
    """Coefficients and final weights."""
    weights = np.ones_like(volts)
    found = _least_squares(terms, volts, weights)
    for _ in range(ROUNDS):
        residuals = np.abs(volts - terms @ found)
        scale = float(np.median(residuals)) / MAD_OF_NORMAL
        if scale <= 1e-12 * float(np.max(np.abs(volts))):
            break  # an exact fit has nothing to weigh down
        weights = np.minimum(1.0, HUBER_SCALES * scale / np.maximum(residuals, 1e-300))
        moved = _least_squares(terms, volts, weights)
        still = bool(np.max(np.abs(moved - found)) < 1e-12)
        found = moved
        if still:
            break
    return found, weights


def _least_squares(terms: Floats, volts: Floats, weights: Floats) -> Floats:
    root = np.sqrt(weights)
    return np.asarray(np.linalg.lstsq(terms * root[:, None], volts * root, rcond=None)[0])
