"""Figures that say where they come from: origins told with title and how it was seen."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from snugfast.core.figures import Figure, Origin
from snugfast.core.marks import Formula, watching
from snugfast.facts.model import Facts


@dataclass(frozen=True, slots=True)
class Cited:
    """One source that figures rest on, as a door shows it, with the places in it."""

    key: str
    title: str
    by: str
    where: str
    seen: str
    note: str

    @property
    def sentence(self) -> str:
        """One line: title, author, place, and how it was seen."""
        by = f", {self.by}" if self.by else ""
        where = f": {self.where}" if self.where else ""
        return f"{self.title}{by}{where} ({self.seen})"


def figure(function: Formula[..., float], unit: str, /, **arguments: Any) -> Figure:
    """A marked formula worked out, with its source, and a caution for each tried range it left."""
    with watching() as left:
        value = function(**arguments)
    return Figure(value, unit, origins=rests_on(function), cautions=left.sentences)


def rests_on(*functions: Formula[..., Any]) -> tuple[Origin, ...]:
    """The origins of marked formulas, each once."""
    return tuple(dict.fromkeys(Origin(one.mark.source, one.mark.where) for one in functions))


def cited(facts: Facts, result: object) -> tuple[Cited, ...]:
    """Every source the figures inside a result rest on, in the order they are met, with the places in it."""
    places: dict[str, dict[str, None]] = {}
    for figure in figures_in(result):
        for origin in figure.origins:
            places.setdefault(origin.source, {})[origin.where] = None
    return tuple(_cite(facts, key, "; ".join(filter(None, where))) for key, where in places.items())


def _cite(facts: Facts, key: str, where: str) -> Cited:
    source = facts.sources[key]
    by = ", ".join(filter(None, (source.authors, source.publisher, str(source.year or ""))))
    return Cited(key, source.title, by, where, source.seen.value, source.note)


def figures_in(result: object) -> Iterable[Figure]:
    """Every figure inside a result, however deep."""
    if isinstance(result, Figure):
        yield result
    elif isinstance(result, list | tuple):
        for item in result:
            yield from figures_in(item)
    elif is_dataclass(result) and not isinstance(result, type):
        for field in fields(result):
            yield from figures_in(getattr(result, field.name))


SHOWN_IN = {"m": ("mm", 1e3), "rad": ("°", 57.29577951308232), "m/s²": ("m/s²", 1.0)}
"""Units that a bench reads in other units than they are kept in."""


FINEST_mm = 2  # decimals: no hand sets a hundredth of a millimetre finer


def tell_figure(figure: Figure, digits: int = 3) -> str:
    """A figure with its unit and band as a bench reads it: “0.10 mm (0.07 to 0.20)”."""
    unit, factor = SHOWN_IN.get(figure.unit, (figure.unit, 1.0))
    tail = "" if unit == "1" else unit if unit == "°" else f" {unit}"
    finest = FINEST_mm if unit == "mm" else None
    value = _rounded(figure.value * factor, digits, finest)
    if figure.low is None or figure.high is None or figure.low == figure.high:
        return f"{value}{tail}"
    low, high = (_rounded(end * factor, digits, finest) for end in (figure.low, figure.high))
    return f"{value}{tail} ({low} to {high})"


def tell_to(figure: Figure, decimals: int = 0) -> str:
    """A figure with its band to so many decimals: “68 °C (55 to 84)”."""
    value = f"{figure.value:.{decimals}f} {figure.unit}"
    if figure.low is None or figure.high is None:
        return value
    return f"{value} ({figure.low:.{decimals}f} to {figure.high:.{decimals}f})"


def _rounded(value: float, digits: int, finest: int | None = None) -> str:
    """A number to so many digits, never with an exponent, and no finer than so many decimals."""
    if finest is not None and 0.0 < abs(value) < 1.0:
        return f"{value:.{finest}f}"
    if finest is not None and abs(value) < 10.0**digits:
        return f"{value:.{finest}f}".rstrip("0").rstrip(".")
    if value == 0.0:
        return "0"
    whole = abs(value) >= 10.0**digits
    return (
        f"{value:,.0f}".replace(",", " ")
        if whole
        else f"{float(f'{value:.{digits}g}'):.6f}".rstrip("0").rstrip(".")
    )


def warmer_words(warmer_K: float) -> str:
    """“some 12 K warmer”."""
    return f"some {abs(warmer_K):.0f} K {'warmer' if warmer_K >= 0.0 else 'cooler'}"
