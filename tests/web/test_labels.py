"""Labels: they sit on their sheet, a reader reads each code from the drawn page, and the code opens the page.

Authority: laws of geometry; the codes by a QR reader, 12 mm and up at 300 dpi.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader
from starlette.testclient import TestClient

from snugfast.app.house_door import HouseDoor
from snugfast.core.errors import BadInput, NotKnown
from snugfast.exchange.labels.sheet import PAPERS_MM, Label, LabelSheet, label_sheets, labels_pdf, labels_svg
from snugfast.exchange.labels.things import KINDS, code_of, labels_of, page_of
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.app import create_for
from snugfast.web.bench import House

AT = "http://192.168.1.5:8765"
SHEETS = label_sheets().values()


def codes_in(pdf: bytes, page: int = 0) -> list[str]:
    drawn = pypdfium2.PdfDocument(pdf)[page].render(scale=300 / 72, grayscale=True).to_numpy().squeeze()
    return [found.text for found in zxingcpp.read_barcodes(drawn)]


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_the_labels_of_a_sheet_lie_on_it_and_not_on_one_another(sheet: LabelSheet) -> None:
    wide_mm, high_mm = PAPERS_MM[sheet.paper]
    assert sheet.step_x_mm >= sheet.width_mm
    assert sheet.step_y_mm >= sheet.height_mm
    x_mm, y_mm = sheet.corner_mm(sheet.count - 1)
    assert sheet.left_mm >= 0.0 and x_mm + sheet.width_mm <= wide_mm + 0.01
    assert sheet.top_mm >= 0.0 and y_mm + sheet.height_mm <= high_mm + 0.01
    right_mm, foot_mm = wide_mm - x_mm - sheet.width_mm, high_mm - y_mm - sheet.height_mm
    assert right_mm == pytest.approx(sheet.left_mm, abs=1.0), "as far from the right edge as from the left"
    assert foot_mm == pytest.approx(sheet.top_mm, abs=1.0)


@pytest.mark.parametrize("sheet", SHEETS, ids=lambda sheet: sheet.key)
def test_every_code_of_a_full_sheet_is_read(sheet: LabelSheet) -> None:
    labels = tuple(
        Label(
            code_of("packs", str(n)), f"Pack {n}", ("3S LiPo", "5000 mAh", "since 2026-05-01"), f"{AT}/l/{n}"
        )
        for n in range(sheet.count)
    )
    pdf = labels_pdf(labels, sheet)
    assert len(PdfReader(io.BytesIO(pdf)).pages) == 1
    assert sorted(codes_in(pdf)) == sorted(label.link for label in labels)


def test_a_begun_sheet_goes_on_where_it_is_free(workshop: Workshop) -> None:
    sheet = label_sheets()["a4-24"]
    labels = labels_of(workshop, "packs", AT)
    pdf = labels_pdf(labels, sheet, first=24)
    assert b"pdfuaid:part>1<" in pdf
    assert [codes_in(pdf, page) for page in (0, 1)] == [[labels[0].link], [labels[1].link]]
    assert len(labels_svg(labels, sheet, first=24)) == 2
    assert labels_svg(labels, sheet)[0].startswith(b"<svg")
    with pytest.raises(BadInput):
        labels_pdf(labels, sheet, first=25)


def test_what_stands_on_a_label_is_what_one_wants(workshop: Workshop) -> None:
    text = " ".join(
        page.extract_text()
        for kind in KINDS
        for page in PdfReader(
            io.BytesIO(labels_pdf(labels_of(workshop, kind, AT), label_sheets()["a4-24"]))
        ).pages
    )
    for words in (
        "Ember 1",
        "3S LiPo",
        "5000 mAh",
        "since 2026-05-01",
        "Bramble",
        "15T/54T",
        "M3 × 10 button",
        "Quarry ",
    ):
        assert words in text, words


@pytest.fixture
def client(workshop: Workshop, tmp_path: Path) -> Iterator[TestClient]:
    house = House(HouseDoor(tmp_path / "door.json", now=workshop.now), AT, False)
    yield TestClient(
        create_for(workshop, house),
        base_url="http://127.0.0.1:8765",
        client=("127.0.0.1", 1),
        follow_redirects=False,
    )


def test_a_code_opens_its_page_scanned_or_typed(workshop: Workshop, client: TestClient) -> None:
    pack = labels_of(workshop, "packs", AT)[0]
    page = client.get(pack.link.removeprefix(AT)).headers["location"]
    assert page.startswith("/packs/")
    assert "Ember 1" in client.get(page).text
    for typed in (pack.code, pack.code.lower(), pack.code.replace("-", " ")):
        assert client.get("/l", params={"code": typed}).headers["location"] == page
    lost = client.get("/l", params={"code": "P-00000"})
    assert lost.status_code == 404
    assert "Nothing here has the label" in lost.text
    assert client.get("/labels.pdf?kind=drawers&sheet=a4-65").content.startswith(b"%PDF")
    assert client.get("/labels.pdf?sheet=none").status_code == 422


def test_a_code_is_the_same_each_time_and_letters_are_read_kindly(workshop: Workshop) -> None:
    (pack, *_) = labels_of(workshop, "packs", AT)
    assert labels_of(workshop, "packs", "http://elsewhere")[0].code == pack.code
    for letter, taken_for in (("0", "O"), ("1", "I"), ("1", "l")):
        assert page_of(workshop, pack.code.replace(letter, taken_for)) == page_of(workshop, pack.code)
    with pytest.raises(NotKnown):
        page_of(workshop, "")
    with pytest.raises(BadInput, match="lead nowhere"):
        labels_of(workshop, "packs", "")
