"""Options that several commands share."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from difflib import get_close_matches
from typing import Any, TypeVar

import click

_OPTION = re.compile("--?[A-Za-z]")

F = TypeVar("F", bound=Callable[..., Any])

JSON = click.option("--json", "as_json", is_flag=True, help="Print plain data.")
YES = click.option(
    "--yes", is_flag=True, help="Do not ask. Where nobody can be asked, nothing is done without it."
)
HELD: tuple[Callable[[F], F], ...] = (YES, JSON)
WHEN = click.option("--when", default="", metavar="TIME", help="14:30, yesterday, 2026-05-03 14:30.")


def options(*several: Callable[[Any], Any]) -> Callable[[F], F]:
    """Several options at once, in the order they are listed."""

    def put(command: F) -> F:
        for option in reversed(several):
            command = option(command)
        return command

    return put


def refuse_unknown_options(words: Iterable[str]) -> None:
    """For a command that lets “-5” through as a word: what else begins like an option is none.

    Raises NoSuchOption with those that are spelled alike.
    """
    context = click.get_current_context()
    known = [name for one in context.command.params if isinstance(one, click.Option) for name in one.opts]
    for word in words:
        if _OPTION.match(word):
            name = word.partition("=")[0]
            raise click.NoSuchOption(name, possibilities=get_close_matches(name, known), ctx=context)
