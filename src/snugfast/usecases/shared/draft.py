"""Entries ready to be kept, told in full before they are."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from snugfast.records.entries import Entry
from snugfast.records.ledger import Ledger
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import tell, tell_twice
from snugfast.usecases.shared.workshop import Workshop


@dataclass(frozen=True, slots=True)
class Draft:
    """Entries ready to be kept, and the sentences that tell them in full."""

    entries: tuple[Entry, ...]
    echo: tuple[str, ...]

    @classmethod
    def telling(cls, workshop: Workshop, ledger: Ledger, entries: Iterable[Entry]) -> Draft:
        """Entries with the sentences that tell them."""
        drafted = tuple(entries)
        told = tuple(
            line for entry in drafted for line in (tell(entry, workshop.facts, ledger), *tell_twice(entry))
        )
        return cls(drafted, told)

    @classmethod
    def told_now(cls, workshop: Workshop, entries: Iterable[Entry]) -> Draft:
        """Like `telling`, for who has no ledger in hand: of the journal as it stands."""
        with workshop.store.reading() as reads:
            ledger = ledger_now(reads)
        return cls.telling(workshop, ledger, entries)
