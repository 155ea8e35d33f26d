"""Tonight's bench sheet."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.on_paper import PDF, link_of, write_leaf
from snugfast.cli.options import JSON, options

if TYPE_CHECKING:
    from snugfast.usecases.shared.workshop import Workshop


@click.command()
@click.argument("cars", nargs=-1, metavar="[CAR | NUMBER]...")
@click.option("--minutes", default="20", show_default=True, help="Minutes you have at the bench.")
@click.option(
    "--until",
    default="outing",
    show_default=True,
    help="When you will be at the bench next: after a run, or an outing.",
)
@click.option("--packs", default="", help="Packs you plan to drive; the car's habit if left out.")
@click.option("--wet", default="", help="How wet it will be; says first whether the car is rated for it.")
@click.option("--ground", default="", help="What you will drive on, if you know.")
@click.option("--air", default="", help="How warm the air will be, if you know: -4 °C.")
@click.option(
    "--just-ran", is_flag=True, help="The car is still warm: readings right after a run can be taken."
)
@click.option("--in-field", is_flag=True, help="You are outdoors: range can be walked.")
@click.option("--learner", is_flag=True, help="Mark what is for adults: to be done with a grown-up.")
@click.option("--short", is_flag=True, hidden=True, expose_value=False)  # what is printed now anyway
@click.option("--full", is_flag=True, help="Everything: how, good, bad, why and what was left out.")
@options(*PDF)
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
    full: bool,
    pdf: Path | None,
    paper: str,
    force: bool,
    as_json: bool,
) -> None:
    """What is worth checking now, in rounds of numbered lines: for some cars, or for all of the evening.

    \b
    snugfast sheet                 the sheet, on one screen
    snugfast sheet 18              how to do number 18 of it, and why
    snugfast sheet --full          all of it at length
    snugfast found 18 loose, rest ok
    snugfast bench                 answer it key by key
    """
    from snugfast.cli.round_text import round_text
    from snugfast.cli.sheet_text import sheet_text
    from snugfast.usecases.bench.bench_sheet import bench_sheet
    from snugfast.usecases.bench.sheet_asked import query_of, read_asked
    from snugfast.usecases.bench.shown import keep_shown, shown_of

    workshop = doorway.open()
    if cars and all(word.isdecimal() for word in cars) and not _called(workshop, cars):
        _how(workshop, [int(word) for word in cars])
        return
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
    if made.cars:
        keep_shown(workshop, shown_of(made))
    if pdf is not None:
        from snugfast.exchange.paper.sheet import sheet_leaf

        leaf = sheet_leaf(workshop, made, link=link_of(doorway, f"/sheet?{query_of(made.asked)}&make=1"))
        write_leaf(leaf, pdf, paper, force=force)
    elif as_json:
        print_json(made)
    else:
        click.echo(sheet_text(made, workshop.zone) if full else round_text(made, workshop.zone))


def _called(workshop: Workshop, words: tuple[str, ...]) -> bool:
    """Whether a car has a number for a name."""
    from snugfast.usecases.shared.ledger import ledger_now

    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    return any(ledger.car_named(word) is not None for word in words)


def _how(workshop: Workshop, numbers: list[int]) -> None:
    """How some lines of the sheet that was shown are done, and why they are on it."""
    from snugfast.cli.sheet_text import lines_text
    from snugfast.usecases.bench.bench_sheet import bench_sheet
    from snugfast.usecases.bench.shown import the_shown

    shown = the_shown(workshop)
    lines = [shown.line(number) for number in numbers]
    again = bench_sheet(workshop, shown.asked, only=shown.keys())
    click.echo(lines_text(again, lines, workshop.zone))
