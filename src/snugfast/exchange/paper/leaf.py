"""A printed leaf as data, and its PDF, black on white."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from enum import Enum
from pathlib import Path

from snugfast.exchange.qr import qr_svg
from snugfast.exchange.typesetting import asked_of, pdf_from

TEMPLATE = Path(__file__).resolve().parent / "leaf.typ"
LARGEST_PT, SMALLEST_PT, STEP_PT = 9.0, 7.0, 0.5  # of the text on a leaf that should fit some pages


class PaperSize(Enum):
    """The paper in the printer."""

    A4 = "a4"
    LETTER = "us-letter"

    @classmethod
    def called(cls, name: str) -> PaperSize:
        """“letter” or “A4”; anything else is A4."""
        return cls.LETTER if name.strip().casefold() == "letter" else cls.A4


@dataclass(frozen=True, slots=True)
class Row:
    """One line to tick. `right` stands at the end of it; `write` leaves room for a pencil."""

    title: str
    under: str = ""  # beside the title: place, tool
    text: str = ""  # under it, smaller
    number: str = ""
    right: str = ""
    must: bool = False
    adults: str = ""  # “adults only”, “with a grown-up”
    corners: tuple[str, ...] = ()  # to mark on a small car: front left, rear, ...
    chips: tuple[str, ...] = ()  # to mark one of several: packs
    write: bool = True
    tick: bool = True


@dataclass(frozen=True, slots=True)
class Section:
    """Rows that belong together, with what to beware of before them. `blank` is a table to fill in."""

    title: str
    rows: tuple[Row, ...] = ()
    sub: str = ""
    right: str = ""
    cautions: tuple[str, ...] = ()
    blank: tuple[str, ...] = ()
    blank_rows: int = 0


@dataclass(frozen=True, slots=True)
class Notch:
    """One station of the car's strip: its name, the chance in words, and a bar from 0 to 1."""

    label: str
    chance: str
    share: float


@dataclass(frozen=True, slots=True)
class Leaf:
    """A printed list. `link` is what the code on it opens; without one `no_link` says why."""

    title: str
    sections: tuple[Section, ...]
    sub: str = ""
    notes: tuple[str, ...] = ()
    strong: tuple[str, ...] = ()  # what must not be overlooked
    strip: tuple[Notch, ...] = ()
    foot: str = ""
    link: str = ""
    no_link: str = ""
    pages: int = 0  # the text shrinks until it fits so many; 0 lets it run
    heads: tuple[str, str] = ("found, done", "min")


def pdf_of(leaf: Leaf, size: PaperSize = PaperSize.A4) -> bytes:
    """The PDF of a leaf."""
    point = LARGEST_PT
    while leaf.pages and point > SMALLEST_PT and _pages(leaf, size, point) > leaf.pages:
        point -= STEP_PT
    return pdf_from(TEMPLATE, _held(leaf, size, point))


def leaf_lines(leaf: Leaf) -> list[str]:
    """A leaf as plain lines, for a terminal."""
    lines = [leaf.title, *filter(None, (leaf.sub, *leaf.strong, *leaf.notes))]
    for section in leaf.sections:
        lines += ["", " · ".join(filter(None, (section.title, section.sub, section.right)))]
        lines += [f"  ⚠ {caution}" for caution in section.cautions]
        for row in section.rows:
            told = ", ".join(filter(None, (row.title, row.under, row.adults)))
            lines.append(f"  {'[ ] ' if row.tick else ''}{told}{f'  ({row.right})' if row.right else ''}")
            lines += [f"      {row.text}"] if row.text else []
    return lines


def _pages(leaf: Leaf, size: PaperSize, point: float) -> int:
    """How many pages a leaf takes in letters of a size."""
    return int(asked_of(TEMPLATE, _held(leaf, size, point), "<pages>"))


def _held(leaf: Leaf, size: PaperSize, point: float) -> dict[str, object]:
    """The leaf as the template reads it."""
    code = qr_svg(leaf.link, "Code that opens this page") if leaf.link else ""
    return {**asdict(leaf), "paper": size.value, "pt": point, "code": code}
