"""Commands typed as an owner types them."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from snugfast.cli.main import main
from tests.cli.typed import Said, Typed


@pytest.fixture
def type_(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Typed:
    """Type a command in a fresh folder, as a script would (nobody there to ask)."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setenv("SNUGFAST_WORKSHOP", str(tmp_path / "workshop.sqlite"))
    monkeypatch.setenv("LC_ALL", "C")  # a machine that names no country
    monkeypatch.setattr(sys, "stdin", open("/dev/null"))  # noqa: SIM115, PTH123

    def typed(*words: str) -> Said:
        monkeypatch.setattr(sys, "argv", ["snugfast", *words])
        code = 0
        try:
            main()
        except SystemExit as ended:
            code = int(ended.code or 0)
        said = capsys.readouterr()
        return Said(code, said.out, said.err)

    return typed


@pytest.fixture
def thread(type_: Typed) -> Typed:
    """A workshop with one truck and one pack."""
    assert type_("begin", "--by", "Ada", "--zone", "UTC").code == 0
    assert type_("car", "add", "Bramble", "--from", "truck-1-10-4wd-3s", "--yes").code == 0
    assert type_("packs", "add", "Ember 1", "--cells", "3", "--capacity", "5000mAh", "--yes").code == 0
    return type_
