"""Commands typed as an owner types them."""

from __future__ import annotations

import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from snugfast.cli.main import main
from tests.cli.typed import Said, Typed

STORE = "workshop.sqlite"
FIRST_COMMANDS = (
    ("begin", "--by", "Ada", "--zone", "UTC"),
    ("car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes"),
    ("packs", "add", "Ember 1", "--cells", "3", "--capacity", "5000mAh", "--yes"),
)


def typing_in(folder: Path, monkeypatch: pytest.MonkeyPatch, heard: Callable[[], tuple[str, str]]) -> Typed:
    """Commands about the workshop of a folder, typed there, as a script would (nobody there to ask)."""
    monkeypatch.chdir(folder)
    monkeypatch.setenv("XDG_DATA_HOME", str(folder / "data"))
    monkeypatch.setenv("SNUGFAST_WORKSHOP", str(folder / STORE))
    monkeypatch.setenv("LC_ALL", "C")  # a machine that names no country
    monkeypatch.setattr(sys, "stdin", open("/dev/null"))  # noqa: SIM115, PTH123

    def typed(*words: str) -> Said:
        monkeypatch.setattr(sys, "argv", ["snugfast", *words])
        code = 0
        try:
            main()
        except SystemExit as ended:
            code = int(ended.code or 0)
        return Said(code, *heard())

    return typed


@pytest.fixture
def type_(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    """Type a command in a fresh folder."""

    def heard() -> tuple[str, str]:
        said = capsys.readouterr()
        return said.out, said.err

    return typing_in(tmp_path, monkeypatch, heard)


@pytest.fixture(scope="session")
def first_evening(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the workshop of one truck and one pack, typed once for all tests and copied for each."""
    folder = tmp_path_factory.mktemp("first evening")
    with pytest.MonkeyPatch.context() as monkeypatch:
        type_first = typing_in(folder, monkeypatch, lambda: ("", ""))
        for words in FIRST_COMMANDS:
            assert type_first(*words).code == 0
    return folder


@pytest.fixture
def thread(first_evening: Path, tmp_path: Path, type_: Typed) -> Typed:
    """A workshop with one truck and one pack."""
    shutil.copy2(first_evening / STORE, tmp_path / STORE)
    return type_
