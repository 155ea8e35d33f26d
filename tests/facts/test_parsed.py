"""A text parsed once is known the next time, and nothing goes wrong when it is not.

Authority: laws of this project.
"""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import pytest

from snugfast.facts.parsed import ParsedTexts

TEXT = "[a]\nx = 1.5\nword = 'ß'\n"


def test_a_text_read_again_comes_from_what_was_kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept_at = tmp_path / "kept" / "tables.json"
    first = ParsedTexts(kept_at)
    document = first.document(TEXT)
    first.keep()
    monkeypatch.setattr(tomllib, "loads", None)
    assert ParsedTexts(kept_at).document(TEXT) == document == {"a": {"x": 1.5, "word": "ß"}}


def test_a_changed_text_is_parsed_anew_and_the_old_one_forgotten(tmp_path: Path) -> None:
    kept_at = tmp_path / "tables.json"
    for text in (TEXT, TEXT.replace("1.5", "2")):
        texts = ParsedTexts(kept_at)
        assert texts.document(text) == tomllib.loads(text)
        texts.keep()
    assert len(json.loads(kept_at.read_text("utf-8"))) == 1


@pytest.mark.parametrize("broken", [b"", b"{", b"[]", b'{"a": 1}', b"\xff\xfe"])
def test_a_broken_file_of_kept_texts_is_not_believed(tmp_path: Path, broken: bytes) -> None:
    kept_at = tmp_path / "tables.json"
    kept_at.write_bytes(broken)
    texts = ParsedTexts(kept_at)
    assert texts.document(TEXT) == tomllib.loads(TEXT)
    texts.keep()
    assert ParsedTexts(kept_at).document(TEXT) == tomllib.loads(TEXT)


@pytest.mark.parametrize("text", [TEXT, "day = 2026-05-01\n"])
def test_where_nothing_can_be_kept_nothing_is(tmp_path: Path, text: str) -> None:
    (tmp_path / "file").write_text("in the way", "utf-8")
    for kept_at in (tmp_path / "file" / "tables.json", tmp_path / "dates.json"):
        texts = ParsedTexts(kept_at)
        texts.document(text)
        texts.keep()
    assert not (tmp_path / "dates.json").is_file() or text is TEXT


def test_a_text_that_is_not_toml_stays_wrong(tmp_path: Path) -> None:
    with pytest.raises(tomllib.TOMLDecodeError):
        ParsedTexts(tmp_path / "tables.json").document("a = = 1")
