"""Working through a sheet line by line, each answer kept at once: where one stands, and how it ended."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

from snugfast.core.errors import NotKnown
from snugfast.core.figures import Figure
from snugfast.records.entries import Checked, SheetDone
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.numbered_answers import answers_by_number
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.bench.shown import (
    ShownLine,
    ShownSheet,
    draft_sheet_done,
    keep_shown,
    shown_now,
    shown_of,
    still_open,
    the_shown,
)
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.journal.keeping import last_standing, withdraw
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop

RESUMED_WITHIN = timedelta(hours=12)


@dataclass(frozen=True, slots=True)
class Ready:
    """How a sheet ended: what is open, and the chance that something stops each car, before and now."""

    answered: int
    skipped: int
    cars: tuple[tuple[str, Figure, Figure], ...]  # name, when the sheet was made, now
    to_fix: tuple[str, ...]
    to_buy: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class StandsNow:
    """Cars once a sheet is done: name, chance before and now; jobs that are open; parts for them."""

    cars: tuple[tuple[str, Figure, Figure], ...]
    to_fix: tuple[FixJob, ...]
    to_buy: tuple[str, ...]


def begin_or_resume(workshop: Workshop, asked: Asked) -> tuple[ShownSheet, bool]:
    """The sheet to work through, and whether it is one that was begun; a finished or old one makes way."""
    shown = shown_now(workshop)
    if shown is not None and workshop.now() - shown.made_at < RESUMED_WITHIN and _same(shown, asked):
        try:
            the_shown(workshop)
        except NotKnown:
            shown = None
        if shown is not None and open_lines(workshop, shown):
            return shown, True
    sheet = bench_sheet(workshop, asked)
    made = shown_of(sheet)
    keep_shown(workshop, made)
    return made, False


def _same(shown: ShownSheet, asked: Asked) -> bool:
    """Whether somebody who asks for this means the sheet in hand: nothing was asked for, or just that."""
    return asked == Asked() or asked == shown.asked


def open_lines(workshop: Workshop, shown: ShownSheet) -> tuple[ShownLine, ...]:
    """What was neither answered nor skipped yet."""
    with workshop.store.reading() as reads:
        return tuple(line for line, _ in still_open(shown, ledger_now(reads)))


def answer(
    workshop: Workshop, shown: ShownSheet, number: int, words: str
) -> tuple[ShownSheet, tuple[str, ...]]:
    """Keep one answer at once. Raises WrongData for words the line does not know."""
    made = answers_by_number(workshop, shown, f"{number} {words}")
    if made.draft.entries:
        keep_form(
            workshop, (*made.draft.entries, *draft_sheet_done(workshop, made.shown, made.draft.entries))
        )
    keep_shown(workshop, made.shown)
    return made.shown, made.draft.echo


def take_back(workshop: Workshop, shown: ShownSheet) -> str:
    """Undo the last answer given since the sheet was shown. Raises NotKnown when there is none."""
    last = last_standing(workshop)
    if isinstance(last.fact, SheetDone):
        withdraw(workshop, last.id)
        last = last_standing(workshop)
    if not isinstance(last.fact, Checked) or last.recorded_at < shown.made_at:
        raise NotKnown("No answer of this sheet is left to undo.", "Go on with the next line.")
    return withdraw(workshop, last.id).told


def ready(workshop: Workshop, shown: ShownSheet, before: Sheet) -> Ready:
    """How it stands after the sheet, against how it stood when it was made."""
    now = stands_now(workshop, shown.asked, before)
    left = open_lines(workshop, shown)
    looks = [line for line in shown.lines if line.defect is None]
    done = [line for line in looks if line.number not in shown.skipped and line not in left]
    return Ready(
        answered=len(done),
        skipped=len(shown.skipped),
        cars=now.cars,
        to_fix=tuple(f"{job.car_name}: {job.title}" for job in now.to_fix),
        to_buy=now.to_buy,
    )


def stands_now(workshop: Workshop, asked: Asked, before: Sheet) -> StandsNow:
    """How the cars stand now that a sheet is done, against how they stood when it was made."""
    now = bench_sheet(workshop, asked, only=())
    then = {car.id: car.stop_chance for car in before.cars}
    parts: dict[str, float] = {}
    have: dict[str, int] = {}
    for job in now.fix_first:
        for part in job.parts:
            parts[part.name] = parts.get(part.name, 0.0) + part.count
            have[part.name] = part.in_box or 0
    lacking = {name: number - have[name] for name, number in parts.items() if number > have[name]}
    return StandsNow(
        cars=tuple((car.name, then.get(car.id, car.stop_chance), car.stop_chance) for car in now.cars),
        to_fix=now.fix_first,
        to_buy=tuple(f"{number:g} × {name}" for name, number in lacking.items()),
    )
