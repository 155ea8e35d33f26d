"""Parts fitted and moved, and work that shakes things up."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, keep_after_echo
from snugfast.cli.options import HELD, options


@click.command()
@click.argument("car")
@click.argument("place")
@click.option("--part", default="", help="What was fitted, when it differs from the build.")
@click.option("--at", "spots", multiple=True, help="Which of several like places; all if left out.")
@click.option("--size", "sizes", multiple=True, help="A size that differs from the build: teeth_count=17.")
@click.option("--spent", default="", help="What it cost.")
@click.option("--second-hand", is_flag=True, help="It was used before.")
@click.option("--when", default="", help="When; now if left out.")
@options(*HELD)
@click.pass_obj
def fitted(
    doorway: Doorway,
    car: str,
    place: str,
    part: str,
    spots: tuple[str, ...],
    sizes: tuple[str, ...],
    spent: str,
    second_hand: bool,
    when: str,
    yes: bool,
    as_json: bool,
) -> None:
    """Log a part fitted: snugfast fitted Bramble “outer wheel bearings” --at “front left” --spent 3.20

    What the part says of itself goes into the build: snugfast fitted Bramble pinion --part “pinion, 17 teeth”
    """
    from snugfast.usecases.journal.cars import draft_fitted

    workshop = doorway.open()
    draft = draft_fitted(
        workshop,
        car,
        place,
        part=part,
        spots=spots,
        sizes=sizes,
        spent=spent,
        second_hand=second_hand,
        when=when,
    )
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


@click.command()
@click.argument("place")
@click.argument("from_car")
@click.argument("to_car")
@options(*HELD)
@click.pass_obj
def moved(doorway: Doorway, place: str, from_car: str, to_car: str, yes: bool, as_json: bool) -> None:
    """Log a part that went from one car into another, with all it has been through."""
    from snugfast.usecases.journal.cars import draft_moved

    workshop = doorway.open()
    keep_after_echo(workshop, draft_moved(workshop, from_car, place, to_car), yes=yes, as_json=as_json)


@click.command()
@click.argument("car")
@click.argument("event")
@click.option("--words", default="", help="What was done.")
@options(*HELD)
@click.pass_obj
def work(doorway: Doorway, car: str, event: str, words: str, yes: bool, as_json: bool) -> None:
    """Log work that shakes things up: snugfast work Bramble “radio work” --words “new receiver”"""
    from snugfast.usecases.journal.cars import draft_work

    workshop = doorway.open()
    keep_after_echo(workshop, draft_work(workshop, car, event, words), yes=yes, as_json=as_json)
