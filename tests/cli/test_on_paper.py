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

    field = type_("field-sheet", "field.html", "Bramble")
    assert field.code == 0, field.err
    position = (tmp_path / "field.html").read_text("utf-8").partition('data-position="')[2].partition('"')[0]
    sheet = f"sheet 019de2c4-41f0-7665-9184-f68e75f40101 position {position}"
    row = "2031-01-01 10:00Z | check | Bramble | wheel_nuts | | sound |"
    (tmp_path / "notes.txt").write_text(f"Snugfast field notes 1\n{sheet}\n{row}\n", "utf-8")
    late = type_("take-in", "notes.txt")
    assert late.code == 2, "a note of the future is refused"
    assert "note 1" in late.err
