"""What to buy now: by what it is worth to have it before the next outings, in the packs it is sold in.

First what stands found and not fixed; then what is likely to be wanted until an order has come and lasted a
while, at each part’s own age; then what is below its minimum.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil

import numpy as np

from snugfast.core.figures import Figure, Origin
from snugfast.numerics.packing import best_packing
from snugfast.records.box import BoxItem
from snugfast.records.ledger import Ledger
from snugfast.upkeep.spares import best_stock, expected_backorders
from snugfast.usecases.beliefs.stakes import Values
from snugfast.usecases.bench.fix_first import fix_jobs
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.typed_words import read_budget
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.demand import Day, Going, KindWanted, by_kind, cars_going, first_places
from snugfast.usecases.stock.kinds import Kind, kind_of_item, kind_of_place

PRICES = Origin("invented-prices", "prices of the build; your own where you have written them")
SHORT = Origin("elicited-2026", "what lying there costs, and how long an order is to last")
LEAST_CHANCE = 0.02  # of wanting it at all in that time; below it nobody orders one ahead


@dataclass(frozen=True, slots=True)
class BuyLine:
    """One part to buy: how many, why, and what having them is worth before its price."""

    number: int
    name: str
    item: str  # identity of the part of the box, "" when the box does not hold it
    buy: int
    have: int
    coming: int
    needed: int  # for what stands found and not fixed
    minimum: int
    pack_of: int
    price: Figure | None  # of all of them
    worth: Figure
    wanted: Figure  # pieces in that time, on average
    supplier: str
    delivery_days: float
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BuyList:
    """What to buy, what it costs, and the exact choice where money is short."""

    cars: tuple[str, ...]
    lines: tuple[BuyLine, ...]
    price: Figure
    worth: Figure
    left_out: tuple[str, ...]  # worth buying, and beyond the money
    gap: Figure
    money: str
    sources: tuple[Cited, ...] = ()


@dataclass(slots=True)
class _Need:
    """What one kind lacks."""

    name: str
    kind: KindWanted | None
    item: BoxItem | None
    needed: int = 0
    jobs: tuple[str, ...] = ()
    price: float | None = None  # of one piece, minor units


def buy_list(workshop: Workshop, money: str = "", cars: Sequence[str] = ()) -> BuyList:
    """What to buy now for some cars or for all, within some money where that was said.

    Raises NotKnown for a car that is not here, BadInput for words that are no money.
    """
    lasting = workshop.assume("stock_outings")
    ledger, once = cars_going(workshop, cars, Day())
    days = max([one.ahead.days for one in once if one.ahead.days > 0.0], default=7.0)
    coming = workshop.assume("delivery_days") / days
    _, going = cars_going(workshop, cars, Day(outings=lasting + coming))
    values = Values.of(ledger.settings, workshop.facts)
    kinds = by_kind(workshop, ledger, going, values, cures=1.0)
    lines = [
        line
        for need in _needs(workshop, ledger, going, kinds, values.currency)
        if (line := _line(workshop, ledger, need, values)) is not None
    ]
    lines.sort(key=lambda line: (-bool(line.needed), -_per_price(line), line.name))
    budget = read_budget(money, ledger)
    kept, left, gap = _within(lines, budget)
    unit = values.currency
    numbered = tuple(replace(line, number=n) for n, line in enumerate(kept, 1))
    price = Figure(sum(line.price.value for line in kept if line.price), unit, origins=(PRICES,))
    found = BuyList(
        cars=tuple(one.car.name for one in going),
        lines=numbered,
        price=price,
        worth=Figure(
            sum(line.worth.value for line in kept),
            unit,
            origins=(*rests_on(expected_backorders, best_stock), SHORT),
        ),
        left_out=tuple(f"{line.buy} × {line.name}" for line in left),
        gap=Figure(gap, unit),
        money=f"{budget:.2f} {unit}" if budget is not None else "",
    )
    return replace(found, sources=cited(workshop.facts, (found.price, found.worth)))


def _needs(
    workshop: Workshop,
    ledger: Ledger,
    going: Sequence[Going],
    kinds: Sequence[KindWanted],
    currency: str,
) -> list[_Need]:
    """Every kind that is wanted, needed for a job, or kept in the box."""
    found: dict[Kind, _Need] = {
        kind.kind: _Need(kind.name, kind, kind.item, price=kind.price) for kind in kinds
    }
    jobs: dict[Kind, list[str]] = {}
    pieces: Counter[Kind] = Counter()
    for one in going:
        for job in fix_jobs(workshop, ledger, one.car, one.build, workshop.now()):
            for part in job.parts:
                place = one.build.place(part.place)
                if place is None:
                    continue
                kind = kind_of_place(workshop.facts, one.build, place)
                price = float(place.price_minor) if one.build.currency == currency else None
                found.setdefault(kind, _Need(place.part, None, None, price=price))
                pieces[kind] += ceil(part.count)
                jobs.setdefault(kind, []).append(f"{one.car.name}: {job.title}")
    for item in ledger.stock.kept():
        of_item = kind_of_item(workshop.facts, item)
        if of_item is not None:
            need = found.setdefault(of_item, _Need(item.name, None, item))
            need.item = need.item or item
            if item.price is not None and item.price.currency == currency:
                need.price = float(item.price.minor)
    for kind, need in found.items():
        need.needed = pieces[kind]
        need.jobs = tuple(dict.fromkeys(jobs.get(kind, ())))
    return list(found.values())


def _line(workshop: Workshop, ledger: Ledger, need: _Need, values: Values) -> BuyLine | None:
    """The line of one part, or None where nothing is to be bought."""
    item, kind = need.item, need.kind
    have = item.count if item else 0
    coming = ledger.stock.coming(item.id) if item else 0
    minimum = item.minimum if item else 0
    free = max(0, have + coming - need.needed)
    wanted = kind.demand.mean if kind else 0.0
    target = 0
    if kind is not None and need.price and wanted >= LEAST_CHANCE:
        over = max(1.0, workshop.assume("stock_holding") * need.price)
        target = best_stock(demand=kind.demand, short_cost=kind.loss, over_cost=over)
    lacking = max(0, need.needed - have - coming) + max(0, max(target, minimum) - free)
    if not lacking:
        return None
    pack_of = item.pack_of if item else 1
    buy = ceil(lacking / pack_of) * pack_of
    unit = values.currency
    worth = _worth(kind, free, buy, need, values) / 100.0
    return BuyLine(
        number=0,
        name=need.name,
        item=item.id.hex if item else "",
        buy=buy,
        have=have,
        coming=coming,
        needed=need.needed,
        minimum=minimum,
        pack_of=pack_of,
        price=Figure(buy * need.price / 100.0, unit, origins=(PRICES,)) if need.price is not None else None,
        worth=Figure(worth, unit),
        wanted=Figure(wanted, "1"),
        supplier=item.supplier if item else "",
        delivery_days=item.delivery_days
        if item and item.delivery_days is not None
        else workshop.assume("delivery_days"),
        why=(
            *need.jobs,
            *((f"below the minimum of {minimum}",) if have + coming < minimum else ()),
            *(first_places(kind) if kind and target else ()),
        ),
    )


def _worth(kind: KindWanted | None, free: int, buy: int, need: _Need, values: Values) -> float:
    """What having them spares on average, minor units: shortages, and the outing of a car that stands."""
    if kind is None:
        return 0.0
    short = expected_backorders(mean=kind.demand.mean, variance=kind.demand.variance, most=free + buy)[0]
    return float(kind.loss * (short[free] - short[free + buy])) + need.needed * kind.loss


def _per_price(line: BuyLine) -> float:
    return line.worth.value / line.price.value if line.price and line.price.value else line.worth.value


def _within(lines: Sequence[BuyLine], budget: float | None) -> tuple[list[BuyLine], list[BuyLine], float]:
    """(what the money buys, what it does not, how much more the very best could be worth).

    What is needed for a job goes first, as far as the money reaches; the rest is packed exactly.
    """
    if budget is None:
        return list(lines), [], 0.0
    left, kept, rest = round(budget * 100.0), [], []
    for line in lines:
        price = round(line.price.value * 100.0) if line.price else 0
        if line.needed and price <= left:
            kept.append(line)
            left -= price
        else:
            rest.append(line)
    if not rest:
        return kept, [], 0.0
    packed = best_packing(
        np.array([max(line.worth.value, 1e-6) for line in rest]),
        np.array([[round(line.price.value * 100.0) if line.price else 0.0 for line in rest]], dtype=float),
        np.array([float(left)]),
    )
    chosen = [line for line, taken in zip(rest, packed.taken, strict=True) if taken]
    out = [line for line, taken in zip(rest, packed.taken, strict=True) if not taken]
    return [*kept, *chosen], out, packed.gap
