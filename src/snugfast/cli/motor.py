"""A motor at the bench, against its own earlier readings."""

from __future__ import annotations

from typing import Any

import click

from snugfast.cli.doorway import Doorway, NobodyAsked, keep_after_echo, print_json
from snugfast.cli.figures import echo_cautions, echo_guide, echo_sources
from snugfast.cli.options import HELD, options


@click.command()
@click.argument("car")
@click.option("--volts", default="", help="Without load: the volts it ran on, 7.4V.")
@click.option("--rpm", default="", help="Without load: its speed, 19500.")
@click.option("--no-load", default="", help="Without load: its current, 3.2A.")
@click.option("--drill-rpm", default="", help="Spun by a drill: 1000 counted, or “label 1000”.")
@click.option("--pairs", default="", help="Spun: a.c. volts between the pairs of wires, 0.270,0.268,0.271.")
@click.option("--ohms", default="", help="Four-wire milliohms between the pairs: 12.0,12.1,12.0.")
@click.option("--warm", default="", help="How warm the winding was; 20 °C if left out.")
@click.option("--baseline", is_flag=True, help="Hold later readings against these.")
@click.option("--when", default="", help="When; now if left out.")
@options(*HELD)
@click.pass_obj
def motor(doorway: Doorway, /, car: str, yes: bool, as_json: bool, **said: Any) -> None:
    """Whether the motor is weak: rpm per volt, windings, current without load.

    With no readings: how to take them, and what was read before.

    \b
    snugfast motor Bramble
    snugfast motor Bramble --drill-rpm 1000 --pairs 0.270,0.268,0.271
    snugfast motor Bramble --volts 7.4V --rpm 19500 --no-load 3.2A
    """
    from snugfast.usecases.leads.motor_bench import (
        MotorSaid,
        draft_motor,
        motor_guides,
        past_motor,
        told_lines,
    )

    workshop = doorway.open()
    asked = MotorSaid(car, **said)
    if not any((asked.volts, asked.rpm, asked.no_load, asked.drill_rpm, asked.pairs, asked.ohms)):
        past = past_motor(workshop, car)
        if as_json:
            print_json(past)
            return
        for job in motor_guides(workshop):
            echo_guide(job)
        click.echo("\nRead before" if past else "\nNothing was read of this motor yet.")
        for one in past:
            click.echo(f"  {one.at:%Y-%m-%d}  {one.told}{' (a baseline)' if one.is_baseline else ''}")
        return
    drafted = draft_motor(workshop, asked)
    if as_json and not yes:
        print_json(drafted.result)
        raise NobodyAsked
    if not as_json:
        for line in told_lines(drafted.result):
            click.echo(line)
        echo_cautions(drafted.result.cautions)
        echo_sources(drafted.result.sources)
        click.echo()
    keep_after_echo(workshop, drafted.draft, yes=yes, as_json=as_json)
