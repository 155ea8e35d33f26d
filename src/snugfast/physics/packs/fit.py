"""Whether a pack fits a car: plug, size, cells and joining first; then current, sag, cut-off and heat.

What does not fit is refused with every reason. What fits is told in margins; the label's current is a claim,
so the sag and the heat stand beside it. The twin of the car refines these sums later.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import Enum

from snugfast.core.errors import ImpossibleInput
from snugfast.core.findings import Finding
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.heat import (
    PackBody,
    current_for_rise_A,
    resistive_heat_W,
    reversible_heat_W,
    rise_after_K,
    time_to_rise_s,
)
from snugfast.physics.packs.limits import CellLimits
from snugfast.physics.packs.listed_refusal import ListedRefusal
from snugfast.physics.packs.rest_voltage import RestVoltageCurve
from snugfast.physics.packs.together import PackToJoin, parallel_refusals, series_refusals
from snugfast.physics.packs.verdict import Withheld
from snugfast.physics.validation import require_not_negative, require_positive


class Joined(Enum):
    """How the car joins its packs."""

    ALONE = "one pack"
    SERIES = "packs end to end"
    PARALLEL = "packs side by side"


@dataclass(frozen=True, slots=True)
class Plug:
    """A plug by its shape and the size of its pins; None where the shape has no one size."""

    shape: str
    pin_m: float | None = None

    @property
    def words(self) -> str:
        """The plug as a person reads it."""
        return self.shape if self.pin_m is None else f"{self.shape} {self.pin_m * 1000:.1f} mm"


@dataclass(frozen=True, slots=True)
class PackForCar:
    """A pack as a car meets it: who it is, plug, length-width-height, label current, as new, as a warm body.

    `body.resistance_ohm` is of the whole pack at 25 °C; `as_new_ohm` None when it was never measured new.
    `at_start_ohm` is what the car sees at the first pull: the cells as cold as the air, and leads and plugs;
    None takes the body's.
    """

    join: PackToJoin
    plug: Plug
    size_m: tuple[float, float, float]
    label_multiple_per_h: float
    charge: float
    body: PackBody
    as_new_ohm: float | None = None
    at_start_ohm: float | None = None


@dataclass(frozen=True, slots=True)
class CarForPack:
    """What a car takes: chemistries its cut-off knows, cells in all, plug, tray of each pack, joining.

    `cut_off_V` is per cell under load, None when the controller has none or it is switched off.
    """

    chemistries: frozenset[Chemistry]
    least_cells: int
    most_cells: int
    plug: Plug
    tray_m: tuple[float, float, float]
    joined: Joined
    packs: int
    cut_off_V: float | None


@dataclass(frozen=True, slots=True)
class Demand:
    """What driving asks of the packs: currents in A with the share of time of each, peak, run time, air."""

    current_A: tuple[float, ...]
    share: tuple[float, ...]
    peak_A: float
    run_s: float
    air_K: float

    def __post_init__(self) -> None:
        if len(self.current_A) != len(self.share) or abs(sum(self.share) - 1.0) > 1e-6:
            raise ImpossibleInput(
                "Each current has a share of the time, and the shares add up to one.",
                "Put the shares right.",
            )
        require_not_negative(current_A=min(self.current_A), share=min(self.share), peak_A=self.peak_A)
        require_positive(run_s=self.run_s, air_K=self.air_K)

    @property
    def rms_A(self) -> float:
        """The steady current that would make the same heat in a resistance, A."""
        return math.sqrt(sum(w * amps**2 for amps, w in zip(self.current_A, self.share, strict=True)))

    @property
    def mean_A(self) -> float:
        """The current on average, which empties the pack and drives the heat of its chemistry, A."""
        return sum(w * amps for amps, w in zip(self.current_A, self.share, strict=True))

    def shared_by(self, packs: int) -> Demand:
        """What each of so many like packs side by side carries."""
        return replace(
            self, current_A=tuple(amps / packs for amps in self.current_A), peak_A=self.peak_A / packs
        )


@dataclass(frozen=True, slots=True)
class Fit:
    """How one pack of the set bears the demand.

    Currents in A of that pack: `rms_A` asked, `label_A` claimed (less what it has aged), `sag_A` where the
    volts reach the cut-off, `steady_A` that it may carry for ever. `margin` is the least of label and sag
    over what is asked of each. Volts per cell at the peak; rise in K after the run, resistance alone and
    with the reversible heat; seconds until it is hot. Cautions are sentences.
    """

    rms_A: float
    label_A: float
    sag_A: float
    steady_A: float
    margin: float
    cell_at_peak_V: float
    cuts_off: bool
    rise_resistive_K: float
    rise_K: float
    hot_after_s: float
    cautions: tuple[str, ...]


class FitRefused(ListedRefusal):
    """The pack does not belong in this car."""


def label_current(
    *, capacity_C: float, label_multiple_per_h: float, as_new_ohm: float | None, now_ohm: float
) -> float:
    """What the label claims the pack can give for long, A, less as its resistance has climbed.

    Multiple × capacity, times √(as new / now): the same heat as when it was new.
    """
    require_positive(capacity_C=capacity_C, label_multiple_per_h=label_multiple_per_h, now_ohm=now_ohm)
    claimed_A = label_multiple_per_h * capacity_C / 3600.0
    return claimed_A if as_new_ohm is None else claimed_A * math.sqrt(min(as_new_ohm / now_ohm, 1.0))


def sag_current(*, rest_V: float, least_V: float, cell_ohm: float) -> float:
    """The current at which a cell's volts fall to `least_V`, A; zero when it rests below it already."""
    require_positive(cell_ohm=cell_ohm)
    return max((rest_V - least_V) / cell_ohm, 0.0)


