"""Reading several things that were typed, so that all that cannot be read is said at once."""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeVar

from snugfast.core.errors import SnugfastError, WrongData
from snugfast.core.findings import Finding

T = TypeVar("T")


class Attempts:
    """Notes what cannot be read, and raises all of it in the end."""

    def __init__(self) -> None:
        self.findings: list[Finding] = []

    def refuse(self, what: str) -> None:
        """Raise WrongData with all that was wrong, or return."""
        if self.findings:
            raise WrongData(what, self.findings)

    def wrong(self, where: str, problem: str, way_out: str) -> None:
        """Note something wrong."""
        self.findings.append(Finding(where, problem, way_out))

    def attempt(self, read: Callable[[], T], otherwise: T) -> T:
        """What was read; when it cannot be, that is noted and something harmless stands in until `refuse`."""
        try:
            return read()
        except WrongData as refused:
            self.findings += refused.findings
        except SnugfastError as refused:
            self.findings.append(Finding("", refused.sentence.rstrip("."), refused.way_out))
        return otherwise
