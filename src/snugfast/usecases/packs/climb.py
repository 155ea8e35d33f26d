"""How far the resistance of a pack has climbed since it was new, as each instrument reads it.

The middle of the last three readings over the middle of the first three, at 25 °C; one bad reading moves
neither, and an instrument is compared only with itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from statistics import fmean, median

from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.resistance_trend import Reading, Worth, at_25_degC
from snugfast.usecases.packs.past import CellReading
from snugfast.usecases.packs.tables import pack_tables

BASELINE_READINGS = 3  # the pack as new: the middle of its first readings by one instrument


@dataclass(frozen=True, slots=True)
class Climb:
    """What one instrument read of one pack, as far as the climb needs it: mean cell at 25 °C, Ω."""

    first: tuple[float, ...] = ()
    last: tuple[float, ...] = ()
    count: int = 0

    def further(self, mean_ohm: float) -> Climb:
        """One reading more."""
        first = self.first if self.count >= BASELINE_READINGS else (*self.first, mean_ohm)
        return replace(
            self, first=first, last=(*self.last, mean_ohm)[-BASELINE_READINGS:], count=self.count + 1
        )

    @property
    def ratio(self) -> float | None:
        """Lately over as new. None before the instrument was used often enough to be compared with itself."""
        return median(self.last) / median(self.first) if self.count > BASELINE_READINGS else None


def climbs(readings: Iterable[CellReading]) -> Mapping[str, Climb]:
    """The climb of a pack by each instrument, from its readings in order."""
    found: dict[str, Climb] = {}
    for reading in readings:
        mean_ohm = mean_at_25_degC(reading.resistances_ohm, reading.temperature_degC)
        if mean_ohm is not None:
            found[reading.instrument] = found.get(reading.instrument, Climb()).further(mean_ohm)
    return found


def resistance_ratio(readings: Iterable[CellReading]) -> float | None:
    """The climb by the instrument that says most; None before any can be compared with itself."""
    ratios = (climb.ratio for climb in climbs(readings).values())
    return max((ratio for ratio in ratios if ratio is not None), default=None)


def mean_at_25_degC(resistances_ohm: Sequence[float], temperature_degC: float) -> float | None:
    """The mean cell of one reading at 25 °C; None when it was taken too cold to compare."""
    tables = pack_tables()
    kelvin = temperature_degC + ZERO_CELSIUS_K
    if tables.trend_warmth.worth(kelvin) is Worth.LEFT_OUT:
        return None
    mean = Reading(0.0, fmean(resistances_ohm), kelvin, "")
    return at_25_degC(mean, activation_J_per_mol=tables.value("resistance", "activation_J_per_mol"))
