"""Tables of numbers: a CSV, and beside it a TOML that says where it comes from and what its columns mean.

The TOML has `source`, `place` (where in the source), `checked` (how the copy was checked), `rules` (a list
of sentences that hold over the table) and `[columns]`: for each column `{ kind = "number" | "text", unit,
means }`. A blank cell means unknown and is read as None.
"""

from __future__ import annotations

import csv
import io
import math
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from snugfast.core.errors import WrongData
from snugfast.core.findings import Finding
from snugfast.facts.model import Pedigree
from snugfast.facts.reading import Row, nearest, number_way_out

Cell = str | float | None


@dataclass(frozen=True, slots=True)
class Column:
    """One column: whether it holds numbers, in which unit ("" for a text or a bare number), what it means."""

    name: str
    is_number: bool
    unit: str
    means: str


@dataclass(frozen=True, slots=True)
class Table:
    """A table read whole. Each row maps every column to its cell; an unknown cell is None."""

    name: str
    pedigree: Pedigree
    checked: str
    rules: tuple[str, ...]
    columns: tuple[Column, ...]
    rows: tuple[Mapping[str, Cell], ...]

    def numbers(self, column: str) -> tuple[float | None, ...]:
        """One column of numbers, in row order."""
        return tuple(cell for cell in self._cells(column) if not isinstance(cell, str))

    def texts(self, column: str) -> tuple[str | None, ...]:
        """One column of texts, in row order."""
        return tuple(cell for cell in self._cells(column) if not isinstance(cell, float))

    def _cells(self, column: str) -> Iterator[Cell]:
        return (row[column] for row in self.rows)


def parse_table(csv_text: str, about_text: str, name: str) -> Table:
    """The table in a CSV text and the TOML text beside it.

    Raises WrongData with everything that is wrong with either.
    """
    findings: list[Finding] = []
    about = _about(about_text, name, findings)
    columns = _columns(about, findings)
    table = Table(
        name=name,
        pedigree=Pedigree(source=about.text("source"), where=about.text("place", default="")),
        checked=about.text("checked"),
        rules=about.texts("rules"),
        columns=columns,
        rows=_rows(csv_text, f"{name}.csv", columns, findings),
    )
    about.done()
    if findings:
        raise WrongData(name, findings)
    return table


def _about(about_text: str, name: str, findings: list[Finding]) -> Row:
    try:
        document: dict[str, Any] = tomllib.loads(about_text)
    except tomllib.TOMLDecodeError as error:
        raise WrongData(name, [Finding(f"{name}.toml", f"this is not TOML: {error}")]) from error
    return Row(document, f"{name}.toml", findings)


def _columns(about: Row, findings: list[Finding]) -> tuple[Column, ...]:
    columns = []
    for name, said in about.table("columns").items():
        row = Row(said, f"{about.where}, column {name}", findings)
        kind = row.text("kind")
        if kind not in ("number", "text"):
            row.fault(f"“kind” cannot be “{kind}”", "write number or text")
        columns.append(
            Column(
                name, is_number=kind == "number", unit=row.text("unit", default=""), means=row.text("means")
            )
        )
        row.done()
    return tuple(columns)


def _rows(
    csv_text: str, where: str, columns: tuple[Column, ...], findings: list[Finding]
) -> tuple[Mapping[str, Cell], ...]:
    reader = csv.DictReader(io.StringIO(csv_text), strict=True)
    try:
        head = list(reader.fieldnames or ())
    except csv.Error as error:
        findings.append(Finding(f"{where}, line 1", f"this is not CSV: {error}", "put the quotes right"))
        return ()
    described = [column.name for column in columns]
    findings += [
        Finding(where, f"the column “{name}” is not described", nearest(name, described))
        for name in head
        if name not in described
    ]
    findings += [Finding(where, f"the column “{name}” is missing") for name in described if name not in head]
    rows = []
    for cells in _lines(reader, where, findings):
        line = f"{where}, line {reader.line_num}"
        if None in cells or None in cells.values():
            findings.append(Finding(line, f"this line has not {len(head)} cells", "put the commas right"))
            continue
        rows.append(
            {column.name: _cell(cells.get(column.name, ""), column, line, findings) for column in columns}
        )
    return tuple(rows)


def _lines(
    reader: csv.DictReader[str], where: str, findings: list[Finding]
) -> Iterator[dict[str | Any, str | Any]]:
    """Line by line, as far as the text is CSV."""
    try:
        yield from reader
    except csv.Error as error:
        told = f"this is not CSV: {error}"
        findings.append(Finding(f"{where}, line {reader.line_num}", told, "put the quotes right"))


def _cell(text: str, column: Column, where: str, findings: list[Finding]) -> Cell:
    clean = text.strip()
    if not clean:
        return None
    if not column.is_number:
        return clean
    try:
        number = float(clean)
    except ValueError:
        number = math.nan
    if not math.isfinite(number):
        findings.append(
            Finding(where, f"“{clean}” in “{column.name}” is not a number", number_way_out(clean))
        )
        return None
    return number
