"""How quick somebody works beside the table of minutes, learned from sheets that were worked through.

The logarithm of (minutes taken / minutes of the table) is taken as normal: about the hand's own pace from
sheet to sheet, and the pace about the table from hand to hand. With both spreads given, the belief about the
pace is the normal one after normal observations of known variance: the mean of the sheets, drawn towards the
table by how little they are. All checks share one pace.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import exp, log, sqrt


@dataclass(frozen=True, slots=True)
class Pace:
    """Times the table's minutes that somebody takes, below 1 is quicker; and the spread of its logarithm."""

    times: float = 1.0
    spread: float = 0.0
    sheets: int = 0


def pace_of(ratios: Iterable[float], *, hands_differ: float, sheets_differ: float, at_most: float) -> Pace:
    """The pace after sheets that took these multiples of the table's minutes.

    `hands_differ` and `sheets_differ` are spreads of logarithms, from hand to hand and from sheet to sheet
    of one hand. A sheet beyond `at_most` times the table, or as far below it, was left lying, or was not
    worked through line by line; it says nothing of the pace. Raises ValueError for a spread that is not above
    0 and for `at_most` that is not above 1.
    """
    if not (hands_differ > 0.0 and sheets_differ > 0.0 and at_most > 1.0):
        raise ValueError((hands_differ, sheets_differ, at_most))
    logs = [log(ratio) for ratio in ratios if 1.0 / at_most <= ratio <= at_most]
    weight = 1.0 / sheets_differ**2
    certainty = 1.0 / hands_differ**2 + len(logs) * weight
    return Pace(exp(sum(logs) * weight / certainty), 1.0 / sqrt(certainty), len(logs))
