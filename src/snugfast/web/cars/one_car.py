"""The car that an address names, for the pages about its mechanics."""

from __future__ import annotations

from uuid import UUID

from snugfast.core.errors import NotKnown
from snugfast.facts.model import Build
from snugfast.records.ledger import CarRecord
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop


def one_car(workshop: Workshop, car_id: UUID) -> tuple[CarRecord, Build]:
    """The car with its build. Raises NotKnown for an identity that is no car here."""
    with workshop.store.reading() as reads:
        record = ledger_now(reads).cars.get(car_id)
    if record is None:
        raise NotKnown("There is no such car here.", "Go to the first page and choose one.")
    return record, workshop.build(record.build)
