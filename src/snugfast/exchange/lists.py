"""The lists of a workshop as CSV, for a spreadsheet. Cells it would run as a formula are made harmless."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path

from snugfast.core.errors import BadInput
from snugfast.records.store.troubles import told_in_words
from snugfast.usecases.safekeeping.lists import Listing

_RUNS_AS_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def write_lists(listings: Iterable[Listing], folder: Path) -> tuple[Path, ...]:
    """One CSV for each list in a new or empty folder. Raises BadInput when the folder holds anything."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise BadInput(f"{folder} is not an empty folder.", "Name a new folder.")
    with told_in_words(str(folder)):
        folder.mkdir(parents=True, exist_ok=True)
        return tuple(_write(listing, folder) for listing in listings)


def harmless(cell: object) -> object:
    """A cell as a spreadsheet may show it: text that begins like a formula gets an apostrophe before it."""
    if isinstance(cell, str) and cell.startswith(_RUNS_AS_FORMULA):
        return f"'{cell}"
    return "" if cell is None else cell


def csv_bytes(columns: tuple[str, ...], rows: Iterable[Mapping[str, object]]) -> bytes:
    """One list as CSV for a spreadsheet, its cells made harmless; begins with the mark of UTF-8."""
    text = io.StringIO(newline="")
    writer = csv.writer(text)
    writer.writerow(columns)
    writer.writerows(_cells(columns, row) for row in rows)
    return text.getvalue().encode("utf-8-sig")


def _write(listing: Listing, folder: Path) -> Path:
    path = folder / f"{listing.name}.csv"
    path.write_bytes(csv_bytes(listing.columns, listing.rows))
    return path


def _cells(columns: tuple[str, ...], row: Mapping[str, object]) -> Iterator[object]:
    return (harmless(row.get(column)) for column in columns)
