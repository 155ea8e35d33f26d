"""The page for a first evening: what it tells a newcomer to type works, one line after the other."""

from __future__ import annotations

import re
import shlex

import pytest

from tests.cli.typed import Typed
from tests.house.tree import ROOT

PAGE = ROOT / "docs/first-evening.md"


@pytest.mark.slow
def test_each_command_of_the_first_evening_works_in_its_order(type_: Typed) -> None:
    """The nuts are answered by the number they have on the sheet; what is printed is not pinned."""
    lines = re.findall(r"^\$ snugfast (.+)$", PAGE.read_text("utf-8"), re.MULTILINE)
    assert len(lines) >= 7
    nuts, last = "3", ""
    for line in lines:
        said = type_(*shlex.split(line.replace(" 3 ", f" {nuts} ") if line.startswith("found") else line))
        assert said.code == 0, (line, said.err)
        if number := re.search(r"^ *(\d+) \S+ +Check the wheel nuts", said.out, re.MULTILINE):
            nuts = number[1]
        last = said.out
    assert "wheel nuts" in last, "the second sheet asks for the nut again, as the page says"
