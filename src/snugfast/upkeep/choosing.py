"""Which checks to do in the minutes there are: the exact best set, and why each other check was left out."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum


@dataclass(frozen=True, slots=True)
class Access:
    """Work that opens a way in, done once for all checks behind it. `parent` must be open before."""

    key: str
    tenths: int  # tenths of a minute
    parent: str | None = None


@dataclass(frozen=True, slots=True)
class Check:
    """One check. `must` means it is done whatever the sums say; `possible` is False when it cannot be done now."""

    key: str
    tenths: int  # tenths of a minute, access not counted
    access: tuple[str, ...] = ()
    must: bool = False
    possible: bool = True


@dataclass(frozen=True, slots=True)
class AtStake:
    """What one mode gains from each set of the checks that cover it.

    `worth[mask]` is the money gained when the checks with a set bit in `mask` are done (bit 0 is `checks[0]`);
    `worth[0]` is 0. Two checks of one mode rarely add up, so every set has its own number.
    """

    key: str
    checks: tuple[str, ...]
    worth: tuple[float, ...]

    @classmethod
    def by_detection(
        cls, key: str, detections: Mapping[str, float], worth: Callable[[float], float]
    ) -> AtStake:
        """Worth as a function of the combined detection 1 − ∏(1 − r) of the checks done."""
        raise NotImplementedError


class Outcome(Enum):
    """How the choice ended."""

    BEST = "the best set for the minutes"
    MUST_DOES_NOT_FIT = "the checks that must be done need more minutes than there are"


class Reason(Enum):
    """Why a check was left out."""

    NOT_WORTH_IT = "not worth the minutes now"
    NOT_ENOUGH_MINUTES = "worth doing, but the minutes ran out"
    NOT_POSSIBLE_NOW = "cannot be done now"


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A check that was not chosen. `gain` and `tenths` are what adding it alone to the choice would bring and take."""

    key: str
    reason: Reason
    gain: float  # money, the price of the minutes taken off
    tenths: int  # access still to be opened included
    must: bool = False


@dataclass(frozen=True, slots=True)
class Kept:
    """A chosen check, and what would be lost and saved by leaving it alone out of the choice."""

    key: str
    gain: float  # money, the price of the minutes taken off
    tenths: int  # access that only this check needs included


@dataclass(frozen=True, slots=True)
class Choice:
    """The chosen checks and what they cost and bring. Nothing in it depends on the order the checks were given in."""

    outcome: Outcome
    kept: tuple[Kept, ...]  # by key
    left_out: tuple[LeftOut, ...]  # by key
    access: tuple[str, ...]  # opened, by key
    tenths: int  # checks and access together
    must_tenths: int  # what the checks that must be done need by themselves
    worth: float  # money, before the price of the minutes
    net: float  # money, after it

    @property
    def keys(self) -> tuple[str, ...]:
        """The keys of the chosen checks."""
        return tuple(kept.key for kept in self.kept)


def choose(
    *,
    checks: Sequence[Check],
    access: Sequence[Access],
    at_stake: Sequence[AtStake],
    tenths: int,
    price_per_tenth: float,
) -> Choice:
    """The set of checks worth most in the minutes there are, exactly.

    Several cars of one evening go in together: keys name the car. Checks that must be done are never dropped;
    when they alone do not fit, the outcome says so and they are all that is chosen.
    Money is compared in whole millionths, so ties are true ties; of equals the shorter set is taken, then
    the one whose keys come first.
    """
    raise NotImplementedError
