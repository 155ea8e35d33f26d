"""Text with units at the doors, plain SI floats inside.

A temperature and a temperature difference are two kinds. What a person typed is kept beside the SI value
by whoever stores it; this module only reads and writes.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import Enum

from snugfast.core.errors import BadInput
from snugfast.core.spelling import plain_number, typed_unit


class Kind(Enum):
    """What a quantity is; the value is the SI unit it is kept in."""

    DURATION = "s"
    LENGTH = "m"
    MASS = "kg"
    VOLTAGE = "V"
    CURRENT = "A"
    CHARGE = "C"
    RESISTANCE = "Ω"
    POWER = "W"
    ENERGY = "J"
    SPEED = "m/s"
    ANGULAR_SPEED = "rad/s"
    TORQUE = "N·m"
    FORCE = "N"
    TEMPERATURE = "K"
    TEMPERATURE_DIFFERENCE = "ΔK"
    RATIO = "1"


@dataclass(frozen=True, slots=True)
class Unit:
    """si = factor · number + offset."""

    kind: Kind
    factor: float
    offset: float = 0.0


ZERO_CELSIUS_K = 273.15

UNITS: dict[str, Unit] = {
    "s": Unit(Kind.DURATION, 1.0),
    "min": Unit(Kind.DURATION, 60.0),
    "h": Unit(Kind.DURATION, 3600.0),
    "d": Unit(Kind.DURATION, 86400.0),
    "m": Unit(Kind.LENGTH, 1.0),
    "cm": Unit(Kind.LENGTH, 1e-2),
    "mm": Unit(Kind.LENGTH, 1e-3),
    "in": Unit(Kind.LENGTH, 0.0254),
    "kg": Unit(Kind.MASS, 1.0),
    "g": Unit(Kind.MASS, 1e-3),
    "oz": Unit(Kind.MASS, 0.028349523125),
    "lb": Unit(Kind.MASS, 0.45359237),
    "V": Unit(Kind.VOLTAGE, 1.0),
    "mV": Unit(Kind.VOLTAGE, 1e-3),
    "A": Unit(Kind.CURRENT, 1.0),
    "mA": Unit(Kind.CURRENT, 1e-3),
    "Ah": Unit(Kind.CHARGE, 3600.0),
    "mAh": Unit(Kind.CHARGE, 3.6),
    "C": Unit(Kind.CHARGE, 1.0),
    "Ω": Unit(Kind.RESISTANCE, 1.0),
    "ohm": Unit(Kind.RESISTANCE, 1.0),
    "mΩ": Unit(Kind.RESISTANCE, 1e-3),
    "mohm": Unit(Kind.RESISTANCE, 1e-3),
    "W": Unit(Kind.POWER, 1.0),
    "J": Unit(Kind.ENERGY, 1.0),
    "Wh": Unit(Kind.ENERGY, 3600.0),
    "m/s": Unit(Kind.SPEED, 1.0),
    "km/h": Unit(Kind.SPEED, 1 / 3.6),
    "mph": Unit(Kind.SPEED, 0.44704),
    "rad/s": Unit(Kind.ANGULAR_SPEED, 1.0),
    "rpm": Unit(Kind.ANGULAR_SPEED, 2 * math.pi / 60),
    "Nm": Unit(Kind.TORQUE, 1.0),
    "N·m": Unit(Kind.TORQUE, 1.0),
    "Ncm": Unit(Kind.TORQUE, 1e-2),
    "kgf·cm": Unit(Kind.TORQUE, 0.0980665),
    "N": Unit(Kind.FORCE, 1.0),
    "K": Unit(Kind.TEMPERATURE, 1.0),
    "°C": Unit(Kind.TEMPERATURE, 1.0, ZERO_CELSIUS_K),
    "degC": Unit(Kind.TEMPERATURE, 1.0, ZERO_CELSIUS_K),
    "°F": Unit(Kind.TEMPERATURE, 5 / 9, ZERO_CELSIUS_K - 32 * 5 / 9),
    "%": Unit(Kind.RATIO, 0.01),
}

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?")
_ALIASES = {
    "kgcm": "kgf·cm",
    "kg-cm": "kgf·cm",
    "kg·cm": "kgf·cm",
    "kg.cm": "kgf·cm",
    "kgf.cm": "kgf·cm",
    "kgfcm": "kgf·cm",
    "minutes": "min",
    "minute": "min",
    "mins": "min",
    "hours": "h",
    "hour": "h",
    "days": "d",
    "day": "d",
    "seconds": "s",
    "second": "s",
    "sec": "s",
    "c": "°C",
    "degc": "°C",
    "f": "°F",
    "degf": "°F",
}


def read_number(text: str, *, where: str = "") -> float:
    """A plain number as typed, with a full stop for the decimal.

    Raises BadInput for anything else, and says so when a comma was meant as a decimal.
    """
    clean = plain_number(text.strip()).replace("−", "-")
    head = f"{where}: " if where else ""
    if _NUMBER.fullmatch(clean):
        value = float(clean)
        if math.isfinite(value):
            return value
    if re.fullmatch(r"[+-]?\d+,\d+", clean):
        raise BadInput(
            f"{head}“{text}” has a comma where a full stop belongs.", f"Write {clean.replace(',', '.')}."
        )
    raise BadInput(f"{head}“{text}” is not a number.", "Write it like 12 or 1.5.")


def read_quantity(text: str, kind: Kind, *, default_unit: str | None = None, where: str = "") -> float:
    """A number with its unit, as SI: “12 min” is 720.0.

    `default_unit` is used when no unit was typed, or what the owner's spelling has in its stead. Raises
    BadInput with the units that would do.
    """
    clean = text.strip().replace("−", "-")
    match = re.match(r"[+-]?[\d.,]+(?:[eE][+-]?\d+)?", clean)
    head = f"{where}: " if where else ""
    would_do = " or ".join(name for name, unit in UNITS.items() if unit.kind is kind)
    if match is None:
        raise BadInput(f"{head}“{text}” is not a quantity.", f"Write a number and {would_do}.")
    number = read_number(match.group(), where=where)
    name = clean[match.end() :].strip() or (typed_unit(default_unit) if default_unit else None)
    if name is None:
        raise BadInput(f"{head}“{text}” has no unit.", f"Add {would_do}.")
    unit = _find_unit(name, kind)
    if unit is None:
        raise BadInput(f"{head}“{text}” is not in {would_do}.", f"Write the number with {would_do}.")
    return unit.factor * number + unit.offset


def _find_unit(name: str, kind: Kind) -> Unit | None:
    for candidate in (name, _ALIASES.get(name.lower(), "")):
        unit = UNITS.get(candidate)
        if unit is not None and unit.kind is kind:
            return unit
    return None


def in_unit(si_value: float, name: str) -> float:
    """An SI value as a number of the named unit."""
    unit = UNITS[name]
    return (si_value - unit.offset) / unit.factor
