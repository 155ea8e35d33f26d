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
from snugfast.usecases.beliefs.scope import LotsOf, Scope

Floats = NDArray[np.float64]


@dataclass
class Wetness:
    """The treatments of some cars that were not done yet, by car and treatment."""

    facts: Facts
    open: dict[tuple[UUID, str], Open] = field(default_factory=dict)

    def got_wet(self, car: UUID, scope: Scope, wet: str, at: datetime) -> None:
        """Treatments become due. One that is open already keeps its deadline, unless that wet is spent.

        What was renewed in between, and was dry until now, has the deadline of this wet.
        """
        for treatment in opened_by(self.facts, wet, {mode.key for mode in scope.modes}):
            due = due_after(treatment, at)
            before = self.open.get((car, treatment.key))
            if before is None or at > spent_at(treatment, before.due):
                later = before.own.items() if before else ()
                own = {lot: was for lot, was in later if was is not None and at <= spent_at(treatment, was)}
                self.open[car, treatment.key] = Open(due, own)
            elif before.own:
                own = {
                    lot: due if was is None or at > spent_at(treatment, was) else was
                    for lot, was in before.own.items()
                }
                self.open[car, treatment.key] = replace(before, own=own)

    def treated(self, car: UUID, treatment: str) -> None:
        """It was done, and with it all that it includes."""
        for key in settled_by(self.facts, treatment):
            self.open.pop((car, key), None)

    def never_wet(self, lots: Iterable[tuple[int, int]]) -> None:
        """Parts that are new were not in the water that others of the car stand in."""
        dry = dict.fromkeys(lots)
        for key, left in self.open.items():
            self.open[key] = replace(left, own={**left.own, **dry})

    def parted(self, row: int, parent: int, lot: int) -> None:
        """A part stands apart from now on: it is as wet as those it was one of."""
        for key, left in self.open.items():
            if (row, parent) in left.own:
                self.open[key] = replace(left, own={**left.own, (row, lot): left.own[row, parent]})

    def run_factor(self, car: UUID, scope: Scope, lots: LotsOf, at: datetime) -> Floats:
        """How many times over a run counts for each lot while treatments are late; the worst of them."""
        factor = np.ones(lots.size)
        for treatment, left in self._of(car):
            for n, due, protected in _still_wet(scope, lots, treatment, left):
                if is_late(treatment, due, at):
                    factor[n] = max(factor[n], protected.factor)
        return factor

    def stood(
        self, car: UUID, scope: Scope, lots: LotsOf, since: datetime, now: datetime
    ) -> tuple[Floats, Floats]:
        """(chance of a defect planted by standing wet, days it adds for what wears by days), for each lot.

        The chance is that of a whole row in that state; a lot of some of its parts has its share of it.
        """
        hazard, more = np.zeros(lots.size), np.zeros(lots.size)
        for treatment, left in self._of(car):
            for n, due, protected in _still_wet(scope, lots, treatment, left):
                late = late_days(treatment, due, since, now)
                more[n] = max(more[n], (protected.factor - 1.0) * late)
                hazard[n] += late / protected.defect_in_d if protected.defect_in_d else 0.0
        return -np.expm1(-hazard), more

    def _of(self, car: UUID) -> Iterator[tuple[Treatment, Open]]:
        for (whose, key), left in self.open.items():
            if whose == car and key in self.facts.treatments:
                yield self.facts.treatments[key], left


def _still_wet(
    scope: Scope, lots: LotsOf, treatment: Treatment, left: Open
) -> Iterator[tuple[int, datetime, Protects]]:
    """Numbers of the lots that a treatment protects, with their deadlines, without those that are dry."""
    protects = {protected.mode: protected for protected in treatment.protects}
    for position in scope.of_modes(protects):
        row = int(scope.rows[position])
        for n, lot in enumerate(range(lots.first[position], lots.first[position + 1])):
            due = left.due_for((row, n))
            if due is not None:
                yield lot, due, protects[scope.modes[position].key]
