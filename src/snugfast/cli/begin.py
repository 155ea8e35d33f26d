"""Making a workshop: the first start asks what minutes are worth."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, print_json, to_type
from snugfast.cli.options import JSON, options

if TYPE_CHECKING:
    from snugfast.usecases.shared.workshop import Workshop


USUAL = "truck-1-10-4wd-3s"


@click.command()
@click.option("--by", "name", help="Your first name or a nickname.")
@click.option("--currency", help="Three letters, as on your receipts; that of this machine if left out.")
@click.option("--bench-minute", metavar="MONEY", help="What a minute at the bench is worth to you.")
@click.option("--running-minute", metavar="MONEY", help="What a lost minute of running is worth to you.")
@click.option("--zone", help="Your time zone, like Europe/Berlin.")
@options(click.option("--yes", is_flag=True, help="Ask nothing; what is left out is taken as usual."), JSON)
@click.pass_obj
def begin(
    doorway: Doorway,
    name: str | None,
    currency: str | None,
    bench_minute: str | None,
    running_minute: str | None,
    zone: str | None,
    yes: bool,
    as_json: bool,
) -> None:
    """Make a workshop. What is left out is asked; every answer can be changed later.

    \b
    snugfast begin                       in your own data folder
    snugfast --workshop shed begin       in a folder of your choice
    """
    from snugfast.app.opening import begin_workshop, machine_currency, machine_zone
    from snugfast.usecases.settings import judgement

    ask = sys.stdin.isatty() and not (as_json or yes)

    def said(value: str | None, question: str, otherwise: str) -> str:
        if value is not None or not ask:
            return otherwise if value is None else value
        answer: str = click.prompt(question, default=otherwise)
        return answer

    by = said(name, "Who are you (first name or nickname)?", doorway.by or "owner")
    money = said(currency, "Currency, three letters as on your receipts?", machine_currency())
    bench = said(bench_minute, "What is a minute at the bench worth to you?", "0.15")
    running = said(running_minute, "And a lost minute of running?", "0.40")
    where = said(zone, "Time zone?", machine_zone())
    settings = judgement(currency=money, bench_minute=bench, running_minute=running, zone=where)
    workshop = begin_workshop(doorway.where, by=by, settings=settings, zone=where)
    if as_json:
        print_json(_plain(workshop))
    else:
        _say(doorway, workshop, tuple(workshop.facts.starters))


def _plain(workshop: Workshop) -> dict[str, Any]:
    from snugfast.records.ledger import Ledger
    from snugfast.usecases.journal.keeping import last_standing
    from snugfast.usecases.shared.telling import mark_of, tell

    entry = last_standing(workshop)
    told = [tell(entry, workshop.facts, Ledger())]
    return {"kept": 1, "told": told, "marks": [mark_of(entry.id)], "workshop": workshop.store.address.words}


def _say(doorway: Doorway, workshop: Workshop, kinds: tuple[str, ...]) -> None:
    """Where it stands, how to have it elsewhere or not at all, and what comes next."""
    from textwrap import fill

    from snugfast.app.opening import ENVIRONMENT

    address = workshop.store.address
    click.echo(f"The workshop stands at {address.words}.")
    if address.file is not None:
        click.echo("To undo this, delete that file; nothing else was made.")
    if doorway.address is None:
        click.echo(f"For another place: {to_type('--workshop FOLDER begin')}")
    else:
        click.echo(f"Name it each time with --workshop, or once for all in the environment: {ENVIRONMENT}")
    click.echo(f"Next: {to_type(f'car add NAME --from {USUAL}')}")
    click.echo(
        fill(f"Or from: {', '.join(key for key in kinds if key != USUAL)}", 80, subsequent_indent="  ")
    )
