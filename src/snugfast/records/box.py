"""The box of spares as it stands: what it holds, how many pieces, and what is on its way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from snugfast.records.entries import (
    BoxArrived,
    BoxCounted,
    BoxOrdered,
    BoxPart,
    BoxTook,
    Entry,
    Fact,
    FromBox,
    Money,
)

BOX_FACTS = (BoxPart, BoxCounted, BoxTook, BoxOrdered, BoxArrived)


@dataclass(frozen=True, slots=True)
class BoxItem:
    """One part of the box. `count` is of pieces; `counted_at` when somebody last counted them."""

    id: UUID
    name: str
    role: str
    sizes: Mapping[str, Any]
    design: str = ""
    made_for: str = ""
    place: str = ""
    minimum: int = 0
    price: Money | None = None
    pack_of: int = 1
    supplier: str = ""
    delivery_days: float | None = None
    is_kept: bool = True
    count: int = 0
    counted_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class BoxOrder:
    """Pieces that were ordered and have not all come."""

    id: UUID
    item: UUID
    count: int
    at: datetime
    is_paid: bool = False


@dataclass(frozen=True, slots=True)
class Stock:
    """All parts of the box and all open orders, by identity."""

    items: Mapping[UUID, BoxItem] = field(default_factory=dict)
    orders: Mapping[UUID, BoxOrder] = field(default_factory=dict)

    def kept(self) -> tuple[BoxItem, ...]:
        """What the box is to hold, by name."""
        here = [item for item in self.items.values() if item.is_kept]
        return tuple(sorted(here, key=lambda item: (item.name.casefold(), item.id.bytes)))

    def coming(self, item: UUID) -> int:
        """How many pieces of a part are on their way."""
        return sum(order.count for order in self.orders.values() if order.item == item)

    def after(self, entry: Entry) -> Stock:
        """One entry further. Pieces cannot be fewer than none: what was used beyond them was not counted."""
        fact = entry.fact
        match fact:
            case BoxPart(item=item):
                before = self.items.get(item)
                return self._with(
                    BoxItem(
                        id=item,
                        name=fact.name,
                        role=fact.role,
                        sizes=fact.sizes,
                        design=fact.design,
                        made_for=fact.made_for,
                        place=fact.place,
                        minimum=fact.minimum,
                        price=fact.price,
                        pack_of=fact.pack_of,
                        supplier=fact.supplier,
                        delivery_days=fact.delivery_days,
                        is_kept=fact.is_kept,
                        count=before.count if before else 0,
                        counted_at=before.counted_at if before else None,
                    )
                )
            case BoxCounted(item=item, count=count) if item in self.items:
                return self._with(replace(self.items[item], count=count, counted_at=entry.happened_at))
            case BoxOrdered(order=order, item=item) if item in self.items:
                placed = BoxOrder(order, item, fact.count, entry.happened_at, fact.spent is not None)
                return replace(self, orders={**self.orders, order: placed})
            case BoxArrived(item=item) if item in self.items:
                return self._arrived(fact)
            case BoxTook(item=item, count=count):
                return self._less((FromBox(item, count),))
            case _:
                return self._less(taken_by(fact))

    def _with(self, item: BoxItem) -> Stock:
        return replace(self, items={**self.items, item.id: item})

    def _arrived(self, fact: BoxArrived) -> Stock:
        item = self.items[fact.item]
        orders = dict(self.orders)
        if fact.order in orders:
            placed = orders.pop(fact.order)
            if placed.count > fact.count:
                orders[placed.id] = replace(placed, count=placed.count - fact.count)
        return replace(
            self, items={**self.items, item.id: replace(item, count=item.count + fact.count)}, orders=orders
        )

    def _less(self, taken: Iterable[FromBox]) -> Stock:
        stock = self
        for one in taken:
            if one.item in stock.items:
                item = stock.items[one.item]
                stock = stock._with(replace(item, count=max(0, item.count - one.count)))
        return stock


def taken_by(fact: Fact) -> tuple[FromBox, ...]:
    """What a finding, a run, a hunt or a part fitted took out of the box."""
    return getattr(fact, "from_box", ())
