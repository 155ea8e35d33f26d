"""How long a standing pack lasts: what its cells lose by themselves, and what still draws on it.

All cells in series carry the same drain, so the lowest cell sets the time.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import BadInput, ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.limits import CellLimits
from snugfast.physics.packs.rest_voltage import REFERENCE_K, RestVoltageCurve
from snugfast.physics.validation import require_not_negative, require_positive

MONTH_S = 730.5 * 3600.0


class Left(Enum):
    """How a pack was left; the value is how a person says it."""

    UNPLUGGED = "unplugged"
    PLUGGED_SWITCH_OFF = "plugged in with the switch off"
    SWITCHED_ON = "left switched on"


@dataclass(frozen=True, slots=True)
class Standing:
    """A pack that stands: its lowest cell's charge, its capacity in C, what draws on it in A, its warmth.

    `self_discharge` is the share lost per month at 25 °C. Raises ImpossibleInput for what cannot be.
    """

    chemistry: Chemistry
    charge: Band
    capacity_C: Band
    drain_A: Band
    self_discharge: Band
    temperature_K: float

    def __post_init__(self) -> None:
        if not 0.0 <= self.charge.low <= self.charge.high <= 1.0:
            raise ImpossibleInput("A charge lies between 0 and 1.", "Give the share of the capacity.")
        require_positive(capacity_C=self.capacity_C.low, temperature_K=self.temperature_K)
        require_not_negative(drain_A=self.drain_A.low, self_discharge=self.self_discharge.low)


@dataclass(frozen=True, slots=True)
class ActBy:
    """Seconds from now until the lowest cell passes three lines; the low end of each band is the one to keep.

    `act` is the line to act by, `danger` the line with no reserve worth having below it, `empty` the line
    below which the cell is over-discharged. Never passing a line is infinity.
    """

    left: Left
    drain_measured: bool
    act: Band
    danger: Band
    empty: Band

    @property
    def by_s(self) -> float:
        """The act-by time: the early end."""
        return self.act.low

    @property
    def warn_from_s(self) -> float:
        """When to begin to say so: half-way."""
        return self.by_s / 2


@formula(
    source="portable-world-handbook",
    where="self-discharge doubles with each 10 °C",
    temperature_K=Span(273.15, 333.15),
)
def self_discharge_per_s(*, per_month_at_25: float, temperature_K: float) -> float:
    """How fast a cell loses charge by itself, as a share of its capacity per second.

    A warm shelf halves the time for each 10 K. `per_month_at_25` is the share lost in 730.5 h at 25 °C.
    Raises ImpossibleInput for a share below zero or a temperature that is none.
    """
    require_not_negative(per_month_at_25=per_month_at_25)
    require_positive(temperature_K=temperature_K)
    return float(per_month_at_25 / MONTH_S * 2 ** ((temperature_K - REFERENCE_K) / 10.0))


def lasts_s(
    *, charge: float, until_charge: float, drain_A: float, capacity_C: float, self_discharge_per_s: float
) -> float:
    """Seconds until the charge has fallen to a line: zero when it is there, infinity when it never is.

    Plain counting: drain over capacity, and self-discharge, both steady. Self-discharge that slows as the
    cell empties would last a little longer, so this errs to the early side.
    """
    require_positive(capacity_C=capacity_C)
    require_not_negative(drain_A=drain_A, self_discharge_per_s=self_discharge_per_s)
    per_s = drain_A / capacity_C + self_discharge_per_s
    left = max(charge - until_charge, 0.0)
    if per_s == 0.0:
        return math.inf if left > 0.0 else 0.0
    return left / per_s


def act_by(
    *,
    left: Left,
    standing: Standing,
    drain_measured: bool,
    curve: RestVoltageCurve,
    limits: CellLimits,
) -> ActBy:
    """By when something must be done for a pack that stands, and when the danger line follows.

    The early end takes the low end of charge and capacity with the high end of drain and self-discharge.
    Returns the times to three lines as bands in s. Raises NoTable when the limits are of another chemistry.
    """

    limits.require(standing.chemistry)

    def until(volts: float) -> Band:
        line = curve.charge_at(volts)
        return Band(*_early_likely_late(standing, line))

    return ActBy(
        left=left,
        drain_measured=drain_measured,
        act=until(limits.act_by_V),
        danger=until(limits.danger_V),
        empty=until(limits.empty_V),
    )


def drain_between(
    *, charge_then: float, charge_now: float, apart_s: float, capacity_C: float, self_discharge_per_s: float
) -> float:
    """What must have drawn on a pack between two rest readings, in A, after its own self-discharge.

    This turns the stated guess for an owner's car into a measured drain. Nothing below zero is returned.
    Raises BadInput when time runs backwards or the charge rose.
    """
    require_positive(capacity_C=capacity_C)
    if apart_s <= 0:
        raise BadInput("The second reading is not later than the first.", "Put the two readings in order.")
    if charge_now > charge_then:
        raise BadInput(
            "The charge rose between the two readings.", "Take two rest readings with no charge between."
        )
    lost_per_s = (charge_then - charge_now) / apart_s
    return max(lost_per_s - self_discharge_per_s, 0.0) * capacity_C


def _early_likely_late(standing: Standing, line: float) -> Iterator[float]:
    """Seconds to a line: little charge with much drain first, much charge with little drain last."""
    for charge, capacity_C, drain_A, per_month in zip(
        standing.charge.ends,
        standing.capacity_C.ends,
        reversed(standing.drain_A.ends),
        reversed(standing.self_discharge.ends),
        strict=True,
    ):
        own = self_discharge_per_s(per_month_at_25=per_month, temperature_K=standing.temperature_K)
        yield lasts_s(
            charge=charge,
            until_charge=line,
            drain_A=drain_A,
            capacity_C=capacity_C,
            self_discharge_per_s=own,
        )
