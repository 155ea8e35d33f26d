"""What a fit learned of a car and its driver, and how sure it is, so that it can be asked of other runs.

How hard one drives differs from ground to ground and from run to run. So besides the knobs each way of
driving that was read has an effort of its own, on top of the driver's; one that was not read stays wide.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.physics.study.knobs import Knob

Numbers = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class EffortSpread:
    """How far efforts differ, as standard deviations of the logarithm: on another ground, in another run."""

    on_a_ground: float = 0.0
    in_a_run: float = 0.0


@dataclass(frozen=True, slots=True)
class Learned:
    """Knobs, then efforts of the ways of driving that were read: logarithms and their joint covariance."""

    knobs: tuple[Knob, ...]
    styles: tuple[str, ...]
    log_factors: tuple[float, ...]
    log_covariance: tuple[tuple[float, ...], ...]
    effort_spread: EffortSpread

    def on(self, style: str, *, one_run: bool = False) -> LearnedOn:
        """What holds for one way of driving: its own effort goes into the knob of the effort.

        `one_run` takes in that a single run is driven harder or softer than such runs are on the whole.
        """
        many = len(self.knobs)
        joint = np.array(self.log_covariance)
        fold = np.eye(many, len(self.log_factors))
        at = np.array(self.log_factors)
        extra = 0.0
        if Knob.EFFORT in self.knobs:
            effort = self.knobs.index(Knob.EFFORT)
            if style in self.styles:
                fold[effort, many + self.styles.index(style)] = 1.0
            else:
                extra = self.effort_spread.on_a_ground**2
            extra += self.effort_spread.in_a_run**2 if one_run else 0.0
        covariance = fold @ joint @ fold.T
        if Knob.EFFORT in self.knobs:
            covariance[effort, effort] += extra
        return LearnedOn(self.knobs, fold @ at, covariance)


@dataclass(frozen=True, slots=True, eq=False)
class LearnedOn:
    """What was learned, for one way of driving: logarithms of the factors, shape (knobs,), and covariance."""

    knobs: tuple[Knob, ...]
    log_factors: Numbers
    covariance: Numbers

    @property
    def factors(self) -> Mapping[Knob, float]:
        """Each knob's factor, to turn a question by."""
        return {knob: math.exp(at) for knob, at in zip(self.knobs, self.log_factors, strict=True)}
