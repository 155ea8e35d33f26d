"""Shapes: how a typed value is written as plain JSON, read back strictly, and described by a JSON Schema.

A shape is made from a type annotation. Whatever is wrong is noted with its place, so that a broken
document is reported whole and not one mistake at a time.
"""

from __future__ import annotations

import math
import re
import types
from collections.abc import Callable, Hashable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import UTC, datetime
from enum import Enum
from functools import cache
from typing import Annotated, Any, Protocol, Union, get_args, get_origin, get_type_hints
from uuid import UUID

from snugfast.core.findings import Finding
from snugfast.records.bounds import EARLIEST, LATEST, LONGEST_TEXT, AtMost, IsBuild, IsSettings, Within

WHOLE_LIMIT = 2**53 - 1  # beyond this other JSON readers lose digits
DEEPEST = 32  # owner's tables nest a handful deep; this stops a hostile file from exhausting the stack

_TIME = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}(\.\d{1,6})?(Z|[+-]\d{2}:\d{2})")
_UNSTORABLE = re.compile("[\x00\ud800-\udfff]")


class Notes:
    """Where we are in a document, and what was found wrong so far. The place is put in words when needed."""

    __slots__ = ("_outer", "_step", "found")

    def __init__(self, step: str | int = "", outer: Notes | None = None) -> None:
        self._step = step
        self._outer = outer
        self.found: list[Finding] = [] if outer is None else outer.found

    @property
    def where(self) -> str:
        """The way in, outermost first: “readings, no. 2, value”."""
        step = self._step if isinstance(self._step, str) else f"no. {self._step}"
        before = self._outer.where if self._outer else ""
        return f"{before}, {step}" if before else step

    def inside(self, step: str | int) -> Notes:
        """The same notes, one step further in: a name, or the number of an item counted from one."""
        return Notes(step, self)

    def wrong(self, problem: str, way_out: str) -> None:
        """Note one thing wrong here."""
        self.found.append(Finding(where=self.where, problem=problem, way_out=way_out))


class Shape(Protocol):
    """One way of writing, reading and describing. After a note was made the returned value is not used."""

    def write(self, value: Any, notes: Notes) -> Any: ...

    def read(self, value: Any, notes: Notes) -> Any: ...

    def schema(self) -> dict[str, Any]: ...


class Text:
    """A string that both databases can hold."""

    def __init__(self, longest: int = LONGEST_TEXT) -> None:
        self.longest = longest

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, str):
            notes.wrong(f"{_shown(value)} is not text", "put it in quotation marks")
        elif _UNSTORABLE.search(value):
            notes.wrong("the text holds a character that cannot be saved", "leave out the broken character")
        elif len(value) > self.longest:
            notes.wrong(f"{_shown(value)} is too long", f"stay within {self.longest} letters")
        return value

    read = write

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "maxLength": self.longest}


class Truth:
    """True or false."""

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, bool):
            notes.wrong(f"{_shown(value)} is neither true nor false", "write true or false")
        return value

    read = write

    def schema(self) -> dict[str, Any]:
        return {"type": "boolean"}


class Whole:
    """A whole number that every JSON reader keeps exactly."""

    def write(self, value: Any, notes: Notes) -> Any:
        if isinstance(value, bool) or not isinstance(value, int):
            notes.wrong(f"{_shown(value)} is not a whole number", "write a number like 3")
        elif abs(value) > WHOLE_LIMIT:
            notes.wrong("the number is too large to be kept exactly", f"stay within ±{WHOLE_LIMIT}")
        return value

    read = write

    def schema(self) -> dict[str, Any]:
        return {"type": "integer", "minimum": -WHOLE_LIMIT, "maximum": WHOLE_LIMIT}


class Real:
    """A finite number. A whole one is taken as it stands and kept as a float."""

    def write(self, value: Any, notes: Notes) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | float):
            notes.wrong(f"{_shown(value)} is not a number", "write a number like 1.5")
            return value
        try:
            number = float(value)
        except OverflowError:
            number = math.inf
        if not math.isfinite(number):
            notes.wrong("the number is not finite", "write a number like 1.5")
        return number

    read = write

    def schema(self) -> dict[str, Any]:
        return {"type": "number"}


class Identity:
    """A UUID, written in its usual form."""

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, UUID):
            notes.wrong(f"{_shown(value)} is not an identity", "give a UUID")
        return str(value)

    def read(self, value: Any, notes: Notes) -> Any:
        try:
            identity = UUID(value)
        except (ValueError, TypeError, AttributeError):
            identity = None
        if identity is None or str(identity) != value:
            notes.wrong(f"{_shown(value)} is not an identity", "write a UUID in lower case with hyphens")
        return identity

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "uuid"}


