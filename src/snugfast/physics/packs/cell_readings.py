"""Volts read cell by cell, checked before anything is made of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import datetime

from snugfast.core.errors import BadInput
from snugfast.physics.packs.limits import CellLimits


def checked_cell_volts(*, cell_V: Sequence[float], cells: int, limits: CellLimits) -> tuple[float, ...]:
    """The readings of one pack, one for each of its cells in series, in V.

    A reading that belongs to another chemistry is refused rather than judged: either the pack is booked
    wrongly or the number is. Raises BadInput with what to do.
    """
    if len(cell_V) != cells:
        raise BadInput(
            f"{_many(len(cell_V), 'reading')} for {_many(cells, 'cell')}.",
            "Read every cell once, in the order of the balance plug.",
        )
    for place, volts in enumerate(cell_V, start=1):
        if not math.isfinite(volts) or volts < 0:
            raise BadInput(
                f"Cell {place} cannot read {volts:g} V.", "Look at the leads, then measure it again."
            )
        if millivolts(volts) >= millivolts(limits.not_this_chemistry_V):
            raise BadInput(
                f"Cell {place} reads {volts:.2f} V, but a cell of this chemistry is full "
                f"at {limits.full_V:.2f} V.",
                "Measure again and read the label. If the reading stands, set the pack outside, do not "
                "charge or use it, and record it as over-charged.",
            )
    return tuple(cell_V)


def millivolts(volts: float) -> int:
    """Volts as a meter shows them, in whole millivolts: two readings 30 mV apart are 30 mV apart."""
    return round(volts * 1000.0)


def elapsed_s(*, earlier: datetime, later: datetime, what: str) -> float:
    """Seconds between two moments. Raises BadInput when time would run backwards."""
    seconds = (later - earlier).total_seconds()
    if seconds < 0:
        raise BadInput(
            f"{what}: {later:%d %B %Y %H:%M} is before {earlier:%d %B %Y %H:%M}.",
            "Put the two moments in order.",
        )
    return seconds


def _many(count: int, noun: str) -> str:
    words = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight")
    number = words[count] if count < len(words) else str(count)
    return f"{number.capitalize() if noun == 'reading' else number} {noun}{'' if count == 1 else 's'}"
