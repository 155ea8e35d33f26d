"""The sizes a new part brings that the build did not have: typed, or read out of the part's own words."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from snugfast.core.errors import BadInput
from snugfast.core.units import read_number
from snugfast.facts.model import Facts, Place
from snugfast.usecases.shared.typed_words import nearest_way_out

TEETH, OUTSIDE = "teeth_count", "outer_mm"
SAYS_TEETH = re.compile(r"(\d+) ?(?:teeth|tooth|t)\b", re.IGNORECASE)
SAYS_mm = re.compile(r"(\d+(?:\.\d+)?) ?mm\b", re.IGNORECASE)


def sizes_of_part(
    facts: Facts, place: Place, part: str, typed: Iterable[str], *, some_only: bool
) -> Mapping[str, str | float]:
    """The sizes that differ from the build's. `some_only` says that not the whole place got the part.

    Raises BadInput for a size that cannot be read, and for one of some spots only: a place has one size.
    """
    said = {**_in_words(place, part), **dict(_read(facts, place, one) for one in typed)}
    differs = {name: value for name, value in said.items() if place.sizes.get(name) != value}
    if differs and some_only:
        raise BadInput(
            f"{place.name} has one size for all its spots, and this part differs in "
            f"{', '.join(facts.size_names[name] for name in differs)}.",
            "Log the same part for all of them, or leave the size out.",
        )
    return differs


def _in_words(place: Place, part: str) -> dict[str, float]:
    """“pinion, 17 teeth”, “soft tyre, 120 mm”: only where the place has such a size."""
    found: dict[str, float] = {}
    if TEETH in place.sizes and (teeth := SAYS_TEETH.search(part)):
        found[TEETH] = float(teeth.group(1))
    if place.role == "tyre" and OUTSIDE in place.sizes and (outside := SAYS_mm.search(part)):
        found[OUTSIDE] = float(outside.group(1))
    return found


def _read(facts: Facts, place: Place, typed: str) -> tuple[str, str | float]:
    """One typed size, by its key or its words: “teeth_count=17”, “number of teeth = 17”."""
    name, given, value = (part.strip() for part in typed.partition("="))
    by_words = {words.casefold(): key for key, words in facts.size_names.items()}
    key = name if name in facts.size_names else by_words.get(name.casefold(), "")
    if not key or not given or not value:
        sizes = ", ".join(place.sizes) or "none yet"
        near = nearest_way_out(name, facts.size_names) if not key else ""
        raise BadInput(
            f"“{typed.strip()}” is no size.", near or f"Write NAME=VALUE; {place.name} has {sizes}."
        )
    is_text = isinstance(place.sizes.get(key), str)
    return key, value if is_text else read_number(value, where=facts.size_names[key])
