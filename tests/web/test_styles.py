"""The styles of the pages: what one subject lays out is not laid out by another under the same name."""

from __future__ import annotations

import re

from tests.house.tree import ROOT

STYLES = ROOT / "src/snugfast/web/static/css"
FOR_ALL = {"controls.css", "frame.css", "pieces.css", "print.css"}
"""What every page has; a subject may bend it."""


def test_no_two_subjects_lay_out_one_class() -> None:
    """The tiles of a car and the packs were both a “shelf”: packs stood four abreast, a letter a line."""
    subjects = {
        file.name: file.read_text("utf-8") for file in STYLES.glob("*.css") if file.name not in FOR_ALL
    }
    both = [
        f".{name} of {file} in {other}"
        for file, text in subjects.items()
        for name in re.findall(r"^\.([\w-]+) \{[^}]*display: (?:grid|flex)", text, re.MULTILINE)
        for other, there in subjects.items()
        if other != file and re.search(rf"\.{name}(?![\w-])", there)
    ]
    assert both == []
