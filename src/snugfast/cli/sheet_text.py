"""The bench sheet at length: how each line is done, what is good and bad, why it is there."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterator, Sequence
from dataclasses import replace

from snugfast.cli.doorway import to_type
from snugfast.cli.round_text import no_car
from snugfast.core.figures import Figure
from snugfast.core.zones import local_time
from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.sheet import Sheet, SheetAccess, SheetCar, SheetCheck
from snugfast.usecases.bench.shown import ShownLine
from snugfast.usecases.bench.treatments import DueTreatment
from snugfast.usecases.bench.wet_readiness import WetReadiness
from snugfast.usecases.packs.blocks import PackBlock
from snugfast.usecases.shared.cautions import Caution

WIDEST = 96
MOST_LEFT_OUT = 8
LEAST_MONEY = 0.005  # less is told as nothing
GROWN_UP = " [together with a grown-up]"


def sheet_text(sheet: Sheet, zone: str) -> str:
    """The whole sheet."""
    return "\n".join(_Printing(sheet, zone, _width()).lines()) + "\n"


def lines_text(sheet: Sheet, shown: Sequence[ShownLine], zone: str) -> str:
    """Some lines of a sheet that was shown, at length; `sheet` has its checks and jobs as they stand now."""
    return "\n".join(_Printing(sheet, zone, _width()).some(shown)) + "\n"


def _width() -> int:
    return min(WIDEST, shutil.get_terminal_size((88, 24)).columns)


def percent(figure: Figure) -> str:
    """A chance as a percentage a person would say."""
    value = figure.value * 100.0
    if value < 0.1:
        return "under 0.1 %"
    return f"{value:.1f} %" if value < 10.0 else f"{value:.0f} %"


def money(figure: Figure) -> str:
    """Money with its band, when there is one."""
    if figure.low is None or figure.high is None:
        return f"{figure.value:.2f} {figure.unit}"
    return f"{figure.value:.2f} {figure.unit} ({figure.low:.2f} to {figure.high:.2f})"


class _Printing:
    def __init__(self, sheet: Sheet, zone: str, width: int) -> None:
        self.sheet = sheet
        self.zone = zone
        self.width = width

    def some(self, shown: Sequence[ShownLine]) -> Iterator[str]:
        """Just these lines."""
        jobs = {(job.car, job.mode, job.place, job.spot): job for job in self.sheet.fix_first}
        checks = {check.key: check for check in self.sheet.checks}
        for line in shown:
            if line.defect is not None:
                job = jobs.get((line.car, *line.defect))
                yield from (
                    self._job(replace(job, number=line.number)) if job else (f"{line.number} is done.",)
                )
                continue
            keys = [f"{line.car}/{one.check}" + (f"/{one.pack}" if one.pack else "") for one in line.checks]
            here = [checks[key] for key in keys if key in checks]
            if here:
                yield from self._opening(here[0])
                yield from self._line(line.number, here)
            else:
                yield f"{line.number} {line.title}: no longer a check of this car."

    def lines(self) -> Iterator[str]:
        sheet = self.sheet
        if not sheet.cars and not sheet.blocked:
            yield from no_car()
            return
        local = local_time(sheet.made_at, self.zone)
        names = ", ".join([*(car.name for car in sheet.cars), *(one.car_name for one in sheet.blocked)])
        yield "═" * self.width
        yield f"BENCH SHEET   {names}   {local:%Y-%m-%d %H:%M}   {sheet.asked.minutes:g} minutes"
        yield "═" * self.width
        for block in sheet.blocked:
            yield from self._blocked(block)
        for inside in sheet.plugged_in:
            yield from self._wrapped(f"! First: {inside.sentence}")
            out = to_type(f'packs away "{inside.pack_name}" unplugged')
            yield from self._wrapped(f"When it is out: {out}", "  ")
        for car in sheet.cars:
            yield from self._wrapped(_car_words(car, sheet.asked.until))
        if sheet.shortfall:
            yield from self._wrapped(f"!! {sheet.shortfall}")
        for sentence in sheet.unguarded:
            yield from self._wrapped(f"!! {sentence}")
        for ready in sheet.readiness:
            yield from self._readiness(ready)
        yield from self._rounds()
        yield from self._balance()
        yield from self._moved()
        yield from self._left_out()

    def _blocked(self, block: PackBlock) -> Iterator[str]:
        yield from self._wrapped(f"!! {block.sentence} No sheet for {block.car_name} until it is out.")
        yield from self._wrapped(block.way_out, "   ")
        for caution in block.cautions:
            adults = "Adults only. " if caution.adults_only else ""
            yield from self._wrapped(f"⚠ {adults}{caution.text}", "   ", "     ")
        away = to_type(f'packs away "{block.pack_name}" unplugged')
        yield from self._wrapped(f"When it is out: {away}", "   ")

    def _rounds(self) -> Iterator[str]:
        for job in self.sheet.fix_first:
            yield from self._job(job)
        for due in self.sheet.treatments:
            yield from self._treatment(due)
        for one in self.sheet.rounds:
            car = f"{one.car_name}: " if len(self.sheet.cars) > 1 else ""
            yield ""
            yield self._headline(f"▌ {car}{one.name}, {one.hands}", one.minutes)
            for access in one.opening:
                yield from self._access(access)
            for line in one.lines:
                yield ""
                yield from self._line(line.number, line.checks)

    def _job(self, job: FixJob) -> Iterator[str]:
        yield ""
        car = f"{job.car_name}: " if len(self.sheet.cars) > 1 else ""
        yield self._headline(f"{job.number:>2} □ Fix first: {car}{job.title}", job.minutes)
        yield from self._wrapped(job.job, "      ")
        for part in job.parts:
            yield from self._wrapped(
                f"Part: {part.count:g} × {part.name}, {money(part.cost)}{part.box_note}", "      "
            )
        if job.tools:
            yield from self._wrapped(f"Tools: {', '.join(job.tools)}", "      ", "        ")
        yield from self._cautions(job.cautions)
        answers = f"found {job.number} fixed   (or replaced, or not fixed yet)"
        yield from self._wrapped(f"Answer: {to_type(answers)}", "      ", "        ")

    def _readiness(self, ready: WetReadiness) -> Iterator[str]:
        verdict, *rest = ready.sentences
        yield from self._wrapped(f"{'' if ready.ready else '!! '}{verdict}")
        for text in rest:
            yield from self._wrapped(text, "      ", "        ")
        yield from self._cautions(ready.cautions)

    def _treatment(self, due: DueTreatment) -> Iterator[str]:
        mark = "!! " if due.overdue else ""
        yield ""
        yield "Before anything else is opened or plugged in"
        yield self._headline(f" ~ □ {mark}{due.name}, {due.when}{self._grown_up(due.cautions)}", due.minutes)
        yield from _treatment_lines(due, self.width)

    def _grown_up(self, cautions: Sequence[Caution]) -> str:
        """The mark of a learner's sheet on what is for adults."""
        return GROWN_UP if self.sheet.asked.learner and any(c.adults_only for c in cautions) else ""

    def _cautions(self, cautions: Sequence[Caution]) -> Iterator[str]:
        return caution_lines(cautions, self.width)

    def _access(self, step: SheetAccess) -> Iterator[str]:
        yield ""
        yield self._headline(f"   ── {step.name}{self._grown_up(step.cautions)}", step.minutes)
        for text in step.steps:
            yield from self._wrapped(text, "      ")
        yield from self._cautions(step.cautions)

    def _opening(self, check: SheetCheck) -> Iterator[str]:
        """The way in to one check, for a line that is shown by itself."""
        before = [
            step for step in self.sheet.steps if isinstance(step, SheetAccess) and step.car == check.car
        ]
        for step in before:
            if step.key.split("/")[1] in check.access:
                yield from self._access(step)

    def _line(self, number: int, checks: Sequence[SheetCheck]) -> Iterator[str]:
        """One line at length; of several packs each has its reasons, and how it is done is said once."""
        packs = ", ".join(check.pack_name for check in checks if check.pack)
        first = checks[0]
        name = f"{first.name} ({packs})" if packs else first.name
        marks = " [safety limit]" if any(check.must for check in checks) and not first.gate else ""
        marks += GROWN_UP if self.sheet.asked.learner and first.adults_only else ""
        yield self._headline(f"{number:>2} □ {name}{marks}", sum(check.minutes for check in checks))
        for n, text in enumerate(first.steps, 1):
            yield from self._wrapped(f"{n}. {text}", "      ", "         ")
        for label, text in (
            ("Tools", ", ".join(first.tools)),
            ("Good", first.good),
            ("Bad", first.bad),
            ("How tight", first.how_tight),
            ("Thread-lock", first.thread_lock),
            ("Wait", first.wait),
            ("Harm", first.harm),
        ):
            if text:
                yield from self._wrapped(f"{label}: {text}", "      ", "        ")
        yield from self._cautions(tuple(dict.fromkeys(c for check in checks for c in check.cautions)))
        for check in checks:
            yield from self._why(check)
        yield from self._wrapped(f"Answer: {_answer_line(number, first)}", "      ", "        ")

    def _why(self, check: SheetCheck) -> Iterator[str]:
        for reason in check.why:
            limit = " Beyond its safety limit." if reason.beyond_limit else ""
            yield from self._wrapped(
                f"Why: {reason.name}: {percent(reason.belief)} that it is there now, "
                f"{percent(reason.fail_chance)} that it fails before your next session at the bench, "
                f"which would cost {money(reason.failure_cost)}; {reason.since}; {reason.every}.{limit}",
                "      ",
                "        ",
            )
        if check.gain is not None and not check.gate:
            firm = "" if check.firm else " Only just: not at half or at double your values of a minute."
            yield from self._wrapped(
                f"Worth {money(check.gain)}; {_minutes_cost(check.minutes)} {money(check.cost)}.{firm}",
                "      ",
                "        ",
            )

    def _balance(self) -> Iterator[str]:
        sheet = self.sheet
        yield ""
        yield "─" * self.width
        yield from self._wrapped(
            f"{_minutes_taken(sheet)} On average the checks save {money(sheet.loss_avoided)}; "
            f"their minutes are worth {money(sheet.cost_of_minutes)}. "
            "Ranges: half to double of what you say minutes are worth."
        )
        if sheet.driver_words:
            yield from self._wrapped(sheet.driver_words)
        if sheet.treatments:
            yield from self._wrapped(
                f"{sheet.treatment_minutes:g} of the minutes are due after wet; no sum weighs those."
            )

    def _moved(self) -> Iterator[str]:
        if self.sheet.moved:
            yield ""
            yield "What the last bench day moved"
            for moved in self.sheet.moved:
                yield from self._wrapped(moved.sentence, "   ", "      ")

    def _left_out(self) -> Iterator[str]:
        left_out = self.sheet.left_out
        if not left_out:
            return
        yield ""
        yield "Left out, and why"
        for out in left_out[:MOST_LEFT_OUT]:
            car = f"{out.car_name}: " if len(self.sheet.cars) > 1 else ""
            yield from self._wrapped(
                f"{car}{out.name} ({out.minutes:g} min): {out.reason} ({_gain(out.gain)})",
                "   ",
                "      ",
            )
        if len(left_out) > MOST_LEFT_OUT:
            yield f"   and {len(left_out) - MOST_LEFT_OUT} more (all with --json)"

    def _headline(self, text: str, minutes: float) -> str:
        right = f"{minutes:.1f} min"
        return f"{text:<{self.width - len(right) - 1}} {right}"

    def _wrapped(self, text: str, first: str = "", rest: str | None = None) -> list[str]:
        return _wrapped(text, self.width, first, rest)


