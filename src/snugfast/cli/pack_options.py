"""Options that several commands about packs share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

HELD: tuple[Callable[[F], F], ...] = (
    click.option("--yes", is_flag=True, help="Keep without asking."),
    click.option("--json", "as_json", is_flag=True, help="Print plain data."),
)
PLAIN: tuple[Callable[[F], F], ...] = (
    click.option("--json", "as_json", is_flag=True, help="Print plain data."),
)
WHEN = click.option("--when", default="", metavar="TIME", help="14:30, yesterday, 2026-05-03 14:30.")


def options(*several: Callable[[Any], Any]) -> Callable[[F], F]:
    """Several options at once, in the order they are listed."""

    def put(command: F) -> F:
        for option in reversed(several):
            command = option(command)
        return command

    return put
