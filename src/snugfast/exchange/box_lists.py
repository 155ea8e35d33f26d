"""The lists of the spares box for a spreadsheet."""

from __future__ import annotations

from snugfast.exchange.lists import csv_bytes
from snugfast.usecases.spares.buy import BuyLine, BuyList
from snugfast.usecases.spares.carry import CarryLine, CarryList
from snugfast.usecases.stock.box import BoxLine, BoxList

BOX_COLUMNS = (
    "part", "kind", "sizes", "count", "minimum", "coming", "place", "price", "currency", "pack of",
    "supplier", "days to come", "on the cars", "where", "counted",
)  # fmt: skip

CARRY_COLUMNS = ("part", "take", "in the box", "place", "to buy", "chance wanted", "saves", "currency", "why")
BUY_COLUMNS = (
    "part", "buy", "in the box", "coming", "for jobs", "minimum", "pack of", "price", "currency",
    "worth having", "pieces wanted", "supplier", "days to come", "why",
)  # fmt: skip


def carry_csv(found: CarryList) -> bytes:
    """What to carry as CSV, one part a line."""
    return csv_bytes(CARRY_COLUMNS, (_carried(line) for line in found.lines))


def buy_csv(found: BuyList) -> bytes:
    """What to buy as CSV, one part a line."""
    return csv_bytes(BUY_COLUMNS, (_bought(line) for line in found.lines))


def box_csv(box: BoxList) -> bytes:
    """The box as CSV, one part a line."""
    return csv_bytes(BOX_COLUMNS, (_row(line) for line in box.lines))


def _row(line: BoxLine) -> dict[str, object]:
    return {
        "part": line.name,
        "kind": line.kind,
        "sizes": line.sizes,
        "count": line.count,
        "minimum": line.minimum,
        "coming": line.coming,
        "place": line.place,
        "price": f"{line.price.minor / 100:.2f}" if line.price else None,
        "currency": line.price.currency if line.price else None,
        "pack of": line.pack_of,
        "supplier": line.supplier,
        "days to come": line.delivery_days,
        "on the cars": line.carried,
        "where": "; ".join(line.where),
        "counted": line.counted,
    }


def _carried(line: CarryLine) -> dict[str, object]:
    return {
        "part": line.name,
        "take": line.take,
        "in the box": line.have,
        "place": line.place,
        "to buy": line.buy,
        "chance wanted": f"{line.chance.value:.3f}",
        "saves": f"{line.saves.value:.2f}",
        "currency": line.saves.unit,
        "why": "; ".join(line.why),
    }


def _bought(line: BuyLine) -> dict[str, object]:
    return {
        "part": line.name,
        "buy": line.buy,
        "in the box": line.have,
        "coming": line.coming,
        "for jobs": line.needed,
        "minimum": line.minimum,
        "pack of": line.pack_of,
        "price": f"{line.price.value:.2f}" if line.price else None,
        "currency": line.worth.unit,
        "worth having": f"{line.worth.value:.2f}",
        "pieces wanted": f"{line.wanted.value:.2f}",
        "supplier": line.supplier,
        "days to come": line.delivery_days,
        "why": "; ".join(line.why),
    }
