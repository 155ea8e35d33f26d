"""Sheets and lists on paper: the text is in them, the code leads back, printers without colour print them.

Authority: laws of this project; pypdf reads text and tags, a QR reader the code on a drawn page.
"""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader
from starlette.testclient import TestClient

from snugfast.app.house_door import HouseDoor
from snugfast.exchange.paper.leaf import Leaf, PaperSize, Row, Section, leaf_lines, pdf_of
from snugfast.exchange.paper.lists import kit_leaf, outing_leaf, shelf_leaf, wet_leaf
from snugfast.exchange.paper.sheet import sheet_leaf
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.bench.sheet_asked import query_of, read_asked
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from snugfast.web.bench import House
from tests.web.workshops import Clock

AT = "http://192.168.1.5:8765"
MM = 72.0 / 25.4
SIZES = {PaperSize.A4: (210.0, 297.0), PaperSize.LETTER: (215.9, 279.4)}  # ISO 216; ANSI/ASME Y14.1


def text_of(pdf: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(pdf)).pages).split())


def bare(text: str) -> str:
    """Without the spaces, which a line's end adds and takes."""
    return "".join(text.split())


def codes_in(pdf: bytes) -> list[str]:
    """What a QR reader sees on the first page at 200 dpi."""
    page = pypdfium2.PdfDocument(pdf)[0].render(scale=200 / 72, grayscale=True)
    return [found.text for found in zxingcpp.read_barcodes(page.to_numpy().squeeze())]


def colours_of(pdf: bytes) -> bool:
    """Whether any dot of the first page is coloured."""
    dots = pypdfium2.PdfDocument(pdf)[0].render(scale=1.0).to_numpy()
    return bool((dots[..., 0] != dots[..., 1]).any() or (dots[..., 1] != dots[..., 2]).any())


def test_the_sheet_on_paper_holds_every_line_and_caution_and_leads_back(
    workshop: Workshop, tmp_path: Path
) -> None:
    sheet = bench_sheet(workshop, Asked(("Bramble",)))
    link = f"{AT}/sheets/{workshop.new_id()}?{query_of(sheet.asked)}"
    leaf = sheet_leaf(workshop, sheet, link=link, mark="5DDCC3")
    for size, (wide_mm, high_mm) in SIZES.items():
        pdf = pdf_of(leaf, size)
        read = PdfReader(io.BytesIO(pdf))
        assert len(read.pages) <= 2
        box = read.pages[0].mediabox
        assert float(box.width) == pytest.approx(wide_mm * MM, abs=1.0)
        assert float(box.height) == pytest.approx(high_mm * MM, abs=1.0)
        root = read.trailer["/Root"]
        assert root["/MarkInfo"]["/Marked"]
        assert "/StructTreeRoot" in root
        assert b"pdfuaid:part>1<" in pdf
        assert root["/Lang"].startswith("en")
        assert read.metadata is not None and read.metadata.title == "Bramble, 20 minutes"
        text = bare(text_of(pdf))
        for line in sheet.lines:
            assert bare(line.title) in text
            assert bare(line.check.good) in text
        for caution in {c for one in sheet.rounds for c in one.cautions} | set(sheet.cautions):
            assert bare((caution.short or caution.text).rstrip(".")) in text
        assert "sheet5DDCC3" in text
    assert codes_in(pdf) == [link]
    assert not colours_of(pdf)
    assert pdf_of(leaf, size) == pdf, "the same leaf gives the same bytes"


def test_a_long_sheet_still_takes_two_pages() -> None:
    """Forty-five lines of two rows each: more than a sheet of twenty minutes ever has."""
    row = Row(
        "Check the wheel nuts are tight", "nut driver 7 mm", f"Good: {'no nut moves, ' * 9}", right="0.5"
    )
    section = Section("In the hand", (row,) * 9, cautions=("Unplug the battery.",))
    long = Leaf("Bramble, 20 minutes", (section,) * 5, pages=2)
    for size in PaperSize:
        assert len(PdfReader(io.BytesIO(pdf_of(long, size))).pages) == 2
    assert len(PdfReader(io.BytesIO(pdf_of(replace(long, pages=0)))).pages) == 3


def test_what_people_type_is_printed_as_text() -> None:
    typed = '#panic("x") *b* $x$ <y> @z \\ ”'
    assert typed in text_of(pdf_of(Leaf(typed, (Section(typed, (Row(typed, typed, typed),)),))))


def test_no_letter_falls_back_to_a_font_that_is_not_there(workshop: Workshop) -> None:
    import typst

    from snugfast.exchange.paper.leaf import TEMPLATE, _held
    from snugfast.exchange.typesetting import given

    leaf = sheet_leaf(workshop, bench_sheet(workshop, Asked(("Bramble",))))
    held = _held(leaf, PaperSize.A4, 9.0)
    _, warnings = typst.compile_with_warnings(TEMPLATE, format="pdf", **given(TEMPLATE, held))
    assert warnings == []


def test_the_lists_say_what_their_pages_say(workshop: Workshop, clock: Clock) -> None:
    muddy = RunSaid("Bramble", ("Ember 1",), "10", wet="mud")
    keep(workshop, draft_runs(workshop, (muddy,)).entries)
    clock.on(hours=2)
    shelf, wet = text_of(pdf_of(shelf_leaf(workshop))), text_of(pdf_of(wet_leaf(workshop)))
    assert "Ember 1" in shelf and "Ember 2" in shelf
    assert "No code: phones reach these pages" in shelf
    assert "Bramble: " in wet and "due by" in wet and "When it is late" in wet
    outing = text_of(pdf_of(outing_leaf(workshop)))
    for words in (
        "Quarry",
        "Failsafe",
        "Transmitter on first",
        "hex driver 2 mm",
        "felt hot, broke, noticed",
    ):
        assert words in outing, words
    kit = kit_leaf(workshop)
    assert "M3 × 10 button" in text_of(pdf_of(kit))
    assert any("M3 × 10 button" in line for line in leaf_lines(kit))


def test_the_question_of_a_sheet_survives_its_address() -> None:
    from urllib.parse import parse_qs

    asked = read_asked(
        cars=("Bramble", "Quarry"), minutes="35", packs="2.5", wet="mud", air="-4 °C", learner=True
    )
    said = parse_qs(query_of(asked))
    again = read_asked(
        cars=tuple(said["car"]),
        learner=said["learner"] == ["true"],
        **{name: said[name][0] for name in ("minutes", "until", "packs", "wet", "air")},
    )
    assert again == replace(asked, air_degC=again.air_degC)
    assert again.air_degC == pytest.approx(-4.0)


def test_one_tap_prints_and_the_code_opens_the_same_sheet(workshop: Workshop, tmp_path: Path) -> None:
    house = House(HouseDoor(tmp_path / "door.json", now=workshop.now), AT, False)
    client = TestClient(
        create_for(workshop, house), base_url="http://127.0.0.1:8765", client=("127.0.0.1", 1)
    )
    sheet = client.get("/sheet?car=Bramble&minutes=20&make=1")
    path = str(sheet.url).partition(":8765")[2]
    assert f'href="/paper{path}"'.replace("&", "&amp;") in sheet.text
    pdf = client.get(f"/paper{path}")
    assert pdf.headers["content-type"] == "application/pdf"
    assert codes_in(pdf.content) == [AT + path]
    for page in ("packs", "wet", "outing", "kit"):
        answer = client.get(f"/paper/{page}?paper=letter")
        assert answer.content.startswith(b"%PDF"), page
