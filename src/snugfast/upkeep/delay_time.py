"""Defects that show before they fail: what is found, what fails, and how often to look.

Two models. The pooled one is a whole car: defects arise at a steady rate, each fails after a delay of its
own, checks find what is there with some chance. The renewed one is a single part, as good as new after each
defect. Everything is in the units of one exposure clock.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from math import ceil, exp, expm1, floor, gamma, inf, isfinite, log, log1p

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula
from snugfast.numerics.quadrature import integral, unit_rule
from snugfast.numerics.roots import rising_root

Floats = NDArray[np.float64]
Survival = Callable[[Floats], Floats]
ENOUGH = 1e-13  # a share of defects missed so often that the rest does not count


HALVINGS = 46  # of the 27 nats between the shortest and the longest interval: twelve figures


@dataclass(frozen=True, slots=True)
class CheckPlan:
    """How often to look, and what that costs. `interval` is infinite when never looking is cheapest."""

    interval: float
    cost_rate: float

    @property
    def never(self) -> bool:
        """Whether looking is not worth it at all."""
        return not isfinite(self.interval)


@formula(source="christer-lee-2000", where="perfect inspection, exponential delay: abstract; form of ours")
def defects_alive(*, interval: float, delay: float) -> float:
    """Defects still waiting at the end of an interval, per unit of arrival rate, when it began with none."""
    return -expm1(-interval / delay) * delay


@formula(source="christer-lee-2000", where="imperfect inspection, steady state: abstract; form of ours")
def backlog(*, interval: float, delay: float, detection: float) -> float:
    """Defects waiting just before a check, per unit of arrival rate, after many checks of the same kind."""
    kept = (1.0 - detection) * exp(-interval / delay)
    return defects_alive(interval=interval, delay=delay) / (1.0 - kept)


def failures_per_interval(*, rate: float, interval: float, delay: float, detection: float = 1.0) -> float:
    """Failures to expect between two checks; delay exponential, checks every `interval` for long.

    `rate` is defects per clock unit, `detection` the chance that a check finds a defect that is there.
    """
    return rate * (interval - detection * backlog(interval=interval, delay=delay, detection=detection))


def found_per_interval(*, rate: float, interval: float, delay: float, detection: float = 1.0) -> float:
    """Defects a check finds on average, in the same long run."""
    return rate * detection * backlog(interval=interval, delay=delay, detection=detection)


def failures_with_any_delay(
    *, rate: float, interval: float, survival: Survival, detection: float = 1.0
) -> float:
    """Failures to expect between two checks, whatever the delay's law.

    `survival` gives the chance that a delay is longer than each of an array of exposures.
    """
    caught, missed, look = 0.0, 1.0, 1
    while True:
        end = look * interval
        waiting = integral(lambda y, end=end: survival(end - y), 0.0, interval, points=48)  # type: ignore[misc]
        caught += detection * missed * waiting
        missed *= 1.0 - detection
        if missed * waiting <= ENOUGH * interval:
            return rate * (interval - caught)
        look += 1


def cost_rate(
    *,
    rate: float,
    interval: float,
    delay: float,
    detection: float,
    check_cost: float,
    restore_cost: float,
    failure_cost: float,
) -> float:
    """Money per clock unit when one checks every `interval`: checks, defects put right, failures."""
    failed = failures_per_interval(rate=rate, interval=interval, delay=delay, detection=detection)
    found = found_per_interval(rate=rate, interval=interval, delay=delay, detection=detection)
    return (check_cost + restore_cost * found + failure_cost * failed) / interval


def downtime_share(
    *, rate: float, interval: float, delay: float, detection: float, check_time: float, failure_time: float
) -> float:
    """Share of time lost to checks and failures when one checks every `interval`."""
    failed = failures_per_interval(rate=rate, interval=interval, delay=delay, detection=detection)
    return (check_time + failure_time * failed) / (interval + check_time)


def best_interval(
    *,
    rate: float,
    delay: float,
    detection: float,
    check_cost: float,
    restore_cost: float,
    failure_cost: float,
) -> CheckPlan:
    """How often to look so that money per clock unit is least; exponential delay.

    Never looking is best when a check costs at least r·λ·δ·(c_f − c_r). Otherwise the best interval is the
    one root of a rising function (see `best_intervals`); with a perfect check it is the Gamma(2, 1) quantile
    of c/(λδ(c_f − c_r)), times the delay.
    """
    dearer = failure_cost - restore_cost
    ones = np.ones(1)
    interval, excess = best_intervals(
        rate=ones * rate,
        delay=ones * delay,
        detection=ones * detection,
        check_cost=ones * check_cost,
        dearer=ones * dearer,
    )
    return CheckPlan(float(interval[0]), float(excess[0]) + restore_cost * rate)


def best_intervals(
    *, rate: Floats, delay: Floats, detection: Floats, check_cost: Floats, dearer: Floats
) -> tuple[Floats, Floats]:
    """Best interval and least excess cost rate for many modes at once; all arguments have one shape.

    `dearer` is what a failure costs more than putting the defect right in time. The excess counts checks and
    `dearer` per failure, but no restoring. With E = e^(−T/δ) and q = 1 − r the backlog is B = δ(1−E)/(1−qE),
    its slope B' = rE/(1−qE)², and the excess λ·dearer·(1 − rB/T) + c/T is stationary where
    B − T·B' = c/(rλ·dearer). The left side rises from 0 to δ, so there is one root or none; at it the excess
    is λ·dearer·(1 − rB'). A mode never worth a check gets an infinite interval and the excess λ·dearer.
    """
    stake = rate * dearer
    most = detection * stake * delay
    level = np.divide(check_cost, most, out=np.full(stake.shape, inf), where=most > 0.0)
    kept = 1.0 - detection

    def slope(passed: Floats) -> Floats:
        left = np.exp(-passed)
        return np.asarray(detection * left / (1.0 - kept * left) ** 2)

    def above(log_passed: Floats) -> Floats:
        passed = np.exp(log_passed)
        waiting = -np.expm1(-passed) / (1.0 - kept * np.exp(-passed))
        return np.asarray(waiting - passed * slope(passed) - level)

    low = np.full(stake.shape, log(1e-9))
    passed = np.exp(rising_root(above, low=low, high=log(700.0), steps=HALVINGS))
    worth = level < 1.0
    interval = np.where(worth, passed * delay, inf)
    return interval, np.where(worth, stake * (1.0 - detection * slope(passed)), stake)


@formula(source="navair-00-25-403", where="task interval, I = PF/n, n = ln P_acc / ln(1 − θ)")
def checks_within_delay(*, accepted_miss: float, detection: float) -> float:
    """How many checks must fall inside a fixed warning time so that all of them miss only this often."""
    if not (0.0 < accepted_miss < 1.0 and 0.0 < detection < 1.0):
        raise ImpossibleInput(
            "Both chances must lie between 0 and 1.", "Give numbers between, not at the ends."
        )
    return log(accepted_miss) / log1p(-detection)


@dataclass(frozen=True, slots=True)
class Renewed:
    """One part with Weibull exp{−(λt)^β} times to defect and delays, as good as new after each repair.

    It is looked at perfectly every interval, counted from its renewal; a defect found is put right at once,
    and so is a failure.
    """

    defect_rate: float
    defect_shape: float
    delay_rate: float
    delay_shape: float

    @property
    def mean_to_defect(self) -> float:
        """Mean exposure to the defect."""
        return gamma(1.0 + 1.0 / self.defect_shape) / self.defect_rate

    @property
    def mean_delay(self) -> float:
        """Mean exposure from defect to failure."""
        return gamma(1.0 + 1.0 / self.delay_shape) / self.delay_rate

    def no_defect(self, at: Floats) -> Floats:
        """P(no defect by then)."""
        return np.asarray(np.exp(-((self.defect_rate * at) ** self.defect_shape)))

    def outlasts(self, span: Floats) -> Floats:
        """P(the delay is longer)."""
        return np.asarray(np.exp(-((self.delay_rate * np.maximum(span, 0.0)) ** self.delay_shape)))

    def defect_density(self, at: Floats) -> Floats:
        """Density of the time to defect."""
        scaled = self.defect_rate * at
        steep = self.defect_shape * self.defect_rate * scaled ** (self.defect_shape - 1.0)
        return np.asarray(steep * np.exp(-(scaled**self.defect_shape)))


@formula(source="aven-jensen-2013", where="section 5.5.1, a₂(T)")
def chance_of_failure(*, part: Renewed, interval: float, within: float) -> float:
    """P(at least one failure by `within`) when the part is looked at every `interval`.

    Renewals without a failure fall on looks only, so their chances follow one from another: a part renewed
    at look i is renewed next at look k, without a failure, if its defect came in the interval before k and
    was outlasted.
    """
    looks = floor(within / interval + 1e-12)
    caught = [_defect_then(part, n * interval, (n + 1) * interval, (n + 1) * interval) for n in range(looks)]
    renewed = [1.0]
    for look in range(looks):
        renewed.append(sum(renewed[i] * caught[look - i] for i in range(look + 1)))
    safe = 0.0
    for look, chance in enumerate(renewed):
        left = within - look * interval
        start = (looks - look) * interval
        safe += chance * (float(part.no_defect(np.array(left))) + _defect_then(part, start, left, left))
    return 1.0 - safe


@formula(source="aven-jensen-2013", where="section 5.5.1, b(T)")
def share_defective(*, part: Renewed, interval: float) -> float:
    """Long-run share of exposure spent with a defect when the part is looked at every `interval`.

    One renewal cycle runs with a defect for ∫P(delay > z)dz, up to the next look.
    """
    defective = 0.0
    for n in range(ceil(_last_defect(part) / interval)):
        defective += integral(
            lambda x, n=n: part.defect_density(x) * _mean_wait(part, (n + 1) * interval - x),  # type: ignore[misc]
            n * interval,
            (n + 1) * interval,
            pieces=8,
        )
    return defective / (part.mean_to_defect + defective)


def _defect_then(part: Renewed, low: float, high: float, end: float) -> float:
    """P(the defect comes between low and high and has not failed by end)."""
    if high <= low:
        return 0.0
    return integral(lambda x: part.defect_density(x) * part.outlasts(end - x), low, high, pieces=8)


def _mean_wait(part: Renewed, longest: Floats) -> Floats:
    """∫P(delay > z)dz from 0 to each of an array of limits."""
    nodes, weights = unit_rule(64)
    return np.asarray(longest * (part.outlasts(longest[:, None] * nodes) * weights).sum(axis=1))


def _last_defect(part: Renewed) -> float:
    """An exposure by which the defect has come, but for one chance in 10¹⁶."""
    return float(37.0 ** (1.0 / part.defect_shape) / part.defect_rate)


def pooled_weights(
    *, intervals: Sequence[float], delay: float, detection: float
) -> tuple[Floats, Floats, float]:
    """Per unit of arrival rate: failures in each interval, finds at each check, defects left at the end.

    Intervals may differ; together the three add up to the whole exposure.
    """
    failed, found, carried = [], [], 0.0
    for span in intervals:
        alive = defects_alive(interval=span, delay=delay)
        failed.append(span - alive - carried * expm1(-span / delay))
        waiting = alive + carried * exp(-span / delay)
        found.append(detection * waiting)
        carried = (1.0 - detection) * waiting
    return np.array(failed), np.array(found), carried
