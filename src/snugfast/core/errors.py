"""Refused actions and impossible inputs, each one sentence and a way out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from snugfast.core.findings import Finding


class SnugfastError(Exception):
    """Something was refused. `sentence` says what, `way_out` says what to do next."""

    exit_code = 2

    def __init__(self, sentence: str, way_out: str = "") -> None:
        super().__init__(f"{sentence} {way_out}".strip())
        self.sentence = sentence
        self.way_out = way_out


class ImpossibleInput(SnugfastError, ValueError):
    """A number that cannot be: a negative length, a probability above one."""


class BadInput(SnugfastError):
    """What was typed cannot be used as it stands."""


class NotKnown(BadInput):
    """A name that no record answers to."""


class WrongData(BadInput):
    """Several things are wrong with a file or a form; all of them are listed."""

    def __init__(self, what: str, findings: Sequence[Finding]) -> None:
        self.what = what
        self.findings = tuple(findings)
        count = len(self.findings)
        noun = "thing" if count == 1 else "things"
        self.heading = f"{what}: {count} {noun} to fix, and nothing was saved."
        lines = "\n".join(f"  {finding.sentence}" for finding in self.findings)
        super().__init__(f"{self.heading}\n{lines}")


class RefusedAction(SnugfastError):
    """The records forbid it as things stand."""


class StaleRecord(RefusedAction):
    """Someone changed the record after it was opened.

    `stands` tells what stands now, `sent` what was not kept, so that both can be laid side by side.
    """

    def __init__(
        self, sentence: str, way_out: str = "", *, stands: Sequence[str] = (), sent: Sequence[str] = ()
    ) -> None:
        super().__init__(sentence, way_out)
        self.stands = tuple(stands)
        self.sent = tuple(sent)


class SystemTrouble(SnugfastError):
    """The system said no: no room, no right, nothing there. What was kept before is as it was."""


class Unforeseen(SnugfastError):
    """A fault of ours. It has a number, under which what happened is written down."""

    exit_code = 3

    def __init__(self, number: str, sentence: str, way_out: str) -> None:
        super().__init__(sentence, way_out)
        self.number = number
