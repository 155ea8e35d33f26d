"""How one mode behaves before anything is known about this very car, and where a belief starts."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from snugfast.core.errors import ImpossibleInput

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class ModeLaw:
    """Arrival, delay and sudden share of one mode, all in the units of its own clock.

    Defects arise at the hazard k·h(x)·m. h is 1/`mean_between_defects` when `wear_shape` is 1, else the
    Weibull hazard in the part's own age x with that shape and that mean life. k is the car's own multiplier,
    gamma with shape `spread_shape` and mean one. m is one unless an event has raised the rate; the extra
    then fades by e over every `fade` of exposure. A share `sudden_share` of what arises fails at once, with
    nothing to see before; the rest becomes a defect that fails after an exponential delay. The mean delay is
    `mean_delay` times a lognormal multiplier with mean one and spread `delay_log_sd`.
    Raises ImpossibleInput for numbers that cannot be.
    """

    mean_between_defects: float
    spread_shape: float
    mean_delay: float
    delay_log_sd: float = 0.4
    sudden_share: float = 0.0
    wear_shape: float = 1.0
    fade: float = 1.0

    def __post_init__(self) -> None:
        for name in ("mean_between_defects", "spread_shape", "mean_delay", "delay_log_sd", "fade"):
            if not 0.0 < getattr(self, name) < float("inf"):
                raise ImpossibleInput(f"{name} is {getattr(self, name)}.", "Give a number above zero.")
        if not 0.0 <= self.sudden_share <= 1.0:
            raise ImpossibleInput(f"sudden_share is {self.sudden_share}.", "Give a share from 0 to 1.")
        if not 1.0 <= self.wear_shape < float("inf"):
            raise ImpossibleInput(
                f"wear_shape is {self.wear_shape}.",
                "Give 1 for a steady rate, more for one that grows with age.",
            )


@dataclass(frozen=True, slots=True)
class UnknownExposure:
    """Exposure nobody wrote down: amounts and the chance of each."""

    amounts: tuple[float, ...]
    chances: tuple[float, ...]

    @classmethod
    def between(cls, low: float, high: float) -> UnknownExposure:
        """Anything from `low` to `high`, all equally likely."""
        raise NotImplementedError

    @classmethod
    def about(cls, mean: float) -> UnknownExposure:
        """Exponential with this mean: all that is known is the order of size."""
        raise NotImplementedError


@dataclass(frozen=True, slots=True)
class Start:
    """Where a belief starts.

    `unchecked` is the exposure since somebody last looked (None: a part just fitted, sound).
    `age` is the part's own age, for wear-out. `spread_factor` divides the gamma shape of the law: above one
    for a car with an unknown past. `presence` is P(defect) at the start of `unchecked`.
    `rate_log_weights` are added to the prior's log weights over the rate multipliers: what a predecessor on
    the same clock or a pool of like cars has taught.
    """

    unchecked: UnknownExposure | None = None
    age: float = 0.0
    presence: float = 0.0
    spread_factor: float = 1.0
    rate_log_weights: NDArray[np.float64] | None = None


NEW = Start()
