"""Options that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

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
