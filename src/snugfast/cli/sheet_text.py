"""The bench sheet as text for a terminal: paper and ink, words and signs, no colours needed."""

from __future__ import annotations

import shutil
import textwrap
from collections.abc import Iterator, Sequence

from snugfast.cli.doorway import to_type
from snugfast.core.figures import Figure
from snugfast.core.zones import local_time
from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.sheet import Sheet, SheetAccess, SheetCar, SheetCheck
from snugfast.usecases.bench.treatments import DueTreatment
from snugfast.usecases.bench.wet_readiness import WetReadiness
from snugfast.usecases.packs.blocks import PackBlock
from snugfast.usecases.shared.cautions import Caution

WIDEST = 96
MOST_LEFT_OUT = 8
LEAST_MONEY = 0.005  # less is told as nothing
GROWN_UP = " [together with a grown-up]"


def sheet_text(sheet: Sheet, zone: str, *, short: bool = False) -> str:
    """The whole sheet; with `short` one line a check."""
    width = min(WIDEST, shutil.get_terminal_size((88, 24)).columns)
    return "\n".join(_Printing(sheet, zone, short, width).lines()) + "\n"


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
    def __init__(self, sheet: Sheet, zone: str, short: bool, width: int) -> None:
        self.sheet = sheet
        self.zone = zone
        self.short = short
        self.width = width

    def lines(self) -> Iterator[str]:
        sheet = self.sheet
        if not sheet.cars and not sheet.blocked:
            yield "There is no car to make a sheet for: none is here, or all are laid up."
            yield f"Add one: {to_type('car add NAME --from STARTER')}"
            yield f"See them: {to_type('car list')}"
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
        yield from self._steps()
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

    def _steps(self) -> Iterator[str]:
        number, gates, car = 0, None, ""
        for step in self.sheet.in_order:
            if len(self.sheet.cars) > 1 and step.car_name != car:
                car, gates = step.car_name, None
                yield ""
                yield f"▌ {car}"
            is_gate = isinstance(step, SheetCheck) and step.gate
            if is_gate != gates and isinstance(step, SheetCheck):
                yield ""
                yield "First, whatever the sums say" if is_gate else "Then, in this order"
                gates = is_gate
            if isinstance(step, DueTreatment):
                yield from self._treatment(step)
            elif isinstance(step, SheetAccess):
                yield from self._access(step)
            else:
                number += 1
                yield from self._check(number, step)

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
        if not self.short:
            yield from _treatment_lines(due, self.width)

    def _grown_up(self, cautions: Sequence[Caution]) -> str:
        """The mark of a learner's sheet on what is for adults."""
        return GROWN_UP if self.sheet.asked.learner and any(c.adults_only for c in cautions) else ""

    def _cautions(self, cautions: Sequence[Caution]) -> Iterator[str]:
        return caution_lines(cautions, self.width)

    def _access(self, step: SheetAccess) -> Iterator[str]:
        yield ""
        yield self._headline(f"   ── {step.name}{self._grown_up(step.cautions)}", step.minutes)
        if not self.short:
            for text in step.steps:
                yield from self._wrapped(text, "      ")
            yield from self._cautions(step.cautions)

    def _check(self, number: int, check: SheetCheck) -> Iterator[str]:
        name = f"{check.name} (pack {check.pack_name})" if check.pack_name else check.name
        marks = " [safety limit]" if check.must and not check.gate else ""
        marks += GROWN_UP if self.sheet.asked.learner and check.adults_only else ""
        if not self.short:
            yield ""
        yield self._headline(f"{number:>2} □ {name}{marks}", check.minutes)
        if self.short:
            return
        yield from self._why(check)
        for n, text in enumerate(check.steps, 1):
            yield from self._wrapped(f"{n}. {text}", "      ", "         ")
        for label, text in (
            ("Tools", ", ".join(check.tools)),
            ("Good", check.good),
            ("Bad", check.bad),
            ("How tight", check.how_tight),
            ("Thread-lock", check.thread_lock),
            ("Wait", check.wait),
            ("Harm", check.harm),
        ):
            if text:
                yield from self._wrapped(f"{label}: {text}", "      ", "        ")
        yield from self._cautions(check.cautions)
        yield from self._wrapped(f"Answer: {_answer_line(check)}", "      ", "        ")

    def _why(self, check: SheetCheck) -> Iterator[str]:
        for reason in check.why:
            limit = " Beyond its safety limit." if reason.beyond_limit else ""
            yield from self._wrapped(
                f"Why: {reason.name}: {percent(reason.belief)} that it is there now, "
                f"{percent(reason.fail_chance)} that it fails before the next bench, which would cost "
                f"{money(reason.failure_cost)}; {reason.since}; {reason.every}.{limit}",
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
        f"Chance that something stops it before the next bench: {percent(car.stop_chance)} as it stands, "
        f"{percent(car.stop_chance_after)} after this sheet."
    )


def _minutes_cost(minutes: float) -> str:
    return "its minute costs" if minutes == 1.0 else f"its {minutes:g} minutes cost"


def _minutes_taken(sheet: Sheet) -> str:
    taken, wanted = f"{sheet.minutes:g}", f"{sheet.asked.minutes:g}"
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


def _answer_line(check: SheetCheck) -> str:
    pack = f' --pack "{check.pack_name}"' if check.pack_name else ""
    words = " | ".join(("sound", *check.answers, "failed", "ticked"))
    return to_type(f'found "{check.car_name}" {check.check}{pack} WORD   ({words})')
