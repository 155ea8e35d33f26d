"""What to do with a pack until the next outing: leave it, bring it to storage charge, or the lesser evil.

Two answers stand side by side: what published ageing and fire figures favour, and what is common practice.
Where they differ both are shown, with what each way costs, the energy it leaves in the pack, and how long
the pack lasts that way. Everything here takes the pack as unplugged.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import BadInput
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.drain import lasts_s, self_discharge_per_s
from snugfast.physics.packs.limits import CellLimits
from snugfast.physics.packs.rest_voltage import RestVoltageCurve
from snugfast.physics.packs.storage_ageing import DAY_S, AgeingViews, StorageCost, storage_cost
from snugfast.physics.packs.verdict import Verdict, require_cleared
from snugfast.physics.validation import require_not_negative, require_positive

# An outing this near: leave the pack as it is. Practice stores within two to three days.
SOON_S = 2 * DAY_S
# The pack must last this many times the planned standing.
LASTS_TIMES = 2.0
CHARGE_STEP = 0.1


class Deed(Enum):
    """What to do with the pack now."""

    LEAVE = "leave it as it is, unplugged"
    STORAGE_CHARGE = "run the charger's storage function"
    DRIVE_DOWN = "drive it down gently, then leave it unplugged"
    CHARGE_PART = "charge it part of the way, counted and attended, and stop by hand"
    CHARGE_FULL = "charge it full"


@dataclass(frozen=True, slots=True)
class Stored:
    """A pack to be put away: charge of its lowest cell, capacity in C, cells, for how long, how warm.

    `self_discharge` is the share lost per month at 25 °C; `move_A` the current that charges or discharges it.
    """

    chemistry: Chemistry
    charge: Band
    capacity_C: float
    cells: int
    stand_s: float
    temperature_K: float
    self_discharge: Band
    move_A: float
    has_storage_function: bool

    def __post_init__(self) -> None:
        require_positive(capacity_C=self.capacity_C, cells=self.cells, move_A=self.move_A)
        if self.stand_s < 0:
            raise BadInput("The next outing lies in the past.", "Give a day from today on.")
        require_not_negative(charge=self.charge.low)


@dataclass(frozen=True, slots=True)
class Way:
    """One way of leaving the pack: its charge, what moves, what it costs, what energy lies in it.

    `move_C` is above zero when charge goes in; `move_s` is at the given current; `lasts_s` is the early time
    to the danger line.
    """

    deed: Deed
    charge: float
    move_C: float
    move_s: float
    cost: StorageCost
    energy_J: float
    lasts_s: float


@dataclass(frozen=True, slots=True)
class Advice:
    """What one view says, and why."""

    way: Way
    why: str


@dataclass(frozen=True, slots=True)
class StorageAdvice:
    """Both views, whether they differ, and the ways compared: leave, storage charge, full."""

    published: Advice
    practice: Advice
    ways: tuple[Way, ...]

    @property
    def differ(self) -> bool:
        """Whether published figures and common practice say different things."""
        return self.published.way.deed is not self.practice.way.deed


@dataclass(frozen=True, slots=True)
class _Desk:
    """The tables beside one pack, for the small sums below."""

    pack: Stored
    views: AgeingViews
    curve: RestVoltageCurve
    limits: CellLimits

    def way(self, deed: Deed, charge: float) -> Way:
        pack = self.pack
        move_C = (charge - pack.charge.likely) * pack.capacity_C if deed is not Deed.LEAVE else 0.0
        return Way(
            deed=deed,
            charge=charge,
            move_C=move_C,
            move_s=abs(move_C) / pack.move_A,
            cost=storage_cost(
                charge=charge,
                temperature_K=pack.temperature_K,
                stood_s=pack.stand_s,
                views=self.views,
                curve=self.curve,
                storage_V=self.limits.storage_V,
            ),
            energy_J=stored_J(charge=charge, capacity_C=pack.capacity_C, cells=pack.cells, curve=self.curve),
            lasts_s=self.early_danger_s(pack.charge.low if deed is Deed.LEAVE else charge),
        )

    def early_danger_s(self, charge: float) -> float:
        return lasts_s(
            charge=charge,
            until_charge=self.curve.charge_at(self.limits.danger_V),
            drain_A=0.0,
            capacity_C=self.pack.capacity_C,
            self_discharge_per_s=self_discharge_per_s(
                per_month_at_25=self.pack.self_discharge.high, temperature_K=self.pack.temperature_K
            ),
        )

    def lowest_that_lasts(self) -> float:
        """Storage charge, or as much above it as the standing needs, up to full."""
        charge = self.curve.charge_at(self.limits.storage_V)
        while charge < 1.0 and self.early_danger_s(charge) < LASTS_TIMES * self.pack.stand_s:
            charge = min(charge + CHARGE_STEP, 1.0)
        return charge

    @property
    def inside(self) -> bool:
        low, high = (
            self.curve.charge_at(volts) for volts in (self.limits.storage_low_V, self.limits.storage_high_V)
        )
        return low <= self.pack.charge.likely <= high

    @property
    def lasts_as_it_is(self) -> bool:
        return self.early_danger_s(self.pack.charge.low) >= LASTS_TIMES * self.pack.stand_s


def stored_J(*, charge: float, capacity_C: float, cells: int, curve: RestVoltageCurve) -> float:
    """Electrical energy in a pack at this charge, J; what a burning cell gives is more."""
    require_positive(capacity_C=capacity_C, cells=cells)
    return cells * capacity_C * curve.volts_under_curve(charge)


def storage_advice(
    *, verdict: Verdict, pack: Stored, views: AgeingViews, curve: RestVoltageCurve, limits: CellLimits
) -> StorageAdvice:
    """What to do with the pack until it is driven again: the published view, common practice, the costs.

    Raises RefusedAction when the verdict withholds the pack (a damaged one is not stored, it goes away),
    NoTable when the limits are of another chemistry.
    """
    require_cleared(verdict)
    limits.require(pack.chemistry)
    desk = _Desk(pack, views, curve, limits)
    return StorageAdvice(
        published=_published(desk),
        practice=_practice(desk),
        ways=(
            desk.way(Deed.LEAVE, pack.charge.likely),
            desk.way(Deed.STORAGE_CHARGE, curve.charge_at(limits.storage_V)),
            desk.way(Deed.CHARGE_FULL, 1.0),
        ),
    )


def _published(desk: _Desk) -> Advice:
    """The lowest charge, from storage charge up, that lasts twice the time."""
    pack, leave = desk.pack, desk.way(Deed.LEAVE, desk.pack.charge.likely)
    if pack.stand_s <= SOON_S and desk.lasts_as_it_is:
        return Advice(leave, "The outing is near; so short a stand costs little.")
    if desk.inside and desk.lasts_as_it_is:
        return Advice(leave, "It stands at storage charge and lasts twice the time.")
    storage = desk.curve.charge_at(desk.limits.storage_V)
    target = desk.lowest_that_lasts()
    if pack.has_storage_function and target == storage:
        deed = Deed.STORAGE_CHARGE
    else:
        deed = Deed.DRIVE_DOWN if pack.charge.likely > target else Deed.CHARGE_PART
    why = "Fuller cells age faster and burn harder; this is the lowest charge that lasts twice the time."
    if desk.early_danger_s(target) < LASTS_TIMES * pack.stand_s:
        why = "Not even a full pack is sure to last twice the time: read it on the way and top it up."
    return Advice(desk.way(deed, target), why)


def _practice(desk: _Desk) -> Advice:
    """Storage charge where the charger can; without it a full pack rather than a low one."""
    pack, leave = desk.pack, desk.way(Deed.LEAVE, desk.pack.charge.likely)
    if pack.stand_s <= SOON_S and desk.lasts_as_it_is:
        return Advice(leave, "Storage charge is for more than two or three days.")
    if desk.inside:
        return Advice(leave, "It stands at storage charge.")
    storage = desk.curve.charge_at(desk.limits.storage_V)
    if pack.has_storage_function:
        return Advice(desk.way(Deed.STORAGE_CHARGE, storage), "The storage function is the right way.")
    if pack.charge.likely > storage:
        return Advice(leave, "Without a storage function a full pack is better than a low one.")
    return Advice(desk.way(Deed.CHARGE_FULL, 1.0), "Low voltage is worst; without a storage function, full.")
