"""Answering the sheet: by number, many at once, or one check by its name."""

from __future__ import annotations

import dataclasses
import sys
from typing import TYPE_CHECKING, Any

import click

from snugfast.cli.doorway import Doorway, keep_after_echo
from snugfast.cli.options import HELD, options

if TYPE_CHECKING:
    from snugfast.usecases.shared.workshop import Workshop


@click.command()
@click.argument("words", nargs=-1, metavar="NUMBER ANSWER, … | CAR CHECK [ANSWER]...")
@click.option("--mode", default="", help="What failed, when the check looks at more than one thing.")
@click.option("--pack", default="", help="The pack, for a check that is done on one.")
@click.option("--min", "minutes", default="", help="Minutes it took.")
@click.option("--spent", default="", help="Money for parts, like 12.50.")
@click.option("--noticed", default="", help="Anything noticed.")
@click.option("--when", default="", help="When; now if left out.")
@options(*HELD)
@click.pass_obj
def found(doorway: Doorway, /, words: tuple[str, ...], yes: bool, as_json: bool, **said: Any) -> None:
    """Answer the sheet that was shown last, by its numbers, or one check by its name.

    \b
    snugfast found 18 loose front left, 23 cracked fixed, rest ok
    snugfast found 3-7 ok, 9 skipped
    snugfast found 1 replaced                         (a job of “Fix first”)
    snugfast found - < answers.txt                    (also piped in)
    snugfast found Bramble wheel_nuts “loose @ front left and rear left: fixed”

    Without “fixed” or “replaced” what you found counts as not fixed yet. “rest ok” says that you looked.
    """
    from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found

    workshop = doorway.open()
    text = _typed(words)
    if _by_number(workshop, text):
        _numbered(workshop, text, yes=yes, as_json=as_json)
        return
    if len(words) < 2:
        raise click.UsageError("Write a number and what you found, or a car and a check.")
    car, check, *answer = words
    draft = draft_found(workshop, FoundSaid(car, check, tuple(answer) or ("sound",), **said))
    keep_after_echo(workshop, draft, yes=yes, as_json=as_json)


def _typed(words: tuple[str, ...]) -> str:
    """The answers as they were typed, or as they come in by a pipe."""
    if words == ("-",) or (not words and not sys.stdin.isatty()):
        return sys.stdin.read()
    return " ".join(words)


def _by_number(workshop: Workshop, text: str) -> bool:
    """Whether these are answers by number: they begin with one, or with “rest”, and no car is called so."""
    from snugfast.usecases.shared.ledger import ledger_now

    first = text.strip().split()[0].strip(",:") if text.strip() else ""
    if not first[:1].isdecimal() and first.casefold() not in ("rest", "all"):
        return False
    with workshop.store.reading() as reads:
        return ledger_now(reads).car_named(first) is None


def _numbered(workshop: Workshop, text: str, *, yes: bool, as_json: bool) -> None:
    from snugfast.usecases.bench.numbered_answers import answers_by_number
    from snugfast.usecases.bench.shown import draft_sheet_done, keep_shown, the_shown

    made = answers_by_number(workshop, the_shown(workshop), text)
    if made.draft.entries:
        ended = draft_sheet_done(workshop, made.shown, made.draft.entries)
        draft = dataclasses.replace(made.draft, entries=(*made.draft.entries, *ended))
        keep_after_echo(workshop, draft, yes=yes, as_json=as_json)
    elif not as_json:
        for sentence in made.draft.echo:
            click.echo(sentence)
    keep_shown(workshop, made.shown)
