"""The set-up record: as it stands, as it stood, two side by side, and the way back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json, to_type
from snugfast.cli.on_paper import PDF, link_of, write_leaf
from snugfast.cli.options import HELD, WHEN, options

if TYPE_CHECKING:
    from snugfast.usecases.chassis.setup_record import Difference, SetUp, WayBack


@click.command()
@click.argument("car")
@click.argument("changes", nargs=-1)
@click.option("--why", default="", help="Why it was changed.")
@click.option("--drove", default="", help="How it drove.")
@click.option("--track", default="", help="Where.")
@click.option("--weather", default="", help="Dry, damp, dust …")
@click.option("--air", default="", help="Air temperature: 12C.")
@WHEN
@click.option("--on", "at", default="", metavar="DAY", help="The record as it stood on a day, or at a track.")
@click.option("--against", default="", metavar="DAY", help="What differs from a day, or from a track.")
@click.option("--back-to", default="", metavar="DAY", help="The jobs back to a day, or to a track.")
@options(*PDF)
@options(*HELD)
@click.pass_obj
def setup(
    doorway: Doorway,
    car: str,
    changes: tuple[str, ...],
    why: str,
    drove: str,
    track: str,
    weather: str,
    air: str,
    when: str,
    at: str,
    against: str,
    back_to: str,
    pdf: Path | None,
    paper: str,
    force: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """See and change the set-up: what stands on the car, what stood before, and the way back.

    \b
    snugfast setup Bramble
    snugfast setup Bramble "camber front -2" "shock oil rear 350" --why "nervous on the way in"
    snugfast setup Bramble --drove "calmer, a bit lazy" --track Kiln --weather dry --air 12C
    snugfast setup Bramble --against Kiln        what differs from how it was there
    snugfast setup Bramble --back-to 2026-05-03  the same as a list of jobs
    """
    from snugfast.usecases.chassis.setup_record import (
        SetUpSaid,
        differences,
        draft_set_up,
        set_up_at,
        set_up_now,
        way_back,
    )

    workshop = doorway.open()
    if changes or why or drove:
        said = SetUpSaid(car, changes, why, drove, track, weather, air, when)
        keep_after_echo(workshop, draft_set_up(workshop, said), yes=yes, as_json=as_json)
    elif pdf is not None:
        from snugfast.exchange.paper.lists import set_up_leaf

        write_leaf(set_up_leaf(workshop, car, link_of(doorway, "/")), pdf, paper, force=force)
    elif back_to:
        _show_back(way_back(workshop, car, back_to), as_json)
    elif against:
        now, then = set_up_now(workshop, car), set_up_at(workshop, car, against)
        _show_differences(now, then, differences(now, then), as_json)
    else:
        _show(set_up_at(workshop, car, at) if at else set_up_now(workshop, car), as_json)


def _show(held: SetUp, as_json: bool) -> None:
    if as_json:
        print_json(held)
        return
    click.echo(f"Set-up of {held.car}, {held.day}")
    for name, value in held.strip:
        click.echo(f"  {name}: {value}")
    if held.steering:
        click.echo(f"  Steering end points: {held.steering}")
    click.echo(
        f"\n{'':<16}"
        + "".join(f"{place:>13}" for place in ("front left", "front right", "rear left", "rear right"))
    )
    for row in held.corners:
        click.echo(f"{row.item.name:<16}" + "".join(f"{cell.text:>13}" for cell in row.cells))
    click.echo()
    for row in held.rest:
        values = [f"{place} {cell.text}".strip() for place, cell in zip(row.places, row.cells, strict=True)]
        click.echo(f"{row.item.name:<16} {'; '.join(values)}")
    for note in held.notes:
        click.echo(f"  {note}")
    if held.changes:
        click.echo("\nChanges")
    for change in held.changes:
        told = [change.what or "as it stood"]
        told += [
            f"{name}: {text}"
            for name, text in (("at", change.where), ("why", change.why), ("drove", change.drove))
            if text
        ]
        click.echo(f"  {change.day}  {'; '.join(told)}")
    click.echo(f'\nChange it: {to_type(f"setup {held.car}")} "camber front -2" --why …')


def _show_differences(now: SetUp, then: SetUp, found: tuple[Difference, ...], as_json: bool) -> None:
    if as_json:
        print_json(found)
        return
    if not found:
        click.echo(f"Nothing in the record of {now.car} differs from {then.day}.")
        return
    click.echo(f"{'':<34}{'now':<24}{then.day}")
    for one in found:
        name = f"{one.name}{f', {one.where}' if one.where else ''}"
        click.echo(f"{name:<34}{one.one:<24}{one.other}")


def _show_back(back: WayBack, as_json: bool) -> None:
    if as_json:
        print_json(back)
        return
    if not back.jobs:
        click.echo(f"Nothing to do: {back.car} stands as the record has it on {back.day}.")
    else:
        click.echo(f"Back to how {back.car} was on {back.day}")
    for number, job in enumerate(back.jobs, start=1):
        click.echo(f"  {number}. {job.text}")
        click.echo(f"     {job.how}")
        for caution in job.cautions:
            click.echo(f"     ! {caution.short}")
    for name in back.unknown:
        click.echo(f"  Not known of that day: {name}")
