"""A one-off sheet as text for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from snugfast.cli.doorway import to_type
from snugfast.cli.sheet_text import GROWN_UP, caution_lines, money
from snugfast.usecases.bench.one_off import OneOff, OneOffCheck, OneOffWork

WIDTH = 92


@dataclass(frozen=True, slots=True)
class _Told:
    """One line of the sheet, and what stands under it."""

    name: str
    minutes: float
    adults_only: bool
    lines: Iterator[str]
    done: bool = False


def one_off_text(sheet: OneOff, *, learner: bool = False, short: bool = False) -> str:
    """A one-off sheet for a terminal."""
    return "\n".join(_lines(sheet, learner, short)) + "\n"


def _lines(sheet: OneOff, learner: bool, short: bool) -> Iterator[str]:
    yield "═" * WIDTH
    yield f"FIRST-CHECK LIST   {sheet.car_name}   {sheet.name}"
    yield "═" * WIDTH
    yield from _wrapped(sheet.why)
    if sheet.done_at is not None:
        yield f"Worked through on {sheet.done_at:%Y-%m-%d}."
    work = [_Told(one.name, one.minutes, one.adults_only, _work_lines(one)) for one in sheet.before]
    checks = [
        _Told(one.name, one.minutes, one.adults_only, _check_lines(sheet, one), one.done_at is not None)
        for one in sheet.checks
    ]
    after = [_Told(one.name, one.minutes, one.adults_only, _work_lines(one)) for one in sheet.after]
    for number, told in enumerate((*work, *checks, *after), 1):
        grown_up = GROWN_UP if learner and told.adults_only else ""
        head = f"{number:>2} {'✓' if told.done else '□'} {told.name}{grown_up}"
        right = f"{told.minutes:.1f} min"
        yield f"{head:<{WIDTH - len(right) - 1}} {right}"
        if not short and not told.done:
            yield from told.lines
            yield ""
    yield "─" * WIDTH
    yield from _wrapped(
        f"{sheet.minutes:.0f} minutes in all, {sheet.minutes_left:.0f} of them still to do. "
        f"{f'Parts it uses up: {money(sheet.price)}. ' if sheet.price.value else ''}"
        f"What the checks will probably find: about {money(sheet.likely)} of parts."
    )
    done = to_type(f'car arrive "{sheet.car_name}" --done --yes')
    yield from _wrapped(f"When all is done: {done}")


def _work_lines(work: OneOffWork) -> Iterator[str]:
    yield from _steps(work.steps)
    for part in work.parts:
        yield from _wrapped(f"Needs: {part.count:g} × {part.name}, {money(part.cost)}", "      ", "        ")
    yield from caution_lines(work.cautions, WIDTH)


def _check_lines(sheet: OneOff, check: OneOffCheck) -> Iterator[str]:
    if check.access:
        yield from _wrapped(f"Behind: {', '.join(check.access)}", "      ", "        ")
    yield from _steps(check.steps)
    yield from _wrapped(f"Good: {check.good}", "      ", "        ")
    yield from _wrapped(f"Bad: {check.bad}", "      ", "        ")
    yield from caution_lines(check.cautions, WIDTH)
    pack = " --pack NAME" if check.of_pack else ""
    words = " | ".join(("sound", *check.answers))
    answer = to_type(f'found "{sheet.car_name}" {check.check}{pack} WORD   ({words})')
    yield from _wrapped(f"Answer: {answer}", "      ", "        ")


def _steps(steps: Sequence[str]) -> Iterator[str]:
    for n, text in enumerate(steps, 1):
        yield from _wrapped(f"{n}. {text}", "      ", "         ")


def _wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest)
