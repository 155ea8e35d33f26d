"""The pack that an address names, with all that was worked out about it."""

from __future__ import annotations

from uuid import UUID

from snugfast.core.errors import NotKnown
from snugfast.usecases.packs.state import PackSeen, pack_now
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop


def one_pack(workshop: Workshop, pack_id: UUID) -> PackSeen:
    """The pack as it stands. Raises NotKnown for an identity that is no pack here."""
    with workshop.store.reading() as reads:
        known = pack_id in ledger_now(reads).packs
    if not known:
        raise NotKnown("There is no such pack here.", "Go to the packs and choose one.")
    return pack_now(workshop, pack_id)
