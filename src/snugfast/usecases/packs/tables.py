"""The tables of packs as the sums ask for them: limits, curve, ageing, drains, how readings are trusted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import cache
from pathlib import Path
from typing import Any

from snugfast import facts
from snugfast.core.figures import Origin
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.facts.cell_limits import with_cell_limits
from snugfast.facts.load import read_document, read_table
from snugfast.facts.tables import Table
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.charge_left import ReadingCare
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.drain import Left
from snugfast.physics.packs.energy import AirBand
from snugfast.physics.packs.limits import CellLimits, PackLimits, WarmthLimits, WearLimits
from snugfast.physics.packs.resistance_trend import TrendWarmth
from snugfast.physics.packs.rest_voltage import RestVoltageCurve
from snugfast.physics.packs.storage_ageing import DAY_S, AgeingViews, AnodeLaw, VoltageLaw, YearTable

PACKS = Path(facts.__path__[0]) / "packs"
POWERTRAIN = PACKS.parent / "powertrain"
CURVE = Origin("ai-2020", "rest voltage by charge, cobalt pouch cell")


@dataclass(frozen=True, slots=True)
class View:
    """What one source says about a matter that sources disagree on."""

    says: str
    source: str


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Where published views, makers and practice disagree, and what the sums take."""

    key: str
    question: str
    views: tuple[View, ...]
    taken: str


@dataclass(frozen=True, slots=True)
class Words:
    """A text of the tables with its source."""

    text: str
    source: str


@dataclass(frozen=True, slots=True)
class ChemistryNotes:
    """What can honestly be said of a chemistry that has no table."""

    note: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cargo:
    """What is allowed of a lithium pack that is sent by air as cargo, and who says so."""

    says: str
    most_charge: float
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PackTables:
    """All tables of packs. `cells` holds the volts of each chemistry that has any.

    Curve and ageing, and with them `limits`, hold for lithium-polymer alone; warmth and wear are those of
    `limits` for every pack, since none of another chemistry was seen that allows more.
    """

    limits: PackLimits
    cells: Mapping[Chemistry, CellLimits]
    curve: RestVoltageCurve
    views: AgeingViews
    self_discharge: Band
    drains_A: Mapping[Left, Band]
    leads_ohm: Band  # leads and plugs of pack and car, the row the car model takes too
    known_care: ReadingCare
    unknown_care: ReadingCare
    trend_warmth: TrendWarmth
    air_bands: tuple[AirBand, ...]
    cargo: Cargo
    disagreements: tuple[Disagreement, ...]
    instruments: Mapping[str, Words]
    notes: Mapping[Chemistry, ChemistryNotes]
    reading: Mapping[str, Mapping[str, Any]]
    limit_rows: Mapping[str, Mapping[str, Any]]

    def value(self, group: str, name: str) -> float:
        """One number of the table of readings."""
        return float(self.reading[group][name]["value"])

    def band(self, group: str, name: str) -> Band:
        """One number of the table of readings with its band."""
        return _band(self.reading[group][name], likely="value")

    def origin(self, group: str, name: str) -> Origin:
        """Where a number of the table of readings comes from."""
        row = self.reading[group][name]
        return Origin(row["source"], row.get("where", ""))

    def limit_origin(self, name: str, chemistry: Chemistry = Chemistry.LITHIUM_POLYMER) -> Origin:
        """Where a limit of a chemistry comes from."""
        row = self.limit_rows[chemistry.name.lower()][name]
        return Origin(row["source"], row.get("where", ""))


@cache
def pack_tables() -> PackTables:
    """The tables, read once."""
    limit_rows = _toml("limits")
    reading = _toml("reading")
    rest = reading["rest"]
    return PackTables(
        limits=_limits(limit_rows["lithium_polymer"]),
        cells={
            chemistry: _cell_limits(chemistry, row)
            for chemistry in Chemistry
            if (row := limit_rows[chemistry.name.lower()])["model"] != "none"
        },
        curve=_curve(),
        views=_views(),
        self_discharge=_band(_toml("self_discharge")["bare_pack"]),
        drains_A={left: _band(_toml("drains")[key], "_A") for left, key in DRAIN_KEYS.items()},
        leads_ohm=_band(read_document(POWERTRAIN / "assembly.toml")["pack"]["leads_ohm"], likely="value"),
        known_care=_care(rest, "known_table_charge"),
        unknown_care=_care(rest, "unknown_table_charge"),
        trend_warmth=TrendWarmth(
            compared_from_degC=reading["resistance"]["trend_from_degC"]["value"],
            compared_to_degC=reading["resistance"]["trend_to_degC"]["value"],
            corrected_from_degC=reading["resistance"]["corrected_from_degC"]["value"],
        ),
        air_bands=_air_bands(),
        cargo=_cargo(),
        disagreements=_disagreements(),
        instruments={key: Words(row["text"], row["source"]) for key, row in _toml("instruments").items()},
        notes={
            chemistry: ChemistryNotes(with_cell_limits(row["note"], limit_rows), tuple(row["cautions"]))
            for chemistry in Chemistry
            if (row := limit_rows[chemistry.name.lower()])["model"] != "full"
        },
        reading=reading,
        limit_rows=limit_rows,
    )


