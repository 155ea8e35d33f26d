"""The first start says where it put the workshop, and how to have it elsewhere or not at all."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.typed import Typed


@pytest.fixture
def data_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, type_: Typed) -> Path:
    """Nobody said where the workshop is."""
    monkeypatch.delenv("SNUGFAST_WORKSHOP")
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    return tmp_path / "data" / "snugfast"


def test_it_says_where_it_wrote_how_to_choose_and_how_to_undo(type_: Typed, data_folder: Path) -> None:
    said = type_("begin", "--by", "Ada", "--zone", "UTC")
    file = data_folder / "workshop.sqlite"
    assert f"stands at {file}." in said.out
    assert "--workshop FOLDER begin" in said.out
    assert "To undo this, delete that file; nothing else was made." in said.out
    assert [path for path in data_folder.rglob("*") if path.is_file()] == [file]
    file.unlink()
    assert type_("begin", "--by", "Ada", "--zone", "UTC").code == 0


def test_a_folder_that_is_named_is_made_and_named_again_in_what_comes_next(
    type_: Typed, data_folder: Path
) -> None:
    for folder in ("shed", "far/away/"):
        said = type_("--workshop", folder, "begin", "--by", "Ada", "--zone", "UTC")
        assert (Path(folder) / "workshop.sqlite").is_file(), said.err
        assert f"Next: snugfast --workshop {folder} car add" in said.out
        assert type_("--workshop", folder, "car", "list").code == 0
    assert not data_folder.exists()


def test_it_answers_in_plain_data(type_: Typed, tmp_path: Path) -> None:
    said = json.loads(type_("begin", "--by", "Ada", "--zone", "UTC", "--json").out)
    assert (said["kept"], len(said["marks"])) == (1, 1)
    assert "bench minute 0.15 EUR" in said["told"][0]
    assert said["workshop"] == str(tmp_path / "workshop.sqlite")


def test_a_script_says_yes_and_is_asked_nothing(
    type_: Typed, data_folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As the README promises. A terminal is there, and nobody answers."""
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    said = type_("begin", "--yes")
    assert said.code == 0, said.err
    assert "?" not in said.out and (data_folder / "workshop.sqlite").is_file()


def test_a_new_workshop_has_one_currency_everywhere(type_: Typed) -> None:
    """Law: prices of a starter are in the money of the workshop, never in another beside it."""
    type_("begin", "--by", "Ada", "--currency", "GBP", "--zone", "UTC")
    type_("car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes")
    bearings = type_("bearings", "Bramble").out
    assert "GBP" in bearings and "EUR" not in bearings and "CRD" not in bearings
