"""Working through the sheet key by key."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

import click

from snugfast.cli.doorway import Doorway, to_type

if TYPE_CHECKING:
    from collections.abc import Iterator

    from snugfast.usecases.bench.sheet import Line, Round, Sheet
    from snugfast.usecases.bench.shown import ShownLine, ShownSheet
    from snugfast.usecases.shared.workshop import Workshop

KEYS = "o OK   f found   s skipped   ? how   u undo   q break off"


@click.command()
@click.argument("cars", nargs=-1, metavar="[CAR]...")
@click.option("--minutes", default="20", show_default=True, help="Minutes you have at the bench.")
@click.pass_obj
def bench(doorway: Doorway, cars: tuple[str, ...], minutes: str) -> None:
    """Work through the sheet key by key; each answer is saved at once, and a break loses nothing.

    \b
    o OK       f found: then say what and where, like: loose front left, fixed
    s skipped  ? how   u undo the last answer   q break off; snugfast bench goes on from there
    """
    from snugfast.usecases.bench.bench_sheet import bench_sheet
    from snugfast.usecases.bench.sheet_asked import read_asked
    from snugfast.usecases.bench.walk import begin_or_resume

    workshop = doorway.open()
    shown, resumed = begin_or_resume(workshop, read_asked(cars=cars, minutes=minutes))
    before = bench_sheet(workshop, shown.asked, only=shown.keys())
    walking = _Walking(workshop, shown, before)
    left = walking.left()
    if not left:
        click.echo("There is nothing to check now.")
        return
    click.echo(f"{'On with the sheet' if resumed else 'The sheet'}: {len(left)} to go. {KEYS}")
    walking.walk()


class _Walking:
    """One walk: where it stands, and what was shown of the round."""

    def __init__(self, workshop: Workshop, shown: ShownSheet, sheet: Sheet) -> None:
        self.workshop = workshop
        self.shown = shown
        self.sheet = sheet
        self.stands = {
            check.key: stand
            for stand in sheet.stands
            for one in stand
            for line in one.lines
            for check in line.checks
        }
        self.lines = {check.key: line for line in sheet.lines for check in line.checks}
        self.at: tuple[Round, ...] = ()
        self.fixing = False

    def left(self) -> tuple[ShownLine, ...]:
        from snugfast.usecases.bench.walk import open_lines

        return open_lines(self.workshop, self.shown)

    def walk(self) -> None:
        while left := self.left():
            line = left[0]
            self._show(line)
            if not self._ask(line):
                click.echo(f"Everything so far is saved. Next: {to_type('bench')}")
                return
        self._ready()

    def _show(self, line: ShownLine) -> None:
        from snugfast.cli.round_text import cautions_text, line_words

        found = self._line(line)
        stand = self.stands.get(found.check.key, ()) if found else ()
        several = len(stand) > 1
        if stand and stand is not self.at:
            self.at = stand
            whose = "" if several else f"{stand[0].car_name}: "
            click.echo(f"\n{whose}{stand[0].name.upper()} · {stand[0].hands}")
            held = (*self.sheet.cautions, *(caution for one in stand for caution in one.cautions))
            for text in cautions_text(tuple(dict.fromkeys(held))):
                click.echo(text)
        elif not stand and not self.at and not self.fixing:
            click.echo("\nFIX FIRST")
            self.fixing = True
        click.echo(
            line_words(line.number, found, car=several) if found else f"{line.number:>2}     {line.title}"
        )

    def _line(self, line: ShownLine) -> Line | None:
        if line.defect is not None:
            return None
        keys = (f"{line.car}/{one.check}" + (f"/{one.pack}" if one.pack else "") for one in line.checks)
        return next((self.lines[key] for key in keys if key in self.lines), None)

    def _ask(self, line: ShownLine) -> bool:
        """One key for one line; False to break off. What cannot be read is asked again."""
        from snugfast.cli.ways_out import tell_refusal
        from snugfast.core.errors import SnugfastError

        while True:
            key = _key()
            try:
                match key:
                    case "o":
                        return self._answer(line, "fixed" if line.defect else "ok")
                    case "s":
                        return self._answer(line, "skipped")
                    case "f":
                        return self._found(line)
                    case "?":
                        self._how(line)
                    case "u":
                        return self._undo()
                    case "q" | "":
                        return False
                    case _:
                        click.echo(KEYS)
            except SnugfastError as refused:
                tell_refusal(refused)

    def _answer(self, line: ShownLine, words: str) -> bool:
        from snugfast.usecases.bench.walk import answer

        self.shown, echo = answer(self.workshop, self.shown, line.number, words)
        for sentence in echo:
            click.echo(f"   {sentence}")
        return True

    def _found(self, line: ShownLine) -> bool:
        check = self.workshop.facts.checks[line.checks[0].check] if line.checks else None
        known = ", ".join(dict.fromkeys(word.word for word in check.answers)) if check else ""
        if known and line.defect is None:
            click.echo(f"   {known}")
        words = _words("   What and where (then fixed, replaced or nothing): ")
        return self._answer(line, words) if words.strip() else True

    def _how(self, line: ShownLine) -> None:
        from snugfast.cli.sheet_text import lines_text

        click.echo(lines_text(self.sheet, [line], self.workshop.zone))

    def _undo(self) -> bool:
        from snugfast.usecases.bench.walk import take_back

        click.echo(f"   Undone: {take_back(self.workshop, self.shown)}")
        return True

    def _ready(self) -> None:
        from snugfast.usecases.bench.walk import ready

        for text in _ready_lines(ready(self.workshop, self.shown, self.sheet)):
            click.echo(text)


def _ready_lines(ended: object) -> Iterator[str]:
    from snugfast.usecases.bench.walk import Ready

    assert isinstance(ended, Ready)
    yield f"\nDone: {ended.answered} looked at, {ended.skipped} skipped."
    for name, before, now in ended.cars:
        then = f"{before.value * 100:.0f} %"
        yield f"{name}: chance that something stops it {then}, now {now.value * 100:.0f} %."
    if ended.to_fix:
        yield f"Still to fix: {'; '.join(ended.to_fix)}."
    if ended.to_buy:
        yield f"To buy: {', '.join(ended.to_buy)}."


def _key() -> str:
    """One key; from a pipe one line, of which the first letter counts."""
    if sys.stdin.isatty():
        return click.getchar(echo=False).casefold()
    line = sys.stdin.readline()
    return line.strip()[:1].casefold() if line.strip() else ("" if not line else " ")


def _words(prompt: str) -> str:
    if sys.stdin.isatty():
        return str(click.prompt(prompt, default="", show_default=False, prompt_suffix=""))
    return sys.stdin.readline()