def treatment_text(due: DueTreatment) -> str:
    """What is due after wet, by itself."""
    width = min(WIDEST, shutil.get_terminal_size((88, 24)).columns)
    return "\n".join([due.line, *_treatment_lines(due, width)]) + "\n"


def _treatment_lines(due: DueTreatment, width: int) -> Iterator[str]:
    for n, text in enumerate(due.steps, 1):
        yield from _wrapped(f"{n}. {text}", width, "      ", "         ")
    yield from _wrapped(f"Tools: {', '.join(due.tools)}", width, "      ", "        ")
    yield from _wrapped(f"When late: {due.when_late}", width, "      ", "        ")
    yield from caution_lines(due.cautions, width)
    answer = to_type(f'treat "{due.car_name}" {due.treatment} --yes')
    yield from _wrapped(f"Answer: {answer}", width, "      ", "        ")


def caution_lines(cautions: Sequence[Caution], width: int) -> Iterator[str]:
    """The cautions of a step; what is for adults says so."""
    for caution in cautions:
        adults = "Adults only. " if caution.adults_only else ""
        yield from _wrapped(f"⚠ {adults}{caution.text}", width, "      ", "        ")


def _wrapped(text: str, width: int, first: str = "", rest: str | None = None) -> list[str]:
    return textwrap.wrap(text, width, initial_indent=first, subsequent_indent=first if rest is None else rest)


