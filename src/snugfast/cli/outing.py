"""A day out in one command: what ran, with which packs, how long; saved with undo, then what it means now."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, print_json, to_type
from snugfast.cli.options import JSON, WHEN, options, refuse_unknown_options

if TYPE_CHECKING:
    from snugfast.records.entries import Entry, Ran
    from snugfast.usecases.bench.needs import Need
    from snugfast.usecases.shared.workshop import Workshop


@click.command(context_settings={"ignore_unknown_options": True})  # so that “-5” is read as a number
@click.argument("words", nargs=-1, required=True, metavar="CAR [PACK]... [MINUTES] [WORDS] [CAR ...]")
@click.option("--air", default="", metavar="DEGREES", help="The air, like 14 or “14 °C”.")
@click.option("--reading", "readings", multiple=True, help="“Bramble: motor can 68 °C 20 s”.")
@options(WHEN, JSON)
@click.pass_obj
def outing(
    doorway: Doorway,
    words: tuple[str, ...],
    air: str,
    readings: tuple[str, ...],
    when: str,
    as_json: bool,
) -> None:
    """Log a day out: every car with its packs, one after another. It is saved at once; undo takes it back.

    \b
    snugfast outing Bramble “Ember 4” “Ember 2” 14 many Thistle “Cinder 2” 10 gravel mud
    snugfast outing Bramble:“Ember 1+Ember 2” 12         (two packs together, as in ran)
    snugfast outing Bramble 14 hot “broke wheel nut front left” rocks
    snugfast outing Bramble                              (minutes and ground as last time)

    After a car come its packs, the minutes of each, hits (none, few, many, “3 hits”), what you noticed
    (noise, pulls, slow, hot, “cut out”, lost) and what broke. Ground and wet hold for the whole outing.
    """
    from snugfast.usecases.bench.after_outing import needs_after
    from snugfast.usecases.journal.forms import keep_form
    from snugfast.usecases.journal.outing import draft_outing
    from snugfast.usecases.journal.outing_words import read_outing, with_readings
    from snugfast.usecases.shared.ledger import ledger_now

    refuse_unknown_options(words)
    workshop = doorway.open()
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    said = read_outing(workshop.facts, ledger, words, air=air, when=when, id=workshop.new_id())
    draft = draft_outing(workshop, with_readings(said, readings))
    kept = keep_form(workshop, draft.entries)
    needs = needs_after(workshop, _runs(draft.entries))
    if as_json:
        from snugfast.usecases.shared.telling import mark_of

        marks = [mark_of(entry.id) for entry in draft.entries]
        now = [{"what": one.what, "why": one.why, "by": one.by} for one in needs]
        print_json({"kept": kept.new, "told": kept.told, "marks": marks, "now": now})
        return
    for sentence in draft.echo:
        click.echo(sentence)
    click.echo(f"Saved. Undo: {to_type('undo')}")
    for line in _now(workshop, needs, [car.car for car in said.cars]):
        click.echo(line)


def _runs(entries: Sequence[Entry]) -> list[Ran]:
    from snugfast.records.entries import Ran

    return [entry.fact for entry in entries if isinstance(entry.fact, Ran)]


def _now(workshop: Workshop, needs: Sequence[Need], cars: Sequence[str]) -> Iterator[str]:
    """What it means now, and what to type next."""
    import shlex
    from textwrap import fill

    yield ""
    yield "What it means now:" if needs else "Nothing that cannot wait."
    for one in needs:
        sign = "!!" if one.rank < 2 else " ·"
        what = f"{one.what.rstrip('.')}, {one.by}" if one.by else one.what
        said = (f"{part.rstrip('.')}." for part in (what, one.why) if part)
        text = " ".join(said)
        yield fill(f"{sign} {text}", 80, subsequent_indent="   ")
        if one.at_once:
            for caution in one.cautions:
                yield fill(f"   ⚠ {caution.text}", 80, subsequent_indent="     ")
    named = " ".join(shlex.quote(car) for car in dict.fromkeys(cars))
    yield f"Next: {to_type(f'sheet {named}')}"
