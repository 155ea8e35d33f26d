"""Answering a check."""

from __future__ import annotations

from typing import Any

import click

from snugfast.cli.doorway import Doorway, keep_after_echo
from snugfast.cli.options import HELD, options


@click.command()
@click.argument("car")
@click.argument("check")
@click.argument("words", nargs=-1, metavar="ANSWER...")
@click.option("--mode", default="", help="What failed, when the check looks at more than one thing.")
@click.option("--pack", default="", help="The pack, for a check that is done on one.")
@click.option("--min", "minutes", default="", help="Minutes it took.")
@click.option("--spent", default="", help="Money for parts, like 12.50.")
@click.option("--noticed", default="", help="Anything noticed.")
@click.option("--when", default="", help="When; now when not said.")
@options(*HELD)
@click.pass_obj
def found(doorway: Doorway, /, words: tuple[str, ...], yes: bool, as_json: bool, **said: Any) -> None:
    """Answer a check of the sheet.

    \b
    snugfast found Bramble wheel_nuts sound
    snugfast found Bramble wheel_nuts “loose @ front left and rear left”
    snugfast found Bramble wheel_nuts “failed @ rear right: renewed” --spent 4.80
    snugfast found Bramble wheel_nuts ticked        (without looking: counts for less)
    """
    from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found

    workshop = doorway.open()
    draft = draft_found(workshop, FoundSaid(words=words or ("sound",), **said))
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)
