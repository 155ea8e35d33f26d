"""Every payment for a spreadsheet."""

from __future__ import annotations

from snugfast.exchange.lists import csv_bytes
from snugfast.usecases.money.money import MoneyTold

COLUMNS = ("mark", "day", "month", "for", "what", "car", "paid", "currency")


def money_csv(told: MoneyTold) -> bytes:
    """The payments as CSV, one a line."""
    return csv_bytes(
        COLUMNS,
        (
            {
                "mark": line.mark,
                "day": line.day,
                "month": line.month,
                "for": line.what.value,
                "what": line.words,
                "car": line.car,
                "paid": f"{line.minor / 100:.2f}",
                "currency": line.currency,
            }
            for line in told.paid
        ),
    )
