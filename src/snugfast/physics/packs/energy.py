"""The energy a label promises, and the band it falls in for air travel."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from snugfast.physics.validation import require_positive

JOULES_PER_WH = 3600.0
# Labels print tenths of a watt-hour; a sum a hair over a line by rounding stays under it.
ROUNDING_WH = 1e-6


@dataclass(frozen=True, slots=True)
class AirBand:
    """One band: up to how many Wh (None for no end) and what is said of it."""

    name: str
    up_to_Wh: float | None
    says: str


def label_energy_J(*, cells: int, capacity_C: float, nominal_V: float) -> float:
    """Energy in J as a label counts it: cells × nominal volts × capacity. The truth is a few percent more."""
    require_positive(cells=cells, capacity_C=capacity_C, nominal_V=nominal_V)
    return cells * capacity_C * nominal_V


def air_band(energy_J: float, bands: Sequence[AirBand]) -> AirBand:
    """The band a pack falls in; `bands` rise and the last has no end. Always ask the airline as well."""
    require_positive(energy_J=energy_J)
    energy_Wh = energy_J / JOULES_PER_WH
    return next(band for band in bands if band.up_to_Wh is None or energy_Wh <= band.up_to_Wh + ROUNDING_WH)
