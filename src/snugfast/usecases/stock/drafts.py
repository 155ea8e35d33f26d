"""Entries of the box: a part added or changed, a stock-take, an order, an arrival, pieces taken out."""

from __future__ import annotations

from dataclasses import dataclass, replace
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.units import read_number
from snugfast.facts.model import Place
from snugfast.records.box import BoxItem, BoxOrder
from snugfast.records.entries import BoxArrived, BoxCounted, BoxOrdered, BoxPart, BoxTook, Entry, Fact
from snugfast.records.ledger import Ledger
from snugfast.records.moments import Moment, read_moment
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.part_sizes import sizes_of_part
from snugfast.usecases.shared.typed_words import find_place, read_money
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.box import item_called
from snugfast.usecases.stock.kinds import (
    kind_of_item,
    kind_of_place,
    made_for,
    sizes_that_count,
    sizes_words,
)


@dataclass(frozen=True, slots=True)
class BoxPartSaid:
    """A part for the box as typed: of a place of a car, or a part that is there (`part`), with what changed.

    `sizes` are those that differ from the build’s (“teeth_count=15”). Empty texts leave what was said before.
    """

    car: str = ""
    place_of_car: str = ""
    part: str = ""
    name: str = ""
    sizes: tuple[str, ...] = ()
    count: str = ""
    place: str = ""
    minimum: str = ""
    price: str = ""
    pack_of: str = ""
    supplier: str = ""
    days: str = ""
    id: UUID | None = None


def draft_part(workshop: Workshop, said: BoxPartSaid) -> Draft:
    """The entries of a part added to the box or changed, and of its count where that was said.

    The very part that the box holds already is that part, and not a second one.
    """
    ledger = _ledger(workshop)
    item = item_called(ledger, said.part) if said.part.strip() else part_of_place(workshop, ledger, said)
    fact = BoxPart(
        item=item.id,
        name=said.name.strip() or item.name,
        role=item.role,
        sizes=item.sizes,
        design=item.design,
        made_for=item.made_for,
        place=said.place.strip() or item.place,
        minimum=_count(said.minimum, "minimum") if said.minimum.strip() else item.minimum,
        price=read_money(said.price, ledger) if said.price.strip() else item.price,
        pack_of=max(1, _count(said.pack_of, "packs of")) if said.pack_of.strip() else item.pack_of,
        supplier=said.supplier.strip() or item.supplier,
        delivery_days=read_number(said.days, where="days") if said.days.strip() else item.delivery_days,
    )
    facts: list[Fact] = [fact]
    if said.count.strip():
        facts.append(BoxCounted(item.id, _count(said.count, "count")))
    return _draft(workshop, ledger, facts, id=said.id)


def part_of_place(workshop: Workshop, ledger: Ledger, said: BoxPartSaid) -> BoxItem:
    """The part of a place of a car, as the box holds it or would hold it.

    Raises BadInput or NotKnown for words that name no car or place.
    """
    car = car_called(ledger, said.car)
    build = workshop.build(car.build)
    place = find_place(said.place_of_car, build)
    typed = sizes_of_part(workshop.facts, place, said.name, said.sizes, some_only=False)
    row = workshop.facts.spare_parts[place.role]
    whole = replace(place, sizes={**place.sizes, **typed})
    kind = kind_of_place(workshop.facts, build, whole)
    for item in ledger.stock.items.values():
        if kind_of_item(workshop.facts, item) == kind:
            return replace(item, is_kept=True)
    return BoxItem(
        id=workshop.new_id(),
        name=said.name.strip() or (_named(workshop, place, whole) if typed else place.part),
        role=place.role,
        sizes=sizes_that_count(row, whole.sizes),
        design=kind.design,
        made_for=made_for(build, place) if kind.design else "",
        price=None,
    )


def draft_counted(workshop: Workshop, counted: tuple[tuple[str, str], ...], *, when: str = "") -> Draft:
    """The entries of a stock-take: (part, pieces) for each part that was counted."""
    ledger = _ledger(workshop)
    moment = _moment(workshop, when)
    facts: list[Fact] = [
        BoxCounted(item_called(ledger, part).id, _count(pieces, "count")) for part, pieces in counted
    ]
    if not facts:
        raise BadInput("Nothing was counted.", "Name a part of the box and how many there are.")
    return _draft(workshop, ledger, facts, moment)


