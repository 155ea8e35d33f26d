"""The journal: reading it, taking back, bringing back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, consent, counted, print_json, to_type
from snugfast.cli.options import HELD, JSON, options
from snugfast.core.zones import local_time

if TYPE_CHECKING:
    from snugfast.usecases.journal.keeping import Undone
    from snugfast.usecases.shared.workshop import Workshop

TAKEN_BACK, BROUGHT_BACK = "Undone", "Redone"


@click.command()
@click.argument("words", nargs=-1)
@click.option("--car", default="", help="Of one car only.")
@click.option("--kind", default="", help="Of one kind only: runs, checks, failures, parts, work, …")
@click.option("--since", default="", help="From this day on.")
@click.option("--until", default="", help="Up to this day.")
@click.option("--last", type=click.IntRange(1, 100_000), default=30, help="How many.")
@click.option("--show", metavar="MARK", default="", help="One entry, with what replaced or took back what.")
@JSON
@click.pass_obj
def journal(
    doorway: Doorway,
    words: tuple[str, ...],
    car: str,
    kind: str,
    since: str,
    until: str,
    last: int,
    show: str,
    as_json: bool,
) -> None:
    """What was logged, newest first; words narrow it down. The mark at the left names an entry."""
    from snugfast.usecases.journal.marks import journal_lines

    workshop = doorway.open()
    if show:
        _show(workshop, show, as_json)
        return
    lines = journal_lines(
        workshop, text=" ".join(words), car=car, kind=kind, since=since, until=until, limit=last
    )
    if as_json:
        print_json(lines)
        return
    for line in lines:
        state = f"  [{line.state}]" if line.state else ""
        click.echo(f"{line.mark}  {line.text}{state}")
    if not lines:
        click.echo("Nothing fits that." if any((words, car, kind, since, until)) else "Nothing yet.")


def _show(workshop: Workshop, mark: str, as_json: bool) -> None:
    from snugfast.usecases.journal.marks import entry_marked
    from snugfast.usecases.journal.page import entry_page
    from snugfast.usecases.shared.telling import mark_of

    page = entry_page(workshop, entry_marked(workshop, mark).id)
    if as_json:
        chain = [{"does": link.does.value, "line": link.line} for link in page.chain]
        print_json({"line": page.line, "typed": page.entry.typed, "chain": chain, "resting": page.resting})
        return
    click.echo(page.line.told)
    if page.entry.typed:
        click.echo(f"Typed: {page.entry.typed}")
    for link in page.chain:
        line = link.line
        recorded = f"{local_time(line.recorded_at, workshop.zone):%Y-%m-%d %H:%M}"
        state = f"  [{line.state}]" if line.state else ""
        click.echo(f"  {mark_of(line.id)}  {recorded}, {line.author}, {link.does.value}: {line.told}{state}")
    if page.resting_count:
        click.echo(f"{_entries(page.resting_count)} on it, among them:")
        for told in page.resting:
            click.echo(f"  {told}")


@click.command()
@click.argument("mark")
@click.option("--why", default="", help="Why it is taken back.")
@options(*HELD)
@click.pass_obj
def withdraw(doorway: Doorway, mark: str, why: str, yes: bool, as_json: bool) -> None:
    """Take one entry back by its mark. It stays in the journal, marked as withdrawn.

    Asks only when later entries rest on it.
    """
    from snugfast.usecases.journal.keeping import resting_on, withdraw
    from snugfast.usecases.journal.marks import entry_marked

    workshop = doorway.open()
    entry = entry_marked(workshop, mark)
    _ask(resting_on(workshop, entry), yes=yes, as_json=as_json)
    _say(TAKEN_BACK, withdraw(workshop, entry.id, why), as_json=as_json)


@click.command()
@click.option("--one", is_flag=True, help="Only the last entry, of several that were saved together.")
@options(*HELD)
@click.pass_obj
def undo(doorway: Doorway, one: bool, yes: bool, as_json: bool) -> None:
    """Take back what was saved last: an entry, or all answers that were saved together.

    Asks only when later entries rest on it.
    """
    from snugfast.usecases.journal.keeping import kept_together, last_standing, resting_on, withdraw_all

    workshop = doorway.open()
    entries = (last_standing(workshop),) if one else kept_together(workshop)
    _ask(resting_on(workshop, *entries), yes=yes, as_json=as_json)
    _say(TAKEN_BACK, *withdraw_all(workshop, entries), as_json=as_json)


@click.command()
@JSON
@click.pass_obj
def redo(doorway: Doorway, as_json: bool) -> None:
    """Bring back what was undone last."""
    from snugfast.usecases.journal.keeping import redo_together

    _say(BROUGHT_BACK, *redo_together(doorway.open()), as_json=as_json)


def _ask(resting: int, *, yes: bool, as_json: bool) -> None:
    if not resting or yes:
        return
    click.echo(f"{_entries(resting)} on it and would not count without it.", err=as_json)
    consent("Undo it all the same?", yes=yes, as_json=as_json, usual=False)


def _say(what: str, *undone: Undone, as_json: bool) -> None:
    from snugfast.usecases.shared.telling import mark_of

    resting = undone[0].resting_on_it
    if as_json:
        marks, told = [mark_of(one.by) for one in undone], [one.told for one in undone]
        print_json({"kept": len(undone), "told": told, "marks": marks, "resting": resting})
        return
    for one in undone:
        click.echo(f"{what}: {one.told}")
    if resting:
        click.echo(f"{_entries(resting)} on it.")
    word = "redo" if what == TAKEN_BACK else "undo"
    click.echo(f"{word.capitalize()}: {to_type(word)}")


def _entries(count: int) -> str:
    return counted(count, "later entry rests", "later entries rest")