def _car_words(car: SheetCar, until: Until) -> str:
    ahead = car.ahead
    packs = f"{ahead.packs:.0f} pack{'' if round(ahead.packs) == 1 else 's'}"
    span = "one run" if until is Until.RUN else f"an outing of about {packs}"
    wet = f", {ahead.wet.value}" if ahead.wet else ""
    ground = f", on {ahead.ground.value}" if ahead.ground else ""
    air = f", {ahead.air_degC:.0f} °C" if ahead.air_degC is not None else ""
    return (
        f"{car.name}: ahead {span}, {ahead.running_min:.0f} minutes{ground}{wet}{air}. "
        f"Chance that something stops it before your next session at the bench: "
        f"{percent(car.stop_chance)} as it stands, {percent(car.stop_chance_after)} after this sheet."
    )


def _minutes_cost(minutes: float) -> str:
    return "its minute costs" if minutes == 1.0 else f"its {minutes:g} minutes cost"


def _minutes_taken(sheet: Sheet) -> str:
    taken, wanted = f"{sheet.minutes:.0f}", f"{sheet.asked.minutes:g}"
    return (
        f"{taken} of {wanted} minutes."
        if sheet.minutes <= sheet.asked.minutes
        else (f"This takes {taken} minutes, and you have {wanted}.")
    )


def _gain(figure: Figure) -> str:
    """What a check would save on average, its minutes paid for."""
    if abs(figure.value) < LEAST_MONEY:
        return "next to nothing either way"
    return f"it would {'save' if figure.value > 0.0 else 'lose'} {abs(figure.value):.2f} {figure.unit}"


def _answer_line(number: int, check: SheetCheck) -> str:
    words = ", ".join(("ok", *check.answers, "failed", "skipped"))
    return to_type(f"found {number} WORD [WHERE] [fixed | replaced]   ({words})")