def draft_took(workshop: Workshop, part: str, pieces: str, why: str = "", *, id: UUID | None = None) -> Draft:
    """The entry of pieces that left the box for another reason than a finding."""
    ledger = _ledger(workshop)
    item = item_called(ledger, part)
    return _draft(workshop, ledger, [BoxTook(item.id, _count(pieces or "1", "count"), why.strip())], id=id)


def draft_gone(workshop: Workshop, part: str) -> Draft:
    """The entry of a part that the box is not to hold any more."""
    ledger = _ledger(workshop)
    item = item_called(ledger, part)
    fact = BoxPart(item.id, item.name, item.role, item.sizes, item.design, item.made_for, is_kept=False)
    return _draft(workshop, ledger, [fact])


def draft_ordered(
    workshop: Workshop,
    part: str,
    pieces: str,
    *,
    spent: str = "",
    when: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entry of an order; `spent` is for all of it, where it was paid for then."""
    ledger = _ledger(workshop)
    item = item_called(ledger, part)
    paid = read_money(spent, ledger) if spent.strip() else None
    order = id or workshop.new_id()
    fact = BoxOrdered(order, item.id, _count(pieces, "count"), paid)
    return _draft(workshop, ledger, [fact], _moment(workshop, when), id=id)


def draft_arrived(
    workshop: Workshop,
    part: str,
    pieces: str = "",
    *,
    spent: str = "",
    when: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entries of pieces that came into the box: of the open orders of the part first, the oldest first.

    Without a number all that was ordered has come. Raises BadInput where nothing was ordered and no number
    said, and for money that the order had paid for.
    """
    ledger = _ledger(workshop)
    item = item_called(ledger, part)
    orders = orders_of(ledger, item.id)
    ordered = sum(order.count for order in orders)
    count = _count(pieces, "count") if pieces.strip() else ordered
    if not count:
        raise BadInput(f"No {item.name} was ordered.", "Say how many came.")
    paid = read_money(spent, ledger) if spent.strip() else None
    if paid and orders and all(order.is_paid for order in orders) and count <= ordered:
        raise BadInput("This order was paid for when it was placed.", "Leave the money out.")
    facts: list[Fact] = []
    for order in orders:
        part_of = min(order.count, count)
        if part_of:
            facts.append(BoxArrived(item.id, part_of, None, order.id))
            count -= part_of
    if count:
        facts.append(BoxArrived(item.id, count))
    if paid:
        last = facts[-1]
        assert isinstance(last, BoxArrived)
        facts[-1] = replace(last, spent=paid)
    return _draft(workshop, ledger, facts, _moment(workshop, when), id=id)


def orders_of(ledger: Ledger, item: UUID) -> list[BoxOrder]:
    """The open orders of a part, the oldest first."""
    return sorted(
        (order for order in ledger.stock.orders.values() if order.item == item),
        key=lambda order: (order.at, order.id.bytes),
    )


def _named(workshop: Workshop, place: Place, whole: Place) -> str:
    """A part that differs from the one in the place: its family, and the sizes it is bought by."""
    row = workshop.facts.spare_parts[place.role]
    return f"{row.family}, {sizes_words(workshop.facts, sizes_that_count(row, whole.sizes))}"


def _ledger(workshop: Workshop) -> Ledger:
    with workshop.store.reading() as reads:
        return ledger_now(reads)


def _moment(workshop: Workshop, when: str) -> Moment | None:
    return read_moment(when, now=workshop.now(), zone=workshop.zone) if when.strip() else None


def _draft(
    workshop: Workshop,
    ledger: Ledger,
    facts: list[Fact],
    moment: Moment | None = None,
    *,
    id: UUID | None = None,
) -> Draft:
    """The facts as entries; the first carries the identity of the form."""
    entries: list[Entry] = []
    for number, fact in enumerate(facts):
        entry = workshop.entry(fact, id=id if number == 0 else None)
        if moment is not None:
            entry = replace(entry, happened_at=moment.at, precision=moment.precision)
        entries.append(entry)
    known = ledger
    for entry in entries:
        if isinstance(entry.fact, BoxPart):
            known = replace(known, stock=known.stock.after(entry))
    return Draft.telling(workshop, known, entries)


def _count(text: str, where: str) -> int:
    value = read_number(text, where=where)
    if value < 0 or value != int(value):
        raise BadInput(f"{where}: “{text.strip()}” is no number of pieces.", "Give a whole number.")
    return int(value)
