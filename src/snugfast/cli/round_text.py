"""The bench sheet on one screen: rounds of numbered lines, for a terminal of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence

from snugfast.cli.doorway import side_by_side, to_type
from snugfast.core.zones import local_time
from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.sheet import Line, Round, Sheet, SheetCar
from snugfast.usecases.bench.treatments import DueTreatment
from snugfast.usecases.packs.blocks import PackBlock
from snugfast.usecases.shared.cautions import Caution

WIDTH = 80
MARKS = ("    ", "•   ", "••  ", "••• ")
MUST = "!!  "
GROWN_UP = " [grown-up]"  # a learner's sheet: together with one


def round_text(sheet: Sheet, zone: str) -> str:
    """The sheet in rounds, one line a check; how, good and bad stand behind its number."""
    return "\n".join(_Rounds(sheet, zone).lines()) + "\n"


class _Rounds:
    def __init__(self, sheet: Sheet, zone: str) -> None:
        self.sheet = sheet
        self.zone = zone
        self.several = len(sheet.cars) > 1

    def lines(self) -> Iterator[str]:
        sheet = self.sheet
        if not sheet.cars and not sheet.blocked:
            yield "There is no car to make a sheet for: none is here, or all are laid up."
            yield f"Add one: {to_type('car add NAME --from STARTER')}"
            yield f"See them: {to_type('car list')}"
            return
        names = ", ".join([*(car.name for car in sheet.cars), *(one.car_name for one in sheet.blocked)])
        at = local_time(sheet.made_at, self.zone)
        yield _spread(f"{names}, {sheet.asked.minutes:g} minutes", f"{at:%a %-d %b %H:%M}")
        for block in sheet.blocked:
            yield from _block(block)
        for inside in sheet.plugged_in:
            yield from _wrapped(f"!! {inside.sentence}", "", "   ")
            yield from self._cautions([one for one in inside.cautions if one not in sheet.cautions])
        for car in sheet.cars:
            yield from _wrapped(_car_words(car, sheet.asked.until))
            if car.first_look:
                yield from _wrapped(f"First look at {car.name}: this is what such cars come with.")
        for warning in (sheet.shortfall, *sheet.unguarded):
            if warning:
                yield from _wrapped(f"!! {warning}", "   ")
        for ready in sheet.readiness:
            verdict, *rest = ready.sentences
            yield from _wrapped(f"{'' if ready.ready else '!! '}{verdict}", "", "   ")
            for sentence in rest:
                yield from _wrapped(sentence, "   ")
            yield from self._cautions(ready.cautions)
        yield from self._cautions(sheet.cautions)
        yield from self._fix_first()
        yield from self._treatments()
        for one in sheet.rounds:
            yield from self._round(one)
        yield ""
        yield from self._end()

    def _fix_first(self) -> Iterator[str]:
        if not self.sheet.fix_first:
            return
        yield ""
        yield _spread("FIX FIRST", _minutes(sum(job.minutes for job in self.sheet.fix_first if job.tonight)))
        held = dict.fromkeys(c for job in self.sheet.fix_first for c in job.cautions)
        yield from self._cautions([caution for caution in held if caution not in self.sheet.cautions])
        for job in self.sheet.fix_first:
            yield from self._job(job)

    def _job(self, job: FixJob) -> Iterator[str]:
        car = f"{job.car_name}: " if self.several else ""
        mark = MUST if job.unsafe else MARKS[0]
        parts = ", ".join(f"{part.count:g} × {part.name}" for part in job.parts)
        price = f", {job.price.value:.2f} {job.price.unit}" if job.price.value else ""
        late = "" if job.tonight else " (more than these minutes)"
        yield _spread(f"{job.number:>2} {mark}{car}{job.title}{late}", _minutes(job.minutes))
        yield from _wrapped(f"{job.job}{f' Needs {parts}{price}.' if parts else ''}", " " * 6)

    def _treatments(self) -> Iterator[str]:
        for due in self.sheet.treatments:
            yield ""
            yield from self._treatment(due)

    def _treatment(self, due: DueTreatment) -> Iterator[str]:
        car = f"{due.car_name}: " if self.several else ""
        mark = MUST if due.overdue else MARKS[0]
        adult = GROWN_UP if self.sheet.asked.learner and due.adults_only else ""
        yield _spread(f" ~ {mark}{car}{due.name}{adult}, {due.when}", _minutes(due.minutes))
        yield from self._cautions(due.cautions)
        yield from _wrapped(f"Done: {to_type(f'treat {due.car_name} {due.treatment}')}", " " * 6)

    def _round(self, one: Round) -> Iterator[str]:
        yield ""
        car = f"{one.car_name}: " if self.several else ""
        yield _spread(f"{car}{one.name.upper()} · {one.hands}", _minutes(one.minutes))
        yield from self._cautions(one.cautions)
        opened = [access.name for access in one.opening if access.name != one.name]
        if opened:
            yield from _wrapped(f"Open: {', '.join(opened)}.", "   ")
        for line in one.lines:
            yield self._line(line)

    def _line(self, line: Line) -> str:
        return line_words(line.number, line, learner=self.sheet.asked.learner)

    def _cautions(self, cautions: Sequence[Caution]) -> Iterator[str]:
        return cautions_text(cautions)

    def _end(self) -> Iterator[str]:
        sheet = self.sheet
        first = sheet.lines[0].number if sheet.lines else 1
        yield from _wrapped(_minutes_told(sheet))
        how, answer = to_type(f"sheet {first}"), to_type(f"found {first} ok, rest ok")
        yield side_by_side(f"How: {how}", f"Answer: {answer}")
        yield side_by_side(f"Key by key: {to_type('bench')}", "!! always, ••• saves most for its minutes")


def line_words(number: int, line: Line, *, learner: bool = False) -> str:
    """One line: its mark of worth, what to do, where, with what, minutes."""
    mark = MUST if line.must else MARKS[line.worth]
    where = ", ".join(filter(None, (line.place, ", ".join(line.packs), line.tool)))
    adult = GROWN_UP if learner and line.adults_only else ""
    title = f"{number:>2} {mark}{line.title}{adult}"
    right = f"{line.minutes:.1f}"
    room = WIDTH - len(title) - len(right) - 5
    if where and room > 6:
        short = where if len(where) <= room else f"{where[: room - 1].rstrip(' ,')}…"
        title = f"{title} · {short}"
    return _spread(title, right)


def cautions_text(cautions: Sequence[Caution]) -> Iterator[str]:
    """Each caution once, in few words; what is for adults says so."""
    if cautions:
        told = [one.short.rstrip(".") for one in cautions if not one.adults_only]
        adults = [one.short.rstrip(".") for one in cautions if one.adults_only]
        words = [". ".join(told)] if told else []
        words += [f"Adults only: {'; '.join(adults)}"] if adults else []
        yield from _wrapped(f"⚠ {'. '.join(words)}.", "   ", "     ")


def _block(block: PackBlock) -> Iterator[str]:
    yield from _wrapped(f"!! {block.sentence} No sheet for {block.car_name} until it is out.", "   ")
    yield from _wrapped(block.way_out, "   ")
    for caution in block.cautions:
        adults = "Adults only. " if caution.adults_only else ""
        yield from _wrapped(f"⚠ {adults}{caution.text}", "   ", "     ")
    away = to_type(f'packs away "{block.pack_name}" unplugged')
    yield from _wrapped(f"When it is out: {away}", "   ")


def _car_words(car: SheetCar, until: Until) -> str:
    ahead = "the next run" if until is Until.RUN else "the next outing"
    now, after = _percent(car.stop_chance.value), _percent(car.stop_chance_after.value)
    unseen = _percent(car.stop_chance_unseen.value)
    return (
        f"{car.name}: {now} that something stops it on {ahead}, {after} after this sheet; "
        f"{unseen} nobody can see the evening before."
    )


def _minutes_told(sheet: Sheet) -> str:
    went = sheet.bench
    parts = [f"{went.looking:.0f} looking", f"{went.cures:.0f} for what it will probably find"]
    for minutes, what in ((went.cleaning, "cleaning"), (went.fixing, "fixing"), (went.wet, "after wet")):
        parts += [f"{minutes:.0f} {what}"] if minutes else []
    curve = ", ".join(f"{point.minutes:.0f} → {point.saves.value:.1f}" for point in sheet.curve)
    saves = f" Minutes → {sheet.loss_avoided.unit} saved: {curve}." if curve else ""
    near = f" {sheet.gap_words}" if sheet.gap_words else ""
    return f"{sheet.minutes:.0f} min: {', '.join(parts)}.{saves}{near}"


def _percent(chance: float) -> str:
    return "under 1 %" if chance < 0.01 else f"{chance * 100:.0f} %"


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 0.95 else f"{minutes:.1f} min"


def _spread(left: str, right: str) -> str:
    """Left and right on one line; the left is cut where it would run into the right."""
    room = WIDTH - len(right) - 1
    shown = left if len(left) <= room else f"{left[: room - 1].rstrip()}…"
    return f"{shown:<{room}} {right}"


def _wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest)
