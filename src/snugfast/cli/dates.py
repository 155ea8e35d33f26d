"""What has a date, and the calendar file."""

from __future__ import annotations

from pathlib import Path

import click

from snugfast.cli.doorway import Doorway, counted, print_json, to_type
from snugfast.cli.on_paper import link_of
from snugfast.cli.options import JSON
from snugfast.cli.writing import FORCE, write_bytes


@click.command()
@click.option("--ics", type=click.Path(path_type=Path), help="Write them to a calendar file.")
@FORCE
@JSON
@click.pass_obj
def dates(doorway: Doorway, ics: Path | None, force: bool, as_json: bool) -> None:
    """What has a date: packs to store, work after wet, parts soon worn, the next sheet.

    Take the file into your calendar again after a while: dates that moved replace the old ones, and what no
    longer holds is cancelled. A phone in the house can subscribe instead: see the page “Phones in the house”.
    """
    from snugfast.usecases.bench.due_dates import day_of, due_dates, published

    workshop = doorway.open()
    if ics is not None:
        from snugfast.exchange.calendar_file import calendar_file

        found = published(workshop)
        write_bytes(ics, calendar_file(found, zone=workshop.zone, base=link_of(doorway, "")), force=force)
        gone = sum(date.cancelled for date in found)
        ended = f", {gone} cancelled" if gone else ""
        click.echo(f"Written to {ics}: {counted(len(found) - gone, 'date')}{ended}.")
        return
    found = due_dates(workshop)
    if as_json:
        print_json(found)
        return
    for date in found:
        click.echo(f"{day_of(date, workshop.zone):<16}  {date.title}")
    if not found:
        click.echo("Nothing has a date.")
    else:
        click.echo(f"\nFor your calendar: {to_type('dates --ics snugfast.ics')}")
