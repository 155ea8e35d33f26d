"""Help says what it says to the end. Authority: what people read before they type."""

from __future__ import annotations

import click
import pytest

from snugfast.cli.main import snugfast
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
