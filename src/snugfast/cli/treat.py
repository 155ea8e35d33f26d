"""What is to be done after a run, dusty or wet: seeing it, doing it, saying that it was done."""

from __future__ import annotations

from pathlib import Path

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json
from snugfast.cli.on_paper import PDF, link_of, write_leaf
from snugfast.cli.options import HELD, options


@click.command()
@click.argument("car", required=False)
@click.argument("treatment", default="")
@click.option("--min", "minutes", default="", help="Minutes it took.")
@click.option("--when", default="", help="When it was done; now if left out.")
@options(*PDF, *HELD)
@click.pass_obj
def treat(
    doorway: Doorway,
    car: str | None,
    treatment: str,
    minutes: str,
    when: str,
    pdf: Path | None,
    paper: str,
    force: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """See what is to be done after a run, dusty or wet, and by when; with a car, say that it was done.

    \b
    snugfast treat                           all that is due, on all cars
    snugfast treat Bramble                   the most urgent on one car, with its steps
    snugfast treat Bramble wash_mud --yes    it was done
    snugfast treat Bramble brush_dust --yes  so was the brush: the next sheet leaves it out
    """
    from snugfast.cli.sheet_text import treatment_text
    from snugfast.usecases.bench.treatments import (
        TreatedSaid,
        cleaning_of,
        draft_treated,
        treatment_meant,
        treatments_of,
    )

    workshop = doorway.open()
    if pdf is not None:
        from snugfast.exchange.paper.lists import wet_leaf

        write_leaf(wet_leaf(workshop, link_of(doorway, "/")), pdf, paper, force=force)
        return
    cars = (car,) if car else ()
    due = (*treatments_of(workshop, cars), *cleaning_of(workshop, cars))
    if car is None:
        if as_json:
            print_json(due)
            return
        for one in due:
            click.echo(one.line)
        if not due:
            click.echo("Nothing is to be cleaned or dried.")
        return
    draft = draft_treated(workshop, TreatedSaid(car, treatment, minutes, when))
    if not yes and not as_json:
        meant = treatment_meant(workshop.facts, car, treatment, due)
        for one in due:
            if one.treatment == meant.key:
                click.echo(treatment_text(one))
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)