class Moment:
    """A time that knows its offset, written in UTC (RFC 3339)."""

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, datetime) or value.tzinfo is None:
            notes.wrong(f"{_shown(value)} is not a time with an offset", "give a time with its offset")
            return value
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")

    def read(self, value: Any, notes: Notes) -> Any:
        if isinstance(value, str) and _TIME.fullmatch(value):
            try:
                at = datetime.fromisoformat(value).astimezone(UTC)
            except (ValueError, OverflowError):
                at = None
            if at is not None and not EARLIEST <= at < LATEST:
                notes.wrong(
                    f"{_shown(value)} is no time of ours", f"stay within {EARLIEST:%Y} to {LATEST:%Y}"
                )
                return None
            if at is not None:
                return at
        notes.wrong(f"{_shown(value)} is not a time", "write it like 2026-05-01T18:30:00Z")
        return None

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "format": "date-time"}


class Choice:
    """One value of an Enum."""

    def __init__(self, choices: type[Enum]) -> None:
        self.choices = choices
        self._of_value = {choice.value: choice for choice in choices}

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, self.choices):
            notes.wrong(f"{_shown(value)} is not one of the choices", self._way_out())
            return value
        return value.value

    def read(self, value: Any, notes: Notes) -> Any:
        try:
            return self._of_value[value]
        except (KeyError, TypeError):
            notes.wrong(f"{_shown(value)} is not one of the choices", self._way_out())
            return None

    def schema(self) -> dict[str, Any]:
        return {"enum": [choice.value for choice in self.choices]}

    def _way_out(self) -> str:
        return "choose from " + ", ".join(f"“{choice.value}”" for choice in self.choices)


class Maybe:
    """Something, or null for “not said”."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape

    def write(self, value: Any, notes: Notes) -> Any:
        return None if value is None else self.shape.write(value, notes)

    def read(self, value: Any, notes: Notes) -> Any:
        return None if value is None else self.shape.read(value, notes)

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [self.shape.schema(), {"type": "null"}]}


class Several:
    """A tuple of like things, written as a list."""

    def __init__(self, shape: Shape) -> None:
        self.shape = shape

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, tuple):
            notes.wrong(f"{_shown(value)} is not a tuple", "give a tuple")
            return value
        return [self.shape.write(item, notes.inside(n)) for n, item in enumerate(value, start=1)]

    def read(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, list):
            notes.wrong(f"{_shown(value)} is not a list", "write a list in square brackets")
            return value
        return tuple(self.shape.read(item, notes.inside(n)) for n, item in enumerate(value, start=1))

    def schema(self) -> dict[str, Any]:
        return {"type": "array", "items": self.shape.schema()}


class Table:
    """An owner's table of named values: text, numbers, truths, null, lists and further tables."""

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, Mapping):
            notes.wrong(f"{_shown(value)} is not a table", "write a table of names and values")
            return value
        return _plain(value, notes, DEEPEST)

    read = write

    def schema(self) -> dict[str, Any]:
        return {"type": "object"}


class Bounded:
    """A number that lies within bounds."""

    def __init__(self, shape: Shape, within: Within) -> None:
        self.shape = shape
        self.within = within

    def write(self, value: Any, notes: Notes) -> Any:
        return self._held(self.shape.write(value, notes), notes)

    def read(self, value: Any, notes: Notes) -> Any:
        return self._held(self.shape.read(value, notes), notes)

    def schema(self) -> dict[str, Any]:
        least = "exclusiveMinimum" if self.within.above else "minimum"
        return {**self.shape.schema(), least: self.within.low, "maximum": self.within.high}

    def _held(self, number: Any, notes: Notes) -> Any:
        is_number = isinstance(number, int | float) and not isinstance(number, bool) and math.isfinite(number)
        if is_number and not self.within.holds(number):
            notes.wrong(f"{number:g} cannot be", f"give {self.within.words}")
        return number


class BuildTable(Table):
    """A table that can be folded as a build, whatever else is wrong with it."""

    def write(self, value: Any, notes: Notes) -> Any:
        written = super().write(value, notes)
        places = written.get("place", []) if isinstance(written, dict) else []
        if not isinstance(places, list):
            notes.inside("place").wrong("this is not a list of places", "write each place as a table")
            return written
        for number, place in enumerate(places, 1):
            here = notes.inside("place").inside(number)
            if not isinstance(place, dict) or not isinstance(place.get("key"), str):
                here.wrong("this place has no key", "give it one")
            elif not isinstance(place.get("name", ""), str) or not isinstance(place.get("sizes", {}), dict):
                here.wrong("its name or its sizes do not read", "write a name, and sizes as a table")
        return written

    read = write


class SettingsTable(Table):
    """Settings, with those every sum rests on held to what they can be."""

    _KNOWN: Mapping[str, Shape] = {
        "currency": Text(20),
        "zone": Text(200),
        "bench_minute": Bounded(Real(), Within(0.0, 1e9)),
        "running_minute": Bounded(Real(), Within(0.0, 1e9)),
    }

    def write(self, value: Any, notes: Notes) -> Any:
        written = super().write(value, notes)
        if isinstance(written, dict):
            for name in written.keys() & self._KNOWN.keys():
                self._KNOWN[name].read(written[name], notes.inside(name))
        return written

    read = write


