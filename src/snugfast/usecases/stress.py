"""Stress: how much faster a run counts for what heat wears, where somebody read the heat right after it.

Only readings of the journal count here, so that the story told again comes out equal. The law and its numbers
are rows of `facts/stress.toml`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Mode, Stress
from snugfast.records.entries import Ran, Reading

SMALL_PARTS = ("plug", "lead", "bearing")  # “motor plug” is not the motor


@dataclass(frozen=True, slots=True)
class RunStress:
    """What the readings of one run say, for each mode: how many times it counts, and the temperature.

    `factor` is one and `read_degC` not a number where nothing was read that drives the mode.
    """

    factor: NDArray[np.float64]
    read_degC: NDArray[np.float64]


def run_stress(rules: Mapping[str, Stress], modes: Sequence[Mode], fact: Ran) -> RunStress:
    """The stress of one run. A reading takes the place of the guess by ground, so that is divided out."""
    factor, read = np.ones(len(modes)), np.full(len(modes), np.nan)
    hottest = {rule.key: max(_readings(rule, fact), default=None) for rule in rules.values()}
    for n, mode in enumerate(modes):
        for rule in rules.values():
            degC = hottest[rule.key]
            if degC is not None and mode.key in rule.modes:
                factor[n] = times_as_fast(rule, degC) / mode.ground_factor.get(fact.ground.value, 1.0)
                read[n] = degC
    return RunStress(factor, read)


def times_as_fast(rule: Stress, read_degC: float) -> float:
    """2^((read − reference) / doubling), between the ends of the rule."""
    return float(
        min(max(2.0 ** ((read_degC - rule.reference_degC) / rule.doubling_K), rule.least), rule.most)
    )


def _readings(rule: Stress, fact: Ran) -> Iterator[float]:
    for reading in fact.readings:
        if reading.unit == "°C" and _counts(rule, reading):
            yield reading.value


def _counts(rule: Stress, reading: Reading) -> bool:
    """Whether the reading is of this part itself, and early enough."""
    after_s, spot = reading.seconds_after_stop, reading.spot
    of_part = any(word in spot for word in rule.spots) and not any(word in spot for word in SMALL_PARTS)
    return of_part and after_s is not None and after_s <= rule.read_within_s
