"""The receiver's supply against a servo that stalls."""

from __future__ import annotations

from typing import Any

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_cautions, echo_guide, echo_sources
from snugfast.cli.options import JSON


@click.command()
@click.argument("car")
@click.option("--stall", default="", help="Current of the servo when it is stalled, from its data: 2.5A")
@click.option("--supply", default="", help="Voltage of the ESC's receiver supply (BEC): 6V")
@click.option("--gives", default="", help="Its largest current, from the label: 3A")
@click.option("--restarts", default="", help="The receiver restarts below: 3.5V")
@click.option("--lowest", default="", help="The lowest a meter showed at the receiver, servo stalled: 4.9V")
@JSON
@click.pass_obj
def rail(doorway: Doorway, /, car: str, as_json: bool, **said: Any) -> None:
    """Whether a stalled servo pulls the receiver's voltage so low that it restarts, and what helps.

    \b
    snugfast rail Bramble                                       from the build, with estimates
    snugfast rail Bramble --stall 2.5A --gives 3A --supply 6V   from the labels
    """
    from snugfast.usecases.leads.rail import RailSaid, moments_with_rest, rail_of
    from snugfast.usecases.shared.citing import tell_figure, tell_to

    found = rail_of(doorway.open(), RailSaid(car, **said))
    if as_json:
        print_json(found)
        return
    click.echo(f"{found.sentence}\n{found.why}\n")
    for name, volts in moments_with_rest(found):
        click.echo(f"  {name:<28} {tell_to(volts, 1)}")
    click.echo(f"  {'Receiver restarts below':<28} {tell_to(found.restarts, 1)}")
    click.echo(f"  {'and is gone for':<28} {tell_figure(found.back_after)}")
    for note in found.notes:
        click.echo(f"  {note}")
    click.echo(f"\nA capacitor in a free socket\n  {found.capacitor_sentence}")
    for line in found.capacitors:
        click.echo(f"  {line.capacitance_uF:>6.0f} µF  {line.sentence}")
    for job in (found.trial, found.measure, found.cures):
        echo_guide(job)
    echo_cautions(found.cautions)
    echo_sources(found.sources)
