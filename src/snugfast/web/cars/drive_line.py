"""The drive-line strip: the car from the pack to the corners, a notch for each group of places."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Self

from snugfast.usecases.bench.outlook import Outlook, Station
from snugfast.web.numbers import percent_short

LAST_OF_LINE = "wheels"  # up to here power flows; what comes after carries and steers
FULL_GAUGE = 0.25  # a chance this high fills a gauge
GAUGE_WIDTH = 40.0
HEAVIEST = 3


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
    top: bool  # one of the three heaviest
    x: float  # where its bar hangs, in percent


@dataclass(frozen=True, slots=True)
class Strip:
    """The line that power takes, and what carries it."""

    line: tuple[Notch, ...]
    around: tuple[Notch, ...]
    link: str

    @classmethod
    def of(cls, outlook: Outlook, link: str) -> Self:
        weakest = outlook.weakest
        here = [station for station in outlook.stations if station.places]
        heaviest = sorted((station.fail_chance for station in here), reverse=True)[:HEAVIEST]
        notches = [
            _notch(
                station,
                weakest=station is weakest,
                top=station.fail_chance >= heaviest[-1],
                x=(n + 0.5) / len(here) * 100.0,
            )
            for n, station in enumerate(here)
        ]
        keys = [notch.key for notch in notches]
        cut = keys.index(LAST_OF_LINE) + 1 if LAST_OF_LINE in keys else len(keys)
        return cls(tuple(notches[:cut]), tuple(notches[cut:]), link)

    @property
    def notches(self) -> tuple[Notch, ...]:
        """All of them, from pack to body."""
        return (*self.line, *self.around)


def _notch(station: Station, *, weakest: bool, top: bool, x: float) -> Notch:
    return Notch(
        key=station.notch,
        label=station.notch,
        chance=percent_short(station.fail_chance),
        gauge=round(min(1.0, station.fail_chance / FULL_GAUGE) * GAUGE_WIDTH, 1),
        places=station.places,
        weakest=weakest,
        weightiest=station.weightiest,
        top=top,
        x=round(x, 2),
    )