def fit_refusals(packs: Sequence[PackForCar], car: CarForPack, limits: CellLimits) -> tuple[Finding, ...]:
    """Everything that keeps these packs out of this car; empty when they belong in it."""
    return (
        *_not_to_drive(packs),
        *_wrong_number(packs, car),
        *_wrong_cells(packs, car),
        *_wrong_chemistry(packs, car),
        *_wrong_shape(packs, car),
        *_wrong_cut_off(car, limits),
        *_wrong_joining(packs, car, limits),
    )


def fit_to_car(
    *,
    packs: Sequence[PackForCar],
    car: CarForPack,
    demand: Demand,
    curve: RestVoltageCurve,
    limits: CellLimits,
    hot_K: float,
) -> Fit:
    """How the weakest of these packs bears what the car asks of it.

    `hot_K` is the temperature it should stay under. Raises FitRefused with every reason when a pack does not
    belong in the car, damaged packs first; NoTable when there are no limits for its chemistry.
    """
    found = fit_refusals(packs, car, limits)
    if found or car.cut_off_V is None:
        raise FitRefused(found)
    for pack in packs:
        limits.require(pack.join.chemistry)
    each = demand.shared_by(len(packs)) if car.joined is Joined.PARALLEL else demand
    fits = (_one_fit(pack, each, car.cut_off_V, curve, limits, hot_K) for pack in packs)
    return min(fits, key=lambda fit: fit.margin)


def _one_fit(
    pack: PackForCar,
    demand: Demand,
    least_V: float,
    curve: RestVoltageCurve,
    limits: CellLimits,
    hot_K: float,
) -> Fit:
    cells, ohm = pack.join.cells, pack.body.resistance_ohm
    rest_V, entropy = curve.voltage_at(pack.charge), curve.entropy_slope(pack.charge)
    label_A = label_current(
        capacity_C=pack.join.capacity_C,
        label_multiple_per_h=pack.label_multiple_per_h,
        as_new_ohm=pack.as_new_ohm,
        now_ohm=ohm,
    )
    seen_ohm = ohm if pack.at_start_ohm is None else pack.at_start_ohm
    sag_A = sag_current(rest_V=rest_V, least_V=least_V, cell_ohm=seen_ohm / cells)
    cell_at_peak_V = rest_V - demand.peak_A * seen_ohm / cells
    # The resistance feels the rms current, the chemistry the mean one.
    resistive_W = resistive_heat_W(current_A=demand.rms_A, resistance_ohm=ohm)
    whole_W = resistive_W + reversible_heat_W(
        current_A=demand.mean_A, cells=cells, temperature_K=demand.air_K, entropy_V_per_K=entropy
    )
    room_K = hot_K - demand.air_K
    fit = Fit(
        rms_A=demand.rms_A,
        label_A=label_A,
        sag_A=sag_A,
        steady_A=_steady_current(pack.body, room_K, demand.air_K, entropy),
        margin=min(_over(label_A, demand.rms_A), _over(sag_A, demand.peak_A)),
        cell_at_peak_V=cell_at_peak_V,
        cuts_off=cell_at_peak_V < least_V,
        rise_resistive_K=rise_after_K(pack.body, resistive_W, demand.run_s),
        rise_K=rise_after_K(pack.body, whole_W, demand.run_s),
        hot_after_s=time_to_rise_s(pack.body, whole_W, room_K) if room_K > 0 else 0.0,
        cautions=(),
    )
    return replace(fit, cautions=tuple(_cautions(fit, least_V, demand, limits)))


