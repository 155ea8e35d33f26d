"""A bench sheet laid out as cards: a check, a cover to take off, a treatment, a car of the evening."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import ClassVar, Self
from uuid import UUID

from snugfast.facts.model import Moment
from snugfast.records.entries import Done
from snugfast.usecases.bench.sheet import Sheet, SheetAccess, SheetCar, SheetCheck, SheetLeftOut
from snugfast.usecases.bench.sheet_words import WhyMode
from snugfast.usecases.bench.treatments import DueTreatment
from snugfast.usecases.bench.wet_readiness import WetReadiness
from snugfast.usecases.journal.answer_form import Group, answer_form
from snugfast.usecases.packs.blocks import PackBlock
from snugfast.usecases.packs.plugged_in import PluggedIn
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.numbers import count, day_and_time, minutes, money, money_range, percent
from snugfast.web.sheet.form import AskForm, FoundForm
from snugfast.web.troubles import Troubles

MOMENT_WORDS = {
    Moment.COLD_BENCH: "cold, pack out",
    Moment.ON_STAND: "on the stand, powered, hands clear",
    Moment.AFTER_RUN: "right after a run",
    Moment.FIELD: "in the field",
}
DONES = tuple(done.value for done in Done)


@dataclass(frozen=True, slots=True)
class WhyLine:
    """One reason, in one line and in figures."""

    name: str
    what_happens: str
    chance: str
    belief: str
    cost: str
    detects: str
    since: str
    every: str
    mode: str
    source: str
    beyond_limit: bool

    @classmethod
    def of(cls, why: WhyMode, workshop: Workshop) -> Self:
        return cls(
            name=why.name,
            what_happens=why.what_happens,
            chance=percent(why.fail_chance.value),
            belief=percent(why.belief.value),
            cost=money(why.failure_cost),
            detects=percent(why.detects),
            since=why.since,
            every=why.every,
            mode=why.mode,
            source=workshop.facts.sources[why.source].seen.value,
            beyond_limit=why.beyond_limit,
        )


@dataclass(frozen=True, slots=True)
class Answered:
    """What a check was answered with."""

    entry: UUID
    words: str
    at: str


@dataclass(frozen=True, slots=True)
class Refused:
    """An answer that could not be kept, as it was typed, and why."""

    key: str
    form: FoundForm
    troubles: Troubles


@dataclass(frozen=True, slots=True)
class CheckCard:
    """One check as a card: why, how, what to beware of, and the answer."""

    kind: ClassVar[str] = "check"
    step: SheetCheck
    number: int
    anchor: str
    form_id: UUID
    on: str  # the car, when there are several, and the pack
    minutes: str
    moment: str
    tag: str  # “first”, “must” or ""
    why_line: str
    whys: tuple[WhyLine, ...]
    saves: str
    costs: str
    found: tuple[Group, ...]
    failed: tuple[Group, ...]
    answered: Answered | None
    now: bool
    form: FoundForm
    troubles: Troubles | None


@dataclass(frozen=True, slots=True)
class AccessCard:
    """Work that opens the way, said once."""

    kind: ClassVar[str] = "access"
    step: SheetAccess
    on: str
    minutes: str


@dataclass(frozen=True, slots=True)
class TreatmentCard:
    """Work with a deadline after wet."""

    kind: ClassVar[str] = "treatment"
    step: DueTreatment
    form_id: UUID
    on: str
    minutes: str
    done: bool


@dataclass(frozen=True, slots=True)
class CarLine:
    """A car of the evening."""

    id: UUID
    name: str
    ahead: str
    before: str
    after: str
    loss: str

    @classmethod
    def of(cls, car: SheetCar) -> Self:
        ahead = car.ahead
        words = (
            f"about {count(ahead.packs, 'pack')}, {minutes(ahead.running_min)} of running, "
            f"{count(ahead.hard_hits, 'hard hit')}"
        )
        if ahead.wet is not None:
            words += f", {ahead.wet.value}"
        if ahead.ground is not None:
            words += f", {ahead.ground.value}"
        if ahead.air_degC is not None:
            words += f", {ahead.air_degC:.0f} °C"
        return cls(
            car.id,
            car.name,
            words,
            percent(car.stop_chance.value),
            percent(car.stop_chance_after.value),
            money(car.expected_loss),
        )


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Checks that are not on the sheet for one and the same reason."""

    reason: str
    lines: tuple[tuple[str, str, str], ...]  # name, minutes, what it would save


