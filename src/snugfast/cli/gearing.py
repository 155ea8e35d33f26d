"""The gearing study, and the short questions about gearing."""

from __future__ import annotations

import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event
from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, print_json
from snugfast.cli.options import JSON

if TYPE_CHECKING:
    from snugfast.usecases.shared.workshop import Workshop
    from snugfast.usecases.twin.how_to_run import HowToRun


@click.command()
@click.argument("car")
@click.option("--style", default="", help="How it is driven; the usual of such a car if left out.")
@click.option("--ground", default="", help="What it is driven on; the style's own if left out.")
@click.option("--pinions", default="", metavar="TEETH", help="12-20, or 13,15,17; those around today's.")
@click.option("--spurs", default="", metavar="TEETH", help="Other spur gears to try, the same way.")
@click.option("--tyre", default="", help="On tyres of another size: 135mm.")
@click.option("--ambient", default="", help="How warm the air is: 25C.")
@click.option("--pack", default="", metavar="NAME", help="A pack of the workshop; the last one used.")
@click.option("--to", default="", metavar="SPEED", help="The speed whose time is wanted: 30km/h.")
@click.option("--internal", default="", metavar="RATIO", help="Turns of the spur gear for one of a wheel.")
@click.option("--rung", default="", metavar="TEETH", help="Curves of this pinion (17) or pair (17/54).")
@click.option("--bigger-tyre", default="", metavar="SIZE", help="The pinion that other tyres ask for.")
@click.option("--passes", is_flag=True, help="Full-speed passes until something is hot, and the pause.")
@click.option("--fan-stopped", is_flag=True, help="How long the ESC lasts without its fan.")
@click.option("--one-tooth", is_flag=True, help="One tooth up and down, a sentence each.")
@click.option("--learner", default="", metavar="SPEED", help="The throttle limit for a learner: 15km/h.")
@click.option("--fit", is_flag=True, help="Fit the car model to what you read in your runs.")
@JSON
@click.pass_obj
def gearing(
    doorway: Doorway,
    /,
    car: str,
    rung: str,
    bigger_tyre: str,
    passes: bool,
    fan_stopped: bool,
    one_tooth: bool,
    learner: str,
    fit: bool,
    as_json: bool,
    **said: str,
) -> None:
    """What each gearing does to speed, heat and run time, on your car, ground and pack.

    \b
    snugfast gearing Bramble
    snugfast gearing Bramble --style tarmac_laps --pinions 12-20 --rung 17
    snugfast gearing Bramble --bigger-tyre 135mm
    snugfast gearing Bramble --passes --pinions 22
    snugfast gearing Bramble --fan-stopped --ambient 32C
    snugfast gearing Bramble --learner 15km/h
    snugfast gearing Bramble --fit
    """
    _one_question(bigger_tyre, passes, fan_stopped, one_tooth, learner, fit)
    workshop = doorway.open()
    with _study() as how:
        answer, lines = _answer(
            workshop,
            how,
            {"car": car, **said},
            rung,
            {
                "bigger_tyre": bigger_tyre,
                "passes": passes,
                "fan_stopped": fan_stopped,
                "one_tooth": one_tooth,
                "learner": learner,
                "fit": fit,
            },
        )
    if as_json:
        print_json(answer)
        return
    for line in lines:
        click.echo(line)


def _one_question(*asked: object) -> None:
    if sum(bool(one) for one in asked) > 1:
        from snugfast.core.errors import BadInput

        raise BadInput(
            "These are several questions at once.",
            "Ask one of --bigger-tyre, --passes, --fan-stopped, --one-tooth, --learner, --fit.",
        )


def _answer(
    workshop: Workshop, how: HowToRun, said: dict[str, str], rung: str, asked: dict[str, Any]
) -> tuple[object, list[str]]:
    """The answer to the question that was asked, and its lines."""
    from snugfast.cli import gearing_text as text
    from snugfast.usecases.gearing import questions
    from snugfast.usecases.gearing.said import GearingSaid
    from snugfast.usecases.gearing.study import gearing_study
    from snugfast.usecases.twin.fitting import fit_twin

    question = GearingSaid(**said)
    if asked["bigger_tyre"]:
        tyre = questions.ask_bigger_tyre(workshop, question, asked["bigger_tyre"], how)
        return tyre, text.tyre_lines(tyre)
    if asked["passes"]:
        passes = questions.ask_passes(workshop, question, how)
        return passes, text.passes_lines(passes)
    if asked["fan_stopped"]:
        fan = questions.ask_fan_stopped(workshop, question, how)
        return fan, text.fan_lines(fan)
    if asked["learner"]:
        learner = questions.ask_learner(workshop, question, asked["learner"])
        return learner, text.learner_lines(learner)
    if asked["fit"]:
        fitted = fit_twin(workshop, question.car, how=how)
        return fitted, text.fit_lines(fitted, workshop.zone)
    study = gearing_study(workshop, question, rung=rung, how=how)
    if asked["one_tooth"]:
        return study.one_tooth, text.one_tooth_lines(study)
    return study, text.study_lines(study, curves=bool(rung))


@contextmanager
def _study() -> Iterator[HowToRun]:
    """Threads, a line of progress where somebody watches, and Ctrl-C that lets what is done be said."""
    from snugfast.app.kernel_cache import threads

    stop = Event()

    def asked_to_stop(*_: object) -> None:
        if stop.is_set():
            raise KeyboardInterrupt
        stop.set()

    before = signal.signal(signal.SIGINT, asked_to_stop)
    watched = sys.stderr.isatty()

    def progress(share: float) -> None:
        click.echo(f"\r{share * 100:3.0f} % driven", nl=False, err=True)

    try:
        with threads() as executor:
            from snugfast.usecases.twin.how_to_run import HowToRun

            yield HowToRun(executor, progress if watched else None, stop.is_set)
    finally:
        signal.signal(signal.SIGINT, before)
        if watched:
            click.echo("\r               \r", nl=False, err=True)
