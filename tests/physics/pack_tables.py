"""The pack tables and golden files, read plainly, for the tests of pack physics."""

from __future__ import annotations

import csv
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

import snugfast.facts
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.limits import CellLimits, PackLimits, WarmthLimits, WearLimits
from snugfast.physics.packs.rest_voltage import RestVoltageCurve
from snugfast.physics.packs.storage_ageing import AgeingViews, AnodeLaw, VoltageLaw, YearTable

PACKS = Path(snugfast.facts.__file__).parent / "packs"
GOLDEN = Path(__file__).parent.parent / "golden" / "packs"

AH_C = 3600.0
DAY_S = 86400.0
HOUR_S = 3600.0


def kelvin(temperature_degC: float) -> float:
    return temperature_degC + ZERO_CELSIUS_K


def rows(path: Path) -> list[dict[str, float]]:
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return [{name: float(text) for name, text in row.items()} for row in csv.DictReader(lines)]


def column(path: Path, name: str) -> tuple[float, ...]:
    return tuple(row[name] for row in rows(path))


def toml(name: str) -> dict[str, Any]:
    return tomllib.loads((PACKS / name).read_text(encoding="utf-8"))


def product_curve() -> RestVoltageCurve:
    volts, slopes = PACKS / "rest_voltage_cobalt_pouch.csv", PACKS / "rest_voltage_slope_cobalt_pouch.csv"
    return RestVoltageCurve(
        charge=column(volts, "charge"),
        rest_V=column(volts, "rest_V"),
        slope_charge=column(slopes, "charge"),
        slope_V_per_K=column(slopes, "slope_V_per_K"),
    )


def golden_curve(name: str) -> RestVoltageCurve:
    path = GOLDEN / name
    return RestVoltageCurve(
        charge=tuple(percent / 100 for percent in column(path, "soc_percent")), rest_V=column(path, "ocv_V")
    )


def _values(kind: type, table: Mapping[str, Any], **more: Any) -> Any:
    read = {field.name: table[field.name]["value"] for field in fields(kind) if field.name not in more}
    return kind(**read, **more)


def product_limits() -> PackLimits:
    table = toml("limits.toml")["lithium_polymer"]
    return PackLimits(
        cell=_values(CellLimits, table, chemistry=Chemistry.LITHIUM_POLYMER),
        warmth=_values(WarmthLimits, table["warmth"]),
        wear=_values(WearLimits, table["wear"]),
    )


def band_of(table: Mapping[str, Any], unit: str = "") -> Band:
    return Band(*(table[f"{end}{unit}"] for end in ("low", "likely", "high")))


def _law(kind: type, table: Mapping[str, Any], **more: Any) -> Any:
    return kind(**{field.name: table[field.name] for field in fields(kind) if field.name not in more}, **more)


def resistance_law() -> VoltageLaw:
    return _law(VoltageLaw, toml("calendar_ageing.toml")["resistance_by_cell_voltage"])


def ageing_views() -> AgeingViews:
    laws = toml("calendar_ageing.toml")
    anode = PACKS / "anode_potential_pouch.csv"
    year = rows(PACKS / laws["handbook_year"]["table"])
    warmths = sorted({row["temperature_degC"] for row in year})
    charges = sorted({row["charge"] for row in year})
    kept = {(row["temperature_degC"], row["charge"]): row["kept"] for row in year}
    return AgeingViews(
        by_cell_voltage=_law(VoltageLaw, laws["capacity_by_cell_voltage"]),
        by_anode_potential=_law(
            AnodeLaw,
            laws["capacity_by_anode_potential"],
            charge=column(anode, "charge"),
            anode_V=column(anode, "anode_V"),
        ),
        by_year_table=YearTable(
            name=laws["handbook_year"]["name"],
            temperature_K=tuple(kelvin(warmth) for warmth in warmths),
            charge=tuple(charges),
            kept=tuple(tuple(kept[warmth, charge] for charge in charges) for warmth in warmths),
            used_from_s=laws["handbook_year"]["used_from_days"] * DAY_S,
        ),
    )
