"""The lists of the spares box for a spreadsheet."""

from __future__ import annotations

from snugfast.exchange.lists import csv_bytes
from snugfast.usecases.stock.box import BoxLine, BoxList

BOX_COLUMNS = (
    "part", "kind", "sizes", "count", "minimum", "coming", "place", "price", "currency", "pack of",
    "supplier", "days to come", "on the cars", "where", "counted",
)  # fmt: skip


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
