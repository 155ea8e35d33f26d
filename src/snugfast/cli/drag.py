"""Friction timed at the bench, against the car's own baseline."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, NobodyAsked, keep_after_echo, print_json
from snugfast.cli.figures import echo_cautions, echo_sources
from snugfast.cli.options import HELD, options

if TYPE_CHECKING:
    from snugfast.usecases.mechanics.drag_test import DragDraft


@click.command()
@click.argument("car")
@click.option("--corner", default="", help="The wheel that was spun by hand: “front left”.")
@click.option("--times", default="", help="Seconds until it stood, several: 5.2,5.4,5.1")
@click.option("--turns", default="", help="Turns counted meanwhile, one for each time.")
@click.option("--wheel-mass", default="", help="Wheel and tyre, with --turns: 130g. Gives the drag itself.")
@click.option("--runs-free", is_flag=True, help="You took the drive shaft out: the wheel turns nothing else.")
@click.option("--push-roll", "length", default="", help="The marked length the car was rolled over: 3m.")
@click.option("--there", default="", help="Rolls one way: 2.1,2.2 or 2.9m/2.1s or 1.1+1.6 (halves).")
@click.option("--back", default="", help="As many rolls the other way.")
@click.option("--mesh-closed", is_flag=True, help="The motor was turned too; compared only with its like.")
@click.option("--baseline", is_flag=True, help="Compare later readings with these: parts were replaced.")
@click.option("--when", default="", help="When; now if left out.")
@options(*HELD)
@click.pass_obj
def drag(
    doorway: Doorway,
    car: str,
    corner: str,
    times: str,
    turns: str,
    wheel_mass: str,
    runs_free: bool,
    length: str,
    there: str,
    back: str,
    mesh_closed: bool,
    baseline: bool,
    when: str,
    yes: bool,
    as_json: bool,
) -> None:
    """Time a wheel spun by hand, or the car rolled both ways, against the car's own baseline.

    \b
    snugfast drag Bramble                                          how to, and what was timed before
    snugfast drag Bramble --corner “front left” --times 5.2,5.4,5.1 --runs-free
    snugfast drag Bramble --push-roll 3m --there 2.1,2.2,2.0 --back 2.3,2.2,2.3
    """
    from snugfast.usecases.mechanics.drag_test import RollSaid, SpinSaid, draft_roll, draft_spin

    workshop = doorway.open()
    if length:
        drafted = draft_roll(workshop, RollSaid(car, length, there, back, "", mesh_closed, baseline, when))
    elif corner or times:
        drafted = draft_spin(
            workshop, SpinSaid(car, corner, times, turns, wheel_mass, runs_free, baseline, when)
        )
    else:
        _before(doorway, car, as_json)
        return
    if as_json and not yes:
        print_json(drafted.result)
        raise NobodyAsked
    if not as_json:
        _tell(drafted)
    keep_after_echo(workshop, drafted.draft, yes=yes, as_json=as_json)


def _tell(drafted: DragDraft) -> None:
    result = drafted.result
    for sentence in result.sentences:
        click.echo(sentence)
    if result.checks:
        click.echo(f"Look here: {', '.join(name for _, name in result.checks)}")
    echo_cautions(result.cautions)
    echo_sources(result.sources)
    click.echo()


def _before(doorway: Doorway, car: str, as_json: bool) -> None:
    from snugfast.usecases.mechanics.drag_test import ROLL_STEPS, SPIN_STEPS, past_trials

    past = past_trials(doorway.open(), car)
    if as_json:
        print_json(past)
        return
    for head, steps in (("A wheel spun by hand", SPIN_STEPS), ("The car rolled both ways", ROLL_STEPS)):
        click.echo(head)
        for number, step in enumerate(steps, start=1):
            click.echo(f"  {number}. {step}")
    click.echo("Timed before" if past else "Nothing was timed on this car yet.")
    for one in past:
        anew = " (a baseline)" if one.fact.is_baseline else ""
        typed = "; ".join(reading.typed for reading in one.fact.readings)
        click.echo(f"  {one.at:%Y-%m-%d}  {one.fact.trial.value} {one.fact.spot}: {typed}{anew}")