def _steady_current(body: PackBody, room_K: float, air_K: float, entropy: float) -> float:
    if room_K <= 0:
        return 0.0
    return current_for_rise_A(body, rise_K=room_K, temperature_K=air_K, entropy_V_per_K=entropy)


def _over(limit_A: float, asked_A: float) -> float:
    return limit_A / asked_A if asked_A > 0 else math.inf


def _cautions(fit: Fit, least_V: float, demand: Demand, limits: CellLimits) -> Iterator[str]:
    if fit.label_A < fit.rms_A:
        yield f"The car asks for {fit.rms_A:.0f} A and the label, aged, claims {fit.label_A:.0f} A."
    if fit.cuts_off:
        yield f"At the peak a cell falls to {fit.cell_at_peak_V:.2f} V, below the cut-off at {least_V:.2f} V."
    if fit.hot_after_s < demand.run_s:
        yield f"The pack is too warm after {fit.hot_after_s / 60:.0f} min; stop and let it cool before that."
    if least_V < limits.cut_off_low_V:
        yield f"The cut-off is low; common practice stops at {limits.cut_off_low_V:.2f} V a cell under load."


def _not_to_drive(packs: Sequence[PackForCar]) -> Iterator[Finding]:
    for pack in packs:
        verdict = pack.join.verdict
        if isinstance(verdict, Withheld) or not verdict.may_drive:
            yield Finding(pack.join.name, verdict.reasons[0].says, verdict.reasons[0].way_back)


def _wrong_number(packs: Sequence[PackForCar], car: CarForPack) -> Iterator[Finding]:
    if len(packs) != car.packs:
        yield Finding(
            "packs",
            f"The car takes {car.packs} and this is {len(packs)}.",
            "Fit as many packs as the car is made for.",
        )


def _wrong_cells(packs: Sequence[PackForCar], car: CarForPack) -> Iterator[Finding]:
    counts = [pack.join.cells for pack in packs]
    cells = sum(counts) if car.joined is Joined.SERIES else max(counts, default=0)
    if not car.least_cells <= cells <= car.most_cells:
        yield Finding(
            "cells",
            f"The car takes {car.least_cells} to {car.most_cells} cells in series, and this makes {cells}.",
            "Read the lowest cell limit of ESC, motor and receiver, and keep to it.",
        )


def _wrong_chemistry(packs: Sequence[PackForCar], car: CarForPack) -> Iterator[Finding]:
    for pack in packs:
        if pack.join.chemistry not in car.chemistries:
            yield Finding(
                pack.join.name,
                f"The car's cut-off does not know {pack.join.chemistry.value} cells.",
                "Set the ESC to this chemistry, or use another pack.",
            )


def _wrong_shape(packs: Sequence[PackForCar], car: CarForPack) -> Iterator[Finding]:
    for pack in packs:
        if pack.plug != car.plug:
            yield Finding(
                pack.join.name,
                f"Its plug ({pack.plug.words}) is not the car's ({car.plug.words}).",
                "Have one plug changed by somebody who knows how; an adapter of your own is no way.",
            )
        if any(side > room for side, room in zip(pack.size_m, car.tray_m, strict=True)):
            yield Finding(
                pack.join.name,
                f"It measures {_millimetres(pack.size_m)} and the tray {_millimetres(car.tray_m)}.",
                "Do not squeeze a pack; use a smaller one or a larger tray.",
            )


def _wrong_cut_off(car: CarForPack, limits: CellLimits) -> Iterator[Finding]:
    if car.cut_off_V is None or car.cut_off_V < limits.empty_V:
        yield Finding(
            "cut-off",
            f"The ESC does not stop at {limits.empty_V:.2f} V a cell or above.",
            "Switch its low-voltage cut-off on and set it for this pack.",
        )


def _wrong_joining(packs: Sequence[PackForCar], car: CarForPack, limits: CellLimits) -> Iterator[Finding]:
    if car.joined is Joined.ALONE or len(packs) < 2:
        return
    joins = [pack.join for pack in packs]
    found = parallel_refusals(joins, limits) if car.joined is Joined.PARALLEL else series_refusals(joins)
    # A withheld pack was named above already.
    yield from (finding for finding in found if finding.where not in {join.name for join in joins})


def _millimetres(size_m: tuple[float, float, float]) -> str:
    return " × ".join(f"{side * 1000:.0f}" for side in size_m) + " mm"
