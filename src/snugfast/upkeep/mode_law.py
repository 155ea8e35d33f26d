"""How one mode behaves before anything is known about this very car, and where a belief starts."""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, log1p
from typing import TYPE_CHECKING

from snugfast.core.errors import ImpossibleInput
from snugfast.numerics.quadrature import unit_rule

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class ModeLaw:
    """Arrival, delay and sudden share of one mode, all in the units of its own clock.

    Defects arise at the hazard k·[h(x) + z/`mean_between_defects`]. h is 1/`mean_between_defects` when
    `wear_shape` is 1, else the Weibull hazard in the part's own age x with that shape and that mean life.
    k is the car's own multiplier, gamma with shape `spread_shape` and mean one. z is zero unless an event
    has raised the rate, to 1 + z times the mean one; it then fades by e over every `fade` of exposure.

    A share `sudden_share` of what arises fails at once, with nothing to see before; the rest becomes a
    defect that fails after an exponential delay (a defective part has no sudden failures of its own). So it
    is also the share of sudden failures among all failures when nobody ever checks. The mean delay is
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
            _demand(name, getattr(self, name), above=0.0)
        _demand_chance("sudden_share", self.sudden_share)
        if not 1.0 <= self.wear_shape <= 20.0:
            raise ImpossibleInput(
                f"wear_shape is {self.wear_shape}.",
                "Give 1 for a steady rate, more (up to 20) for one that grows with age.",
            )


@dataclass(frozen=True, slots=True)
class UnknownExposure:
    """Exposure nobody wrote down: amounts and the chance of each."""

    amounts: tuple[float, ...]
    chances: tuple[float, ...]

    def __post_init__(self) -> None:
        if len(self.amounts) != len(self.chances) or not self.amounts:
            raise ImpossibleInput("Amounts and chances do not pair up.", "Give one chance for each amount.")
        if min(self.amounts) < 0.0 or not all(map(isfinite, self.amounts)):
            raise ImpossibleInput("An exposure is below zero.", "Give amounts of zero or more.")
        if min(self.chances) < 0.0 or abs(sum(self.chances) - 1.0) > 1e-9:
            raise ImpossibleInput("The chances do not add up to one.", "Give chances that do.")

    @classmethod
    def between(cls, low: float, high: float) -> UnknownExposure:
        """Anything from `low` to `high`, all equally likely."""
        if not 0.0 <= low <= high:
            raise ImpossibleInput(
                f"An exposure cannot lie between {low:g} and {high:g}.", "Give the smaller end first."
            )
        nodes, weights = unit_rule(8)
        return cls(tuple((low + (high - low) * nodes).tolist()), tuple(weights.tolist()))

    @classmethod
    def about(cls, mean: float) -> UnknownExposure:
        """Exponential with this mean: only the order of size is known."""
        _demand("mean", mean, above=0.0)
        nodes, weights = unit_rule(16)
        return cls(tuple(-mean * log1p(-node) for node in nodes.tolist()), tuple(weights.tolist()))

    @property
    def mean(self) -> float:
        """The mean amount."""
        return sum(a * c for a, c in zip(self.amounts, self.chances, strict=True))


@dataclass(frozen=True, slots=True, eq=False)
class Start:
    """Where a belief starts; the plain one is a part just fitted and sound.

    `presence` is the chance of a defect, and `age` the part's own age (for wear-out), when somebody last
    looked; `unchecked` is what it has run since, if that is not known to be nothing. That it still runs now
    teaches nothing about the rates: nobody knows how many went before it.
    `spread_factor` divides the gamma shape of the law, so above one it widens the prior: for a car with an
    unknown past. `log_weights`, when given, take the place of the prior over the grid's points, rate by rate
    (they need not add up to anything): what a predecessor at the same place has taught of rate and delay.
    """

    unchecked: UnknownExposure | None = None
    age: float = 0.0
    presence: float = 0.0
    spread_factor: float = 1.0
    log_weights: NDArray[np.float64] | None = None

    def __post_init__(self) -> None:
        _demand_chance("presence", self.presence)
        if not 0.0 <= self.age < float("inf"):
            raise ImpossibleInput(f"age is {self.age}.", "Give an age of zero or more.")
        _demand("spread_factor", self.spread_factor, above=0.0)


def _demand(name: str, value: float, *, above: float) -> None:
    if not (above < value and isfinite(value)):
        raise ImpossibleInput(f"{name} is {value}.", f"Give a number above {above:g}.")


def _demand_chance(name: str, value: float) -> None:
    if not 0.0 <= value <= 1.0:
        raise ImpossibleInput(f"{name} is {value}.", "Give a number from 0 to 1.")


NEW = Start()
