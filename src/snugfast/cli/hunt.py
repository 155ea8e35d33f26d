"""A car that let its owner down: the fault hunt, key by key, or with answers piped in."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, print_json, to_type
from snugfast.cli.options import JSON, options

if TYPE_CHECKING:
    from collections.abc import Iterator

    from snugfast.usecases.hunt.cards import Mending, TestCard
    from snugfast.usecases.hunt.hunt import HuntView
    from snugfast.usecases.shared.workshop import Workshop

KEYS = "t can’t tell   c can’t do here   u undo   ? how likely   g give up   q put it down"
BAR = 20
ADULTS = " (adults only)"


@click.command()
@click.argument("car")
@click.option(
    "--does", multiple=True, metavar="WORDS", help="What it does, by number or in words; may repeat."
)
@click.option("--pack", default="", help="The battery that was in it, when it is not the only one.")
@click.option("--anew", is_flag=True, help="Give up the hunt that was put down and begin another one.")
@options(JSON)
@click.pass_obj
def hunt(doorway: Doorway, /, car: str, does: tuple[str, ...], pack: str, anew: bool, as_json: bool) -> None:
    """Find out why a car stopped or runs badly: the next thing to try, until the cause is found.

    \b
    snugfast hunt Bramble                             asks what it does, then goes on key by key
    snugfast hunt Bramble --does “no drive”
    printf '1\\n2\\n' | snugfast hunt Bramble --does slow  (answers piped in, a line each)
    snugfast hunt Bramble --json                      where the open hunt stands, as plain data

    Each answer is saved at once. Put it down with q; the same command takes it up again.
    Smoke or smell: battery out, outdoors, nothing else until it is cold.
    """
    from snugfast.usecases.hunt.answering import begin, give_up
    from snugfast.usecases.hunt.hunt import hunt_view

    workshop = doorway.open()
    view = hunt_view(workshop, car)
    if view is not None and anew:
        give_up(workshop, view.entry)
        view = None
    if view is None:
        words = does or (() if as_json else _ask_symptoms(workshop))
        if not words:
            _no_hunt(workshop, as_json)
            return
        view = begin(workshop, car, words, pack=pack)
    elif does:
        click.echo("A hunt of this car is open; going on with it. To begin another one: --anew", err=True)
    if as_json and sys.stdin.isatty():
        print_json(view)
        return
    _Walking(workshop, as_json).walk(view)


def _no_hunt(workshop: Workshop, as_json: bool) -> None:
    if as_json:
        known = [{"key": one.key, "name": one.name} for one in workshop.facts.hunt_symptoms.values()]
        print_json({"hunt": None, "symptoms": known})
    else:
        click.echo("Nothing was chosen, and nothing was saved.")


def _ask_symptoms(workshop: Workshop) -> tuple[str, ...]:
    click.echo("What does it do?")
    for number, symptom in enumerate(workshop.facts.hunt_symptoms.values(), start=1):
        click.echo(f"{number:>3} {symptom.name}")
    said = _line("By number or in words, several parted by commas: ")
    return tuple(word.strip() for word in said.split(",") if word.strip())


class _Walking:
    """One walk through a hunt."""

    def __init__(self, workshop: Workshop, as_json: bool) -> None:
        self.workshop = workshop
        self.quiet = as_json

    def walk(self, view: HuntView) -> None:
        from snugfast.cli.ways_out import tell_refusal
        from snugfast.core.errors import SnugfastError
        from snugfast.usecases.hunt.answering import is_over

        self._say(_head(view))
        while not is_over(view):
            self._say(_now(view))
            try:
                further = self._ask(view)
            except SnugfastError as refused:
                if not sys.stdin.isatty():
                    raise
                tell_refusal(refused)
                continue
            if further is None:
                if self.quiet:
                    print_json(view)
                else:
                    click.echo(
                        f"Put down; everything so far is saved. Next: {to_type(f'hunt {view.car_name}')}"
                    )
                return
            view = further
        if self.quiet:
            print_json(view)
        else:
            for line in _ended(view):
                click.echo(line)

    def _say(self, lines: Iterator[str]) -> None:
        for line in lines if not self.quiet else ():
            click.echo(line)

    def _ask(self, view: HuntView) -> HuntView | None:
        """The hunt after one answer; None to put it down."""
        from snugfast.usecases.hunt.answering import give_up, take_back

        while True:
            said = _line("> ", quiet=self.quiet)
            if not said or said.strip().casefold() == "q":
                return None
            match said.strip().casefold():
                case "":
                    continue
                case "u":
                    return take_back(self.workshop, view.entry)
                case "g":
                    return give_up(self.workshop, view.entry)
                case "?":
                    self._say(_likely(view))
                    continue
                case key:
                    further = self._answer(view, key)
                    if further is not None:
                        return further
                    if not sys.stdin.isatty():
                        raise click.UsageError(f"“{said.strip()}” is no answer here. {KEYS}")
                    click.echo(KEYS)

    def _answer(self, view: HuntView, key: str) -> HuntView | None:
        from snugfast.records.entries import HuntSaid
        from snugfast.usecases.hunt.answering import answer_test

        if view.test is None:
            return self._mended(view, key) if view.mending else None
        if key in ("t", "c"):
            aside = HuntSaid.CANNOT_TELL if key == "t" else HuntSaid.CANNOT_DO
            return answer_test(self.workshop, view.entry, view.test.key, aside)
        if key.isdecimal() and 1 <= int(key) <= len(view.test.answers):
            chosen = view.test.answers[int(key) - 1]
            return answer_test(self.workshop, view.entry, view.test.key, chosen.said, chosen.word)
        return None

    def _mended(self, view: HuntView, key: str) -> HuntView | None:
        from snugfast.records.entries import Done, HuntSaid
        from snugfast.usecases.hunt.answering import Ended, answer_cause, found

        assert view.mending is not None
        cause, seen = view.mending.cause, view.entry
        word, _, at = key.partition("@")
        at = next((one for one in view.mending.at if one.casefold() == at.strip()), at.strip())
        match word.strip():
            case "1":
                return found(self.workshop, seen, cause, Ended(Done.PUT_RIGHT, at=at))
            case "2":
                return found(self.workshop, seen, cause, Ended(Done.RENEWED, at=at))
            case "3":
                return found(self.workshop, seen, cause, Ended(Done.LEFT, at=at))
            case "4" if view.mending.temporary:
                return found(self.workshop, seen, cause, Ended(Done.LEFT, temporary=True, at=at))
            case "5":
                return answer_cause(self.workshop, seen, cause, HuntSaid.NOT_IT)
            case "6":
                return answer_cause(self.workshop, seen, cause, HuntSaid.NOT_CURED)
            case _:
                return None


def _head(view: HuntView) -> Iterator[str]:
    yield f"{view.car_name}: {'; '.join(view.symptoms)}"
    if view.told:
        yield f"Going on after {len(view.told)} answers."
    for caution in view.cautions:
        yield f"  ! {caution.text}"


def _now(view: HuntView) -> Iterator[str]:
    if view.stopped:
        yield "\nSTOP. Battery out, car outdoors. Nothing is plugged in again in this hunt."
    if view.test is not None:
        yield from _test(view.test, view.minutes_ahead)
    elif view.mending is not None:
        yield from _mending(view.mending)
        yield from _likely(view)
    else:
        yield "\nNot in the list: none of the causes known here fits what you found."
        yield "Carry it home, and ask somebody who repairs such cars. g ends the hunt, u undoes an answer."


def _test(test: TestCard, ahead: float) -> Iterator[str]:
    yield f"\n{test.name} · {test.where} · about {max(1, round(60 * test.minutes / 10)) * 10} s"
    if test.opens:
        yield f"   First: {', '.join(test.opens)}."
    for caution in test.cautions:
        yield f"   ! {caution.short}{ADULTS if caution.adults_only else ''}"
    for step in test.steps:
        yield f"   {step}"
    for number, answer in enumerate(test.answers, start=1):
        yield f"{number:>3} {answer.word}{f'   → {answer.means}' if answer.means else ''}"
    yield f"    {KEYS}" if not test.until_good else "    g give up   q put it down"


def _mending(mending: Mending) -> Iterator[str]:
    yield f"\n{mending.how_sure} ({mending.chance.value * 100:.0f} %)."
    yield f"   {mending.mend}"
    for caution in mending.cautions:
        yield f"   ! {caution.short}{ADULTS if caution.adults_only else ''}"
    if mending.check_name:
        yield f"   How: {mending.check_name}"
    for step in mending.steps:
        yield f"     {step}"
    for label, text in (
        ("Tools", ", ".join(mending.tools)),
        ("How tight", mending.how_tight),
        ("Thread-lock", mending.thread_lock),
        ("Parts", "; ".join(f"{one.name}, {one.price.value:.2f} {one.price.unit}" for one in mending.parts)),
    ):
        if text:
            yield f"   {label}: {text}"
    yield f"   {mending.after}"
    if mending.temporary:
        yield f"   Only to get home: {mending.temporary}"
    yield "  1 fixed   2 replaced   3 found, not fixed yet" + (
        "   4 mended only to get home" if mending.temporary else ""
    )
    yield "  5 looked: not it   6 mended, still the same   u undo   g give up   q put it down"
    if mending.at:
        yield f"    Say where after an @, like: 1 @ {mending.at[0]}"


def _likely(view: HuntView) -> Iterator[str]:
    yield "\n   Likeliest now"
    for bar in view.likely:
        drawn = "█" * round(bar.chance.value * BAR)
        yield f"   {drawn:<{BAR}} {bar.chance.value * 100:>3.0f} %  {bar.name}, {bar.words}"
    if view.ruled_out:
        yield f"   Ruled out: {', '.join(view.ruled_out)}."


def _ended(view: HuntView) -> Iterator[str]:
    if view.mending is None or view.ended != "found":
        yield "The hunt was given up; its answers stay in the journal."
        return
    yield f"\nFound: {view.mending.name}, after {len(view.told)} answers. It is in the journal."
    if view.temporary:
        yield "Mended only to get home: it stays “not fixed yet” on the sheet until you fix it properly."
    yield view.mending.after if not view.temporary else "Drive gently home, and fix it properly there."


def _line(prompt: str, *, quiet: bool = False) -> str:
    """One line; empty at the end of what is piped in. Enter alone gives a blank."""
    if sys.stdin.isatty():
        if not quiet:
            click.echo(prompt, nl=False)
        return sys.stdin.readline()
    return sys.stdin.readline()
