"""The drive-line strip: the car from the pack to the corners, a notch for each group of places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from snugfast.usecases.bench.outlook import Outlook, Station
from snugfast.web.numbers import percent_short

LAST_OF_LINE = "wheels"  # up to here power flows; what comes after carries and steers
FULL_GAUGE = 0.25  # a chance this high fills a gauge
GAUGE_WIDTH = 40.0


@dataclass(frozen=True, slots=True)
class Notch:
    """One station as it is drawn."""

    key: str
    label: str
    chance: str
    gauge: float  # width of the ink, of GAUGE_WIDTH
    places: int
    weakest: bool
    weightiest: str


@dataclass(frozen=True, slots=True)
class Strip:
    """The line that power takes, and what carries it."""

    line: tuple[Notch, ...]
    around: tuple[Notch, ...]
    link: str

    @classmethod
    def of(cls, outlook: Outlook, link: str) -> Self:
        weakest = outlook.weakest
        notches = [_notch(station, station is weakest) for station in outlook.stations if station.places]
        keys = [notch.key for notch in notches]
        cut = keys.index(LAST_OF_LINE) + 1 if LAST_OF_LINE in keys else len(keys)
        return cls(tuple(notches[:cut]), tuple(notches[cut:]), link)


def _notch(station: Station, weakest: bool) -> Notch:
    return Notch(
        key=station.notch,
        label=station.notch,
        chance=percent_short(station.fail_chance),
        gauge=round(min(1.0, station.fail_chance / FULL_GAUGE) * GAUGE_WIDTH, 1),
        places=station.places,
        weakest=weakest,
        weightiest=station.weightiest,
    )
