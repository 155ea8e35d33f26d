"""What every command shares: the way to the workshop, the echo before keeping, plain data."""

from __future__ import annotations

import dataclasses
import json
import sys
from collections.abc import Mapping
from datetime import datetime
from enum import Enum
from typing import TYPE_CHECKING, Any
from uuid import UUID

import click

from snugfast.core.errors import SnugfastError

if TYPE_CHECKING:
    from snugfast.usecases.run_log import Draft
    from snugfast.usecases.workshop import Workshop


@dataclasses.dataclass(frozen=True, slots=True)
class Doorway:
    """The options that stand before every command."""

    address: str | None
    by: str
    read_only: bool
    environment: Mapping[str, str]

    @property
    def where(self) -> str:
        """The address of the workshop, said or by default."""
        from snugfast.app.opening import default_address

        return self.address or default_address(self.environment)

    def open(self) -> Workshop:
        """The workshop. Raises NotKnown, with what to type, when there is none."""
        from snugfast.app.opening import open_workshop
        from snugfast.usecases.backups import back_up_if_due

        workshop = open_workshop(self.where, by=self.by, read_only=self.read_only)
        try:
            back_up_if_due(workshop)
        except SnugfastError as refused:  # the day's work goes on without it, and says so
            click.echo(f"The day's backup was not taken: {refused.sentence} {refused.way_out}", err=True)
        return workshop


def keep_after_echo(workshop: Workshop, draft: Draft, *, yes: bool, as_json: bool) -> None:
    """Say in full what would be kept, ask, and keep it."""
    from snugfast.usecases.keeping import keep, refuse_contradictions
    from snugfast.usecases.telling import mark_of

    refuse_contradictions(workshop, draft.entries)
    if not as_json:
        for sentence in draft.echo:
            click.echo(sentence)
    if not yes and not as_json:
        if not sys.stdin.isatty():
            click.echo("Nothing was kept. To keep it, type the same with --yes.")
            return
        click.confirm("Keep this?", default=True, abort=True)
    kept = keep(workshop, draft.entries)
    marks = [mark_of(entry.id) for entry in draft.entries]
    if as_json:
        print_json({"kept": kept.new, "told": kept.told, "marks": marks})
    else:
        click.echo(f"Kept ({', '.join(marks)}). To take it back: snugfast undo")


def print_json(value: Any) -> None:
    """Print figures, rows and records as JSON, with plain values inside."""
    click.echo(json.dumps(plain(value), ensure_ascii=False, indent=2))


def plain(value: Any) -> Any:
    """A value as what JSON holds."""
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {field.name: plain(getattr(value, field.name)) for field in dataclasses.fields(value)}
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain(item) for item in value]
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, datetime):
        return value.isoformat()
    if isinstance(value, UUID):
        return str(value)
    return value
