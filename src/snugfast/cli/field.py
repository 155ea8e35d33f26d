"""The field sheet to take along."""

from __future__ import annotations

from pathlib import Path

import click

from snugfast.cli.doorway import Doorway, to_type
from snugfast.cli.writing import FORCE, write_text


@click.command("field-sheet")
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@click.option("--minutes", default="20", show_default=True, help="Minutes you have for checks.")
@click.option("--bench", "at_bench", is_flag=True, help="The whole bench sheet, not what a field allows.")
@click.option("--learner", is_flag=True, help="Mark what is done with a grown-up.")
@FORCE
@click.pass_obj
def field_sheet(
    doorway: Doorway,
    file: Path,
    cars: tuple[str, ...],
    minutes: str,
    at_bench: bool,
    learner: bool,
    force: bool,
) -> None:
    """One HTML file for a phone's files: checks, runs, wet, packs, tools. It needs no network.

    What is noted on it comes home as text, as a file, or as photographs of codes: snugfast take-in FILE
    """
    from snugfast.exchange.field_sheet.make import field_sheet as make
    from snugfast.usecases.bench.sheet_asked import read_asked

    asked = read_asked(cars=cars, minutes=minutes, in_field=not at_bench, learner=learner)
    write_text(file, make(doorway.open(), asked), force=force)
    click.echo(f"Written to {file}. Put it on the phone and open it from its files.")
    click.echo(f"What is noted comes home with: {to_type('take-in field-notes.txt')}")
