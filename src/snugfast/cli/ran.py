"""Logging runs: in full, in short, in bulk; correcting one; something broken off the track."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from snugfast.cli.doorway import Doorway, keep_after_echo
from snugfast.cli.options import HELD, options, refuse_unknown_options
from snugfast.core.errors import BadInput

if TYPE_CHECKING:
    from snugfast.usecases.journal.run_log import RunSaid
    from snugfast.usecases.shared.workshop import Workshop

F = TypeVar("F", bound=Callable[..., Any])


def run_options(command: F) -> F:
    """The options that tell a run, for logging it and for correcting it."""
    options = [
        click.option("--min", "minutes", metavar="MINUTES", help="12, or “about 12”."),
        click.option("--when", metavar="TIME", help="14:30, yesterday, 2026-05-03 14:30, “about May”."),
        click.option("--ground", help="tarmac, carpet, grass, dirt, gravel, sand, rocks."),
        click.option("--wet", help="dry, damp, fresh water, mud, salt water."),
        click.option("--hits", help="Hard hits: none, a few, many or a number."),
        click.option("--ambient", metavar="DEGREES", help="The air, like 14 or “14 °C”."),
        click.option("--put-back", metavar="CHARGE", help="Charge put back afterwards, like “4200 mAh”."),
        click.option(
            "--reading", "readings", multiple=True, help="“motor can 68 °C 20 s” (seconds after stopping)."
        ),
        click.option("--noticed", multiple=True, help="Anything noticed."),
        click.option(
            "--broke", "broken", multiple=True, help="“wheel nut @ front left: replaced”, or unknown."
        ),
        *HELD,
    ]
    for option in reversed(options):
        command = option(command)
    return command


@click.command(context_settings={"ignore_unknown_options": True})  # so that “-5” is read as a number
@click.argument("words", nargs=-1, required=True, metavar="CAR [PACK]... [MINUTES] [WORDS]")
@run_options
@click.pass_obj
def ran(doorway: Doorway, /, words: tuple[str, ...], yes: bool, as_json: bool, **said: Any) -> None:
    """Log a run of one or more cars.

    In short: snugfast ran Bramble “Ember 1” 12 min gravel mud 3 hits

    Two packs at once: snugfast ran Bramble:“Ember 1+Ember 2” 12

    In full: snugfast ran Bramble:“Ember 1” --min 12 --ground gravel --wet mud --hits 3
    --reading “motor can 68 °C 20 s” --broke “wheel nut @ front left”
    """
    from snugfast.usecases.journal.run_log import RunSaid, draft_runs

    refuse_unknown_options(words)
    workshop = doorway.open()
    cars, short = _sorted_words(workshop, words)
    if not cars:
        raise BadInput("No car was named.", "Name it before the minutes, with its pack: Bramble:“Ember 1” 12")
    told = {**short, **_said(said)}
    _refuse_twice(short, told)
    runs = tuple(RunSaid(car=car, packs=packs, **told) for car, packs in cars)
    keep_after_echo(workshop, draft_runs(workshop, runs), yes=yes, as_json=as_json)


@click.command()
@click.argument("mark")
@click.option("--car", help="The right car.")
@click.option("--pack", "packs", multiple=True, help="The right packs.")
@run_options
@click.pass_obj
def correct(
    doorway: Doorway,
    /,
    mark: str,
    car: str | None,
    packs: tuple[str, ...],
    yes: bool,
    as_json: bool,
    **said: Any,
) -> None:
    """Correct a run by its mark in the journal: name only what was wrong."""
    from snugfast.usecases.journal.marks import entry_marked, newest_version, said_again
    from snugfast.usecases.journal.run_log import draft_runs
    from snugfast.usecases.shared.ledger import ledger_now

    workshop = doorway.open()
    entry = newest_version(workshop, entry_marked(workshop, mark))
    with workshop.store.reading() as reads:
        before = said_again(entry, workshop.facts, ledger_now(reads))
    changes = _said(said)
    if car is not None:
        changes["car"] = car
    if packs:
        changes["packs"] = packs
    after: RunSaid = dataclasses.replace(before, **changes)
    keep_after_echo(workshop, draft_runs(workshop, (after,), replaces=entry), yes=yes, as_json=as_json)


@click.command("caught-up", context_settings={"ignore_unknown_options": True})
@click.argument("car")
@click.argument("packs")
@click.option("--since", required=True, help="When it began: “about May”, 2026-05-03.")
@click.option("--until", default="", help="When it ended; now if left out.")
@click.option("--wet-packs", default="", help="How many of them were wet.")
@click.option("--wet", default="", help="How wet those were; fresh water if left out.")
@click.option(
    "--min-each", "minutes_each", default="", help="Minutes a pack; the car's own average if left out."
)
@click.option("--hits", default="", help="Hard hits in all: none, a few, many or a number.")
@click.option("--ground", default="", help="What was driven on most of the time.")
@options(*HELD)
@click.pass_obj
def caught_up(doorway: Doorway, /, yes: bool, as_json: bool, **said: Any) -> None:
    """Log running remembered in bulk.

    snugfast caught-up Bramble “about six” --since “about May” --wet-packs one
    """
    from snugfast.usecases.journal.run_log import CatchUpSaid, draft_catch_up

    workshop = doorway.open()
    keep_after_echo(workshop, draft_catch_up(workshop, CatchUpSaid(**said)), yes=yes, as_json=as_json)


@click.command()
@click.argument("car")
@click.argument("what")
@click.option("--pack", default="", help="The pack, if it is one that broke.")
@click.option("--when", default="", help="When it was found.")
@click.option("--min", "minutes", default="", help="Minutes the repair took.")
@click.option("--spent", default="", help="Money for parts, like 12.50.")
@options(*HELD)
@click.pass_obj
def broke(doorway: Doorway, /, car: str, what: str, yes: bool, as_json: bool, **said: Any) -> None:
    """Log something found broken off the track: snugfast broke Bramble “arm @ front left: replaced”

    A pack is named after the @: snugfast broke Bramble “pack lead torn @ Ember 1: left as it is”
    """
    from snugfast.usecases.journal.run_log import draft_broke

    workshop = doorway.open()
    keep_after_echo(workshop, draft_broke(workshop, car, what, **said), yes=yes, as_json=as_json)


def _said(options: dict[str, Any]) -> dict[str, Any]:
    """What was really said, under the names a run is told in."""
    named = {("broke" if key == "broken" else key): value for key, value in options.items()}
    return {key: value for key, value in named.items() if value not in (None, ())}


def _refuse_twice(short: dict[str, str], told: dict[str, Any]) -> None:
    """What was said in short and again as an option, differently, is asked back."""
    for name, word in short.items():
        if told[name] != word:
            raise BadInput(f"{name}: both “{word}” and “{told[name]}” were said.", "Say one of them.")


def _sorted_words(
    workshop: Workshop, words: tuple[str, ...]
) -> tuple[list[tuple[str, tuple[str, ...]]], dict[str, str]]:
    """The cars with their packs, and the short words: minutes, ground, wet, hits."""
    from snugfast.usecases.journal.run_words import run_words
    from snugfast.usecases.shared.ledger import ledger_now
    from snugfast.usecases.shared.lookup import cars_here, packs_here

    known = run_words(workshop.facts)
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    packs = {pack.name.casefold(): pack.name for pack in packs_here(ledger)}
    names = (*packs, *(car.name.casefold() for car in cars_here(ledger)))
    cars: list[tuple[str, tuple[str, ...]]] = []
    short: dict[str, str] = {}
    for word in known.joined(words, names):
        plain = word.strip().casefold()
        if ":" in word:
            car, _, named = word.partition(":")
            cars.append((car, tuple(pack for pack in named.split("+") if pack.strip())))
        elif cars and plain in packs:
            cars[-1] = (cars[-1][0], (*cars[-1][1], packs[plain]))
        elif hits := known.hits(plain):
            short["hits"] = hits
        elif known.is_minutes(plain):
            if "minutes" in short:
                raise BadInput(
                    f"Both “{short['minutes']}” and “{word}” look like minutes.", "Hits are “3 hits”."
                )
            short["minutes"] = word
        elif ground := known.ground(plain):
            short["ground"] = ground
        elif wet := known.wet(plain):
            short["wet"] = wet
        elif cars and short:
            raise BadInput(
                f"“{word}” is no pack, no ground, no wet and no word for hits.", known.nearest(plain, packs)
            )
        else:
            cars.append((word, ()))
    return cars, short
