"""Refusing numbers that cannot be, in one sentence, before any sum is made with them."""

from __future__ import annotations

import math

from snugfast.core.errors import ImpossibleInput


def require_positive(**values: float) -> None:
    """Raise ImpossibleInput for the first value that is not a finite number above zero."""
    for name, value in values.items():
        if not (math.isfinite(value) and value > 0.0):
            raise ImpossibleInput(f"{_words(name)} cannot be {value:g}.", "Give a number above zero.")


def require_not_negative(**values: float) -> None:
    """Raise ImpossibleInput for the first value that is not a finite number of zero or more."""
    for name, value in values.items():
        if not (math.isfinite(value) and value >= 0.0):
            raise ImpossibleInput(f"{_words(name)} cannot be {value:g}.", "Give zero or a number above it.")


def _words(name: str) -> str:
    """`centre_distance_m` as a person reads it: “Centre distance (m)”."""
    stem, _, unit = name.rpartition("_")
    if not stem:
        return name.capitalize()
    return f"{stem.replace('_', ' ').capitalize()} ({unit})"
