"""One worked example for each marked formula: the files of tests/worked, read, worked out and told.

A file is named after a room of physics, or after another floor; each of its blocks after a formula in it,
`file.function`:

    args    what goes in, units on the names; a text is worked out first ("radians(20)")
    take    which part of the answer is meant, where it has parts: names and numbers, from outside inwards
    gives   what has to come out, from outside the code
    sum     the arithmetic that leads to it, when it was done by hand
    from    the published place it stands in; without it, it was worked by hand
    digits  how many digits of `gives` are known (4 when nothing is said)
    unit    what the number is
"""

from __future__ import annotations

import dataclasses
import functools
import importlib
import inspect
import math
import re
import tomllib
import types
import typing
from collections.abc import Sequence
from enum import Enum
from typing import Any

import numpy as np

from tests.house.tree import FLOORS_WITH_FORMULAS, ROOT, Marked

FOLDER = ROOT / "tests/worked"
KEYS = {"args", "take", "gives", "sum", "from", "digits", "unit"}
SUMS = {name: value for name, value in vars(math).items() if not name.startswith("_")}
RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def worked_out(text: str) -> Any:
    """A line of arithmetic, with the names of `math` and nothing else."""
    return eval(text, {"__builtins__": {}}, SUMS)  # written in this repository, by us


@dataclasses.dataclass(frozen=True)
class Example:
    """One block of a file."""

    args: dict[str, Any]
    gives: Any
    sum: str = ""
    stands_in: str = ""
    take: tuple[str | int, ...] = ()
    digits: int = 4
    unit: str = ""

    def agrees(self, found: Any) -> bool:
        """Whether a number is `gives` to the digits that are known."""
        if isinstance(self.gives, bool) or self.gives == 0:
            return bool(found == self.gives)
        last_digit = 10.0 ** (math.floor(math.log10(abs(self.gives))) + 1 - self.digits)
        return bool(abs(float(found) - self.gives) <= 0.501 * last_digit)

    def told(self) -> str:
        """The example as the reference prints it."""
        inputs = ", ".join(f"{name} = {_shown(value)}" for name, value in self.args.items())
        part = f" ({' → '.join(str(step) for step in self.take)})" if self.take else ""
        gives = (
            ("no", "yes")[self.gives] if isinstance(self.gives, bool) else _number(self.gives, self.digits)
        )
        says = f"{gives} {self.unit}".strip()
        reasons = []
        if self.stands_in:
            reasons.append(self.stands_in[0].upper() + self.stands_in[1:])
        if self.sum:
            reasons.append(f"{'Sum' if self.stands_in else 'By hand'}: {_as_written(self.sum)}")
        return f"Example: {inputs}{part} gives **{says}**. {'. '.join(reasons)}."


@functools.cache
def examples() -> dict[str, Example]:
    """Every example by the path of its formula without the package's name."""
    found: dict[str, Example] = {}
    for file in sorted(FOLDER.glob("*.toml")):
        room = file.stem if file.stem.partition(".")[0] in FLOORS_WITH_FORMULAS else f"physics.{file.stem}"
        for name, block in tomllib.loads(file.read_text("utf-8")).items():
            unknown = set(block) - KEYS
            if unknown or not {"args", "gives"} <= set(block):
                raise ValueError(f"{file.name}, {name}: unknown {sorted(unknown)}, or args or gives missing")
            gives = block["gives"]
            found[f"{room}.{name}"] = Example(
                args=block["args"],
                gives=worked_out(gives) if isinstance(gives, str) else gives,
                sum=block.get("sum", ""),
                stands_in=block.get("from", ""),
                take=tuple(block.get("take", ())),
                digits=block.get("digits", 4),
                unit=block.get("unit", ""),
            )
    return found


def called(formula: Marked, example: Example) -> Any:
    """What the formula gives for the example, down to the part that is meant."""
    function = getattr(importlib.import_module(formula.module), formula.name)
    hints = typing.get_type_hints(function)
    parameters = inspect.signature(function).parameters
    several: list[Any] = []
    named: dict[str, Any] = {}
    for name, value in example.args.items():
        if parameters[name].kind is inspect.Parameter.VAR_POSITIONAL:
            several += [_built(hints[name], each) for each in value]
        else:
            named[name] = _built(hints[name], value)
    found = function(*several, **named)
    for step in example.take:
        found = found[step] if isinstance(step, int) else getattr(found, step)
    return found


def _built(kind: Any, value: Any) -> Any:
    """A value of a TOML file as the kind of thing that an argument asks for."""
    origin, inside = typing.get_origin(kind), typing.get_args(kind)
    if isinstance(kind, type) and issubclass(kind, Enum):
        return kind[value]
    if isinstance(kind, type) and dataclasses.is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        return kind(**{name: _built(hints[name], part) for name, part in value.items()})
    if origin is np.ndarray:
        return np.array(value, dtype=float)
    if origin is tuple:
        kinds = [inside[0]] * len(value) if inside[-1] is Ellipsis else inside
        return tuple(_built(each, part) for each, part in zip(kinds, value, strict=True))
    if isinstance(origin, type) and issubclass(origin, Sequence):
        return [_built(inside[0], part) for part in value]
    if origin in (typing.Union, types.UnionType) and isinstance(value, list | dict):
        for each in inside:
            if each is not type(None):
                return _built(each, value)
    if kind is float or kind is int:
        return kind(worked_out(value) if isinstance(value, str) else value)
    return value


def _shown(value: Any) -> str:
    if isinstance(value, dict):
        return "(" + ", ".join(f"{name} = {_shown(part)}" for name, part in value.items()) + ")"
    if isinstance(value, list):
        return "[" + ", ".join(_shown(part) for part in value) + "]"
    if isinstance(value, bool):
        return str(value).lower()
    return _as_written(value) if isinstance(value, str) else _number(value)


def _number(value: float, digits: int = 6) -> str:
    """Plain where that can be read, else with a power of ten."""
    if value == 0 or 1e-3 <= abs(value) < 1e6:
        return f"{float(f'{value:.{digits}g}'):,.12g}".replace(",", " ")
    front, power = f"{value:.{digits - 1}e}".split("e")
    return f"{front.rstrip('0').rstrip('.') if '.' in front else front}·10{str(int(power)).translate(RAISED)}"


def _as_written(line: str) -> str:
    """A line of arithmetic as one writes it on paper."""
    line = re.sub(r"radians\(([\d.]+)\)", r"\1°", line)
    for code, sign in ((" ** ", "^"), (" * ", "·"), (" <= ", " ≤ ")):
        line = line.replace(code, sign)
    return re.sub(r"\b(pi|sqrt|log)\b", lambda found: {"pi": "π", "sqrt": "√", "log": "ln"}[found[1]], line)
