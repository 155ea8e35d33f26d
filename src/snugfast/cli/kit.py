"""The tools and the hardware for the cars."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_sources
from snugfast.cli.on_paper import PDF, link_of, write_leaf
from snugfast.cli.options import JSON, options

if TYPE_CHECKING:
    from snugfast.usecases.mechanics.tool_kit import ToolKit


@click.command()
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@options(*PDF)
@JSON
@click.pass_obj
def kit(
    doorway: Doorway, cars: tuple[str, ...], pdf: Path | None, paper: str, force: bool, as_json: bool
) -> None:
    """The smallest set of keys, wrenches and sockets for your cars, and the screws and nuts to keep."""
    from snugfast.usecases.mechanics.tool_kit import tool_kit

    workshop = doorway.open()
    if pdf is not None:
        from snugfast.exchange.paper.lists import kit_leaf

        write_leaf(kit_leaf(workshop, cars, link_of(doorway, "/kit")), pdf, paper, force=force)
        return
    answer = tool_kit(workshop, cars)
    if as_json:
        print_json(answer)
        return
    for line in _lines(answer):
        click.echo(line)
    echo_sources(answer.sources)


def _lines(answer: ToolKit) -> list[str]:
    lines = [f"Tools for {', '.join(answer.cars) or 'no car yet'}: {len(answer.tools)} turn everything", ""]
    lines += [f"  [ ] {tool.name:<32} {tool.count:3d}: {', '.join(tool.turns)}" for tool in answer.tools]
    if answer.hex_keys:
        most, total = answer.hex_keys[:3], sum(count for _, count in answer.hex_keys)
        *smaller, largest = (f"{size:g}" for size, _ in sorted(most))
        keys = f"{', '.join(smaller)} or {largest}" if smaller else largest
        lines += ["", f"  {sum(count for _, count in most)} of {total} hex-key screws take {keys} mm."]
    if len(answer.per_car) > 1:
        lines += ["", "For each car alone"]
        lines += [f"  {one.car}: {'; '.join(tool.name for tool in one.tools)}" for one in answer.per_car]
    lines += ["", "Screws and nuts: how many the cars carry, and how many to keep in the box", ""]
    for piece in answer.hardware:
        cars = ", ".join(f"{car} {count}" for car, count in piece.by_car)
        lines.append(
            f"  [ ] {piece.name:<34} {piece.count:3d}, keep {piece.keep.value:.0f}   {piece.tool}; {cars}"
        )
    return lines
