"""What a pack is made of, and the refusal to do sums where there is no table."""

from __future__ import annotations

from typing import TypeVar

from snugfast.core.errors import RefusedAction
from snugfast.core.vocabulary import Chemistry as Chemistry

T = TypeVar("T")


class NoTable(RefusedAction):
    """There is no table for this chemistry, so no sum is made."""

    def __init__(self, chemistry: Chemistry) -> None:
        super().__init__(
            f"There is no table for {chemistry.value} cells, so nothing is worked out for them.",
            "Keep the log, follow the label and the maker's instructions.",
        )
        self.chemistry = chemistry
