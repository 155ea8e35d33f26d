"""The radio of a car: tests kept, model memories, learner limits, the first power-up."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json, to_type
from snugfast.cli.figures import echo_cautions
from snugfast.cli.options import HELD, WHEN, options

if TYPE_CHECKING:
    from snugfast.usecases.chassis.radio import RadioRecord


@click.command()
@click.argument("car")
@click.option("--radio", "name", default="", metavar="NAME", help="Which radio: pistol.")
@click.option(
    "--off", "when_off", default="", help="Transmitter off, the motor: stopped, late, drove on, jumped."
)
@click.option("--receiver", default="", help="The receiver in the car.")
@click.option(
    "--range", "walked", default="", metavar="METRES", help="Range walk: how far the steering followed."
)
@click.option("--twitched", is_flag=True, help="It twitched or froze at that distance.")
@click.option("--batteries", "cells", default="", metavar="VOLTS", help="Of the transmitter: 5.6V.")
@click.option("--model", default="", help="The model memory of this car on that radio.")
@click.option(
    "--learner-throttle", "throttle", default="", metavar="PERCENT", help="Limit when a learner drives: 40%."
)
@click.option(
    "--learner-rate", "rate", default="", metavar="PERCENT", help="Limit of the steering rate: 70%."
)
@click.option("--words", default="", help="Anything to remember.")
@WHEN
@options(*HELD)
@click.pass_obj
def radio(
    doorway: Doorway,
    car: str,
    name: str,
    when_off: str,
    receiver: str,
    walked: str,
    twitched: bool,
    cells: str,
    model: str,
    throttle: str,
    rate: str,
    words: str,
    when: str,
    yes: bool,
    as_json: bool,
) -> None:
    """See and save how the radio was tested: failsafe, range, model memory, limits for a learner.

    \b
    snugfast radio Bramble                        what was tested, and the first power-up in order
    snugfast radio Bramble --radio pistol --off stopped --receiver “three channels” --range 60m
    snugfast radio Bramble --radio pistol --learner-throttle 40% --learner-rate 70%
    """
    from snugfast.usecases.chassis.radio import (
        LimitsSaid,
        RadioSaid,
        draft_limits,
        draft_radio,
        radio_record,
    )

    workshop = doorway.open()
    if throttle or rate:
        draft = draft_limits(workshop, LimitsSaid(car, name, throttle, rate, words))
        keep_after_echo(workshop, draft, yes=yes, as_json=as_json)
    elif any((when_off, walked, cells, model)):
        said = RadioSaid(car, name, receiver, model, when_off, walked, twitched, cells, words, when)
        keep_after_echo(workshop, draft_radio(workshop, said), yes=yes, as_json=as_json)
    else:
        _show(radio_record(workshop, car), as_json)


def _show(record: RadioRecord, as_json: bool) -> None:
    if as_json:
        print_json(record)
        return
    click.echo(f"Radio of {record.car}")
    click.echo(f"  Failsafe: {record.failsafe}")
    if record.range:
        click.echo(f"  Range walk: {record.range}")
    if record.limits_words:
        click.echo(f"  Learner limits: {record.limits_words}")
    for radio, cars in record.memories:
        click.echo(f"\nOn {radio}")
        for memory in cars:
            told = ", ".join(filter(None, (memory.model and f"memory {memory.model}", memory.limits)))
            click.echo(f"  {memory.car}{f': {told}' if told else ''}")
    click.echo("\nFirst power-up after work on the receiver")
    for number, step in enumerate(record.power_up, start=1):
        click.echo(f"  {number}. {step.name}. {step.do}")
    click.echo("\nBefore a child drives (adults only)")
    if record.limits_words:
        click.echo(f"  Set: {record.limits_words}")
    for line in record.before_a_child:
        click.echo(f"  {line}")
    echo_cautions((*record.cautions, *(one for one in record.child_cautions if one not in record.cautions)))
    again = f"radio {record.car} --radio {record.radio or 'NAME'} --off stopped --range 60m"
    click.echo(f"\nSave a test: {to_type(again)}")
