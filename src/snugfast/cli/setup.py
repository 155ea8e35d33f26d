"""The set-up record: as it stands, as it stood, two side by side, and the way back."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json, to_type
from snugfast.cli.figures import echo_cautions, echo_sources
from snugfast.cli.on_paper import PDF, link_of, write_leaf
from snugfast.cli.options import HELD, WHEN, options

if TYPE_CHECKING:
    from snugfast.usecases.chassis.setup_record import Difference, SetUp, WayBack
    from snugfast.usecases.chassis.suspension_sums import SuspensionSums


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
@click.option("--sums", is_flag=True, help="What it means: bounce, sag, damping, oil on a cold day, diffs.")
@click.option(
    "--try", "tried", default="", metavar="CHANGE", help="A change before it is made: “spring front 0.65”."
)
@click.option("--bar-length", default="", help="Of an anti-roll bar, between its bends: 50mm.")
@click.option("--bar-arm", default="", help="Of an anti-roll bar, bend to link: 22mm.")
@click.option(
    "--drop", default="", help="How far a driveshaft’s outer end hangs below, arm fully dropped: 20mm."
)
@click.option("--steer", default="", help="How far the inner wheel steers, with --drop: 30.")
@click.option("--mix", default="", help="Two oils for a third: “300 + 500 = 400”.")
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
    sums: bool,
    tried: str,
    bar_length: str,
    bar_arm: str,
    drop: str,
    steer: str,
    mix: str,
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
    snugfast setup Bramble --sums --air 3C --try "shock oil front 350"
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
    elif sums or tried or mix or drop:
        from snugfast.usecases.chassis.suspension_sums import SumsSaid, suspension_sums

        asked = SumsSaid(car, tried, air, bar_length, bar_arm, drop, steer, mix)
        _show_sums(suspension_sums(workshop, asked), as_json)
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


def _show_sums(sums: SuspensionSums, as_json: bool) -> None:
    if as_json:
        print_json(sums)
        return
    from snugfast.usecases.shared.citing import tell_figure

    click.echo(f"Suspension of {sums.car}")
    for one in sums.now:
        click.echo(f"\n{one.axle.capitalize()}")
        for name, figure in (
            ("wheel rate", one.wheel_rate),
            ("bounces at", one.frequency),
            ("damping ratio at 25 °C", one.damping),
            ("damping ratio now", one.damping_now),
            ("anti-roll bar, each end", one.bar),
        ):
            if figure is not None:
                click.echo(f"  {name:<24} {tell_figure(figure, 2)}")
        for sentence in one.sentences:
            click.echo(f"  {sentence}")
        if one.missing:
            click.echo(f"  Not worked out for want of: {', '.join(one.missing)}.")
    for head, lines in (
        ("With the change", sums.compared),
        ("Driveshafts", sums.shafts),
        ("Diffs", sums.diffs),
    ):
        if lines:
            click.echo(f"\n{head}")
        for line in lines:
            click.echo(f"  {line}")
    if sums.mix:
        click.echo(f"\nMixing\n  {sums.mix}")
    click.echo("\nHow far to trust it")
    for line in sums.limits:
        click.echo(f"  {line}")
    echo_cautions(sums.cautions)
    echo_sources(sums.sources)


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
