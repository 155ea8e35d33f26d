"""What a pack is made of, and the refusal to do sums where there is no table."""

from __future__ import annotations

from collections.abc import Mapping
from enum import Enum
from typing import TypeVar

from snugfast.core.errors import RefusedAction

T = TypeVar("T")


class Chemistry(Enum):
    """The kinds of cells a hobby pack is made of."""

    LITHIUM_POLYMER = "lithium-polymer"
    HIGH_VOLTAGE_LITHIUM = "high-voltage lithium"
    LITHIUM_IRON_PHOSPHATE = "lithium iron phosphate"
    NICKEL_METAL_HYDRIDE = "nickel-metal hydride"

    @property
    def short(self) -> str:
        """The word of the trade."""
        return _SHORT[self]


_SHORT = {
    Chemistry.LITHIUM_POLYMER: "LiPo",
    Chemistry.HIGH_VOLTAGE_LITHIUM: "LiHV",
    Chemistry.LITHIUM_IRON_PHOSPHATE: "LiFePO4",
    Chemistry.NICKEL_METAL_HYDRIDE: "NiMH",
}


class NoTable(RefusedAction):
    """There is no table for this chemistry, so no sum is made."""

    def __init__(self, chemistry: Chemistry) -> None:
        super().__init__(
            f"There is no table for {chemistry.value} cells, so nothing is worked out for them.",
            "Keep the log, follow the label and the maker's instructions.",
        )
        self.chemistry = chemistry


def table_for(chemistry: Chemistry, tables: Mapping[Chemistry, T]) -> T:
    """The table of one chemistry; the tables of another never stand in. Raises NoTable."""
    if chemistry not in tables:
        raise NoTable(chemistry)
    return tables[chemistry]
