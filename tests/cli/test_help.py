"""Help says what it says to the end. Authority: what people read before they type."""

from __future__ import annotations

import click
import pytest

from snugfast.cli.main import COMMANDS, SECTIONS, snugfast
from tests.cli.test_asking import commands
from tests.cli.typed import Typed

GROUPS = [name for name, command in commands(snugfast) if isinstance(command, click.Group)]


@pytest.mark.parametrize("name", GROUPS)
def test_a_group_says_the_whole_of_its_sentence_about_each_command(type_: Typed, name: str) -> None:
    said = type_(*name.split(), "--help")
    assert said.code == 0
    listed = said.out.partition("Commands:")[2]
    assert listed
    assert "..." not in listed


def test_every_command_stands_in_one_section_of_the_help(type_: Typed) -> None:
    """Forty commands in one list are not read."""
    listed = [name for names in SECTIONS.values() for name in names.split()]
    assert sorted(listed) == sorted(COMMANDS)
    said = type_("--help").out
    assert all(f"{title}:" in said for title in SECTIONS)
    assert all(f"\n  {name} " in said for name in COMMANDS)


def test_a_pair_of_dashes_is_no_command(type_: Typed) -> None:
    """The parser takes them off what is left; found by the soak of lines."""
    said = type_("--", "--")
    assert said.code == 2 and "There is no command “--”" in said.err
