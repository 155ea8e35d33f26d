"""The box as a list: each part, how many, for which cars and places, and what is below its minimum."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from uuid import UUID

from snugfast.core.errors import NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.records.box import BoxItem
from snugfast.records.entries import Money
from snugfast.records.ledger import Ledger
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.typed_words import nearest_way_out
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.kinds import Fit, Verdict, fits_of, sizes_words

PRICED = Origin("mine", "prices of the box, as entered")


@dataclass(frozen=True, slots=True)
class BoxLine:
    """One part of the box. `carried` is how many pieces of it the cars carry now, in `where`."""

    number: int
    item: UUID
    name: str
    kind: str
    sizes: str
    count: int
    odd: int  # pieces that make no whole pack
    minimum: int
    coming: int
    place: str
    price: Money | None
    pack_of: int
    supplier: str
    delivery_days: float | None
    carried: int
    where: tuple[str, ...]
    counted: str  # the day it was counted, "" when never
    is_short: bool


@dataclass(frozen=True, slots=True)
class BoxList:
    """All parts of the box, and what they are worth, a figure for each currency."""

    lines: tuple[BoxLine, ...]
    short: int
    worth: tuple[Figure, ...]


def box_list(workshop: Workshop, car: str = "") -> BoxList:
    """The box as it stands, for all cars or for one. Raises NotKnown for a car that is not here."""
    ledger, builds = stock_and_builds(workshop)
    if car.strip():
        wanted = ledger.car_named(car)
        if wanted is None:
            raise NotKnown(f"There is no car called “{car}” here.", WayOut("See the cars", Action.ADD_CAR))
        builds = {wanted.name: builds[wanted.name]}
    lines = []
    for number, item in enumerate(ledger.stock.kept(), 1):
        fits = fits_of(workshop.facts, item, builds.items())
        good = [fit for fit in fits if fit.verdict is Verdict.FITS]
        if car.strip() and not good:
            continue
        lines.append(_line(workshop, ledger, number, item, good))
    worth: Counter[str] = Counter()
    for line in lines:
        if line.price:
            worth[line.price.currency] += line.price.minor * line.count
    return BoxList(
        tuple(lines),
        sum(line.is_short for line in lines),
        tuple(Figure(minor / 100.0, currency, origins=(PRICED,)) for currency, minor in worth.items()),
    )


def will_it_fit(workshop: Workshop, item: BoxItem) -> tuple[Fit, ...]:
    """Whether a part fits each car here that takes one of its family, the cars it fits first.

    Where it fits somewhere in a car, the places of that car that take another size are left out.
    """
    _, builds = stock_and_builds(workshop)
    found = fits_of(workshop.facts, item, builds.items())
    fitted = {fit.car for fit in found if fit.verdict is Verdict.FITS}
    told = [fit for fit in found if fit.verdict is not Verdict.DOES_NOT or fit.car not in fitted]
    order = list(Verdict)
    return tuple(sorted(told, key=lambda fit: order.index(fit.verdict)))


def stock_and_builds(workshop: Workshop) -> tuple[Ledger, Mapping[str, Build]]:
    """The ledger, and the build of each car here by its name."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    return ledger, {car.name: workshop.build(car.build) for car in cars_here(ledger)}


def item_called(ledger: Ledger, words: str) -> BoxItem:
    """The part of the box that is meant: by its number in the list, its name, or the end of its identity.

    Raises NotKnown with the nearest.
    """
    kept = ledger.stock.kept()
    wanted = words.strip().casefold()
    if wanted.isdecimal() and 1 <= int(wanted) <= len(kept):
        return kept[int(wanted) - 1]
    for item in kept:
        if wanted and (item.name.casefold() == wanted or item.id.hex == wanted or str(item.id) == wanted):
            return item
    begins = [item for item in kept if wanted and item.name.casefold().startswith(wanted)]
    if len(begins) == 1:
        return begins[0]
    near = nearest_way_out(words, [item.name for item in kept])
    raise NotKnown(
        f"There is no part “{words.strip()}” in the box.",
        near or WayOut("Look at the box, or add it", Action.ADD_TO_BOX),
    )


def _line(workshop: Workshop, ledger: Ledger, number: int, item: BoxItem, good: Iterable[Fit]) -> BoxLine:
    fits = list(good)
    return BoxLine(
        number=number,
        item=item.id,
        name=item.name,
        kind=workshop.facts.spare_parts[item.role].family
        if item.role in workshop.facts.spare_parts
        else item.role,
        sizes=sizes_words(workshop.facts, item.sizes),
        count=item.count,
        odd=item.count % item.pack_of,
        minimum=item.minimum,
        coming=ledger.stock.coming(item.id),
        place=item.place,
        price=item.price,
        pack_of=item.pack_of,
        supplier=item.supplier,
        delivery_days=item.delivery_days,
        carried=sum(fit.pieces for fit in fits),
        where=tuple(f"{fit.car}: {fit.place} ({fit.pieces})" for fit in fits),
        counted=item.counted_at.date().isoformat() if item.counted_at else "",
        is_short=item.count < item.minimum,
    )