DRAIN_KEYS = {
    Left.UNPLUGGED: "unplugged",
    Left.PLUGGED_SWITCH_OFF: "plugged_switch_off",
    Left.SWITCHED_ON: "switched_on",
}


def _toml(name: str) -> Mapping[str, Any]:
    return read_document(PACKS / f"{name}.toml")


def _columns(name: str) -> Table:
    return read_table(PACKS / f"{name}.csv")


def _column(table: Table, name: str) -> tuple[float, ...]:
    return tuple(float(row[name] or 0.0) for row in table.rows)


def _band(row: Mapping[str, Any], unit: str = "", likely: str = "likely") -> Band:
    return Band(float(row[f"low{unit}"]), float(row[f"{likely}{unit}"]), float(row[f"high{unit}"]))


def _limits(row: Mapping[str, Any]) -> PackLimits:
    return PackLimits(
        cell=_cell_limits(Chemistry.LITHIUM_POLYMER, row),
        warmth=WarmthLimits(**_values(WarmthLimits, row["warmth"])),
        wear=WearLimits(**_values(WearLimits, row["wear"])),
    )


def _cell_limits(chemistry: Chemistry, row: Mapping[str, Any]) -> CellLimits:
    return CellLimits(chemistry=chemistry, **_values(CellLimits, row, without="chemistry"))


def _values(shape: type[Any], row: Mapping[str, Any], without: str = "") -> dict[str, Any]:
    return {field.name: row[field.name]["value"] for field in fields(shape) if field.name != without}


def _care(rest: Mapping[str, Any], table: str) -> ReadingCare:
    return ReadingCare(
        settled_s=rest["settled_s"]["value"],
        provisional_s=rest["provisional_s"]["value"],
        table_charge=rest[table]["value"],
        meter_V=rest["meter_V"]["value"],
    )


def _curve() -> RestVoltageCurve:
    volts, slopes = _columns("rest_voltage_cobalt_pouch"), _columns("rest_voltage_slope_cobalt_pouch")
    return RestVoltageCurve(
        charge=_column(volts, "charge"),
        rest_V=_column(volts, "rest_V"),
        slope_charge=_column(slopes, "charge"),
        slope_V_per_K=_column(slopes, "slope_V_per_K"),
    )


def _views() -> AgeingViews:
    laws = _toml("calendar_ageing")
    anode, handbook = _columns("anode_potential_pouch"), laws["handbook_year"]
    return AgeingViews(
        by_cell_voltage=VoltageLaw(**_law(VoltageLaw, laws["capacity_by_cell_voltage"])),
        by_anode_potential=AnodeLaw(
            charge=_column(anode, "charge"),
            anode_V=_column(anode, "anode_V"),
            **_law(AnodeLaw, laws["capacity_by_anode_potential"]),
        ),
        by_year_table=_year_table(handbook),
    )


def _law(shape: type[Any], row: Mapping[str, Any]) -> dict[str, Any]:
    return {field.name: row[field.name] for field in fields(shape) if field.name in row}


def _year_table(handbook: Mapping[str, Any]) -> YearTable:
    table = _columns(str(handbook["table"]).removesuffix(".csv"))
    rows = list(
        zip(_column(table, "temperature_degC"), _column(table, "charge"), _column(table, "kept"), strict=True)
    )
    warmths, charges = sorted({row[0] for row in rows}), sorted({row[1] for row in rows})
    kept = {(warmth, charge): share for warmth, charge, share in rows}
    return YearTable(
        name=handbook["name"],
        temperature_K=tuple(warmth + ZERO_CELSIUS_K for warmth in warmths),
        charge=tuple(charges),
        kept=tuple(tuple(kept[warmth, charge] for charge in charges) for warmth in warmths),
        used_from_s=handbook["used_from_days"] * DAY_S,
    )


def _air_bands() -> tuple[AirBand, ...]:
    air = _toml("air")
    names = {
        "within_100": "up to 100 Wh",
        "with_approval": "100 to 160 Wh",
        "not_carried": "above 160 Wh",
    }
    return tuple(AirBand(name, air[key].get("up_to_Wh"), air[key]["says"]) for key, name in names.items())


def _cargo() -> Cargo:
    row = _toml("air")["cargo"]
    return Cargo(row["says"], row["most_charge"], (row["source"], *row["repeated_by"]))


def _disagreements() -> tuple[Disagreement, ...]:
    return tuple(
        Disagreement(
            key=key,
            question=row["question"],
            views=tuple(View(view["says"], view["source"]) for view in row["views"]),
            taken=row["taken"],
        )
        for key, row in _toml("conflicts").items()
    )
