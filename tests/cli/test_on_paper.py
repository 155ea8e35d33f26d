"""Paper from the command line. Authority: laws of this project."""

from __future__ import annotations

from pathlib import Path

from tests.cli.typed import Typed


def test_a_sheet_and_its_lists_are_written_as_pdf_and_nothing_is_written_over(
    type_: Typed, tmp_path: Path
) -> None:
    assert type_("begin", "--by", "Pip", "--yes").code == 0
    assert type_("car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes").code == 0
    for words in (
        ("sheet", "Bramble"),
        ("kit",),
        ("treat",),
        ("packs", "list"),
        ("take-along", "--paper", "letter"),
    ):
        said = type_(*words, "--pdf", f"{words[0]}.pdf")
        assert said.code == 0, said.err
        assert (tmp_path / f"{words[0]}.pdf").read_bytes().startswith(b"%PDF")
    again = type_("kit", "--pdf", "kit.pdf")
    assert again.code == 2
    assert "is there already" in again.err
    assert type_("kit", "--pdf", "kit.pdf", "--force").code == 0
    assert "Let it end in .pdf" in type_("kit", "--pdf", "kit.txt").err
    assert "Failsafe" in type_("take-along").out
