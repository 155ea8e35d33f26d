"""What a typed command answers, for the tests of the command line."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Said:
    """What the command answered."""

    code: int
    out: str
    err: str


Typed = Callable[..., Said]
