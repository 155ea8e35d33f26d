"""Times and rolls as they are typed at a bench, read with how sure a thumb on a stopwatch is."""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import BadInput
from snugfast.core.units import Kind, read_quantity
from snugfast.physics.bearings.coast_down import slowing_between_marks, slowing_to_a_stop
from snugfast.physics.bearings.timed_trials import Measured as Value

LEAST_STEP_s = 0.1  # a thumb on a stopwatch is no surer, whatever the clock shows


@dataclass(frozen=True, slots=True)
class Roll:
    """One roll: how hard the car slowed (metres per second squared), how sure that is, and the words."""

    slowing: Value
    typed: str


def read_roll(word: str, length_m: float) -> Roll:
    """One roll: “2.1” stood at the mark, “2.9m/2.1s” stood there, “1.1+1.6” went over both halves.

    Raises BadInput for other words, and for a car that sped up.
    """
    if "+" in word:
        first_s, second_s = (read_time(part) for part in _two(word, "+"))

        def slows(first: float, second: float) -> float:
            half_m = length_m / 2.0
            return slowing_between_marks(first_m=half_m, first_s=first, second_m=half_m, second_s=second)

        value = slows(first_s, second_s)
        if value <= 0.0:
            raise BadInput(
                f"“{word}”: the car sped up on the second half.", "Let it go before the first mark."
            )
        error = math.hypot(
            slows(first_s + LEAST_STEP_s, second_s) - value, slows(first_s, second_s + LEAST_STEP_s) - value
        )
        return Roll(Value(value, error), word)
    distance_m, time = length_m, word
    if "/" in word:
        length, time = _two(word, "/")
        distance_m = read_quantity(length, Kind.LENGTH, default_unit="m", where="length rolled")
    time_s = read_time(time)
    value = slowing_to_a_stop(distance_m=distance_m, time_s=time_s)
    return Roll(Value(value, value * 2.0 * LEAST_STEP_s / time_s), word)


def _two(word: str, mark: str) -> list[str]:
    parts = word.split(mark)
    if len(parts) != 2:
        raise BadInput(f"“{word}” is no roll.", "Write 2.1, or 2.9m/2.1s, or 1.1+1.6.")
    return parts


def read_time(word: str) -> float:
    """A time in seconds that a hand can measure. Raises BadInput."""
    time_s = read_quantity(word, Kind.DURATION, default_unit="s", where="time")
    if not 0.3 <= time_s <= 600.0:
        raise BadInput(f"A time of {time_s:g} s is not one to measure by hand.", "Give seconds, like 5.2.")
    return time_s


def read_list(words: str, where: str) -> list[str]:
    """Several readings in one text, parted by commas, semicolons or blanks."""
    listed = words.replace(";", " ").replace(",", " ").split()
    if not listed:
        raise BadInput(f"{where}: nothing was read.", "Write several, like 5.2, 5.4, 5.1.")
    return listed
