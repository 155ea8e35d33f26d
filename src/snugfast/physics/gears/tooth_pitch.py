"""Whether two gears can run together at all: module, diametral pitch, and sizes typed in the wrong unit."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.validation import INCH_m, require_positive

# Below the first figure two pitches differ by no more than published tables round (0.5292 for 48 per inch).
ROUNDING = 0.0005
# Above this one the pair is refused; between the two it runs with a caution. Our own line, no source.
MOST_DIFFERENCE = 0.02

# What a model car can carry. Outside it the likeliest slip of the pen is suggested.
MODULES_m = Span(0.15e-3, 3.0e-3)
DIAMETRAL_PITCHES = Span(16.0, 120.0)
FEWEST_TEETH = 6


@formula(source="gear-reference-pitch", where="module and diametral pitch")
def module_of_diametral_pitch(*, teeth_per_inch: float) -> float:
    """The module of a gear that is sold by its diametral pitch, so that the two systems can be compared.

    Diametral pitch counts teeth per inch of pitch diameter; module is pitch diameter per tooth, m = 25.4/DP.
    Returns the module in metres. Raises ImpossibleInput for a pitch of zero or less.
    """
    require_positive(teeth_per_inch=teeth_per_inch)
    return INCH_m / teeth_per_inch


class PitchMatch(Enum):
    """What may be said of a pair by its pitch alone."""

    SAME = "same pitch"
    NEAR = "nearly the same pitch"
    REFUSED = "different pitch"


@dataclass(frozen=True, slots=True)
class PitchComparison:
    """The verdict on a pair, how far the modules lie apart (as a share of the smaller), and a sentence."""

    match: PitchMatch
    difference: float
    sentence: str


def compare_pitches(*, module_1_m: float, module_2_m: float) -> PitchComparison:
    """Whether two gears may be put in mesh: refused above 2 % difference, a caution below, else the same.

    A tooth of the wrong pitch meets its space too early or too late and rides on the tip; 48 teeth per inch
    on module 0.5 lies 5.8 % off, 32 teeth per inch on module 0.8 only 0.8 %. Modules in metres.
    """
    require_positive(module_1_m=module_1_m, module_2_m=module_2_m)
    small, large = sorted((module_1_m, module_2_m))
    difference = large / small - 1.0
    pair = f"Module {module_1_m * 1e3:.4g} mm and module {module_2_m * 1e3:.4g} mm"
    if difference <= ROUNDING:
        return PitchComparison(PitchMatch.SAME, difference, f"{pair} are the same pitch.")
    if difference <= MOST_DIFFERENCE:
        sentence = f"{pair} differ by {difference:.1%}: they turn, but wear and whine. Fit a true pair."
        return PitchComparison(PitchMatch.NEAR, difference, sentence)
    sentence = f"{pair} differ by {difference:.1%} and must not run together. Fit two gears of one pitch."
    return PitchComparison(PitchMatch.REFUSED, difference, sentence)


def check_teeth(teeth: int) -> None:
    """Raise ImpossibleInput for a tooth count that no involute gear of a car has, with the likely count."""
    if teeth < FEWEST_TEETH:
        likely = f" Did you mean {10 + teeth} or {teeth}0?" if teeth > 0 else ""
        raise ImpossibleInput(
            f"A gear with {teeth} teeth cannot run: the smallest pinions have {FEWEST_TEETH} to 8.",
            f"Count the teeth again.{likely}",
        )


def check_module(module_m: float) -> None:
    """Raise ImpossibleInput for a module that no car has; a diametral pitch typed as one is recognised."""
    require_positive(module_m=module_m)
    if MODULES_m.holds(module_m):
        return
    typed = module_m * 1e3
    sentence = f"Module {typed:g} mm is outside what a car carries."
    if DIAMETRAL_PITCHES.holds(typed):
        meant_mm = module_of_diametral_pitch(teeth_per_inch=typed) * 1e3
        raise ImpossibleInput(
            sentence,
            f"{typed:g} looks like a diametral pitch: write {typed:g} DP (module {meant_mm:.4f} mm).",
        )
    raise ImpossibleInput(
        sentence, f"Write a module of {MODULES_m.low * 1e3:g} to {MODULES_m.high * 1e3:g} mm."
    )
