"""A sheet of labels: where each label sits, what stands on it, and its PDF or SVG by Typst.

The sizes are those label sheets are sold in (common practice, no source): measure yours, and print one on
plain paper first.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from snugfast.core.errors import BadInput
from snugfast.exchange.qr import qr_svg
from snugfast.exchange.typesetting import pdf_from, svgs_from

HERE = Path(__file__).resolve().parent
TEMPLATE = HERE / "labels.typ"
PAPERS_MM = {"a4": (210.0, 297.0), "us-letter": (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """Labels in columns and rows on a paper; lengths in mm."""

    key: str
    paper: str
    columns: int
    rows: int
    width_mm: float
    height_mm: float
    left_mm: float
    top_mm: float
    step_x_mm: float
    step_y_mm: float

    @property
    def count(self) -> int:
        """How many labels a sheet has."""
        return self.columns * self.rows

    def corner_mm(self, number: int) -> tuple[float, float]:
        """Left and top of a label, counted from 0 along the rows."""
        row, column = divmod(number, self.columns)
        return self.left_mm + column * self.step_x_mm, self.top_mm + row * self.step_y_mm


@dataclass(frozen=True, slots=True)
class Label:
    """What stands on one label: a code that opens `link`, the same to type, a name, up to three facts."""

    code: str
    name: str
    facts: tuple[str, ...]
    link: str


@cache
def label_sheets() -> dict[str, LabelSheet]:
    """The sheets there are, by key."""
    with (HERE / "sheets.csv").open(encoding="utf-8", newline="") as table:
        rows = list(csv.DictReader(table))
    return {
        row["key"]: LabelSheet(
            row["key"],
            row["paper"],
            int(row["columns"]),
            int(row["rows"]),
            *(float(row[f"{name}_mm"]) for name in ("width", "height", "left", "top", "step_x", "step_y")),
        )
        for row in rows
    }


def label_sheet(key: str) -> LabelSheet:
    """The sheet with this key. Raises BadInput with those there are."""
    found = label_sheets().get(key)
    if found is None:
        raise BadInput(f"There is no label sheet “{key}”.", f"There are: {', '.join(label_sheets())}.")
    return found


def labels_pdf(labels: tuple[Label, ...], sheet: LabelSheet, *, first: int = 1) -> bytes:
    """The labels as a PDF, the first on label `first` of the sheet (what comes before is used already)."""
    return pdf_from(TEMPLATE, _held(labels, sheet, first))


def labels_svg(labels: tuple[Label, ...], sheet: LabelSheet, *, first: int = 1) -> tuple[bytes, ...]:
    """The same as one SVG a sheet."""
    return svgs_from(TEMPLATE, _held(labels, sheet, first))


def _held(labels: tuple[Label, ...], sheet: LabelSheet, first: int) -> dict[str, object]:
    if not labels:
        raise BadInput("There is nothing to print labels for.", "Add a pack or a car first.")
    if not 1 <= first <= sheet.count:
        raise BadInput(f"This sheet has no label {first}.", f"Its labels go from 1 to {sheet.count}.")
    wide_mm, high_mm = PAPERS_MM[sheet.paper]
    placed = []
    for number, label in enumerate(labels, first - 1):
        page, on_page = divmod(number, sheet.count)
        x_mm, y_mm = sheet.corner_mm(on_page)
        placed.append(
            {
                "page": page,
                "x": x_mm,
                "y": y_mm,
                "code": label.code,
                "name": label.name,
                "facts": label.facts,
                "link": label.link,
                "svg": qr_svg(label.link, label.code),
            }
        )
    return {
        "wide": wide_mm,
        "high": high_mm,
        "width": sheet.width_mm,
        "height": sheet.height_mm,
        "pages": max(int(one["page"]) for one in placed) + 1,  # type: ignore[call-overload]
        "labels": placed,
    }