class Record:
    """A dataclass, written as an object with one member for each field."""

    def __init__(self, cls: type[Any]) -> None:
        hints = get_type_hints(cls, include_extras=True)
        self.cls = cls
        self.members: dict[str, tuple[Shape, bool]] = {
            field.name: (shape_of(hints[field.name]), _needed(field)) for field in fields(cls)
        }

    def write(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, self.cls):
            notes.wrong(f"{_shown(value)} is not a {self.cls.__name__}", f"give a {self.cls.__name__}")
            return value
        return {
            name: shape.write(getattr(value, name), notes.inside(name))
            for name, (shape, _) in self.members.items()
        }

    def read(self, value: Any, notes: Notes) -> Any:
        if not isinstance(value, Mapping):
            notes.wrong(f"{_shown(value)} is not an object", "write an object in curly brackets")
            return None
        for name in value.keys() - self.members.keys():
            notes.wrong(f"“{name}” is not known here", "choose from " + ", ".join(self.members))
        for name, (_, needed) in self.members.items():
            if needed and name not in value:
                notes.wrong(f"“{name}” is missing", "add it")
        given = {
            name: shape.read(value[name], notes.inside(name))
            for name, (shape, _) in self.members.items()
            if name in value
        }
        return None if notes.found else self.cls(**given)

    def schema(self) -> dict[str, Any]:
        return {
            "type": "object",
            "description": (self.cls.__doc__ or "").split("\n")[0],
            "properties": {name: shape.schema() for name, (shape, _) in self.members.items()},
            "required": [name for name, (_, needed) in self.members.items() if needed],
            "additionalProperties": False,
        }


_SIMPLE: dict[Any, Callable[[], Shape]] = {
    str: Text,
    bool: Truth,
    int: Whole,
    float: Real,
    UUID: Identity,
    datetime: Moment,
}


def shallow(text: str) -> bool:
    """Whether JSON text nests no deeper than a document of ours; looked at before it is parsed.

    Brackets inside strings count too: a text that holds dozens of them unclosed is refused with the rest.
    """
    depth = 0
    for bracket in re.findall(r"[\[{\]}]", text):
        depth += 1 if bracket in "[{" else -1
        if depth > 2 * DEEPEST:
            return False
    return True


def shape_of(annotation: Any) -> Shape:
    """The shape of a type annotation. Raises TypeError for one no journal entry should hold."""
    return _made(annotation)


@cache
def _made(annotation: Hashable) -> Shape:
    if annotation in _SIMPLE:
        return _SIMPLE[annotation]()
    if isinstance(annotation, type) and issubclass(annotation, Enum):
        return Choice(annotation)
    if isinstance(annotation, type) and is_dataclass(annotation):
        return Record(annotation)
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _with(arguments[0], arguments[1])
    if origin is tuple and len(arguments) == 2 and arguments[1] is Ellipsis:
        return Several(shape_of(arguments[0]))
    if origin is Mapping:
        return Table()
    if origin in (types.UnionType, Union) and len(arguments) == 2 and type(None) in arguments:
        (inner,) = (argument for argument in arguments if argument is not type(None))
        return Maybe(shape_of(inner))
    raise TypeError(f"no shape is known for {annotation}")


def _with(annotation: Any, bound: object) -> Shape:
    match bound:
        case Within():
            return Bounded(shape_of(annotation), bound)
        case AtMost(count=count):
            return Text(count)
        case IsBuild():
            return BuildTable()
        case IsSettings():
            return SettingsTable()
        case _:
            raise TypeError(f"{bound} bounds nothing that is known here")


def _needed(field: Field[Any]) -> bool:
    return field.default is MISSING and field.default_factory is MISSING


def _plain(value: Any, notes: Notes, depth: int) -> Any:
    if depth == 0:
        notes.wrong("the tables are nested too deeply", f"nest at most {DEEPEST} deep")
        return None
    match value:
        case None | bool():
            return value
        case int():
            return Whole().write(value, notes)
        case float():
            return Real().write(value, notes)
        case str():
            return Text().write(value, notes)
        case list() | tuple():
            return [_plain(item, notes.inside(n), depth - 1) for n, item in enumerate(value, 1)]
        case Mapping():
            for name in value:
                Text().write(name, notes)
            return {name: _plain(item, notes.inside(str(name)), depth - 1) for name, item in value.items()}
        case _:
            notes.wrong(
                f"{_shown(value)} cannot be saved in a table", "give text, a number, a list or a table"
            )
            return None


def _shown(value: Any) -> str:
    text = repr(value) if isinstance(value, str | int | float | None) else f"a {type(value).__name__}"
    return text if len(text) <= 60 else text[:59] + "…"
