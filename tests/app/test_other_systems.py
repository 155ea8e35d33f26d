"""Other systems, simulated by the environment; `docs/systems.md` says that they were only simulated.

Authority: laws of this project.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

from snugfast.app.folders import data_folder, private
from snugfast.app.opening import default_address

ROOT = Path(__file__).parents[2]


def test_without_rights_of_users_a_folder_of_the_user_will_do(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delattr(os, "geteuid")
    monkeypatch.delattr(os, "getuid")
    assert private(tmp_path / "compiled")


def test_the_data_folder_is_the_systems_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert data_folder() == tmp_path / "snugfast"
    assert default_address({}) == str(tmp_path / "snugfast" / "workshop.sqlite")
    assert default_address({"SNUGFAST_WORKSHOP": "shed"}) == "shed"


def test_zones_are_there_without_zone_data_of_the_system() -> None:
    """With no folder of zone data to look in, they come from the package that Snugfast brings along."""
    code = "from snugfast.core.zones import is_zone; print(is_zone('Europe/Vienna'), is_zone('Mars/Olympus'))"
    done = subprocess.run(
        [sys.executable, "-c", code], env={**os.environ, "PYTHONTZPATH": ""}, capture_output=True, text=True
    )
    assert done.stdout.split() == ["True", "False"], done.stderr


def test_nothing_asks_for_the_number_of_a_user() -> None:
    sources = (path.read_text("utf-8") for path in (ROOT / "src").rglob("*.py"))
    assert not any("os.getuid" in text for text in sources)


def test_the_licence_is_named_and_there() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["project"]
    assert project["license"] == "MIT" and project["license-files"] == ["LICENSE"]
    assert "Snugfast authors" in (ROOT / "LICENSE").read_text("utf-8")
    named = " ".join(project["dependencies"])
    assert "tzdata" in named and "platformdirs" in named
