"""Learning a steady defect rate from counts: what was found and what failed, whole cars or whole fleets.

Defects of the pooled delay-time model fall into independent Poisson counts, one for each interval and fate,
so a gamma prior of the rate stays gamma. (The grid that follows one part event by event is in `beliefs`.)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import lgamma, log

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.upkeep.delay_time import pooled_weights


@dataclass(frozen=True, slots=True)
class GammaRate:
    """What is known of a rate: gamma with this shape and this much exposure behind it."""

    shape: float
    exposure: float

    def __post_init__(self) -> None:
        if not (self.shape > 0.0 and self.exposure > 0.0):
            raise ImpossibleInput("A gamma law needs a shape and an exposure above zero.", "Give both.")

    @property
    def mean(self) -> float:
        """Mean rate, per clock unit."""
        return self.shape / self.exposure

    @property
    def spread(self) -> float:
        """Standard deviation of the rate, per clock unit."""
        return float(self.shape**0.5) / self.exposure


@dataclass(frozen=True, slots=True)
class LearnedRate:
    """The rate after a record, and how likely the record was before it (to compare delays and detections)."""

    rate: GammaRate
    log_marginal: float
    unseen: float  # per unit of rate: defects that still wait, neither found nor failed


@formula(source="nist-handbook", where="section 8.4.6: gamma prior, Poisson counts")
def after_counts(prior: GammaRate, *, events: int, exposure: float) -> GammaRate:
    """The rate after so many events in so much exposure."""
    return GammaRate(prior.shape + events, prior.exposure + exposure)


def learn_rate(
    prior: GammaRate,
    *,
    intervals: Sequence[float],
    failed: Sequence[int],
    found: Sequence[int],
    delay: float,
    detection: float,
) -> LearnedRate:
    """The rate after a record of checks at the ends of intervals; delay and detection taken as known.

    Perfect checks leave nothing waiting: then the whole exposure counts, whatever the delay.
    Raises ImpossibleInput when the three sequences differ in length.
    """
    if not len(intervals) == len(failed) == len(found):
        raise ImpossibleInput(
            "Intervals, failures and finds do not pair up.", "Give one of each per interval."
        )
    by_failure, by_find, unseen = pooled_weights(intervals=intervals, delay=delay, detection=detection)
    seen = float(by_failure.sum() + by_find.sum())
    counts = [*failed, *found]
    rate = after_counts(prior, events=sum(counts), exposure=seen)
    marginal = prior.shape * log(prior.exposure) - lgamma(prior.shape)
    marginal += lgamma(rate.shape) - rate.shape * log(rate.exposure)
    for count, weight in zip(counts, [*by_failure, *by_find], strict=True):
        if count:
            marginal += count * log(weight) - lgamma(count + 1)
    return LearnedRate(rate, float(marginal), unseen)