@dataclass(frozen=True, slots=True)
class SheetPage:
    """A bench sheet as it is worked through."""

    id: UUID
    link: str
    again: str
    made: str
    have: str
    needs: str
    until: str
    done: int
    total: int
    next_anchor: str
    first_cautions: tuple[str, ...]
    shortfall: str
    unguarded: tuple[str, ...]
    plugged_in: tuple[PluggedIn, ...]
    blocked: tuple[PackBlock, ...]
    readiness: tuple[WetReadiness, ...]
    cars: tuple[CarLine, ...]
    cards: tuple[CheckCard | AccessCard | TreatmentCard, ...]
    loss_avoided: str
    cost_of_minutes: str
    left_out: tuple[LeftOut, ...]
    moved: tuple[str, ...]
    bench_minute: str
    running_minute: str
    dones: tuple[str, ...]
    all_open: bool
    learner: bool

    @classmethod
    def of(
        cls,
        sheet: Sheet,
        workshop: Workshop,
        *,
        id: UUID,
        ask: AskForm,
        answers: Mapping[str, Answered],
        refused: Refused | None = None,
        at: str = "",
        all_open: bool = False,
    ) -> Self:
        making = _Cards(sheet, workshop, answers, refused, at)
        cards = tuple(making.cards())
        values = sheet.values
        return cls(
            id=id,
            link=f"/sheets/{id}?{ask.query}",
            again=f"/sheet?{ask.query}",
            made=day_and_time(sheet.made_at, workshop.zone),
            have=minutes(sheet.asked.minutes),
            needs=minutes(sheet.minutes),
            until="the next run is over" if sheet.asked.until.value == "run" else "the next outing is over",
            done=sum(check.key in answers for check in sheet.checks),
            total=len(sheet.checks),
            next_anchor=making.next_anchor,
            first_cautions=making.cautions_of_all(),
            shortfall=sheet.shortfall,
            unguarded=sheet.unguarded,
            plugged_in=sheet.plugged_in,
            blocked=sheet.blocked,
            readiness=sheet.readiness,
            cars=tuple(CarLine.of(car) for car in sheet.cars),
            cards=cards,
            loss_avoided=money_range(sheet.loss_avoided),
            cost_of_minutes=money_range(sheet.cost_of_minutes),
            left_out=_left_out(sheet.left_out, several_cars=len(sheet.cars) > 1),
            moved=tuple(line.sentence for line in sheet.moved),
            bench_minute=f"{values.bench_minute / 100:.2f} {values.currency}",
            running_minute=f"{values.running_minute / 100:.2f} {values.currency}",
            dones=DONES,
            all_open=all_open,
            learner=sheet.asked.learner,
        )


class _Cards:
    """Lays the steps of a sheet out as cards."""

    def __init__(
        self,
        sheet: Sheet,
        workshop: Workshop,
        answers: Mapping[str, Answered],
        refused: Refused | None,
        at: str,
    ) -> None:
        self.sheet = sheet
        self.workshop = workshop
        self.answers = answers
        self.refused = refused
        self.several = len(sheet.cars) > 1
        with workshop.store.reading() as reads:
            cars = ledger_now(reads).cars
        self.builds = {car.id: workshop.build(cars[car.id].build) for car in sheet.cars}
        open_ones = [(n, check.key) for n, check in enumerate(sheet.checks, 1) if check.key not in answers]
        from_here = [one for one in open_ones if at.isdecimal() and one[0] >= int(at)] or open_ones
        self.next_key = from_here[0][1] if from_here else ""
        self.next_anchor = anchor_of(from_here[0][0]) if from_here else ""

    def cards(self) -> Iterable[CheckCard | AccessCard | TreatmentCard]:
        number = 0
        for step in self.sheet.in_order:
            if isinstance(step, DueTreatment):
                yield self._treatment(step)
                continue
            if isinstance(step, SheetAccess):
                on = step.car_name if self.several else ""
                yield AccessCard(step, on, minutes(step.minutes))
                continue
            number += 1
            yield self._check(step, number)

    def cautions_of_all(self) -> tuple[str, ...]:
        """Cautions that stand at most of the steps, said once more at the top."""
        seen: dict[str, int] = {}
        for check in self.sheet.checks:
            for caution in check.cautions:
                seen[caution.text] = seen.get(caution.text, 0) + 1
        return tuple(text for text, times in seen.items() if times * 2 > len(self.sheet.checks))

    def _treatment(self, step: DueTreatment) -> TreatmentCard:
        return TreatmentCard(
            step=step,
            form_id=self.workshop.new_id(),
            on=step.car_name if self.several else "",
            minutes=minutes(step.minutes),
            done=step.key in self.answers,
        )

    def _check(self, step: SheetCheck, number: int) -> CheckCard:
        facts = self.workshop.facts
        offered = answer_form(facts, self.builds[step.car], facts.checks[step.check], step.chemistry)
        whys = tuple(WhyLine.of(why, self.workshop) for why in step.why)
        on = [step.car_name] if self.several else []
        on += [f"pack {step.pack_name}"] if step.pack_name else []
        refused = self.refused if self.refused and self.refused.key == step.key else None
        return CheckCard(
            step=step,
            number=number,
            anchor=anchor_of(number),
            form_id=(refused.form.id if refused else None) or self.workshop.new_id(),
            on=", ".join(on),
            minutes=minutes(step.minutes),
            moment=MOMENT_WORDS[step.moment],
            tag="always first" if step.gate else "safety limit" if step.must else "",
            why_line=_why_line(step),
            whys=whys,
            saves=money(step.gain) if step.gain else "",
            costs=money_range(step.cost),
            found=offered.found,
            failed=offered.failed,
            answered=self.answers.get(step.key),
            now=step.key == self.next_key,
            form=refused.form if refused else FoundForm(done=Done.PUT_RIGHT.value),
            troubles=refused.troubles if refused else None,
        )


def anchor_of(number: int) -> str:
    """Where a check stands on its page."""
    return f"check-{number}"


def _why_line(step: SheetCheck) -> str:
    """The weightiest reason in one line."""
    if not step.why:
        return "Belongs to every start." if step.gate else ""
    top = step.why[0]
    return f"{top.name}: {percent(top.fail_chance.value)} before the next bench; {top.since}."


def _left_out(left: Iterable[SheetLeftOut], *, several_cars: bool) -> tuple[LeftOut, ...]:
    grouped: dict[str, list[tuple[str, str, str]]] = {}
    for out in left:
        name = f"{out.car_name}: {out.name}" if several_cars else out.name
        grouped.setdefault(out.reason, []).append((name, minutes(out.minutes), money(out.gain)))
    return tuple(LeftOut(reason, tuple(lines)) for reason, lines in grouped.items())
