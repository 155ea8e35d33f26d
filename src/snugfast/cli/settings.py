"""What minutes are worth, currency, zone, units and how things are written."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json
from snugfast.cli.options import HELD, options
from snugfast.core.spelling import CHOICES, OURS, spelled_as


@click.command()
@click.option("--currency", default="", help="Three letters.")
@click.option(
    "--bench-minute", default="", metavar="MONEY", help="What a minute at the bench is worth to you."
)
@click.option("--running-minute", default="", metavar="MONEY", help="What a lost minute of running is worth.")
@click.option("--zone", default="", help="Your time zone, like Europe/Berlin.")
@click.option(
    "--temperature", type=click.Choice(CHOICES["temperature"]), help="Shown, and taken without a unit."
)
@click.option("--speed", type=click.Choice(CHOICES["speed"]), help="Shown, and taken without a unit.")
@click.option("--weight", type=click.Choice(CHOICES["weight"]), help="Shown; typed with its unit.")
@click.option(
    "--length", type=click.Choice(CHOICES["length"]), help="Inches stand behind; screws stay metric."
)
@click.option("--clock", type=click.Choice(CHOICES["clock"]), help="14:30, or 2:30 pm; both are understood.")
@click.option(
    "--dates", type=click.Choice(CHOICES["dates"]), help="How a day is written; all are understood."
)
@click.option("--decimal", type=click.Choice(CHOICES["decimal"]), help="1.5 or 1,5.")
@options(*HELD)
@click.pass_obj
def settings(
    doorway: Doorway,
    currency: str,
    bench_minute: str,
    running_minute: str,
    zone: str,
    temperature: str | None,
    speed: str | None,
    weight: str | None,
    length: str | None,
    clock: str | None,
    dates: str | None,
    decimal: str | None,
    yes: bool,
    as_json: bool,
) -> None:
    """See the settings, or change those that are named."""
    from snugfast.usecases.settings import draft_settings, judgement, settings_now
    from snugfast.usecases.shared.draft import Draft
    from snugfast.usecases.shared.ledger import ledger_now
    from snugfast.usecases.shared.telling import tell

    workshop = doorway.open()
    written = {
        "temperature": temperature,
        "speed": speed,
        "weight": weight,
        "length": length,
        "clock": clock,
        "dates": dates,
        "decimal": decimal,
    }
    chosen = judgement(
        currency=currency,
        bench_minute=bench_minute,
        running_minute=running_minute,
        zone=zone,
        **{name: said or "" for name, said in written.items()},
    )
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
    with spelled_as(OURS):  # the choices by their own names
        click.echo(f"Written as                {', '.join(str(now[name]) for name in CHOICES)}")
    click.echo("Results are given as a range over half to double of the two minutes.")
