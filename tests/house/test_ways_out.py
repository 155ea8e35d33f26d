"""Below the doors nobody knows a command or a button: a way out names an action, and each door words it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from snugfast.cli.main import COMMANDS
from snugfast.cli.ways_out import TYPE, typed
from snugfast.core.ways_out import Action, WayOut
from snugfast.web.troubles import PAGES, way_out
from tests.house.tree import package_folder, shown

BELOW_THE_DOORS = ("core", "numerics", "facts", "physics", "upkeep", "records", "usecases")


def strings(path: Path) -> Iterator[tuple[int, str]]:
    """Each literal of a file with its line; bare ones (docstrings and notes under a name) are left out."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in bare:
            yield node.lineno, node.value


@pytest.mark.parametrize("floor", BELOW_THE_DOORS)
def test_no_text_below_the_doors_names_a_command_or_an_option(floor: str) -> None:
    named = [
        f"{shown(path)}:{line}: {text!r}"
        for path in sorted(package_folder(floor).rglob("*.py"))
        for line, text in strings(path)
        if re.search(r"\bsnugfast [a-z]|(?<![\w-])--[a-z]", text)
    ]
    assert not named, "say it with an Action (core/ways_out.py):\n" + "\n".join(named)


def test_the_search_sees_a_command_and_an_option(tmp_path: Path) -> None:
    """Guards the test above."""
    file = tmp_path / "one.py"
    file.write_text('"""Type: snugfast sheet."""\nSAID = f"see: snugfast journal {1}, or --pack"\n')
    assert [text for _, text in strings(file)] == ["see: snugfast journal ", ", or --pack"]


@pytest.mark.parametrize("action", Action)
def test_every_action_has_its_words_at_each_door(action: Action) -> None:
    """A command that is typed exists; a page adds no word of the command line."""
    said = typed(WayOut("Do it.", action, "Ember 1"))
    assert said.startswith("Do it")
    command = re.search(r"snugfast (\S+)", TYPE[action])
    assert TYPE[action].startswith("--") or (command and command[1] in COMMANDS)
    page = way_out(WayOut("Do it.", action))
    assert page.text.startswith("Do it")
    assert "snugfast" not in page.text and "--" not in page.text
    assert not page.link or PAGES[action][0]


def test_a_name_of_two_words_can_be_typed_as_it_stands() -> None:
    assert typed(WayOut("add it", Action.CHANGE_PACK, "Ember 1")) == 'add it: snugfast packs change "Ember 1"'


def test_a_way_out_of_an_action_alone_is_not_taken_for_none() -> None:
    assert WayOut("", Action.SEE_JOURNAL)
    assert typed(WayOut("", Action.SEE_JOURNAL)) == "Type: snugfast journal"
    assert way_out(WayOut("", Action.SEE_JOURNAL)).text == "Open the journal"
