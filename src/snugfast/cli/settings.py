"""What minutes are worth, currency, zone."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json
from snugfast.cli.options import HELD, options


@click.command()
@click.option("--currency", default="", help="Three letters.")
@click.option(
    "--bench-minute", default="", metavar="MONEY", help="What a minute at the bench is worth to you."
)
@click.option("--running-minute", default="", metavar="MONEY", help="What a lost minute of running is worth.")
@click.option("--zone", default="", help="Your time zone, like Europe/Berlin.")
@options(*HELD)
@click.pass_obj
def settings(
    doorway: Doorway,
    currency: str,
    bench_minute: str,
    running_minute: str,
    zone: str,
    yes: bool,
    as_json: bool,
) -> None:
    """See the settings, or change those that are named."""
    from snugfast.usecases.settings import draft_settings, judgement, settings_now
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.ledger import ledger_now
    from snugfast.usecases.shared.telling import tell

    workshop = doorway.open()
    chosen = judgement(currency=currency, bench_minute=bench_minute, running_minute=running_minute, zone=zone)
    if chosen:
        entry = draft_settings(workshop, chosen)
        with workshop.store.reading() as reads:
            ledger = ledger_now(reads)
        keep_after_echo(
            workshop, Draft((entry,), (tell(entry, workshop.facts, ledger),)), yes=yes, as_json=as_json
        )
        return
    now = settings_now(workshop)
    if as_json:
        print_json(now)
        return
    click.echo(f"A minute of bench time    {now['bench_minute'] / 100:.2f} {now['currency']}")
    click.echo(f"A lost minute of driving  {now['running_minute'] / 100:.2f} {now['currency']}")
    click.echo(f"Time zone                 {now['zone']}")
    click.echo("Results are given as a range over half to double of the two minutes.")
