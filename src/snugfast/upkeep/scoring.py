"""How good the forecasts were: whether what was given one chance in ten came one time in ten."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Group:
    """Forecasts of about the same chance: their mean, how many there were, and the share that came true."""

    forecast: float
    count: int
    observed: float


@dataclass(frozen=True, slots=True)
class Score:
    """A set of forecasts held against what happened.

    brier = reliability − resolution + uncertainty + within. `within` is what grouping forecasts that differ
    leaves over; it is 0 when each group holds one chance only. Single failures are so random that even
    perfect knowledge shows little skill: judge by reliability, and by the log score beside that of the base
    rate.
    """

    groups: tuple[Group, ...]
    brier: float
    reliability: float  # 0 is perfect
    resolution: float
    uncertainty: float
    within: float
    log_score: float  # mean surprise in nats, less is better
    base_rate: float
    base_rate_log_score: float
    unbiased_reliability: float  # corrected for the chance part in groups of few; may fall below 0
    unbiased_resolution: float
    unbiased_uncertainty: float

    @property
    def skill(self) -> float:
        """Brier skill against always forecasting the base rate; 0 without any event to tell apart."""
        return 1.0 - self.brier / self.uncertainty if self.uncertainty else 0.0


@formula(source="murphy-1973", where="partition of the Brier score; unbiased parts after ferro-fricker-2012")
def score(
    *, forecasts: Sequence[float], outcomes: Sequence[bool], edges: Sequence[float] | None = None
) -> Score:
    """Brier score with its parts, log score and the table of groups.

    `edges` are the inner ends of the groups; without them every chance is a group of its own. A forecast of 0
    or 1 that was wrong would be infinitely surprising; it counts as one in a thousand million.
    Raises ImpossibleInput for no forecasts, for chances that are none, or when the two do not pair up.
    """
    chance, came = np.array(forecasts, dtype=float), np.array(outcomes, dtype=float)
    if chance.size != came.size or chance.size == 0:
        raise ImpossibleInput("Forecasts and outcomes do not pair up.", "Give one outcome for each forecast.")
    if chance.min() < 0.0 or chance.max() > 1.0 or not np.isin(came, (0.0, 1.0)).all():
        raise ImpossibleInput("A forecast or an outcome cannot be.", "Give chances, and yes or no.")
    ends = np.unique(chance)[1:] if edges is None else np.array(edges, dtype=float)
    place = np.searchsorted(ends, chance, side="right")
    count = np.bincount(place, minlength=ends.size + 1)
    used = count > 0
    n = count[used]
    mean = np.bincount(place, chance, ends.size + 1)[used] / n
    seen = np.bincount(place, came, ends.size + 1)[used] / n
    base = float(came.mean())
    brier = float(((chance - came) ** 2).mean())
    reliability = float((n * (mean - seen) ** 2).sum() / chance.size)
    resolution = float((n * (seen - base) ** 2).sum() / chance.size)
    uncertainty = base * (1.0 - base)
    noise = float((n * seen * (1.0 - seen) / np.maximum(n - 1, 1))[n > 1].sum() / chance.size)
    spare = uncertainty / (chance.size - 1) if chance.size > 1 else 0.0
    return Score(
        groups=tuple(Group(float(m), int(k), float(o)) for m, k, o in zip(mean, n, seen, strict=True)),
        brier=brier,
        reliability=reliability,
        resolution=resolution,
        uncertainty=uncertainty,
        within=brier - (reliability - resolution + uncertainty),
        log_score=_surprise(chance, came),
        base_rate=base,
        base_rate_log_score=_surprise(np.full(chance.shape, base), came),
        unbiased_reliability=reliability - noise,
        unbiased_resolution=resolution - noise + spare,
        unbiased_uncertainty=uncertainty + spare,
    )


def _surprise(chance: Floats, came: Floats) -> float:
    sure = np.clip(chance, 1e-9, 1.0 - 1e-9)
    return float(-np.where(came > 0.0, np.log(sure), np.log1p(-sure)).mean())
