"""Wrong data as a value: where, what, and the way out.

Not to be confused with what is found on the bench; that is an entry of the journal.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing wrong with what was read, and how to mend it."""

    where: str
    problem: str
    way_out: str = ""

    @property
    def sentence(self) -> str:
        """One line for a person: where, what is wrong, what to do."""
        return self.sentence_with(self.way_out)

    def sentence_with(self, way_out: str) -> str:
        """The same with the way out as a door words it."""
        head = f"{self.where}: {self.problem}" if self.where else self.problem
        way_out = way_out.removesuffix(".")
        return f"{head}; {way_out[:1].lower()}{way_out[1:]}" if way_out else head
