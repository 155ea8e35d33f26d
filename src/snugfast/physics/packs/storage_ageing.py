"""What standing costs a cell: capacity lost and resistance gained, by charge, warmth and time.

Three published views are kept side by side. They disagree four- to fivefold on two weeks of fullness, so a
cost is always a band with the names of those who say so, never one number.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from snugfast.core.marks import Span, formula
from snugfast.physics.packs.rest_voltage import REFERENCE_K, RestVoltageCurve
from snugfast.physics.validation import require_not_negative, require_positive

DAY_S = 86400.0
YEAR_S = 365.0 * DAY_S

EXTRAPOLATED = "The models were measured at 50 °C or at half charge; elsewhere they extrapolate."
BEYOND_USE = "Above a quarter lost the models mean little; read it as “very much”."


@dataclass(frozen=True, slots=True)
class VoltageLaw:
    """Rate (slope·V + offset)·exp(−activation/T), growing as days to the exponent; V held at `least_V`."""

    name: str
    slope_per_V: float
    offset: float
    activation_K: float
    exponent: float
    least_V: float


@dataclass(frozen=True, slots=True)
class AnodeLaw:
    """Rate factor·exp(a/θ)·exp(b·(U/reference)/θ), θ = T/reference; U is read from `anode_V` by `charge`."""

    name: str
    factor: float
    temperature_term: float
    potential_term: float
    reference_V: float
    reference_K: float
    exponent: float
    charge: tuple[float, ...]
    anode_V: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class YearTable:
    """Share of capacity kept after a year, by warmth (rows) and charge (columns); ends are held.

    Used from `used_from_s` on, as a plain share of the year: it prints no other time.
    """

    name: str
    temperature_K: tuple[float, ...]
    charge: tuple[float, ...]
    kept: tuple[tuple[float, ...], ...]
    used_from_s: float


@dataclass(frozen=True, slots=True)
class AgeingViews:
    """The three views of capacity lost by standing."""

    by_cell_voltage: VoltageLaw
    by_anode_potential: AnodeLaw
    by_year_table: YearTable


@dataclass(frozen=True, slots=True)
class Opinion:
    """What one view says is lost, as a share of the capacity: least and most over the ages asked for."""

    name: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class StorageCost:
    """Share of the capacity lost by standing: least and most over all views, who says what, and cautions."""

    low: float
    high: float
    opinions: tuple[Opinion, ...]
    cautions: tuple[str, ...]


@formula(
    source="schmalstieg-2014",
    where="calendar ageing, rate by cell voltage and temperature",
    cell_V=Span(3.149, 4.2),
)
def rate_by_cell_voltage(*, law: VoltageLaw, cell_V: float, temperature_K: float) -> float:
    """How fast a standing cell ages at this voltage and warmth: the share after one day, from new.

    The fuller and the warmer, the faster. Raises ImpossibleInput for a temperature that is none.
    """
    require_positive(temperature_K=temperature_K, cell_V=cell_V)
    volts = max(cell_V, law.least_V)
    return (law.slope_per_V * volts + law.offset) * math.exp(-law.activation_K / temperature_K)


@formula(
    source="blast-lite-pouch",
    where="capacity lost by standing, rate by anode potential",
    anode_V=Span(0.08, 0.13),
)
def rate_by_anode_potential(*, law: AnodeLaw, anode_V: float, temperature_K: float) -> float:
    """The same question answered from the potential of the anode: the share after one day, from new."""
    require_positive(temperature_K=temperature_K)
    warmth = temperature_K / law.reference_K
    potential = law.potential_term * anode_V / law.reference_V
    return law.factor * math.exp(law.temperature_term / warmth) * math.exp(potential / warmth)


def lost_after(*, rate: float, exponent: float, stood_s: float, already: float = 0.0) -> float:
    """All that is lost after standing for a while at one rate, when some was lost already, as a share.

    The loss to the power 1/exponent adds up, so the order of the stretches does not matter, and an aged cell
    loses less in the same time than a new one.
    """
    require_not_negative(rate=rate, stood_s=stood_s, already=already)
    root = 1.0 / exponent
    return float((already**root + rate**root * stood_s / DAY_S) ** exponent)


def lost_in_a_year(table: YearTable, *, charge: float, temperature_K: float) -> float:
    """What the table says a year costs, straight between its entries and held beyond them, as a share."""
    at_charge = [float(np.interp(charge, table.charge, row)) for row in table.kept]
    return 1.0 - float(np.interp(temperature_K, table.temperature_K, at_charge))


def storage_cost(
    *,
    charge: float,
    temperature_K: float,
    stood_s: float,
    views: AgeingViews,
    curve: RestVoltageCurve,
    storage_V: float,
    ages_s: Sequence[float] = (0.0, YEAR_S),
) -> StorageCost:
    """What standing at this charge and warmth costs in capacity, as a band over views and ages.

    `ages_s` are the ages the cell may have, spent at `storage_V` and 25 °C; the default spans a new cell and
    one a year old. Raises ImpossibleInput for a charge outside 0 to 1 or a time below zero.
    """
    require_not_negative(stood_s=stood_s)
    by_volts, by_anode = views.by_cell_voltage, views.by_anode_potential

    def volts_rate(at_charge: float, at_K: float) -> float:
        return rate_by_cell_voltage(law=by_volts, cell_V=curve.voltage_at(at_charge), temperature_K=at_K)

    def anode_rate(at_charge: float, at_K: float) -> float:
        anode_V = float(np.interp(at_charge, by_anode.charge, by_anode.anode_V))
        return rate_by_anode_potential(law=by_anode, anode_V=anode_V, temperature_K=at_K)

    home = curve.charge_at(storage_V)
    opinions = []
    for law, rate_at in ((by_volts, volts_rate), (by_anode, anode_rate)):
        extra = []
        for age_s in ages_s:
            before = lost_after(rate=rate_at(home, REFERENCE_K), exponent=law.exponent, stood_s=age_s)
            after = lost_after(
                rate=rate_at(charge, temperature_K),
                exponent=law.exponent,
                stood_s=stood_s,
                already=before,
            )
            extra.append(after - before)
        opinions.append(Opinion(law.name, min(extra), max(extra)))
    opinions += _from_table(views.by_year_table, charge, temperature_K, stood_s)
    return _cost(tuple(opinions))


def _from_table(table: YearTable, charge: float, temperature_K: float, stood_s: float) -> list[Opinion]:
    if stood_s < table.used_from_s:
        return []
    lost = lost_in_a_year(table, charge=charge, temperature_K=temperature_K) * stood_s / YEAR_S
    return [Opinion(table.name, lost, lost)]


def _cost(opinions: tuple[Opinion, ...]) -> StorageCost:
    low = min(min(opinion.low for opinion in opinions), 1.0)
    high = min(max(opinion.high for opinion in opinions), 1.0)
    cautions = (EXTRAPOLATED, BEYOND_USE) if high > 0.25 else (EXTRAPOLATED,)
    return StorageCost(low, high, opinions, cautions)
