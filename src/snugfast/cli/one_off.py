"""Cars that come and go: the one-off sheet of a car, putting it away, waking it."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json, to_type
from snugfast.cli.options import HELD, options


@click.command()
@click.argument("name")
@click.option("--done", is_flag=True, help="It was worked through: keep that.")
@click.option("--learner", is_flag=True, help="Mark what is for adults: to be done with a grown-up.")
@click.option("--short", is_flag=True, help="One line each.")
@options(*HELD)
@click.pass_obj
def arrive(
    doorway: Doorway, name: str, done: bool, learner: bool, short: bool, yes: bool, as_json: bool
) -> None:
    """The first-check list of a car: new, second-hand, back from a loan, put away or woken up.

    Answer its checks with “snugfast found”; when all is done, say so with --done.
    """
    from snugfast.cli.one_off_text import one_off_text
    from snugfast.usecases.bench.one_off import draft_sheet_done, one_off_sheet

    workshop = doorway.open()
    if done:
        keep_after_echo(workshop, draft_sheet_done(workshop, name), yes=yes, as_json=as_json)
        return
    sheet = one_off_sheet(workshop, name)
    if as_json:
        print_json(sheet)
        return
    click.echo(one_off_text(sheet, learner=learner, short=short))


@click.command("lay-up")
@click.argument("name")
@click.option("--words", default="", help="Where it stands, how long.")
@click.option("--when", default="", help="When; now if left out.")
@options(*HELD)
@click.pass_obj
def lay_up(doorway: Doorway, name: str, words: str, when: str, yes: bool, as_json: bool) -> None:
    """Put a car away for a while, with what to do first. Until it is woken no sheet asks for it."""
    from snugfast.cli.one_off_text import one_off_text
    from snugfast.facts.model import Occasion
    from snugfast.usecases.bench.one_off import draft_lay_up, one_off_sheet

    workshop = doorway.open()
    draft = draft_lay_up(workshop, name, words=words, when=when)
    if not as_json and not yes:
        click.echo(one_off_text(one_off_sheet(workshop, name, Occasion.LAY_UP)))
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


@click.command("wake-up")
@click.argument("name")
@click.option("--words", default="", help="Anything to note.")
@click.option("--when", default="", help="When; now if left out.")
@options(*HELD)
@click.pass_obj
def wake_up(doorway: Doorway, name: str, words: str, when: str, yes: bool, as_json: bool) -> None:
    """Wake a car that was put away. What to do before it runs: snugfast car arrive NAME"""
    from snugfast.usecases.bench.one_off import draft_wake_up

    workshop = doorway.open()
    keep_after_echo(workshop, draft_wake_up(workshop, name, words=words, when=when), yes=yes, as_json=as_json)
    if not as_json:
        arriving = to_type(f'car arrive "{name}"')
        click.echo(f"Before it runs: {arriving}")
