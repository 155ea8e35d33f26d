"""Refusing numbers that cannot be, in one sentence, before any sum is made with them."""

from __future__ import annotations

import math

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span

INCH_m = 0.0254

# Of a bore, diameter or width. Outside it the likeliest slip of the pen is suggested.
LENGTHS_m = Span(0.5e-3, 0.2)


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


def check_length(name: str, length_m: float) -> None:
    """Raise ImpossibleInput for a bore, diameter or width typed in the wrong unit, naming the right one.

    0.125 typed as millimetres is taken for an eighth of an inch; 5 typed as inches for 5 mm.
    """
    require_positive(**{f"{name}_m": length_m})
    if LENGTHS_m.holds(length_m):
        return
    millimetres, inches = length_m * 1e3, length_m / INCH_m
    if length_m < LENGTHS_m.low:
        as_inch_mm = millimetres * 25.4
        way_out = f"If it was read in inches write {millimetres:g} in, which is {as_inch_mm:.4g} mm."
        raise ImpossibleInput(f"A {name} of {millimetres:g} mm is too small to be.", way_out)
    way_out = f"If it was read in millimetres write {inches:.4g} mm."
    raise ImpossibleInput(
        f"A {name} of {inches:.4g} in ({millimetres:.4g} mm) is too large for a car.", way_out
    )


def check_bore(*, bore_m: float, outer_diameter_m: float) -> None:
    """Raise ImpossibleInput when a hole is not smaller than its part, or was typed in a wrong unit."""
    check_length("bore", bore_m)
    check_length("outer diameter", outer_diameter_m)
    if bore_m >= outer_diameter_m:
        bore, outer = f"{bore_m * 1e3:g}", f"{outer_diameter_m * 1e3:g}"
        raise ImpossibleInput(
            f"A bore of {bore} mm does not go into an outer diameter of {outer} mm.",
            f"Write the bore first: {outer} × {bore}?" if bore != outer else "Measure both again.",
        )


def _words(name: str) -> str:
    """`centre_distance_m` as a person reads it: “Centre distance (m)”."""
    stem, _, unit = name.rpartition("_")
    if not stem:
        return name.capitalize()
    return f"{stem.replace('_', ' ').capitalize()} ({unit})"
