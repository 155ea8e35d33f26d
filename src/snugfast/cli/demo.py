"""The demo workshop."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import click

from snugfast.cli.doorway import Doorway, side_by_side, to_type, typed_as


@click.command()
@click.option(
    "--folder", type=click.Path(path_type=Path), default=None, help="Where to make it; demo, if left out."
)
@click.option("--short", is_flag=True, hidden=True, expose_value=False)  # what is printed now anyway
@click.option("--again", is_flag=True, help="Make it anew, with the same season.")
@click.pass_obj
def demo(doorway: Doorway, folder: Path | None, again: bool) -> None:
    """Make the demo workshop (our own invented scenario) and print tonight's sheet for one car.

    \b
    snugfast demo                       in the folder demo
    snugfast --workshop shed demo       in a folder of your choice
    """
    from snugfast.app.demo import clear_demo, make_demo
    from snugfast.app.opening import FILE_NAME, open_workshop, utc_now
    from snugfast.cli.round_text import round_text
    from snugfast.usecases.bench.bench_sheet import bench_sheet
    from snugfast.usecases.bench.sheet import Asked
    from snugfast.usecases.bench.shown import keep_shown, shown_of
    from snugfast.usecases.shared.ledger import ledger_now

    folder = _where(doorway.address, folder)
    if again:
        clear_demo(folder)
    if not (folder / FILE_NAME).is_file():
        click.echo("Making the demo workshop: some cars, their packs and a season of outings …", err=True)
        make_demo(folder, now=utc_now())
    workshop = open_workshop(str(folder))
    click.get_current_context().obj = replace(
        doorway, address=str(folder)
    )  # what to type next is meant there
    with workshop.store.reading() as reads:
        cars = [car for car in ledger_now(reads).cars.values() if car.left_at is None]
    hardest = max(cars, key=lambda car: car.habits.hard_hits)
    sheet = bench_sheet(workshop, Asked((hardest.name,)))
    keep_shown(workshop, shown_of(sheet))
    click.echo(round_text(sheet, workshop.zone))
    click.echo(side_by_side(f"All cars: {to_type('sheet')}", f"On a phone or a desktop: {to_type('serve')}"))
    click.echo(f"Your own workshop: {typed_as()} begin")


def _where(address: str | None, folder: Path | None) -> Path:
    """The folder of the demo: as --workshop or --folder says, else `demo`."""
    from snugfast.app.opening import FILE_NAME
    from snugfast.core.errors import BadInput

    if address is None:
        return folder or Path("demo")
    if "://" in address:
        raise BadInput("The demo is made in a folder, not in a database.", "Name a folder: --folder demo.")
    said = Path(address).expanduser()
    said = said.parent if said.name == FILE_NAME else said
    if folder is not None and folder.resolve() != said.resolve():
        raise BadInput(f"--workshop says {said} and --folder says {folder}.", "Give one of the two.")
    if said.is_file():
        raise BadInput(f"{said} is a file.", "Name a folder for the demo.")
    return said
