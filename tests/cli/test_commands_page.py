"""The reference of the commands says what the commands say."""

from __future__ import annotations

from scripts.make_docs import COMMANDS_PAGE, commands_page
from snugfast.cli.main import COMMANDS


def test_the_page_of_the_commands_is_fresh() -> None:
    assert COMMANDS_PAGE.read_text("utf-8") == commands_page(), "make docs writes it anew"


def test_every_command_stands_on_it() -> None:
    page = COMMANDS_PAGE.read_text("utf-8")
    assert [name for name in COMMANDS if f"## snugfast {name}\n" not in page] == []
