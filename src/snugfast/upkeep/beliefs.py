"""What to believe now about every way every part can fail, and how each entry of the journal changes it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from snugfast.upkeep.mode_law import ModeLaw, Start, UnknownExposure

Floats = NDArray[np.float64]
Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Outlook:
    """What a set of rows promises for the exposure ahead; every array has one number per row."""

    presence: Floats  # P(defect present now)
    fail_chance: Floats  # P(fails within the exposure), sudden failures included
    sudden_chance: Floats  # the part of it that no check could have caught
    rate: Floats  # posterior mean arrival of visible and sudden defects, per clock unit, over the exposure
    delay: Floats  # posterior mean delay, clock units
    sudden_share: Floats


class Beliefs:
    """The beliefs of a few rows, never changed: each method gives the beliefs after one event.

    A row is one mode on one clock. Exposures and chances are one number for all rows or one per row.
    """

    def ran(self, *, exposure: float | Floats) -> Beliefs:
        """After running this far without a failure (stress already multiplied into the exposure)."""
        raise NotImplementedError

    def ran_unknown(self, *, exposure: UnknownExposure) -> Beliefs:
        """After coming back without a failure from a run of unknown length, such as a loan."""
        raise NotImplementedError

    def ran_with_clean_checks(
        self,
        *,
        exposure: float | Floats,
        checks: int,
        detection: float | Floats,
        looked: float | Floats = 1.0,
    ) -> Beliefs:
        """After a stretch told in one go: evenly spread checks, all of them clean, the last at its end."""
        raise NotImplementedError

    def checked_clean(
        self,
        *,
        detection: float | Floats,
        false_alarm: float | Floats = 0.0,
        looked: float | Floats = 1.0,
    ) -> Beliefs:
        """After a check that found nothing. `looked` is the chance that a tick was a real look."""
        raise NotImplementedError

    def found(self, *, detection: float | Floats, false_alarm: float | Floats = 0.0) -> Beliefs:
        """After a check that found the defect, before anything is put right."""
        raise NotImplementedError

    def weighed(self, *, if_defective: float | Floats, if_good: float | Floats) -> Beliefs:
        """After any evidence, given how likely it is with and without a defect."""
        raise NotImplementedError

    def failed_at(self, *, exposure: float | Floats) -> Beliefs:
        """After a failure at a known exposure since the last event; the part counts as put right."""
        raise NotImplementedError

    def failed_within(self, *, exposure: float | Floats) -> Beliefs:
        """After a failure somewhere in this exposure; the part counts as put right."""
        raise NotImplementedError

    def one_failed_within(self, *, exposure: float | Floats) -> tuple[Beliefs, Floats]:
        """After exactly one of these rows failed, nobody knows which; also each row's share of the blame."""
        raise NotImplementedError

    def restored(self, *, works: float | Floats = 1.0, renewed: bool = False) -> Beliefs:
        """After putting right. `works` is the chance that it did; `renewed` sets the part's age to zero."""
        raise NotImplementedError

    def disturbed(self, *, chance: float | Floats) -> Beliefs:
        """After work that may itself have planted a defect."""
        raise NotImplementedError

    def raised(self, *, factor: float | Floats) -> Beliefs:
        """Right after an event that multiplies the arrival rate; the extra fades over the law's `fade`."""
        raise NotImplementedError

    def outlook(self, *, exposure: float | Floats) -> Outlook:
        """What to expect over the next exposure."""
        raise NotImplementedError

    def rate_log_weights(self) -> Floats:
        """(rows, rate multipliers): what has been learned about the rate, to hand to a successor or a pool."""
        raise NotImplementedError


class BeliefBank:
    """All beliefs of a workshop during a replay: `bank[rows] = bank[rows].ran(exposure=12.0)`.

    `rows` is an integer array as `add` gives it (or a list of ints). Two banks are equal when every
    number in them is. What one row holds never depends on which other rows are in the bank.
    """

    def add(self, laws: Sequence[ModeLaw], starts: Sequence[Start]) -> Rows:
        """New rows, one per law; gives their numbers."""
        raise NotImplementedError

    def __len__(self) -> int:
        raise NotImplementedError

    def __getitem__(self, rows: Rows | Sequence[int]) -> Beliefs:
        raise NotImplementedError

    def __setitem__(self, rows: Rows | Sequence[int], beliefs: Beliefs) -> None:
        raise NotImplementedError

    def copy(self) -> BeliefBank:
        """A bank of its own with the same numbers."""
        raise NotImplementedError

    def to_arrays(self) -> dict[str, Floats]:
        """Everything as named arrays, to keep between sessions."""
        raise NotImplementedError

    @classmethod
    def from_arrays(cls, arrays: dict[str, Any]) -> BeliefBank:
        """The bank that `to_arrays` described, equal to the last bit."""
        raise NotImplementedError
