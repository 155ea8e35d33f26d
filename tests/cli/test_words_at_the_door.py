"""What a stranger meets at the door: what is said to type next works, and words are whole.

Authority: each was met by following the front page of the project in a fresh folder.
"""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from snugfast.cli.main import snugfast
from snugfast.core.spelling import OURS, spelled_as
from tests.cli.test_asking import commands, options_of
from tests.cli.typed import Typed
from tests.house.tree import ROOT


def test_the_commands_of_the_front_page_work_as_they_are_printed(type_: Typed) -> None:
    """Each is agreed to where it asks; the pages would not come back."""
    asking = {name for name, command in commands(snugfast) if "--yes" in options_of(command)}
    lines = re.findall(r"^snugfast (.+?)(?: {2,}.*)?$", (ROOT / "README.md").read_text("utf-8"), re.MULTILINE)
    typed = [tuple(shlex.split(line)) for line in lines]
    assert len(typed) >= 10
    for words in typed:
        if words[0] != "serve":
            asks = {words[0], " ".join(words[:2])} & asking
            said = type_(*words, *(["--yes"] if asks else []))
            assert said.code == 0, (words, said.err)


def test_what_to_type_next_reaches_the_workshop_that_was_named(
    type_: Typed, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Otherwise “snugfast undo” takes something back in another workshop."""
    monkeypatch.delenv("SNUGFAST_WORKSHOP")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "nothing here"))
    shed = ("--workshop", "my shed")
    type_(*shed, "begin", "--by", "Ada", "--zone", "UTC")
    added = type_(*shed, "car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes").out
    assert "Undo: snugfast --workshop 'my shed' undo" in added
    assert "Redo: snugfast --workshop 'my shed' redo" in type_(*shed, "undo").out
    type_(*shed, "redo")
    for words in (("sheet",), ("car", "arrive", "Bramble")):
        answers = re.findall(r"Answer: (.*)", type_(*shed, *words).out)
        assert answers
        assert all(answer.startswith("snugfast --workshop 'my shed' ") for answer in answers)


def test_a_check_of_a_pack_on_a_one_off_sheet_asks_for_the_pack(thread: Typed) -> None:
    said = " ".join(thread("car", "arrive", "Bramble").out.split())
    assert 'found "Bramble" pack_look --pack NAME WORD' in said
    assert 'found "Bramble" wheel_nuts WORD' in said
    assert "Parts it uses up: 0.00" not in said


def test_the_foot_of_a_sheet_says_what_is_saved_in_words(thread: Typed) -> None:
    thread("ran", "Bramble", "12", "mud", "many", "--yes")
    short = " ".join(thread("sheet", "--minutes", "5").out.split())
    assert re.search(r"\b\d+ min: \d+ looking, \d+ for what it will probably find, 31 after wet\.", short)
    assert re.search(r"Minutes → EUR saved: 5 → \d+\.\d, ", short)
    said = " ".join(thread("sheet", "--minutes", "5", "--full").out.split())
    assert "On average the checks save" in said
    assert re.search(r"This takes \d+ minutes, and you have 5\.", said)
    assert "it would save" in said
    for foot in (short, said):
        assert not re.search(r"[-+]0\.00", foot)


def test_settings_are_echoed_as_they_are_told_in_the_journal(thread: Typed) -> None:
    assert "Settings: bench minute 0.20 EUR." in thread("settings", "--bench-minute", "0.20").out


def test_an_owner_reads_and_types_in_units_of_their_own(thread: Typed) -> None:
    with spelled_as(OURS):  # and nobody after this test does
        thread("settings", "--temperature", "°F", "--dates", "10 May 2026", "--clock", "12 h", "--yes")
        assert "°F, km/h, g, mm, 12 h, 10 May 2026, point" in thread("settings").out
        assert "air 77 °F" in thread("ran", "Bramble", "12", "--ambient", "77", "--yes").out
        told = thread("journal", "--last", "1").out
        assert "air 77 °F" in told and re.search(r"\d{1,2} [A-Z][a-z]+ 20\d\d: ", told)
        assert "25 °C" in thread("journal", "--last", "1", "--json").out
        refused = thread("sheet", "--air", "400").err
        assert "°F" in refused and "°C" not in refused


def test_one_is_counted_as_one(thread: Typed) -> None:
    thread("ran", "Bramble", "12", "--yes")
    assert " 1 run, last " in thread("car", "list").out
    assert "4 entries, 1 person." in thread("hand-over", "all.zip").out
    assert "0 entries are new, 4 were here already." in thread("take-in", "all.zip").out


def test_how_a_size_is_known_is_said_in_words(thread: Typed) -> None:
    assert "; common practice, no source)" in thread("car", "places", "Bramble").out
    assert "(elicited: an estimate of ours)" in thread("pedigree", "wheel_nut_loose").out


def test_gears_of_one_pitch_are_not_compared_in_words(thread: Typed) -> None:
    assert "same pitch" not in thread("mesh", "Bramble").out
