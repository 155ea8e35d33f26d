"""The ladder as one picture: speed, motor temperature with its band and limit, run time, on shared scales."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from snugfast.core.figures import Figure
    from snugfast.usecases.gearing.rungs import LadderRung
    from snugfast.usecases.gearing.study import GearingStudy

LONGEST_RUN_MIN = 60.0  # a longer run fills its panel
LABEL_SHARE = 50.0  # a bar ends here at most, in percent, so that its number finds room


@dataclass(frozen=True, slots=True)
class Bar:
    """A value as a length, with what is written at its end. Lengths are percent of the panel."""

    end: float
    low: float
    high: float
    words: str


@dataclass(frozen=True, slots=True)
class RungDrawn:
    """One gearing option in the three panels. `over` says that the motor settles above its limit."""

    speed: Bar
    heat: Bar
    run: Bar
    over: bool


@dataclass(frozen=True, slots=True)
class Scales:
    """What the panels reach to, and where the limit of the can stands, in percent."""

    speed_km_h: float
    air_degC: float
    top_degC: float
    limit_degC: float
    run_min: float

    @classmethod
    def of(cls, study: GearingStudy) -> Self:
        """Scales that hold every option of a study."""
        limit = study.limits.can_degC
        warmest = [
            _high(rung.bands.settled.can, rung.settled.can_degC) for rung in study.rungs if rung.settled
        ]
        runs = [min(rung.run_min, LONGEST_RUN_MIN) for rung in study.rungs]
        return cls(
            speed_km_h=_round_up([rung.top_speed_km_h for rung in study.rungs], 10.0),
            air_degC=math.floor(study.air_degC / 20.0) * 20.0,
            top_degC=_round_up([*warmest, limit * 1.1], 20.0),
            limit_degC=limit,
            run_min=_round_up(runs, 10.0),
        )

    @property
    def limit(self) -> float:
        """Where the limit stands in the panel of heat, in percent."""
        return self._at(self.limit_degC)

    def drawn(self, rung: LadderRung) -> RungDrawn:
        """One option on these scales."""
        can, settled = rung.bands.settled.can, rung.settled
        degC = self.top_degC if settled is None else settled.can_degC
        heat = Bar(
            self._at(degC),
            self._at(_low(can, degC)),
            self._at(_high(can, degC)),
            "burns" if settled is None else f"{degC:.0f}°",
        )
        endless = rung.run_min >= 1e6
        minutes = "no end" if endless else f"{rung.run_min:.0f} min"
        speed = _length(rung.top_speed_km_h, self.speed_km_h)
        run = _length(min(rung.run_min, self.run_min), self.run_min)
        return RungDrawn(
            speed=Bar(speed, speed, speed, f"{rung.top_speed_km_h:.0f}"),
            heat=heat,
            run=Bar(run, run, run, minutes),
            over=settled is None or degC > self.limit_degC,
        )

    def _at(self, degC: float) -> float:
        share = (degC - self.air_degC) / (self.top_degC - self.air_degC)
        return round(100.0 * min(max(share, 0.0), 1.0), 1)


def _length(value: float, top: float) -> float:
    return round(LABEL_SHARE * value / top, 1) if top > 0 else 0.0


def _round_up(values: Sequence[float], step: float) -> float:
    return max(step, math.ceil(max(values, default=step) / step) * step)


def _low(band: Figure | None, value: float) -> float:
    return value if band is None or band.low is None else band.low


def _high(band: Figure | None, value: float) -> float:
    return value if band is None or band.high is None else band.high
