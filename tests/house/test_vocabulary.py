"""Keys of rows that code relies on are rows: one that is renamed must not make harm go unnoticed."""

from __future__ import annotations

import re

import pytest

from snugfast.core import vocabulary
from snugfast.facts.load import load_facts
from tests.house.tree import package_folder, shown

CHECKS, MODES = (
    {name: key for name, key in vars(vocabulary).items() if name.startswith(start)}
    for start in ("CHECK_", "MODE_")
)


@pytest.mark.parametrize("key", CHECKS.values())
def test_each_check_that_code_names_is_a_row(key: str) -> None:
    assert key in load_facts().checks


@pytest.mark.parametrize("key", MODES.values())
def test_each_mode_that_code_names_is_a_row(key: str) -> None:
    assert key in load_facts().modes


def test_every_assumption_that_code_asks_for_is_a_row() -> None:
    known = load_facts().assumptions
    asked = [
        f"{shown(path)}: {key}"
        for path in sorted(package_folder("usecases").rglob("*.py"))
        for key in re.findall(r"\.assume\(\s*\"(\w+)\"", path.read_text("utf-8"))
        if key not in known
    ]
    assert not asked


def test_the_keys_stand_in_no_other_file_of_the_floors_below_the_doors() -> None:
    keys = {*CHECKS.values(), *MODES.values()}
    copies = [
        f"{shown(path)}: {key}"
        for floor in ("records", "usecases")
        for path in sorted(package_folder(floor).rglob("*.py"))
        for key in keys
        if f'"{key}"' in path.read_text("utf-8")
    ]
    assert not copies, "name it by core/vocabulary.py:\n" + "\n".join(copies)
