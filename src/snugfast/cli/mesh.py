"""The mesh: how it stands, how it should, and how to set it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_cautions, echo_sources
from snugfast.cli.options import JSON
from snugfast.cli.writing import FORCE, write_text

if TYPE_CHECKING:
    from snugfast.usecases.mechanics.mesh_guide import MeshAt, MeshGuide


@click.command()
@click.argument("car")
@click.option(
    "--shift", default="", help="How far the motor moved away from the spur gear; -0.2mm is nearer."
)
@click.option("--play", default="", help="The play felt at the rim of the spur gear, the pinion held.")
@click.option("--paper", default="", help="Thickness of the strip of paper; 0.1mm if left out.")
@click.option("--pinion", default="", metavar="TEETH", help="Another pinion than the build's.")
@click.option("--spur", default="", metavar="TEETH", help="Another spur gear than the build's.")
@click.option("--pitch", default="", help="Of both gears: “module 0.8” or “48 DP”.")
@click.option("--torque", default="", help="A torque at the pinion, to see what it does to plastic teeth.")
@click.option("--face", default="", help="Width of the teeth, with --torque.")
@click.option("--speed", default="", help="Speed of the pinion, with --torque: 20000rpm.")
@click.option("--svg", type=click.Path(path_type=Path), help="Draw the gears in mesh into this file.")
@FORCE
@JSON
@click.pass_obj
def mesh(doorway: Doorway, /, svg: Path | None, force: bool, as_json: bool, **said: Any) -> None:
    """How the mesh stands after a hit, how it should stand, and how to set it.

    \b
    snugfast mesh Bramble
    snugfast mesh Bramble --shift 0.2mm          the motor moved on its slots
    snugfast mesh Bramble --play 0.3mm           felt at the rim
    snugfast mesh Bramble --pinion 17 --svg mesh.svg
    """
    from snugfast.usecases.mechanics.mesh_guide import MeshSaid, mesh_guide

    guide = mesh_guide(doorway.open(), MeshSaid(**said))
    if svg is not None:
        _draw(guide, svg, force=force)
    if as_json:
        print_json(guide)
        return
    for line in _lines(guide):
        click.echo(line)
    echo_cautions(guide.cautions)
    echo_sources(guide.sources)
    if svg is not None:
        click.echo(f"Drawn to scale in {svg}.")


def _draw(guide: MeshGuide, file: Path, *, force: bool) -> None:
    from snugfast.exchange.mesh_drawing import drawing, panels_of

    write_text(file, drawing(panels_of(guide)), force=force)


def _lines(guide: MeshGuide) -> list[str]:
    pair = f"{guide.pinion.gear.teeth} on {guide.spur.gear.teeth} teeth, {guide.pinion.pitch}"
    lines = [f"{guide.car}: {pair}."]
    lines += [guide.pitches.sentence] if guide.pinion.pitch != guide.spur.pitch else []
    lines += [""]
    if guide.now is not None:
        lines += ["Now", f"  {guide.now.sentence}", f"  {guide.advice}", *_figures(guide.now), ""]
    lines += ["As it should be", *_figures(guide.wanted), f"  {guide.strips_sentence}"]
    lines += [f"  {guide.undercut}"] if guide.undercut else []
    lines += [f"  {use.sentence}" for use in guide.teeth]
    lines += ["", "Setting it", f"  {guide.paper.sentence}"]
    return lines + [f"  {number}. {step}" for number, step in enumerate(guide.steps, start=1)]


def _figures(at: MeshAt) -> list[str]:
    from snugfast.usecases.shared.citing import tell_figure

    named = (
        ("backlash", at.backlash),
        ("felt at the rim", at.rim_play),
        ("contact ratio", at.contact_ratio),
        ("centre distance", at.centre_distance),
        ("opened beyond touching", at.opening),
        ("pressure angle", at.pressure_angle),
    )
    return [f"  {name:<24} {tell_figure(figure)}" for name, figure in named]
