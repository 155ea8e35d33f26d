"""Archives in which one field of one entry says something else than it did."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from typing import Any

NASTY: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 7, 2**53 - 1, -(2**53), 0.0, -0.0, -5.0, 1e-300, 1e300, -1e300, 1e9, 59.99,
    "", " ", "x", "Ember 1", "\u202eevil", "a\nb", "\x1b[31m", "x" * 300, "Mars/Olympus", "UTC", "dry",
    "2000",    "9999-12-31T23:59:59Z", "0001-01-01T00:00:00Z", "2031-01-01T00:00:00Z", "1970-01-01T00:00:00Z",
    "00000000-0000-0000-0000-000000000000", [], [1], ["x"], [[]], {}, {"key": "x"},
    {"place": 3}, {"place": [{}]},
)  # fmt: skip


def places_in(document: Any, way: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """The way to every value in a document."""
    if way:
        yield way
    if isinstance(document, dict | list):
        for key, value in document.items() if isinstance(document, dict) else enumerate(document):
            yield from places_in(value, (*way, key))


def with_one_changed(document: dict[str, Any], rng: random.Random) -> tuple[dict[str, Any], str]:
    """A copy with one value changed, left out, or swapped with what stands elsewhere; and what was done."""
    changed = copy.deepcopy(document)
    ways = list(places_in(document))
    way = rng.choice([one for one in ways if len(one) <= 3] if rng.random() < 0.7 else ways)
    inside = changed
    for step in way[:-1]:
        inside = inside[step]
    what = rng.random()
    if what < 0.08 and isinstance(inside, dict):
        del inside[way[-1]]
        return changed, f"{way} left out"
    if what < 0.2:
        other: Any = document
        for step in rng.choice(ways):
            other = other[step]
        value = copy.deepcopy(other)
    else:
        value = rng.choice(NASTY)
    inside[way[-1]] = value
    return changed, f"{way} = {value!r}"
