"""The journal: reading it, taking back, bringing back."""

from __future__ import annotations

import sys

import click

from snugfast.cli.doorway import Doorway, print_json


@click.command()
@click.argument("words", nargs=-1)
@click.option("--car", default="", help="Of one car only.")
@click.option("--last", default=30, help="How many.")
@click.option("--json", "as_json", is_flag=True, help="Print plain data.")
@click.pass_obj
def journal(doorway: Doorway, words: tuple[str, ...], car: str, last: int, as_json: bool) -> None:
    """What was logged, newest first; words narrow it down. The mark at the left names an entry."""
    from snugfast.usecases.journal_marks import journal_lines

    lines = journal_lines(doorway.open(), text=" ".join(words), car=car, limit=last)
    if as_json:
        print_json(lines)
        return
    for line in lines:
        state = f"  [{line.state}]" if line.state else ""
        click.echo(f"{line.mark}  {line.text}{state}")
    if not lines:
        click.echo("Nothing yet." if not words and not car else "Nothing fits that.")


@click.command()
@click.argument("mark")
@click.option("--why", default="", help="Why it is taken back.")
@click.option("--yes", is_flag=True, help="Do not ask.")
@click.pass_obj
def withdraw(doorway: Doorway, mark: str, why: str, yes: bool) -> None:
    """Take one entry back by its mark. It stays in the journal, marked as withdrawn."""
    from snugfast.usecases.journal_marks import entry_marked
    from snugfast.usecases.keeping import resting_on, withdraw

    workshop = doorway.open()
    entry = entry_marked(workshop, mark)
    _ask(resting_on(workshop, entry), yes)
    _say("Taken back", withdraw(workshop, entry.id, why))


@click.command()
@click.option("--yes", is_flag=True, help="Do not ask, even when later entries rest on it.")
@click.pass_obj
def undo(doorway: Doorway, yes: bool) -> None:
    """Take the last entry back."""
    from snugfast.usecases.keeping import last_standing, resting_on, withdraw

    workshop = doorway.open()
    entry = last_standing(workshop)
    _ask(resting_on(workshop, entry), yes)
    _say("Taken back", withdraw(workshop, entry.id))


@click.command()
@click.pass_obj
def redo(doorway: Doorway) -> None:
    """Bring back what was undone last."""
    from snugfast.usecases.keeping import redo

    _say("Brought back", redo(doorway.open()))


def _ask(resting: int, yes: bool) -> None:
    if not resting or yes:
        return
    click.echo(f"{_entries(resting)} on it and would not count without it.")
    if not sys.stdin.isatty():
        click.echo("Nothing was changed. To go on, type the same with --yes.")
        sys.exit(1)
    click.confirm("Take it back all the same?", abort=True)


def _say(what: str, undone: object) -> None:
    from snugfast.usecases.keeping import Undone

    assert isinstance(undone, Undone)
    click.echo(f"{what}: {undone.told}")
    if undone.resting_on_it:
        click.echo(f"{_entries(undone.resting_on_it)} on it.")
    click.echo(
        "To turn it round: snugfast redo" if what == "Taken back" else "To turn it round: snugfast undo"
    )


def _entries(count: int) -> str:
    return f"{count} later entries rest" if count != 1 else "1 later entry rests"
