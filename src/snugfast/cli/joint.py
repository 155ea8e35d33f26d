"""One screwed joint: how tight, with which key, whether it holds."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.figures import echo_cautions, echo_sources
from snugfast.cli.options import JSON

if TYPE_CHECKING:
    from snugfast.usecases.mechanics.joint_guide import JointGuide
    from snugfast.usecases.mechanics.set_screw_guide import SetScrewJoint

ASIDE = ("flat", "two", "shaft", "peak_torque", "mass", "final_ratio")


@click.command()
@click.argument("car")
@click.argument("place", default="")
@click.option("--class", "strength", default="", help="Strength class stamped on the head: 8.8, 10.9, 12.9.")
@click.option("--state", default="", help="dry or oiled.")
@click.option("--engagement", default="", help="Length of thread in use: 5mm.")
@click.option("--head", "head_width", default="", help="Width of what bears: head, flange or washer.")
@click.option("--seat", default="", help="Material under the head: aluminium, nylon …")
@click.option("--drag", default="", help="Drag of a nylon-insert nut with nothing clamped: 0.1Nm.")
@click.option("--times-off", default="", help="How often that nut has been off.")
@click.option("--flat", default="", metavar="yes|no", help="Whether the set screw stands on a flat.")
@click.option("--two", default="", metavar="DEGREES", help="Two set screws, so many degrees apart.")
@click.option("--shaft", default="", help="Diameter of the shaft a set screw grips.")
@click.option("--peak-torque", default="", help="The most torque this joint sees, if you know it.")
@click.option("--mass", default="", help="What the car weighs ready to drive: 2.4kg.")
@click.option("--final-ratio", default="", help="Motor turns for one of the wheels.")
@JSON
@click.pass_obj
def joint(doorway: Doorway, /, car: str, place: str, as_json: bool, **said: Any) -> None:
    """How tight, with which key, whether it holds. Without a place: the joints of the car.

    \b
    snugfast joint Bramble
    snugfast joint Bramble motor_screws --class 12.9
    snugfast joint Bramble pinion_screw --two 90
    snugfast joint Bramble “wheel nuts” --drag 0.1Nm --times-off 3
    """
    from snugfast.usecases.mechanics.joint_guide import joint_guide
    from snugfast.usecases.mechanics.joint_parts import JointSaid, SetScrewSaid

    if not place:
        _list(doorway, car, as_json)
        return
    aside = SetScrewSaid(**{name: said.pop(name) for name in ASIDE})
    guide = joint_guide(doorway.open(), JointSaid(car, place, set_screw=aside, **said))
    if as_json:
        print_json(guide)
        return
    for line in _lines(guide):
        click.echo(line)
    echo_cautions(guide.cautions)
    echo_sources(guide.sources)


def _list(doorway: Doorway, car: str, as_json: bool) -> None:
    from snugfast.usecases.mechanics.joint_guide import joints_of
    from snugfast.usecases.shared.lookup import car_and_build

    record, build = car_and_build(doorway.open(), car)
    joints = joints_of(build)
    if as_json:
        print_json([{"key": place.key, "name": place.name, "sizes": place.sizes} for place in joints])
        return
    for place in joints:
        click.echo(f"{place.key:<24} {place.part}")
    click.echo(f"How tight: snugfast joint {record.name} PLACE")


def _lines(guide: JointGuide) -> list[str]:
    from snugfast.usecases.shared.citing import tell_figure

    count = f"{guide.count} × " if guide.count > 1 else ""
    lines = [f"{guide.car}, {guide.name}: {count}{guide.part}", ""]
    named = (
        ("thread", guide.thread),
        ("head", guide.head),
        ("turned with", guide.tool),
        ("goes into", guide.into),
        ("under the head", guide.under_head),
        ("thread in use", tell_figure(guide.engagement) if guide.engagement else ""),
    )
    lines += [f"  {name:<16} {value}" for name, value in named if value]
    lines += [f"  {guide.turning}", "", "How tight", f"  {guide.tight}"]
    if guide.torque is None and guide.never_above is not None:
        unknown = " and ".join(guide.unknown)
        lines.append(f"  No figure: {unknown} is not known. Never above {tell_figure(guide.never_above, 2)}.")
    lines += [f"  {words}" for words in guide.in_words if words != guide.tight]
    lines += ["", "Thread-lock", f"  {guide.thread_lock.sentence}"]
    lines += [f"  {statement.text}" for statement in guide.thread_lock.mind]
    if guide.lock_nut is not None:
        lines += ["", "The nut again", f"  {guide.lock_nut.sentence}"]
        lines += [f"  This one: {guide.lock_nut.verdict.sentence}"] if guide.lock_nut.verdict else []
    if guide.hold is not None:
        lines += ["", "What it holds", *_hold(guide.hold)]
    if guide.checks:
        lines += ["", f"Checks here: {', '.join(name for _, name in guide.checks)}"]
    return lines


def _hold(hold: SetScrewJoint) -> list[str]:
    from snugfast.usecases.shared.citing import tell_figure

    screws = "one screw" if hold.screws == 1 else "two screws"
    return [
        f"  {screws} on {hold.seat.value} of {tell_figure(hold.shaft)}",
        f"  {'seated with':<16} {tell_figure(hold.seating)}",
        f"  {'along the shaft':<16} {tell_figure(hold.holding)}",
        f"  {'around it':<16} {tell_figure(hold.torque, 2)}",
        f"  {'peak torque':<16} {tell_figure(hold.peak, 2)}, {hold.peak_from}",
        f"  {hold.sentence}",
        f"  {hold.flat}",
        f"  Industry divides live loads by 4 to 8: {tell_figure(hold.industrial, 2)}. A note, not a verdict.",
    ]
