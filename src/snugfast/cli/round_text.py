"""The bench sheet on one screen: rounds of numbered lines, for a terminal of 80 columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from snugfast.cli.doorway import side_by_side, to_type
from snugfast.core.zones import local_time
from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.pace import pace_words
from snugfast.usecases.bench.sheet import Line, Round, Sheet, SheetCar
from snugfast.usecases.bench.sheet_words import percent_words
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


def no_car() -> Iterator[str]:
    """What stands in place of a sheet where no car is left to check."""
    yield "There is no car to make a sheet for: none is here, or all are laid up."
    yield f"Add one: {to_type('car add NAME --from STARTER')}"
    yield f"See them: {to_type('car list')}"


class _Rounds:
    def __init__(self, sheet: Sheet, zone: str) -> None:
        self.sheet = sheet
        self.zone = zone
        self.several = len(sheet.cars) > 1

    def lines(self) -> Iterator[str]:
        sheet = self.sheet
        if not sheet.cars and not sheet.blocked:
            yield from no_car()
            return
        names = ", ".join([*(car.name for car in sheet.cars), *(one.car_name for one in sheet.blocked)])
        at = local_time(sheet.made_at, self.zone)
        yield _spread(f"{names}, {sheet.asked.minutes:g} minutes", f"{at:%a %-d %b %H:%M}")
        for block in sheet.blocked:
            yield from _block(block)
        yield from self._plugged_in()
        if self.several:
            yield from _wrapped(_chances(sheet.cars, sheet.asked.until))
        else:
            yield from _wrapped(_car_words(sheet.cars[0], sheet.asked.until)) if sheet.cars else ()
        new = [car.name for car in sheet.cars if car.first_look]
        if new:
            yield from _wrapped(f"First look at {listed(new)}: this is what such cars come with.")
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
        for stand in sheet.stands:
            yield from self._stand(stand)
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
        parts = ", ".join(f"{part.count:g} × {part.name}{part.box_note}" for part in job.parts)
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

    def _plugged_in(self) -> Iterator[str]:
        """Packs to pull before anything else; those that may be out already are one question."""
        told = set(self.sheet.cautions)
        inside = self.sheet.plugged_in
        maybe = [one for one in inside if not one.sure]
        words = [f"!! {one.sentence}" for one in inside if one.sure or len(maybe) < 2]
        if len(maybe) > 1:
            packs = ", ".join(f"{one.pack_name} ({one.car_name})" for one in maybe)
            words.append(f"!! Unplug what is still in its car, and log that it is out: {packs}.")
        for text in words:
            yield from _wrapped(text, "", "   ")
        held = dict.fromkeys(caution for one in inside for caution in one.cautions)
        yield from self._cautions([one for one in held if one not in told])

    def _stand(self, stand: Sequence[Round]) -> Iterator[str]:
        """A place to stand: its cautions once, whatever the number of cars, and its lines."""
        yield ""
        first = stand[0]
        car = f"{first.car_name}: " if self.several and len(stand) == 1 else ""
        minutes = _minutes(sum(one.minutes for one in stand))
        yield _spread(f"{car}{first.name.upper()} · {first.hands}", minutes)
        yield from self._cautions(tuple(dict.fromkeys(c for one in stand for c in one.cautions)))
        opened = {
            one.car_name: tuple(access.name for access in one.opening if access.name != one.name)
            for one in stand
        }
        for ways in dict.fromkeys(filter(None, opened.values())):
            cars = [name for name, opens in opened.items() if opens == ways]
            whose = f"{listed(cars)}: " if len(stand) > 1 and len(cars) < len(stand) else ""
            yield from _wrapped(f"Open: {whose}{', '.join(ways)}.", "   ")
        lines = sorted((line for one in stand for line in one.lines), key=lambda line: line.number)
        for _, alike in groupby(lines, key=lambda line: line.check.check):
            yield from self._alike(list(alike), name_cars=len(stand) > 1)

    def _alike(self, lines: Sequence[Line], *, name_cars: bool) -> Iterator[str]:
        """One check, on one car or on several: then each car with its own number."""
        if not name_cars:
            yield from map(self._line, lines)
        elif len(lines) == 1:
            yield line_words(lines[0].number, lines[0], car=True, learner=self.sheet.asked.learner)
        else:
            yield line_words(
                lines[0].number,
                replace(
                    max(lines, key=lambda line: line.worth),
                    packs=(),
                    place="",
                    must=any(line.must for line in lines),
                    minutes=sum(line.minutes for line in lines),
                ),
                to=lines[-1].number,
                learner=self.sheet.asked.learner,
            )
            cars = "; ".join(f"{line.number} {_whose(line)}" for line in lines)
            yield from _wrapped(cars, " " * 7)

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


def line_words(number: int, line: Line, *, to: int = 0, car: bool = False, learner: bool = False) -> str:
    """One line: its mark of worth, what to do, where, with what, minutes; `to` is its last number."""
    mark = MUST if line.must else MARKS[line.worth]
    name = line.check.car_name if car else ""
    where = ", ".join(filter(None, (name, line.place, ", ".join(line.packs), line.tool)))
    adult = GROWN_UP if learner and line.adults_only else ""
    numbers = f"{number}–{to} " if to else f"{number:>2} "
    title = f"{numbers}{mark if len(numbers) < 5 else mark.rstrip() + ' '}{line.title}{adult}"
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


def listed(names: Sequence[str]) -> str:
    """“Bramble, Nettle and Sorrel”."""
    return f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)


def _whose(line: Line) -> str:
    """“Bramble: Ember 2, Ember 3”."""
    where = ", ".join(filter(None, (line.place, ", ".join(line.packs))))
    return f"{line.check.car_name}: {where}" if where else line.check.car_name


def _chances(cars: Sequence[SheetCar], until: Until) -> str:
    """The chances of several cars, one after another."""
    ahead = "the next run" if until is Until.RUN else "the next outing"
    told = ", ".join(
        f"{car.name} {_number(car.stop_chance.value)} → {_number(car.stop_chance_after.value)} "
        f"({_number(car.stop_chance_unseen.value)})"
        for car in cars
    )
    return (
        f"Chance in % that something stops it on {ahead}, now → after this sheet (what nobody can see the "
        f"evening before): {told}."
    )


def _number(chance: float) -> str:
    return "<1" if chance < 0.01 else f"{chance * 100:.0f}"


def _car_words(car: SheetCar, until: Until) -> str:
    ahead = "the next run" if until is Until.RUN else "the next outing"
    now, after = percent_words(car.stop_chance.value), percent_words(car.stop_chance_after.value)
    unseen = percent_words(car.stop_chance_unseen.value)
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
    near = "".join(f" {words}" for words in (sheet.gap_words, sheet.driver_words) if words)
    pace = f" {words}" if (words := pace_words(sheet.pace)) else ""
    return f"{sheet.minutes:.0f} min: {', '.join(parts)}.{pace}{saves}{near}"


def _minutes(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes >= 0.95 else f"{minutes:.1f} min"


def _spread(left: str, right: str) -> str:
    """Left and right on one line; the left is cut where it would run into the right."""
    room = WIDTH - len(right) - 1
    shown = left if len(left) <= room else f"{left[: room - 1].rstrip()}…"
    return f"{shown:<{room}} {right}"


def _wrapped(text: str, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(text, WIDTH, initial_indent=first, subsequent_indent=first if rest is None else rest)
