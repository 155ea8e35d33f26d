"""A charge session: how many amperes, how many minutes, and when to start.

Every sum here asks for a cleared verdict. The minutes have two parts: a steady current until the volts reach
full, then full volts while the current dies away. Resistance decides how long the second part is, and it is
rarely known well, so the minutes are a band.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum
from itertools import pairwise

from snugfast.core.errors import BadInput, RefusedAction
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.cell_readings import millivolts
from snugfast.physics.packs.charge_setup import Setup, require_setup
from snugfast.physics.packs.limits import CellLimits
from snugfast.physics.packs.rest_voltage import RestVoltageCurve
from snugfast.physics.packs.verdict import Verdict, require_cleared
from snugfast.physics.validation import require_positive


class Bound(Enum):
    """What holds the charge current down."""

    USUAL = "the usual rate of once the capacity per hour"
    LABEL = "the charge rate on the pack's label"
    CHANNEL = "the amperes of the charger's channel"
    WATTS = "the watts of the charger"
    SUPPLY = "the supply that feeds the charger"
    SPREAD = "the balancer: the cells stand far apart"


@dataclass(frozen=True, slots=True)
class Charger:
    """One channel of a charger. `supply_W` is what its supply gives, `efficiency` what of that arrives."""

    most_A: float
    most_W: float
    efficiency: float
    supply_W: float | None = None

    def __post_init__(self) -> None:
        require_positive(most_A=self.most_A, most_W=self.most_W, efficiency=self.efficiency)
        if self.supply_W is not None:
            require_positive(supply_W=self.supply_W)


@dataclass(frozen=True, slots=True)
class ChargeCurrent:
    """The current to set, in A, what holds it there, and every bound in A for the reasons."""

    current_A: float
    held_by: Bound
    bounds_A: dict[Bound, float]


@dataclass(frozen=True, slots=True)
class Session:
    """A charge as planned: current, seconds of its two parts and in all, charge put in, coulombs."""

    current: ChargeCurrent
    steady_s: float
    tail_s: float
    whole_s: Band
    put_in_C: Band


def charge_current(
    *,
    verdict: Verdict,
    capacity_C: float,
    setup: Setup,
    charger: Charger,
    limits: CellLimits,
    label_A: float | None = None,
    spread_V: float = 0.0,
) -> ChargeCurrent:
    """The charge current to set on the charger, in A, and what holds it there.

    The least of: the usual rate, the charge rate of the label, the channel's amperes, the charger's watts
    over the full pack voltage, and the same for its supply; and what a balancer can even out, where the cells
    stand `spread_V` and so too far apart. A label never raises it above the usual rate.
    Raises RefusedAction when the verdict withholds the pack, NoTable when the limits are not its own.
    """
    require_cleared(verdict)
    limits.require(setup.pack_chemistry)
    require_positive(capacity_C=capacity_C, cells=setup.pack_cells)
    full_pack_V = setup.pack_cells * limits.full_V
    bounds = {
        Bound.USUAL: limits.charge_multiple_per_h * capacity_C / 3600.0,
        Bound.CHANNEL: charger.most_A,
        Bound.WATTS: charger.most_W / full_pack_V,
    }
    if label_A is not None:
        require_positive(label_A=label_A)
        bounds[Bound.LABEL] = label_A
    if charger.supply_W is not None:
        bounds[Bound.SUPPLY] = charger.supply_W * charger.efficiency / full_pack_V
    if millivolts(spread_V) > millivolts(limits.spread_stop_V):
        bounds[Bound.SPREAD] = limits.balance_multiple_per_h * capacity_C / 3600.0
    held_by = min(bounds, key=bounds.__getitem__)
    return ChargeCurrent(bounds[held_by], held_by, bounds)


def plan_session(
    *,
    verdict: Verdict,
    setup: Setup,
    current: ChargeCurrent,
    charge: Band,
    capacity_C: Band,
    cell_resistance_ohm: Band,
    until_V: float,
    balance_s: float,
    curve: RestVoltageCurve,
    limits: CellLimits,
) -> Session:
    """How long a charge to `until_V` per cell takes, as a band, and how much goes in.

    Early end: fuller, smaller, less resistance. Late end: the opposite, and `balance_s` of balancing on top.
    Raises RefusedAction when the pack is withheld or the current is above the usual rate, ChargeRefused when
    the setup is wrong, BadInput for a target above full.
    """
    require_cleared(verdict)
    require_setup(setup)
    limits.require(setup.pack_chemistry)
    _require_usual_rate(current.current_A, capacity_C.likely, limits)
    if not limits.empty_V < until_V <= limits.full_V:
        raise BadInput(
            f"A cell of this pack is not charged to {until_V:.2f} V.",
            f"Choose at most {limits.full_V:.2f} V.",
        )
    early, likely, late = (
        _one_charge(curve, start, capacity, ohm, current.current_A, until_V, limits.end_current_share)
        for start, capacity, ohm in zip(
            reversed(charge.ends), capacity_C.ends, cell_resistance_ohm.ends, strict=True
        )
    )
    return Session(
        current=current,
        steady_s=likely.steady_s,
        tail_s=likely.tail_s,
        whole_s=Band(early.whole_s, likely.whole_s, late.whole_s + balance_s),
        put_in_C=Band(*sorted((early.put_in_C, likely.put_in_C, late.put_in_C))),
    )


def latest_start(*, ready_by: datetime, now: datetime, session: Session) -> datetime:
    """When to plug in at the latest, counted from the late end of the minutes.

    Raises BadInput when `ready_by` is past, RefusedAction with the earliest time when it cannot be done.
    """
    if ready_by <= now:
        raise BadInput("The time to be ready by is already past.", "Give a later one.")
    needed = timedelta(seconds=session.whole_s.high)
    if now + needed > ready_by:
        raise RefusedAction(
            f"The pack cannot be ready by {ready_by:%H:%M}.",
            f"It can be by {now + needed:%d %B %H:%M}; do not raise the current.",
        )
    return ready_by - needed


@dataclass(frozen=True, slots=True)
class _OneCharge:
    steady_s: float
    tail_s: float
    put_in_C: float

    @property
    def whole_s(self) -> float:
        return self.steady_s + self.tail_s


def _one_charge(
    curve: RestVoltageCurve,
    start: float,
    capacity_C: float,
    cell_ohm: float,
    current_A: float,
    until_V: float,
    end_share: float,
) -> _OneCharge:
    """One charge with everything known: steady current, then the tail at the target voltage."""
    require_positive(capacity_C=capacity_C, cell_ohm=cell_ohm, current_A=current_A)
    tail_from = max(start, _charge_or_empty(curve, until_V - current_A * cell_ohm))
    end = max(start, _charge_or_empty(curve, until_V - end_share * current_A * cell_ohm))
    steady_s = (tail_from - start) * capacity_C / current_A
    points = [tail_from, *(z for z in curve.charge if tail_from < z < end), end]
    tail_s = sum(
        _tail_between(curve, here, there, capacity_C, cell_ohm, until_V) for here, there in pairwise(points)
    )
    return _OneCharge(steady_s, tail_s, (end - start) * capacity_C)


def _tail_between(
    curve: RestVoltageCurve, here: float, there: float, capacity_C: float, cell_ohm: float, until_V: float
) -> float:
    """Seconds of the tail over one straight piece of the curve, where the current dies away by e."""
    low_V, high_V = curve.voltage_at(here), curve.voltage_at(there)
    if there <= here or high_V <= low_V:  # nothing, or less than a voltage can tell apart
        return 0.0
    slope_V = (high_V - low_V) / (there - here)
    return cell_ohm * capacity_C / slope_V * math.log((until_V - low_V) / (until_V - high_V))


def _require_usual_rate(current_A: float, capacity_C: float, limits: CellLimits) -> None:
    usual_A = limits.charge_multiple_per_h * capacity_C / 3600.0
    if current_A > usual_A * (1 + 1e-9):
        raise RefusedAction(
            f"{current_A:.1f} A is more than this pack is charged with.", f"Set at most {usual_A:.1f} A."
        )


def _charge_or_empty(curve: RestVoltageCurve, rest_V: float) -> float:
    return 0.0 if rest_V <= curve.rest_V[0] else curve.charge_at(rest_V)
