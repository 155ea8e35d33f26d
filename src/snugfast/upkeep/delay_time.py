"""Defects that show before they fail: what is found, what fails, and how often to look.

A whole car pooled: defects arise at a steady rate, each fails after a delay of its own, checks find what is
there with some chance. Everything is in the units of one exposure clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, expm1, inf, log

import numpy as np
from numpy.typing import NDArray

from snugfast.core.marks import formula
from snugfast.numerics.roots import rising_root

Floats = NDArray[np.float64]
HALVINGS = 46  # of the 27 nats between the shortest and the longest interval: twelve figures


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
