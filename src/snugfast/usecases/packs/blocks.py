"""A damaged pack blocks the sheet of the car it is in until it is said to be out."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from snugfast.facts.model import Facts
from snugfast.records.ledger import Ledger
from snugfast.usecases.packs.judging import judged
from snugfast.usecases.shared.cautions import Caution, cautions_of


@dataclass(frozen=True, slots=True)
class PackBlock:
    """A car that has a damaged pack in it, as far as anybody said: what is so, and the way out."""

    car: UUID
    car_name: str
    pack: UUID
    pack_name: str
    sentence: str
    way_out: str
    cautions: tuple[Caution, ...]


def pack_blocks(facts: Facts, ledger: Ledger, cars: Collection[UUID], now: datetime) -> tuple[PackBlock, ...]:
    """The damaged packs in these cars."""
    blocks = []
    for pack in ledger.packs.values():
        car = ledger.cars.get(pack.marks.in_car) if pack.marks.in_car else None
        if car is None or car.id not in cars or pack.left_at is not None:
            continue
        verdict = judged(pack, None, now)
        if not verdict.damaged:
            continue
        hardest = verdict.standing.reasons[0]
        keys = dict.fromkeys(
            filter(None, (hardest.caution, "pack-quarantine", "pack-transport", "pack-fire"))
        )
        blocks.append(
            PackBlock(
                car=car.id,
                car_name=car.name,
                pack=pack.id,
                pack_name=pack.name,
                sentence=f"{pack.name} is damaged and, as far as anybody said, in {car.name}. {hardest.says}",
                way_out=f"Take it out and keep it away from people and from what burns. {hardest.way_back}",
                cautions=cautions_of(facts, tuple(keys)),
            )
        )
    return tuple(blocks)


def without_damaged(
    ledger: Ledger, packs: Mapping[UUID, tuple[UUID, ...]], now: datetime
) -> dict[UUID, tuple[UUID, ...]]:
    """The packs of each car less those that are damaged: no check of them is worth anybody's minutes."""
    return {
        car: tuple(pack for pack in several if not judged(ledger.packs[pack], None, now).damaged)
        for car, several in packs.items()
    }
