"""Water that cars still stand in: treatments that are open, and what wet does while they are late.

The law stands in docs/decisions/0006.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Facts, Protects, Treatment
from snugfast.usecases.beliefs.lateness import (
    Open,
    due_after,
    is_late,
    late_days,
    opened_by,
    settled_by,
    spent_at,
)
from snugfast.usecases.beliefs.scope import Scope

Floats = NDArray[np.float64]


@dataclass
class Wetness:
    """The treatments of some cars that were not done yet, by car and treatment."""

    facts: Facts
    open: dict[tuple[UUID, str], Open] = field(default_factory=dict)

    def got_wet(self, car: UUID, scope: Scope, wet: str, at: datetime) -> None:
        """Treatments become due. One that is open already keeps its deadline, unless that wet is spent."""
        for treatment in opened_by(self.facts, wet, {mode.key for mode in scope.modes}):
            before = self.open.get((car, treatment.key))
            if before is None or at > spent_at(treatment, before.due):
                self.open[car, treatment.key] = Open(due_after(treatment, at))

    def treated(self, car: UUID, treatment: str) -> None:
        """It was done, and with it all that it includes."""
        for key in settled_by(self.facts, treatment):
            self.open.pop((car, key), None)

    def never_wet(self, rows: Iterable[int]) -> None:
        """Parts that are new were not in the water that others of the car stand in."""
        new = frozenset(int(row) for row in rows)
        for key, left in self.open.items():
            self.open[key] = replace(left, dry=left.dry | new)

    def run_factor(self, car: UUID, scope: Scope, at: datetime) -> Floats:
        """How many times over a run counts for each row while treatments are late; the worst of them."""
        factor = np.ones(len(scope.rows))
        for treatment, left in self._of(car):
            if is_late(treatment, left.due, at):
                for n, protected in _still_wet(scope, treatment, left):
                    factor[n] = max(factor[n], protected.factor)
        return factor

    def stood(self, car: UUID, scope: Scope, since: datetime, now: datetime) -> tuple[Floats, Floats]:
        """(chance of a defect planted by standing wet, days it adds for what wears by days), for each row."""
        hazard, more = np.zeros(len(scope.rows)), np.zeros(len(scope.rows))
        for treatment, left in self._of(car):
            late = late_days(treatment, left.due, since, now)
            for n, protected in _still_wet(scope, treatment, left) if late else ():
                more[n] = max(more[n], (protected.factor - 1.0) * late)
                hazard[n] += late / protected.defect_in_d if protected.defect_in_d else 0.0
        return -np.expm1(-hazard), more

    def _of(self, car: UUID) -> Iterator[tuple[Treatment, Open]]:
        for (whose, key), left in self.open.items():
            if whose == car and key in self.facts.treatments:
                yield self.facts.treatments[key], left


def _still_wet(scope: Scope, treatment: Treatment, left: Open) -> Iterator[tuple[int, Protects]]:
    """Positions of the rows that a treatment protects, without those renewed since."""
    protects = {protected.mode: protected for protected in treatment.protects}
    for n in scope.of_modes(protects):
        if int(scope.rows[n]) not in left.dry:
            yield n, protects[scope.modes[n].key]
