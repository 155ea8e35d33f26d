"""The tables of the twin as its sums ask for them: cars, cans, controllers, ground, styles, limits."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from snugfast import facts
from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.facts.load import read_document, read_table
from snugfast.facts.model import Build
from snugfast.facts.tables import Cell, Table
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.powertrain import cells_circuit
from snugfast.physics.powertrain.driving_styles import Style, style_from
from snugfast.physics.powertrain.motor_estimates import CanSize
from snugfast.physics.powertrain.nickel_cells import NickelLaw, nickel_rest_V
from snugfast.physics.powertrain.road import Ground
from snugfast.physics.powertrain.runs import Limits
from snugfast.physics.study.fitting import NINE_IN_TEN
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.learned import EffortSpread
from snugfast.records.entries import Ground as GroundSaid
from snugfast.usecases.packs.tables import pack_tables

POWERTRAIN = Path(facts.__path__[0]) / "powertrain"
Cells = Mapping[str, Cell]

_STYLE_ON: Mapping[GroundSaid, str] = {
    GroundSaid.TARMAC: "tarmac_laps",
    GroundSaid.CARPET: "tarmac_laps",
    GroundSaid.GRASS: "grass",
    GroundSaid.DIRT: "dirt_laps",
    GroundSaid.GRAVEL: "gravel",
    GroundSaid.SAND: "gravel",
    GroundSaid.ROCKS: "rocks",
}
CRAWLS = "rocks"  # the style of a kind of car that crawls: elsewhere it goes along a trail
_CRAWLER_ELSEWHERE, _FAST_ON_ROCKS = "trail", "gravel"

COVERS_NINE_IN_TEN = NINE_IN_TEN


@cache
def table(name: str) -> Table:
    """One table of numbers, read once."""
    return read_table(POWERTRAIN / f"{name}.csv")


@cache
def document(name: str) -> Mapping[str, Any]:
    """One table of named values, read once."""
    return read_document(POWERTRAIN / f"{name}.toml")


def row(name: str, key: str) -> Cells:
    """The row of that key. Raises NotKnown with the keys there are."""
    for one in table(name).rows:
        if one["key"] == key:
            return one
    listed = ", ".join(str(one["key"]) for one in table(name).rows)
    raise NotKnown(f"No row of {name.replace('_', ' ')} is called “{key}”.", f"There are {listed}.")


def number(cells: Cells, column: str) -> float:
    """A number that the row always has."""
    value = cells[column]
    assert isinstance(value, float), column
    return value


def banded(cells: Cells, column: str, unit: str, origin: Origin, *, ending: str = "") -> Figure:
    """A number of a row with its band, from the columns low, likely and high."""
    low, likely, high = (number(cells, f"{column}_{end}{ending}") for end in ("low", "likely", "high"))
    return Figure(likely, unit, low=low, high=high, origins=(origin,))


def origin_of(name: str, where: str = "") -> Origin:
    """Where a table comes from."""
    pedigree = table(name).pedigree
    return Origin(pedigree.source, where or pedigree.where)


def taken(group: str, name: str, unit: str = "") -> Figure:
    """What the twin takes where nobody says it, with its band and where it comes from."""
    said = document("assembly")[group][name]
    return Figure(
        float(said["value"]),
        unit,
        low=_float(said.get("low")),
        high=_float(said.get("high")),
        origins=(Origin(said["source"], said.get("where", "")),),
    )


def _float(value: Any) -> float | None:
    return None if value is None else float(value)


# Kinds of cars.


@dataclass(frozen=True, slots=True)
class CarKind:
    """A kind of car: its rows, and the style it is driven in when nobody says."""

    name: str
    cells: Cells
    body: Cells
    style: str


def kind_of(build: Build) -> CarKind:
    """The kind of car a build is, from its scale and its drive. Raises BadInput for a scale without a row."""
    sort = "truck"
    if build.traits.get("suspension") == "solid axles":
        sort = "crawler"
    elif build.traits.get("drive_line") == "belt":
        sort = "road"
    rows = [one for one in table("car_kinds").rows if one["scale"] == build.scale]
    fitting = [one for one in rows if str(one["key"]).startswith(sort)] or rows
    if not fitting:
        known = ", ".join(dict.fromkeys(str(one["scale"]) for one in table("car_kinds").rows))
        raise BadInput(
            f"The car model has no numbers for cars of {build.scale}.",
            f"It has {known}; put the nearest into the build as its scale, and mass_kg at the chassis.",
        )
    one = fitting[0]
    return CarKind(str(one["name"]), one, row("bodies", str(one["body"])), str(one["style"]))


# Cans and controllers.


@dataclass(frozen=True, slots=True)
class CanGuess:
    """A can with the bands of its two guesses; `scaled_from` names the row when none is of its size."""

    likely: CanSize
    size: Figure
    idle: Figure
    scaled_from: str


NEAR_m = 1.5e-3


def can_like(diameter_m: float, length_m: float) -> CanGuess:
    """The can of that size; where the table has none, the nearest one scaled.

    Masses and heat capacities go with the volume, cooling with the surface, rotor inertia with diameter to
    the fourth times length, and torque per root of copper heat with the volume, as from row to row of the
    table (windings of one shape and one copper share would give volume to the five sixths; larger cans are
    filled better).
    """
    rows = table("can_sizes").rows
    near = min(
        rows,
        key=lambda one: (
            abs(math.log(diameter_m / number(one, "diameter_m")))
            + abs(math.log(length_m / number(one, "length_m")))
        ),
    )
    d, length = number(near, "diameter_m"), number(near, "length_m")
    exact = abs(d - diameter_m) < NEAR_m and abs(length - length_m) < NEAR_m
    wide, long = (1.0, 1.0) if exact else (diameter_m / d, length_m / length)
    volume, surface = wide * wide * long, wide * long
    size = banded(near, "size", "N·m/√W", origin_of("can_sizes", f"can {near['key']}"))
    idle = banded(near, "idle", "N·m", origin_of("can_sizes", f"can {near['key']}"), ending="_Nm")
    return CanGuess(
        likely=CanSize(
            winding_J_K=number(near, "winding_J_K") * volume,
            can_J_K=number(near, "can_J_K") * volume,
            still_K_W=number(near, "still_K_W") / surface,
            wind_5_K_W=number(near, "wind_5_K_W") / surface,
            winding_to_can_K_W=number(near, "winding_to_can_K_W") / surface,
            rotor_kgm2=number(near, "rotor_kgm2") * wide**4 * long,
            size_Nm_sqrtW=size.value * volume,
            idle_Nm=idle.value * volume,
        ),
        size=_times(size, volume),
        idle=_times(idle, volume),
        scaled_from="" if exact else str(near["key"]),
    )


def _times(figure: Figure, factor: float) -> Figure:
    assert figure.low is not None and figure.high is not None
    return Figure(
        figure.value * factor,
        figure.unit,
        low=figure.low * factor,
        high=figure.high * factor,
        origins=figure.origins,
    )


def controller_row(rated_A: float) -> Cells:
    """The size of controller that a rated current belongs to."""
    if rated_A <= taken("controller_fit", "small_to_A").value:
        return row("controllers", "small")
    if rated_A <= taken("controller_fit", "medium_to_A").value:
        return row("controllers", "medium")
    return row("controllers", "large")


# Cells.


@dataclass(frozen=True, slots=True, eq=False)
class CellKind:
    """The cells of one chemistry as the car model drives them.

    `volts` is the band of another such cell against the curve's, as a factor; None where the curve is theirs.
    `is_published` says whether the curve is one that was published, or one of ours.
    """

    curve: cells_circuit.Curve
    volts: Figure | None
    milliohm_times_ampere_hour: Figure
    kg_per_Ah: float
    cutoff_V: float
    is_published: bool = True


@cache
def cell_kind(chemistry: Chemistry) -> CellKind:
    """Cells of that kind; what has no number of its own is taken from the ordinary lithium-polymer cell."""
    band = pack_tables().band("resistance_of_cell", "milliohm_times_ampere_hour")
    origin = pack_tables().origin("resistance_of_cell", "milliohm_times_ampere_hour")
    ordinary = CellKind(
        curve=cell_curve(),
        volts=None,
        milliohm_times_ampere_hour=Figure(band.likely, "1", band.low, band.high, (origin,)),
        kg_per_Ah=taken("pack", "kg_per_Ah_cell").value,
        cutoff_V=float(document("heat_limits")["charge"]["cut_off_V_per_cell"]["value"]),
    )
    if chemistry is Chemistry.HIGH_VOLTAGE_LITHIUM:
        volts = taken("high_voltage_pack", "volts")
        return replace(ordinary, curve=high_voltage_curve(), volts=volts, is_published=False)
    if chemistry is Chemistry.LITHIUM_POLYMER:
        return ordinary
    is_nickel = chemistry is Chemistry.NICKEL_METAL_HYDRIDE
    group = "nickel_pack" if is_nickel else "iron_phosphate_pack"
    return CellKind(
        curve=nickel_curve() if is_nickel else iron_phosphate_curve(),
        volts=taken(group, "volts"),
        milliohm_times_ampere_hour=taken(group, "milliohm_times_ampere_hour"),
        kg_per_Ah=taken(group, "kg_per_Ah_cell").value,
        cutoff_V=taken(group, "cut_off_V_per_cell").value,
    )


@cache
def iron_phosphate_curve() -> cells_circuit.Curve:
    """The rest voltage of one lithium iron phosphate cell: flat from a tenth of its charge to nearly full."""
    rows = table("rest_voltage_iron_phosphate").rows
    return cells_circuit.curve_through(
        np.array([number(one, "charge") for one in rows]), np.array([number(one, "rest_V") for one in rows])
    )


@cache
def high_voltage_curve() -> cells_circuit.Curve:
    """The rest voltage of one high-voltage lithium cell: an ordinary one, charged on to its own full."""
    lithium, top = pack_tables().curve, taken("high_voltage_pack", "top_share").value
    full_V = pack_tables().cells[Chemistry.HIGH_VOLTAGE_LITHIUM].full_V
    charge = np.array([*((1.0 - top) * np.array(lithium.charge)), 1.0])
    return cells_circuit.curve_through(
        charge,
        np.array([*lithium.rest_V, full_V]),
        np.interp(charge, (1.0 - top) * np.array(lithium.slope_charge), lithium.slope_V_per_K),
    )


@cache
def nickel_curve() -> cells_circuit.Curve:
    """The rest voltage of one nickel cell; it hardly changes with the temperature."""
    law = NickelLaw(**{name: taken("nickel_pack", name).value for name in NickelLaw.__dataclass_fields__})
    charge = np.linspace(0.0, 1.0, cells_circuit.STRIPS + 1)
    return cells_circuit.curve_through(
        charge, np.array([nickel_rest_V(charge_share=float(one), law=law) for one in charge])
    )


@cache
def cell_curve() -> cells_circuit.Curve:
    """The rest voltage of one lithium-polymer cell, with its change per kelvin."""
    curve = pack_tables().curve
    return cells_circuit.curve_through(
        np.array(curve.charge),
        np.array(curve.rest_V),
        np.interp(curve.charge, curve.slope_charge, curve.slope_V_per_K),
    )


# Ground, styles, limits.


def grounds() -> tuple[str, ...]:
    """The keys of the kinds of ground."""
    return tuple(str(one["key"]) for one in table("ground").rows)


def ground(key: str) -> Ground:
    """A kind of ground. Raises NotKnown with those there are."""
    one = row("ground", key)
    return Ground(
        rolling=number(one, "rolling_likely"),
        grip=number(one, "grip_likely"),
        unsteady=number(one, "unsteady_likely"),
    )


def styles() -> tuple[str, ...]:
    """The keys of the driving styles."""
    return tuple(document("driving_styles"))


def style(key: str) -> Style:
    """A driving style. Raises NotKnown with those there are."""
    if key not in styles():
        raise NotKnown(f"There is no driving style “{key}”.", f"There are {', '.join(styles())}.")
    return style_from(key, document("driving_styles")[key])


def style_on(ground: GroundSaid, usual: str) -> Style | None:
    """How a kind of car whose usual style this is gets driven on a ground; None where the ground is not said.

    Its usual style where that belongs to the ground. Only a crawler crawls over rocks: others jump over them.
    """
    if ground not in _STYLE_ON:
        return None
    own = style(usual)
    if ground.value in own.grounds:
        return own
    if usual == CRAWLS:
        return style(_CRAWLER_ELSEWHERE)
    key = _STYLE_ON[ground]
    return style(_FAST_ON_ROCKS if key == CRAWLS else key)


def effort() -> Figure:
    """How hard people drive, beside what the style says: 1 is the style itself."""
    return taken("driver", "effort", "1")


def limits(chemistry: Chemistry = Chemistry.LITHIUM_POLYMER) -> Limits:
    """Where driving should end, with cells of that kind."""
    said = document("heat_limits")
    return Limits(
        reserve_share=said["charge"]["reserve"]["value"],
        cutoff_V_per_cell=cell_kind(chemistry).cutoff_V,
        winding_degC=said["winding"]["limit_degC"]["value"],
        can_degC=said["can"]["limit_degC"]["value"],
        controller_degC=said["controller"]["limit_degC"]["value"],
        pack_degC=said["pack"]["limit_degC"]["value"],
    )


def heat_cautions() -> tuple[str, ...]:
    """What the limits themselves warn of."""
    return tuple(part["caution"] for part in document("heat_limits").values() if "caution" in part)


def prior_spreads() -> dict[Knob, float]:
    """How far off the tables may be: the standard deviation of the logarithm of each factor."""
    said = document("prior_spreads")
    return {knob: float(said[knob.value.replace(" ", "_")]) for knob in Knob}


def effort_spread() -> EffortSpread:
    """How far efforts differ from ground to ground and from run to run."""
    return EffortSpread(**{key: float(value) for key, value in document("prior_spreads")["effort"].items()})


def odds_spread(share: Figure) -> float:
    """The standard deviation of the logarithm of the odds that the band of a share stands for."""
    if share.low is None or share.high is None:
        return 0.0
    low, high = (math.log(end / (1.0 - end)) for end in (share.low, share.high))
    return (high - low) / (2.0 * COVERS_NINE_IN_TEN)


def reading_spread(name: str) -> float:
    """One standard deviation of a reading."""
    return float(document("prior_spreads")["reading"][name])


def log_spread(figure: Figure) -> float:
    """The standard deviation of the logarithm that a band of the tables stands for; zero without one."""
    if figure.low is None or figure.high is None or figure.low <= 0.0:
        return 0.0
    return math.log(figure.high / figure.low) / (2.0 * COVERS_NINE_IN_TEN)
