"""Wires and connectors, and soldering one."""

from __future__ import annotations

from typing import Any

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_cautions, echo_guide, echo_sources
from snugfast.cli.options import JSON


@click.command()
@click.argument("car")
@click.option("--wire", default="", help="What the power wires are: 12AWG, 3.3mm2. The build's if left out.")
@click.option("--length", default="", help="Length of one battery wire, cell tab to ESC: 30cm.")
@click.option("--motor-length", default="", help="Length of one motor wire: 12cm.")
@click.option("--plug", default="", help="The battery connector, by its shape: “two flat blades”.")
@click.option("--plug-ohm", default="", help="What you measured, one pole: 0.7mohm.")
@click.option("--to-wire", default="", help="What to try instead: 10AWG.")
@click.option("--to-plug", default="", help="What to try instead: “two round pins 5 mm”.")
@click.option("--style", default="", help="How it is driven; the usual of such a car if left out.")
@click.option("--ground", default="", help="What it is driven on.")
@click.option("--ambient", default="", help="How warm the air is: 25C.")
@click.option("--pack", default="", metavar="NAME", help="A pack of the workshop; the last one used.")
@JSON
@click.pass_obj
def wires(doorway: Doorway, /, car: str, as_json: bool, **said: Any) -> None:
    """What wires and connectors lose on this car, how hot they get in a run, and what better ones buy.

    \b
    snugfast wires Bramble
    snugfast wires Bramble --wire 14AWG --plug-ohm 1.2mohm --to-plug “two round pins 5 mm”
    """
    from snugfast.app.kernel_cache import threads
    from snugfast.usecases.leads.wiring import WiringSaid, wiring_of
    from snugfast.usecases.shared.citing import tell_to
    from snugfast.usecases.twin.how_to_run import HowToRun

    workshop = doorway.open()
    with threads() as executor:
        found = wiring_of(workshop, WiringSaid(car, **said), HowToRun(executor=executor))
    if as_json:
        print_json(found)
        return
    click.echo(f"{found.car}: {found.style}, {found.air_degC:.0f} °C, {found.minutes:.0f} min driven.")
    click.echo(f"{found.sentence}\n")
    for part in found.parts:
        click.echo(f"{part.name}: {part.what}")
        lost = f"{part.resistance.value * 1e3:.2g} mΩ, {part.lost.value:.2g} V at full current"
        click.echo(f"  {lost}, {part.heat.value:.1f} W; {part.rms.value:.0f} A each, as it heats")
        click.echo(f"  hottest {tell_to(part.hottest)}: {part.verdict}")
        if part.pulse:
            click.echo(f"  {part.pulse}")
    click.echo("\nWhat better ones buy")
    for one in found.upgrades:
        click.echo(f"  {one.name}: {one.sentence}")
    click.echo()
    for note in found.notes:
        click.echo(f"  {note}")
    for job in found.guides:
        echo_guide(job)
    echo_cautions(found.cautions)
    echo_sources(found.sources)


@click.command()
@click.argument("car")
@click.option("--adult", is_flag=True, help="You are an adult who has soldered before, or one is beside you.")
@click.option("--wire", default="", help="Another wire than the build's: 10AWG.")
@click.option("--iron", default="", help="Your soldering iron: 60W.")
@JSON
@click.pass_obj
def solder(doorway: Doorway, /, car: str, adult: bool, as_json: bool, **said: Any) -> None:
    """Solder a connector to this car's wires, step by step, and whether your iron is strong enough."""
    from snugfast.core.errors import RefusedAction
    from snugfast.usecases.leads.soldering import SolderSaid, soldering_of

    if not adult:
        raise RefusedAction(
            "Soldering is for an adult who has done it: burns, fumes, and packs that can’t be switched off.",
            "If that is you, or one is beside you at the bench, add --adult.",
        )
    found = soldering_of(doorway.open(), SolderSaid(car, **said))
    if as_json:
        print_json(found)
        return
    click.echo(found.sentence)
    echo_guide(found.job)
    echo_cautions(found.cautions)
    echo_sources(found.sources)
