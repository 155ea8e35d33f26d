"""Making a workshop: the first start asks what minutes are worth."""

from __future__ import annotations

import sys

import click

from snugfast.cli.doorway import Doorway


@click.command()
@click.option("--by", "name", help="Your first name or a nickname.")
@click.option("--currency", help="Three letters, as on your receipts.")
@click.option("--bench-minute", metavar="MONEY", help="What a minute at the bench is worth to you.")
@click.option("--running-minute", metavar="MONEY", help="What a lost minute of running is worth to you.")
@click.option("--zone", help="Your time zone, like Europe/Berlin.")
@click.pass_obj
def begin(
    doorway: Doorway,
    name: str | None,
    currency: str | None,
    bench_minute: str | None,
    running_minute: str | None,
    zone: str | None,
) -> None:
    """Make a workshop. What is not said is asked; every answer can be changed later."""
    from snugfast.app.opening import begin_workshop, machine_zone
    from snugfast.usecases.settings import judgement

    ask = sys.stdin.isatty()

    def said(value: str | None, question: str, otherwise: str) -> str:
        if value is not None or not ask:
            return otherwise if value is None else value
        answer: str = click.prompt(question, default=otherwise)
        return answer

    by = said(name, "Who are you (first name or nickname)?", doorway.by or "owner")
    money = said(currency, "Currency, three letters?", "CRD")
    bench = said(bench_minute, "What is a minute at the bench worth to you?", "0.15")
    running = said(running_minute, "And a lost minute of running?", "0.40")
    where = said(zone, "Time zone?", machine_zone())
    settings = judgement(currency=money, bench_minute=bench, running_minute=running, zone=where)
    begin_workshop(doorway.where, by=by, settings=settings, zone=where)
    click.echo(f"The workshop stands at {doorway.where}.")
    click.echo("Next: snugfast car add NAME --from truck-1-10-4wd-3s")
