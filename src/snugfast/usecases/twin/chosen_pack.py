"""The pack a car is driven with: the one named, the one it ran with last, or the kind it is made for."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.facts.model import Build
from snugfast.records.entries import PackMeasured
from snugfast.records.ledger import CarRecord, Ledger, PackRecord
from snugfast.records.standing import standing
from snugfast.usecases.packs.resistance_now import resistance_now
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.lookup import pack_called
from snugfast.usecases.twin.of_car import pack_of_build
from snugfast.usecases.twin.pack_in_car import PackChosen

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads


USUAL_AIR_degC = 25.0


def chosen_pack(reads: Reads, ledger: Ledger, car: CarRecord, build: Build, words: str) -> PackChosen:
    """The pack that was named, the one this car ran with last, or the kind its build is made for."""
    if words.strip():
        return _of_record(reads, pack_called(ledger, words))
    used = [ledger.packs[pack] for pack in reversed(car.packs) if pack in ledger.packs]
    known = next(
        (pack for pack in used if not pack.left_at and chemistry_of(pack.chemistry) is not None), None
    )
    return _of_record(reads, known) if known is not None else pack_of_build(build)


def pack_by_id(reads: Reads, ledger: Ledger, pack: UUID) -> PackChosen | None:
    """A pack of the journal, or None when it is not known."""
    record = ledger.packs.get(pack)
    return None if record is None else _of_record(reads, record)


def _of_record(reads: Reads, pack: PackRecord) -> PackChosen:
    facts = (entry.fact for entry in standing(reads.entries_of({pack.id})).entries)
    read = resistance_now((one for one in facts if isinstance(one, PackMeasured)), pack.cells)
    return PackChosen(
        pack.name, pack.chemistry, pack.cells, pack.capacity_Ah, read.cell_ohm, read.instrument, read.climbed
    )
