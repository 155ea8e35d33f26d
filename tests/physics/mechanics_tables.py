"""The tables of mechanics as rows of text, read without the project's own loader."""

from __future__ import annotations

import csv
import tomllib
from pathlib import Path
from typing import Any

MECHANICS = Path(__file__).parents[2] / "src/snugfast/facts/mechanics"
REFERENCE = Path(__file__).parents[1] / "reference/mechanics"  # published values that only tests hold up


def folder_of(name: str) -> Path:
    """Where a table lies: among the facts, or with what is only held against them."""
    return MECHANICS if (MECHANICS / f"{name}.csv").is_file() else REFERENCE


def rows(name: str) -> list[dict[str, str]]:
    """All rows of one table."""
    with (folder_of(name) / f"{name}.csv").open(newline="", encoding="utf-8") as lines:
        return list(csv.DictReader(lines))


def pedigree(name: str) -> dict[str, Any]:
    """What stands beside one table."""
    with (folder_of(name) / f"{name}.toml").open("rb") as file:
        return tomllib.load(file)
