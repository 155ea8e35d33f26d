"""A refusal for several reasons at once, each with its own way out."""

from __future__ import annotations

from snugfast.core.errors import RefusedAction
from snugfast.core.findings import Finding


class ListedRefusal(RefusedAction):
    """Refused for every one of `findings`; the sentence names them all."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(" ".join(finding.problem for finding in findings), findings[0].way_out)
        self.findings = findings
