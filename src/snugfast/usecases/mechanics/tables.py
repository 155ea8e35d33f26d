"""The tables of mechanics as a bench question asks for them: one row by its key, with where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from snugfast import facts
from snugfast.core.errors import NotKnown
from snugfast.core.figures import Origin
from snugfast.facts.load import read_table
from snugfast.facts.tables import Cell, Table

Cells = Mapping[str, Cell]


@cache
def table_of(folder: str, name: str) -> Table:
    """One table, read once."""
    return read_table(Path(facts.__path__[0]) / folder / f"{name}.csv")


def mechanics(name: str) -> Table:
    """One table of mechanics."""
    return table_of("mechanics", name)


def row_of(name: str, **wanted: Cell) -> Cells | None:
    """The row of a table whose cells are these, or None."""
    rows = mechanics(name).rows
    return next((row for row in rows if all(row[key] == cell for key, cell in wanted.items())), None)


def the_row(name: str, **wanted: Cell) -> Cells:
    """The row of a table whose cells are these. Raises NotKnown with what the table has."""
    row = row_of(name, **wanted)
    if row is None:
        key, cell = next(iter(wanted.items()))
        listed = ", ".join(dict.fromkeys(_word(other[key]) for other in mechanics(name).rows))
        raise NotKnown(f"No row of {name.replace('_', ' ')} is for {_word(cell)}.", f"There are {listed}.")
    return row


def number(row: Cells | None, column: str) -> float | None:
    """A number of a row; None where the row or the number is not known."""
    cell = row[column] if row is not None else None
    return cell if isinstance(cell, float) else None


def the_number(row: Cells, column: str) -> float:
    """A number that the table always has."""
    value = number(row, column)
    assert value is not None, column
    return value


def text(row: Cells | None, column: str) -> str:
    """A text of a row; empty where it is not known."""
    cell = row[column] if row is not None else None
    return cell if isinstance(cell, str) else ""


def from_table(name: str, row: Cells | None = None) -> Origin:
    """Where a row comes from: its own source where it names one, and how it was seen where that differs."""
    pedigree = mechanics(name).pedigree
    own = text(row, "row_source") if row and "row_source" in row else ""
    seen = text(row, "seen") if row and "seen" in row else ""
    where = pedigree.where if not own else name.replace("_", " ")
    return Origin(own or pedigree.source, f"{where} (this row: {seen})" if seen else where)


def _word(cell: Cell) -> str:
    return f"{cell:g}" if isinstance(cell, float) else str(cell)
