"""Fifteen drawings in one line style, each where its check is; one set of pens for light, dark and paper."""

from __future__ import annotations

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

import snugfast.web.drawings as drawings
from snugfast.facts.load import load_facts
from snugfast.web.drawings import DRAWN, KINDS

FOLDER = Path(drawings.__file__).parent
FILES = sorted(FOLDER.glob("*.svg"))
PENS = {
    *("o", "o2", "d", "h", "k", "t", "t2", "p", "fat", "pf", "halo", "dot"),
    *("cap", "pen", "x", "teeth", "kind", "drawing", "o0"),
}


def test_there_are_fifteen_and_each_stands_at_a_check() -> None:
    shown = {name for name, _ in DRAWN.values()}
    assert {file.stem for file in FILES} == shown
    assert len(shown) == 15
    assert set(DRAWN) <= set(load_facts().checks)


def test_every_kind_of_car_has_its_picture() -> None:
    assert {file.stem for file in (FOLDER / "kinds").glob("*.svg")} == {*KINDS.values()}


@pytest.mark.parametrize(
    "file", [*FILES, *sorted((FOLDER / "kinds").glob("*.svg"))], ids=lambda file: file.stem
)
def test_it_is_drawn_with_our_pens_alone(file: Path) -> None:
    """No colour, no inline style, nothing to fetch: light, dark and print are the pens of pieces.css."""
    text = file.read_text("utf-8")
    root = ElementTree.fromstring(text)
    assert not re.search(r"style=|stroke=|#[0-9a-f]{3,6}\b|href|font", text)
    classes = {name for node in root.iter() for name in node.attrib.get("class", "").split()}
    assert classes <= PENS
    assert root.attrib["aria-hidden"] == "true"
