"""A few readings of one thing: their mean, how sure it is, and whether it has changed since the baseline.

Friction is compared with the car's own earlier readings, as a ratio: the inertia of the wheel, the length of
the floor and the lean of the table then fall out. The ratio is judged on logarithms with Welch's test, which
does not ask the two sets to scatter alike.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

from scipy.special import stdtr, stdtrit

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.physics.validation import require_positive


@dataclass(frozen=True, slots=True)
class Measured:
    """A value and its standard uncertainty, in one unit."""

    value: float
    uncertainty: float = 0.0

    @property
    def relative(self) -> float:
        """Uncertainty as a share of the value."""
        return self.uncertainty / abs(self.value)


def mean_of(readings: Sequence[float]) -> Measured:
    """The mean of repeated readings with the standard uncertainty of the mean, s/√n.

    Raises ImpossibleInput for fewer than two: one reading says nothing of its own scatter.
    """
    if len(readings) < 2:
        raise ImpossibleInput("One reading does not show how much readings scatter.", "Take three or more.")
    return Measured(statistics.fmean(readings), statistics.stdev(readings) / math.sqrt(len(readings)))


@formula(source="jcgm-100-2008", where="section 5.1.6, eq. 12, products of powers")
def product_uncertainty(*powers: tuple[Measured, float]) -> float:
    """The relative standard uncertainty of a product of powers, √Σ(p·u(x)/x)², its factors independent."""
    return math.sqrt(math.fsum((power * factor.relative) ** 2 for factor, power in powers))


@formula(source="jcgm-100-2008", where="annex G.4.1, eq. G.2b (Welch and Satterthwaite)")
def effective_degrees(*parts: tuple[float, float]) -> float:
    """Degrees of freedom of a sum of independent parts, each a standard uncertainty with its degrees."""
    total = math.fsum(uncertainty**2 for uncertainty, _ in parts)
    return total**2 / math.fsum(uncertainty**4 / degrees for uncertainty, degrees in parts)


class Change(Enum):
    """What the readings say against the baseline."""

    MORE = "more friction than its own baseline"
    LESS = "less friction than its own baseline"
    NOT_SEEN = "no change seen"


@dataclass(frozen=True, slots=True)
class Comparison:
    """Friction now over friction then, with a 95 % band, the p-value of “no change”, and the verdict."""

    ratio: float
    low: float
    high: float
    p_value: float
    change: Change
    sentence: str


def compare_with_baseline(
    now: Sequence[float], baseline: Sequence[float], *, resolution: float, level: float = 0.05
) -> Comparison:
    """Whether friction differs from the car's own baseline, beyond the scatter of both sets of readings.

    Readings are friction figures above zero (torques, coefficients, or 1/time of equal spins). `resolution`
    is the finest step of a reading as a share of it (0.1 s in 5 s: 0.02): scatter is never taken to be less
    than that step allows, so two equal readings prove nothing. Raises ImpossibleInput for fewer than two.
    """
    require_positive(resolution=resolution, level=level)
    mean_now, error_now, degrees_now = _log_mean(now, resolution)
    mean_then, error_then, degrees_then = _log_mean(baseline, resolution)
    error = math.hypot(error_now, error_then)
    degrees = effective_degrees((error_now, degrees_now), (error_then, degrees_then))
    shift = mean_now - mean_then
    p_value = 2.0 * float(stdtr(degrees, -abs(shift) / error))
    reach = float(stdtrit(degrees, 0.975)) * error
    ratio, low, high = math.exp(shift), math.exp(shift - reach), math.exp(shift + reach)
    change = Change.NOT_SEEN if p_value > level else Change.MORE if shift > 0.0 else Change.LESS
    sentence = f"{ratio:.2f} times its baseline ({low:.2f} to {high:.2f}): {change.value}."
    return Comparison(ratio, low, high, p_value, change, sentence)


def _log_mean(readings: Sequence[float], resolution: float) -> tuple[float, float, float]:
    """Mean of the logarithms, its standard error (with the floor of the step), and degrees of freedom."""
    for reading in readings:
        require_positive(reading=reading)
    logs = [math.log(reading) for reading in readings]
    mean = mean_of(logs)
    floor = resolution / math.sqrt(12.0 * len(logs))
    return mean.value, max(mean.uncertainty, floor), len(logs) - 1.0
