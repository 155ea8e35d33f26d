"""How a pack was charged last time, so that a new plan need not ask what has not changed.

Only the charger and how full: what is to be looked at, felt and read off the charger is asked every time.
"""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from snugfast.records.entries import Finish, PackCharged
from snugfast.records.ledger import Ledger
from snugfast.records.standing import standing
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop


@dataclass(frozen=True, slots=True)
class LastCharge:
    """The charger it was on, "" where nothing tells, and to where it was charged."""

    charger: str
    target: Finish = Finish.FULL


def last_charge(workshop: Workshop, pack: UUID) -> LastCharge:
    """The last charge of a pack; the only charger there is, where none was said."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        told = standing(reads.entries_of([pack])).entries
    charges = [entry.fact for entry in told if isinstance(entry.fact, PackCharged)]
    here = _here(ledger)
    for charge in reversed(charges):
        if charge.charger in here:
            target = Finish.FULL if charge.finish is Finish.PART else charge.finish
            return LastCharge(here[charge.charger], target)
    return LastCharge(next(iter(here.values())) if len(here) == 1 else "")


def _here(ledger: Ledger) -> dict[UUID | None, str]:
    return {one.id: one.name for one in ledger.chargers.values() if one.left_at is None}
