"""Oils, greases, rebuilds, and what attacks what."""

from __future__ import annotations

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_cautions, echo_guide, echo_sources
from snugfast.cli.options import JSON


@click.command()
@click.argument("car")
@JSON
@click.pass_obj
def fluids(doorway: Doorway, car: str, as_json: bool) -> None:
    """Oils and how much of them, which grease goes where, what is due for a rebuild, what attacks what."""
    from snugfast.usecases.fluids.fluids import fluids_of, short_name

    found = fluids_of(doorway.open(), car)
    if as_json:
        print_json(found)
        return
    if found.oils:
        click.echo("Oils")
    for oil in found.oils:
        click.echo(f"  {oil.where}: {oil.sentence}")
    if found.air is not None:
        click.echo(f"  Leave about {found.air.value * 100:.0f} % of a diff empty: warm oil needs the room.")
    for note in found.notes:
        click.echo(f"  {note}")
    click.echo("\nRebuilds, by what the car went through")
    for one in found.rebuilds:
        how = f"snugfast rebuild {found.car} {short_name(one.job.key)}"
        click.echo(f"  {one.job.name}, about {one.job.minutes:g} min: {how}")
        for line in one.due:
            click.echo(f"    {line.sentence}")
    if not found.rebuilds:
        click.echo("  Nothing on this car is filled with oil or grease to rebuild.")
    click.echo("\nWhich grease where")
    for grease in found.greases:
        never = f" Never {grease.never}." if grease.never else ""
        click.echo(f"  {grease.where}: {grease.what}, {grease.how_much}.{never}")
    click.echo("\nWhat attacks what")
    for attack in found.attacks:
        click.echo(
            f"  {attack.substance} on {attack.on}: {attack.what_happens} {attack.instead}. ({attack.seen})"
        )
    echo_cautions(found.cautions)
    echo_sources(found.sources)


@click.command()
@click.argument("car")
@click.argument("what")
@JSON
@click.pass_obj
def rebuild(doorway: Doorway, car: str, what: str, as_json: bool) -> None:
    """One rebuild, step by step: shock, diff, ball_diff. Parts, minutes, bleeding, and how soon it is due."""
    from snugfast.usecases.fluids.fluids import rebuild_of

    found = rebuild_of(doorway.open(), car, what)
    if as_json:
        print_json(found)
        return
    for line in found.due:
        click.echo(line.sentence)
    echo_guide(found.job)
    if found.parts:
        click.echo("\nIt uses up, each time")
    for part in found.parts:
        click.echo(f"  {part}")
    click.echo("\nDone? Log it, and the next one is due from here")
    for key, _ in found.renews:
        click.echo(f"  snugfast fitted {car} {key}")
    if found.log_as:
        click.echo(f"  snugfast found {car} {found.log_as} ok")
