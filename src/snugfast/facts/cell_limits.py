"""The volts of cells in texts: {limits.lithium_polymer.danger_V} is that row of the table of pack limits.

So a check, a caution and a verdict cannot tell two answers to one question.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any, TypeVar

from snugfast.core.errors import NotKnown

_NAMED = re.compile(r"\{limits\.(\w+)\.(\w+)\}")

T = TypeVar("T")


def with_cell_limits(said: T, limits: Mapping[str, Any]) -> T:
    """A text, or a row of a table with texts anywhere in it, with every named limit as “3.30”.

    `limits` is the table of pack limits as it is written. Raises NotKnown for a limit that is not there.
    """
    return _filled(said, limits)  # type: ignore[no-any-return]


def _filled(said: Any, limits: Mapping[str, Any]) -> Any:
    if isinstance(said, str):
        return _NAMED.sub(lambda named: _volts(named[1], named[2], limits), said)
    if isinstance(said, Mapping):
        return {key: _filled(value, limits) for key, value in said.items()}
    if isinstance(said, list):
        return [_filled(value, limits) for value in said]
    return said


def _volts(chemistry: str, name: str, limits: Mapping[str, Any]) -> str:
    row = limits.get(chemistry, {}).get(name)
    if not isinstance(row, Mapping):
        raise NotKnown(
            f"There is no limit “{name}” of {chemistry}.", "Look at the table of the limits of packs."
        )
    return f"{row['value']:.2f}"
