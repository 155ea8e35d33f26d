"""The floors hold: imports point down, the command's help stays light, public things say what they are."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

from tests.house.tree import ROOT, package_folder, shown

BIN = Path(sys.executable).parent
HEAVY = {"numpy", "sqlalchemy", "fastapi", "scipy", "numba", "pydantic"}


def test_the_import_contracts_hold() -> None:
    done = subprocess.run(
        [BIN / "lint-imports", "--no-cache"], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_help_imports_nothing_heavy() -> None:
    """A list of names rather than a time limit, which would flake on a busy machine."""
    done = subprocess.run(
        [sys.executable, "-X", "importtime", BIN / "snugfast", "--help"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr[-500:]
    imported = set(re.findall(r"^import time:.*\| +(\w+)", done.stderr, re.MULTILINE))
    assert "click" in imported, "the list of imports was not read"
    heavy = sorted(imported & HEAVY)
    assert not heavy


@pytest.mark.parametrize("floor", ["numerics", "physics", "upkeep"])
def test_public_mathematics_says_what_it_gives(floor: str) -> None:
    bare = []
    for path in sorted(package_folder(floor).rglob("*.py")):
        tree = ast.parse(path.read_text())
        if tree.body and not ast.get_docstring(tree):
            bare.append(f"{shown(path)}: the module")
        for thing in tree.body:
            if (
                isinstance(thing, ast.FunctionDef | ast.ClassDef)
                and not thing.name.startswith("_")
                and not ast.get_docstring(thing)
            ):
                bare.append(f"{shown(path)}:{thing.lineno}: {thing.name}")
    assert not bare, "without a docstring:\n" + "\n".join(bare)
