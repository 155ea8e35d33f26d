"""What the cells of a pack resist now, at 25 °C, and how far they have climbed since they were new.

The sums of a car count the cold of the day themselves, so a reading taken cold is brought to 25 °C first; one
taken too cold to compare is passed over for an older one.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.resistance_trend import Reading, at_25_degC
from snugfast.records.entries import PackMeasured
from snugfast.usecases.packs.climb import Climb, mean_at_25_degC
from snugfast.usecases.packs.tables import pack_tables

NOT_SAID_degC = 25.0
"""How warm a pack was when nobody said: as warm as the reading is brought to."""


@dataclass(frozen=True, slots=True)
class ResistanceNow:
    """Each cell in Ω at 25 °C (empty when nobody read them), by which instrument, and the climb since new.

    `climbed` is 1 where nobody can tell.
    """

    cell_ohm: tuple[float, ...] = ()
    instrument: str = ""
    climbed: float = 1.0


def resistance_now(measured: Iterable[PackMeasured], cells: int) -> ResistanceNow:
    """The newest reading of all cells of a pack, of those given oldest first."""
    now, climbs = ResistanceNow(), dict[str, Climb]()
    for one in measured:
        if len(one.resistances_ohm) != cells:
            continue
        warmth_degC = NOT_SAID_degC if one.temperature_degC is None else one.temperature_degC
        mean_ohm = mean_at_25_degC(one.resistances_ohm, warmth_degC)
        if mean_ohm is None:
            continue
        climbs[one.instrument] = climbs.get(one.instrument, Climb()).further(mean_ohm)
        ratios = (climb.ratio for climb in climbs.values())
        now = ResistanceNow(
            tuple(cell_at_25_degC(ohm, warmth_degC) for ohm in one.resistances_ohm),
            one.instrument,
            max((ratio for ratio in ratios if ratio is not None), default=1.0),
        )
    return now


def cell_at_25_degC(ohm: float, warmth_degC: float) -> float:
    """One cell read at some warmth, brought to 25 °C; Ω."""
    reading = Reading(0.0, ohm, warmth_degC + ZERO_CELSIUS_K, "")
    return at_25_degC(reading, activation_J_per_mol=pack_tables().value("resistance", "activation_J_per_mol"))
