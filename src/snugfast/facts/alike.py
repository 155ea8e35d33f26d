"""Rows that differ from another in a few words: a check behind a cover, and the same where there is none.

Such a row says `like = "key of the other"` and what is different; the rest it takes from there.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from snugfast.facts.reading import Row, nearest, shown

LIKE = "like"


def filled_in(row: Row, values: Mapping[str, Any], written: Mapping[str, Any]) -> dict[str, Any]:
    """The values of a row with what it does not say itself taken from the row it is like.

    What is wrong with the reference is noted at `row`.
    """
    said = {name: value for name, value in values.items() if name != LIKE}
    other = values[LIKE]
    model = written.get(other) if isinstance(other, str) else None
    if not isinstance(model, Mapping):
        row.fault(f"no row here is called {shown(other)}", nearest(str(other), written))
        return said
    if LIKE in model:
        row.fault(f"{shown(other)} is itself like another row", f"write like = {model[LIKE]!r} and the rest")
    return {**model, **said}
