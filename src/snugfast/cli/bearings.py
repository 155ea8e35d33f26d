"""Every bearing of the cars, and what to order."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_cautions, echo_sources
from snugfast.cli.options import JSON

if TYPE_CHECKING:
    from snugfast.usecases.mechanics.bearing_list import BearingList


@click.command()
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@click.option("--load", default="", help="Load on one bearing: 20N.")
@click.option("--speed", default="", help="How fast the car drives: 30km/h.")
@click.option("--drag", default="", help="Drag of a bearing, to see its heat: 0.02Nm. Seized if left out.")
@click.option("--air", default="", help="Temperature of the air: 28.")
@JSON
@click.pass_obj
def bearings(doorway: Doorway, /, cars: tuple[str, ...], as_json: bool, **said: Any) -> None:
    """Every bearing by size and seal, an order list over all cars, life on paper, heat when one seizes.

    And the pitch a damaged one hums at, by the speed of the car.
    """
    from snugfast.usecases.mechanics.bearing_list import BearingsSaid, bearing_list

    listed = bearing_list(doorway.open(), BearingsSaid(cars, **said))
    if as_json:
        print_json(listed)
        return
    for line in _lines(listed):
        click.echo(line)
    echo_cautions(listed.cautions)
    echo_sources(listed.sources)


def _lines(listed: BearingList) -> list[str]:
    from snugfast.usecases.mechanics.bearing_list import HUM_ADVICE
    from snugfast.usecases.shared.citing import tell_figure

    lines = [f"Bearings of {', '.join(listed.cars) or 'no car yet'}", ""]
    for order in listed.order:
        price = f"{order.price.value:.2f} {order.price.unit}" if order.price else ""
        lines.append(f"{order.count:4d} × {order.size:<14} {order.seal:<20} {price}")
        lines += [f"         {where}" for where in order.where]
    load, speed = tell_figure(listed.load), tell_figure(listed.speed)
    lines += ["", f"Life on paper, at {load} and {speed}"]
    for life in listed.lives:
        lines.append(f"  {life.size:<14} {life.sentence}")
        if life.rating is not None:
            by = " to ".join(dict.fromkeys((life.least_from, life.most_from)))
            lines.append(f"  {'':<14} rating {tell_figure(life.rating)} (by {by})")
    lines += ["", "When one drags or seizes"]
    for heat in listed.heat:
        lines.append(f"  {heat.car}, {heat.name} in {heat.material}: {heat.sentence}")
        limit = f"softens from {tell_figure(heat.softening_torque, 2)} of drag"
        lines.append(
            f"      {tell_figure(heat.torque, 2)} seized; kept below {tell_figure(heat.keep_below)}, {limit}"
        )
    lines += ["", f"What a damaged one sounds like, at {speed}"]
    lines += [f"  {hum.car}, {hum.name} ({hum.size}): {hum.sentence}" for hum in listed.hums]
    return [*lines, f"  {HUM_ADVICE}", "", *(f"{words}" for words in listed.advice)]
