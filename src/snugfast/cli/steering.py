"""Steering at the bench: the job in order, end points kept by radio, and what measured lengths say."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, keep_after_echo, print_json, to_type
from snugfast.cli.figures import echo_cautions, echo_sources
from snugfast.cli.options import HELD, WHEN, options
from snugfast.core.errors import BadInput

if TYPE_CHECKING:
    from snugfast.usecases.chassis.steering_job import SteeringJob
    from snugfast.usecases.chassis.steering_sums import SteeringSums


@click.command()
@click.argument("car")
@click.option("--radio", default="", metavar="NAME", help="The radio the end points belong to: pistol.")
@click.option(
    "--left", default="", metavar="END", help="Left end point as the radio shows it: 92% or 1720us."
)
@click.option("--right", default="", metavar="END", help="Right end point.")
@click.option("--centre", default="", metavar="TRIM", help="Sub-trim, as the radio shows it.")
@click.option("--servo", "heard", default="", metavar="WORD", help="At full lock: quiet, fixed or hums.")
@click.option("--words", default="", help="Anything to remember.")
@WHEN
@click.option(
    "--length", "lengths", multiple=True, metavar="NAME=LENGTH", help="A measured length: horn=18mm."
)
@click.option(
    "--sums", is_flag=True, help="What the lengths say: angles, where it locks, end points, torque."
)
@click.option("--save-lengths", is_flag=True, help="Save the lengths given with --length for this car.")
@options(*HELD)
@click.pass_obj
def steering(
    doorway: Doorway,
    car: str,
    radio: str,
    left: str,
    right: str,
    centre: str,
    heard: str,
    words: str,
    when: str,
    lengths: tuple[str, ...],
    sums: bool,
    save_lengths: bool,
    yes: bool,
    as_json: bool,
) -> None:
    """Set steering end points at the bench, save them per radio, and see what the linkage can do.

    \b
    snugfast steering Bramble                    the job in order, what was set before, lengths to measure
    snugfast steering Bramble --radio pistol --left 92% --right 88% --servo quiet
    snugfast steering Bramble --length horn=18mm --length arm=22mm --save-lengths
    snugfast steering Bramble --sums
    """
    from snugfast.usecases.chassis.steering_job import (
        SteeringSaid,
        draft_lengths,
        draft_steering,
        steering_job,
    )
    from snugfast.usecases.chassis.steering_sums import steering_sums

    workshop = doorway.open()
    measured = dict(_named(length) for length in lengths)
    if left or right or heard:
        said = SteeringSaid(car, radio, left, right, centre, heard, (), words, when)
        keep_after_echo(workshop, draft_steering(workshop, said), yes=yes, as_json=as_json)
    elif save_lengths:
        keep_after_echo(workshop, draft_lengths(workshop, car, measured), yes=yes, as_json=as_json)
    elif sums or measured:
        _show_sums(steering_sums(workshop, car, measured), as_json)
    else:
        _show_job(steering_job(workshop, car), as_json)


def _named(length: str) -> tuple[str, str]:
    name, equals, value = length.partition("=")
    if not equals:
        raise BadInput(f"“{length}” names no length.", "Write it like horn=18mm.")
    return name.strip(), value.strip()


def _show_job(job: SteeringJob, as_json: bool) -> None:
    from snugfast.usecases.chassis.lengths import ALL

    if as_json:
        print_json({"job": job, "lengths": ALL})
        return
    click.echo(f"Steering of {job.car}, in order")
    for number, step in enumerate(job.steps, start=1):
        adults = " (adults only)" if step.adults_only else ""
        click.echo(f"\n{number}. {step.name}{adults}")
        click.echo(f"   {step.do}")
        click.echo(f"   Good: {step.good}")
        if step.bad:
            click.echo(f"   Bad:  {step.bad}")
        for caution in step.cautions:
            click.echo(f"   ! {caution.text}")
    echo_cautions(job.cautions)
    click.echo("\nSet before" if job.past.sets else "\nNo end points are saved for this car yet.")
    for one in job.past.sets:
        fact = one.fact
        heard = "quiet" if fact.quiet else "still hums"
        click.echo(
            f"  {one.at:%Y-%m-%d}  {fact.radio}: left {fact.left:g}, right {fact.right:g} {fact.unit.value}; "
            f"{heard}"
        )
    again = f"steering {job.car} --radio {job.radio or 'NAME'} --left 92% --right 88% --servo quiet"
    click.echo(f"\nSave them: {to_type(again)}")
    click.echo("\nLengths, for what the linkage can do (--length NAME=LENGTH, then --sums)")
    for measure in ALL:
        choices = f" ({', '.join(measure.choices)})" if measure.choices else ""
        known = job.past.measured.get(measure.key, "")
        click.echo(f"  {measure.key:<14} {measure.label}{choices}{f': {known}' if known else ''}")


def _show_sums(sums: SteeringSums, as_json: bool) -> None:
    if as_json:
        rows = [
            {
                "pulse_us": row.pulse_us,
                "left_rad": row.steered.left_rad,
                "right_rad": row.steered.right_rad,
                "ideal_outer_rad": row.ideal_outer_rad,
                "error_rad": row.error_rad,
                "ackermann_percent": row.percent,
                "transmission_rad": row.steered.transmission_rad,
            }
            for row in sums.rows
        ]
        ends = [
            {
                "side": one.side,
                "pulse": one.pulse,
                "percent": one.percent,
                "first": one.first,
                "met": [{"what": stop, "at": at} for stop, at in one.met],
            }
            for one in sums.ends
        ]
        print_json(
            {
                "car": sums.car,
                "lengths": sums.measured,
                "ends": ends,
                "rows": rows,
                "torque": sums.torque,
                "stalled": sums.stalled,
                "notes": sums.notes,
                "set_now": sums.set_now,
            }
        )
        return
    from snugfast.usecases.shared.citing import tell_to

    click.echo(f"Steering of {sums.car}, from its lengths")
    for advice in sums.ends:
        click.echo(f"  {advice.sentence}")
        click.echo(f"    {tell_to(advice.pulse)} with each length read to half a millimetre")
        for stop, at in advice.met:
            click.echo(f"    {at.value:.0f} µs: {stop.value}")
    for line in (*sums.set_now, *sums.notes):
        click.echo(f"  {line}")
    if sums.torque is not None:
        click.echo(f"  {sums.torque.sentence}")
    click.echo(f"  Stalled for two seconds, the servo’s motor warms by {tell_to(sums.stalled, 1)}.")
    click.echo("\n    µs   left  right  ideal outer  error  Ackermann  rod to arm")
    for row in sums.rows:
        angles = (row.steered.left_rad, row.steered.right_rad, row.ideal_outer_rad, row.error_rad)
        left, right, ideal, error = (round(math.degrees(angle), 1) + 0.0 for angle in angles)
        click.echo(
            f"  {row.pulse_us:4.0f} {left:6.1f} {right:6.1f} {ideal:12.1f} {error:6.1f} {row.percent:8.0f} % "
            f"{math.degrees(row.steered.transmission_rad):9.0f}°"
        )
    echo_cautions(sums.cautions)
    echo_sources(sums.sources)
