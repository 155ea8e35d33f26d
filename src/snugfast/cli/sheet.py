"""Tonight's bench sheet."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.options import JSON


@click.command()
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@click.option("--minutes", default="20", show_default=True, help="Minutes you have at the bench.")
@click.option(
    "--until", default="outing", show_default=True, help="The next bench chance: after a run, or an outing."
)
@click.option("--packs", default="", help="Packs you plan to drive; the car's habit when not said.")
@click.option("--wet", default="", help="How wet it will be; says first whether the car is rated for it.")
@click.option("--ground", default="", help="What you will drive on, if you know.")
@click.option("--air", default="", help="How warm the air will be, if you know: -4 °C.")
@click.option(
    "--just-ran", is_flag=True, help="The car is still warm: readings right after a run can be taken."
)
@click.option("--in-field", is_flag=True, help="You are outdoors: range can be walked.")
@click.option("--learner", is_flag=True, help="Mark what is for adults: to be done with a grown-up.")
@click.option("--short", is_flag=True, help="One line a check.")
@JSON
@click.pass_obj
def sheet(
    doorway: Doorway,
    cars: tuple[str, ...],
    minutes: str,
    until: str,
    packs: str,
    wet: str,
    ground: str,
    air: str,
    just_ran: bool,
    in_field: bool,
    learner: bool,
    short: bool,
    as_json: bool,
) -> None:
    """What is worth checking now, in order, with why and how: for some cars, or for all of the evening."""
    from snugfast.cli.sheet_text import sheet_text
    from snugfast.usecases.bench.bench_sheet import bench_sheet
    from snugfast.usecases.bench.sheet_asked import read_asked

    workshop = doorway.open()
    asked = read_asked(
        cars=cars,
        minutes=minutes,
        until=until,
        packs=packs,
        wet=wet,
        ground=ground,
        air=air,
        just_ran=just_ran,
        in_field=in_field,
        learner=learner,
    )
    made = bench_sheet(workshop, asked)
    if as_json:
        print_json(made)
        return
    click.echo(sheet_text(made, workshop.zone, short=short))
