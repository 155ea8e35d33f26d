"""What every command shares: the way to the workshop, the echo before keeping, plain data."""

from __future__ import annotations

import dataclasses
import json
import shlex
import shutil
import sys
from collections.abc import Mapping
from contextlib import redirect_stdout
from datetime import datetime
from enum import Enum
from pathlib import Path
from typing import IO, TYPE_CHECKING, Any, cast
from uuid import UUID

import click

from snugfast.cli.ways_out import typed
from snugfast.core.errors import RefusedAction, SnugfastError

if TYPE_CHECKING:
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.workshop import Workshop


MOST_MARKS = 4  # of entries kept together that are named one by one


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
        from snugfast.usecases.safekeeping.backups import back_up_if_due

        workshop = open_workshop(self.where, by=self.by, read_only=self.read_only)
        try:
            back_up_if_due(workshop)
        except SnugfastError as refused:  # the day's work goes on without it, and says so
            click.echo(
                f"The day's backup was not taken: {refused.sentence} {typed(refused.way_out)}", err=True
            )
        _write_as_the_owner_does(workshop)
        return workshop


def _write_as_the_owner_does(workshop: Workshop) -> None:
    """From here to the end of the command, what is typed and shown is in the owner's units and spelling."""
    from snugfast.core.spelling import spelling_of, use
    from snugfast.usecases.shared.ledger import ledger_now

    context = click.get_current_context(silent=True)
    with workshop.store.reading() as reads:
        chosen = spelling_of(ledger_now(reads).settings)
    if context is not None and not chosen.is_ours:
        use(chosen)
        context.with_resource(redirect_stdout(cast("IO[str]", _Respelled(sys.stdout))))


class _Respelled:
    """The output, with every text respelled on its way."""

    def __init__(self, out: IO[str]) -> None:
        self._out = out

    def write(self, text: str) -> int:
        from snugfast.core.spelling import respell

        return self._out.write(respell(text))

    def __getattr__(self, name: str) -> Any:
        return getattr(self._out, name)


def typed_as() -> str:
    """How this program is called from here: by its name when that finds it, else by its path."""
    called = Path(sys.argv[0])
    if shutil.which(called.name):
        return called.name
    return str(called.relative_to(Path.cwd())) if called.is_relative_to(Path.cwd()) else str(called)


def to_type(words: str) -> str:
    """What to type next, so that it reaches the same workshop: with --workshop when that was said."""
    context = click.get_current_context(silent=True)
    doorway = context.find_object(Doorway) if context else None
    named = f" --workshop {shlex.quote(doorway.address)}" if doorway and doorway.address else ""
    return f"{typed_as()}{named} {words}"


def side_by_side(*parts: str, width: int = 80) -> str:
    """Hints beside each other where they fit on a line, else each on its own, never cut in a command."""
    joined = "   ".join(parts)
    return joined if len(joined) <= width else "\n".join(parts)


def counted(number: int, one: str, several: str = "") -> str:
    """“1 run”, “2 runs”, “2 people”."""
    return f"{number} {one if number == 1 else several or f'{one}s'}"


class NobodyAsked(RefusedAction):
    """Nothing was done, since nobody was there to say yes. Exit code 1 tells it from what is refused (2)."""

    exit_code = 1

    def __init__(self) -> None:
        super().__init__(
            "Nothing was saved or changed: nobody was asked.", "To go on, type the same with --yes."
        )


class KeptUnsaid(SnugfastError):
    """It was kept, and the output took no word of it. Exit code 0: who tries again would keep it twice."""

    exit_code = 0


def consent(question: str, *, yes: bool, as_json: bool = False, usual: bool = True) -> None:
    """Return when somebody agrees: by --yes, or asked at a terminal, where `usual` is the answer of Enter.

    Raises NobodyAsked where nobody can be asked: in a script, or where plain data is wanted.
    """
    if yes:
        return
    if as_json or not sys.stdin.isatty():
        raise NobodyAsked
    click.confirm(question, default=usual, abort=True)


def keep_after_echo(workshop: Workshop, draft: Draft, *, yes: bool, as_json: bool) -> None:
    """Say in full what would be kept, ask, and keep it."""
    from snugfast.usecases.journal.forms import keep_form, with_box
    from snugfast.usecases.journal.keeping import refuse_contradictions
    from snugfast.usecases.shared.telling import mark_of

    refuse_contradictions(workshop, draft.entries)
    draft = with_box(workshop, draft)
    if not as_json:
        for sentence in draft.echo:
            click.echo(sentence)
    elif not yes:
        print_json({"kept": 0, "told": draft.echo, "marks": []})
    consent("Save this?", yes=yes, as_json=as_json)
    kept = keep_form(workshop, draft.entries)
    marks = [mark_of(entry.id) for entry in draft.entries]
    told = ", ".join(marks) if len(marks) <= MOST_MARKS else counted(len(marks), "entry", "entries")
    try:
        if as_json:
            print_json({"kept": kept.new, "told": kept.told, "marks": marks})
        elif not kept.new:
            click.echo(f"This was saved before ({told}); nothing was added.")
        else:
            click.echo(f"Saved ({told}). Undo: {to_type('undo')}")
    except OSError as error:
        raise KeptUnsaid(
            f"It was saved ({told}), but the output takes nothing more: {error.strerror}.",
            "Do not send it again. See: snugfast journal",
        ) from error


def print_json(value: Any) -> None:
    """Print figures, rows and records as JSON, with plain values inside."""
    from snugfast.core.spelling import OURS, spelled_as

    with spelled_as(OURS):  # what a program reads is written one way
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
