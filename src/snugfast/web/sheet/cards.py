"""A bench sheet laid out in rounds of lines; everything past the line is one tap away."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Self
from uuid import UUID

from snugfast.facts.model import Build, Facts
from snugfast.usecases.bench.pace import pace_words
from snugfast.usecases.bench.sheet import Line, Round, Sheet, SheetCar, SheetCheck, SheetLeftOut
from snugfast.usecases.bench.sheet_words import WhyMode
from snugfast.usecases.bench.treatments import DueTreatment
from snugfast.usecases.bench.walk import stands_now
from snugfast.usecases.bench.wet_readiness import WetReadiness
from snugfast.usecases.journal.answer_form import AnswerForm, answer_form
from snugfast.usecases.packs.blocks import PackBlock
from snugfast.usecases.packs.plugged_in import PluggedIn
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop
from snugfast.web.numbers import count, minutes, money, money_range, percent
from snugfast.web.picker import Where
from snugfast.web.sheet.fixing import FixCard
from snugfast.web.sheet.form import AskForm
from snugfast.web.sheet.round_form import BROKEN, DID, LineSaid
from snugfast.web.troubles import Troubles

CURVE_TOP_PX, CURVE_FOOT_PX = 30.0, 80.0
TAP_PERCENT = 12.5
MOST_SHORT = 3  # cautions in the strip of a round; the others stand at their lines


@dataclass(frozen=True, slots=True)
class Answered:
    """What a check was answered with."""

    entry: UUID
    words: str
    found: bool
    looked: bool
    by: str = ""  # who, where it was somebody else


@dataclass(frozen=True, slots=True)
class Refused:
    """A round that could not be kept, as it was ticked, and why; `line` is the one that asks back."""

    round: str
    said: Mapping[int, LineSaid]
    line: int
    troubles: Troubles


@dataclass(frozen=True, slots=True)
class WhyLine:
    """One reason, in figures."""

    mode: str
    name: str
    belief: str
    chance: str
    cost: str
    since: str
    every: str
    beyond_limit: bool

    @classmethod
    def of(cls, why: WhyMode) -> Self:
        return cls(
            mode=why.mode,
            name=why.name,
            belief=percent(why.belief.value),
            chance=percent(why.fail_chance.value),
            cost=f"{why.failure_cost.value:.0f}",
            since=why.since,
            every=why.every,
            beyond_limit=why.beyond_limit,
        )


@dataclass(frozen=True, slots=True)
class LineCard:
    """One line: its title and marks, what may be found and where, and what it was answered with."""

    line: Line
    anchor: str
    check: SheetCheck
    under: str  # place, packs, tool
    minutes: str
    found: tuple[tuple[str, str], ...]  # what the form sends, what it says
    broken: tuple[tuple[str, str], ...]
    where: Where
    packs: tuple[str, ...]
    cautions: tuple[Caution, ...]
    whys: tuple[WhyLine, ...]
    worth: str
    joints: str  # where its torque is worked out, "" where nothing is tightened
    answers: tuple[Answered, ...]
    said: LineSaid
    troubles: Troubles | None

    @property
    def state(self) -> str:
        """What the nut shows: found, skipped, ok, or nothing yet."""
        if not self.answers or len(self.answers) < len(self.line.checks):
            return "open"
        if any(answer.found for answer in self.answers):
            return "found"
        return "ok" if all(answer.looked for answer in self.answers) else "skipped"

    @property
    def answer(self) -> str:
        """The answer in words, packs that were OK left out when one was not."""
        told = [answer.words for answer in self.answers if answer.found] or [
            answer.words for answer in self.answers[:1]
        ]
        return "; ".join(told)

    @property
    def by(self) -> str:
        """Who answered, where that was somebody else."""
        return ", ".join(dict.fromkeys(answer.by for answer in self.answers if answer.by))


@dataclass(frozen=True, slots=True)
class RoundCard:
    """One round: a form of its own until it is answered, then a line that says what came of it."""

    round: Round
    key: str
    number: int
    title: str
    minutes: str
    start: float  # of the sheet's minutes, in percent
    width: float
    cautions: tuple[tuple[str, bool], ...]  # short, and whether it is for adults only
    lines: tuple[LineCard, ...]
    form_id: UUID
    here: bool
    troubles: Troubles | None

    @property
    def done(self) -> bool:
        """Whether every line has its answer."""
        return all(line.state != "open" for line in self.lines)

    @property
    def left(self) -> int:
        """Lines that are not answered yet."""
        return sum(line.state == "open" for line in self.lines)

    @property
    def outcome(self) -> str:
        """“1 found, 6 OK”, “5 skipped”."""
        counts = Counter(line.state for line in self.lines)
        words = (("found", "found"), ("ok", "OK"), ("skipped", "skipped"))
        return ", ".join(f"{counts[state]} {word}" for state, word in words if counts[state])


@dataclass(frozen=True, slots=True)
class CarLine:
    """A car of the evening."""

    id: UUID
    name: str
    ahead: str
    before: str
    after: str
    first_look: bool

    @classmethod
    def of(cls, car: SheetCar) -> Self:
        ahead = car.ahead
        words = f"{count(ahead.packs, 'pack')}, {minutes(ahead.running_min)} of track time"
        if ahead.wet is not None:
            words += f", {ahead.wet.value}"
        if ahead.ground is not None:
            words += f", {ahead.ground.value}"
        return cls(
            car.id,
            car.name,
            words,
            percent(car.stop_chance.value),
            percent(car.stop_chance_after.value),
            car.first_look,
        )


@dataclass(frozen=True, slots=True)
class ReadyCard:
    """The moment when a sheet is done: each car before and now, what is still to fix, what to buy for it."""

    cars: tuple[tuple[str, str, str], ...]
    to_fix: tuple[str, ...]
    to_buy: tuple[str, ...]

    @classmethod
    def of(cls, sheet: Sheet, workshop: Workshop) -> Self:
        now = stands_now(workshop, sheet.asked, sheet)
        several = len(now.cars) > 1
        return cls(
            cars=tuple((name, percent(was.value), percent(is_.value)) for name, was, is_ in now.cars),
            to_fix=tuple(f"{job.car_name}: {job.title}" if several else job.title for job in now.to_fix),
            to_buy=now.to_buy,
        )


@dataclass(frozen=True, slots=True)
class TreatmentCard:
    """Work with a deadline after wet."""

    step: DueTreatment
    form_id: UUID
    minutes: str


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Checks that are not on the sheet for one and the same reason."""

    reason: str
    lines: tuple[tuple[str, str], ...]  # name, minutes


@dataclass(frozen=True, slots=True)
class MinutesChoice:
    """Another length of the sheet, what it would save, and where its dot stands on the curve."""

    minutes: str
    link: str
    current: bool
    saves: str
    x: float  # percent
    left: float  # percent, where what can be tapped begins
    y: float  # px from the top


@dataclass(frozen=True, slots=True)
class SheetPage:
    """A bench sheet as it is worked through."""

    id: UUID
    form_id: UUID
    title: str
    link: str
    query: str
    again: str
    choices: tuple[MinutesChoice, ...]
    minutes_words: str
    whole_job: tuple[str, ...]
    left_min: str
    needs: str
    have: str
    checks: int
    shortfall: str
    unguarded: tuple[str, ...]
    plugged_in: tuple[PluggedIn, ...]
    blocked: tuple[PackBlock, ...]
    readiness: tuple[WetReadiness, ...]
    treatments: tuple[TreatmentCard, ...]
    fixes: tuple[FixCard, ...]
    cars: tuple[CarLine, ...]
    rounds: tuple[RoundCard, ...]
    ready: ReadyCard | None
    loss_avoided: str
    cost_of_minutes: str
    gap_words: str
    driver_words: str
    left_out: tuple[LeftOut, ...]
    left_out_count: int
    moved: tuple[str, ...]
    dids: tuple[tuple[str, str], ...]
    currency: str
    learner: bool
    all_open: bool

    @property
    def done(self) -> bool:
        """Whether every round is answered."""
        return bool(self.rounds) and all(card.done for card in self.rounds)

    @property
    def next_anchor(self) -> str:
        """The round to go on with."""
        return next((f"r-{card.key}" for card in self.rounds if card.here), "ready")

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
        all_open: bool = False,
    ) -> Self:
        rounds = tuple(_Laying(sheet, workshop, answers, refused).rounds())
        to_do = sum(card.round.minutes for card in rounds if not card.done)
        return cls(
            id=id,
            form_id=workshop.new_id(),
            title=title_of(sheet),
            link=f"/sheets/{id}",
            query=ask.query,
            again=f"/sheet?{ask.query}",
            choices=_choices(sheet, ask),
            minutes_words=_minutes_words(sheet),
            whole_job=tuple(caution.short or caution.text for caution in sheet.cautions),
            left_min=f"{to_do:.0f}" if to_do >= 10 else f"{to_do:.1f}",
            needs=minutes(sheet.minutes),
            have=minutes(sheet.asked.minutes),
            checks=len(sheet.checks),
            shortfall=sheet.shortfall,
            unguarded=sheet.unguarded,
            plugged_in=sheet.plugged_in,
            blocked=sheet.blocked,
            readiness=sheet.readiness,
            treatments=tuple(
                TreatmentCard(step, workshop.new_id(), minutes(step.minutes))
                for step in sheet.treatments
                if step.key not in answers
            ),
            fixes=_fixes(sheet, workshop),
            cars=tuple(CarLine.of(car) for car in sheet.cars),
            rounds=rounds,
            ready=ReadyCard.of(sheet, workshop) if rounds and all(card.done for card in rounds) else None,
            loss_avoided=money_range(sheet.loss_avoided),
            cost_of_minutes=money(sheet.cost_of_minutes),
            gap_words=sheet.gap_words,
            driver_words=sheet.driver_words,
            left_out=_left_out(sheet.left_out, several_cars=len(sheet.cars) > 1),
            left_out_count=len(sheet.left_out),
            moved=tuple(line.sentence for line in sheet.moved),
            dids=DID,
            currency=sheet.values.currency,
            learner=sheet.asked.learner,
            all_open=all_open,
        )


class _Laying:
    """Lays the lines of a sheet out, round by round."""

    def __init__(
        self, sheet: Sheet, workshop: Workshop, answers: Mapping[str, Answered], refused: Refused | None
    ) -> None:
        self.facts = workshop.facts
        self.new_id = workshop.new_id
        self.answers = answers
        self.refused = refused
        self.several = len(sheet.cars) > 1
        with workshop.store.reading() as reads:
            cars = ledger_now(reads).cars
        self.builds = {car.id: workshop.build(cars[car.id].build) for car in sheet.cars}
        self.held = sheet.rounds

    def rounds(self) -> Iterable[RoundCard]:
        total = sum(held.minutes for held in self.held) or 1.0
        before, here_taken = 0.0, False
        for number, held in enumerate(self.held, 1):
            refused = self.refused if self.refused and self.refused.round == key_of(held) else None
            lines = tuple(self._line(line, self.refused) for line in held.lines)
            is_open = any(line.state == "open" for line in lines)
            here = is_open and not here_taken
            here_taken = here_taken or is_open
            yield RoundCard(
                round=held,
                key=key_of(held),
                number=number,
                title=f"{held.car_name}: {held.name.lower()}" if self.several else held.name,
                minutes=minutes(held.minutes),
                start=before / total * 100.0,
                width=held.minutes / total * 100.0,
                cautions=self._short(held),
                lines=lines,
                form_id=self.new_id(),
                here=here,
                troubles=refused.troubles if refused else None,
            )
            before += held.minutes

    def _line(self, line: Line, refused: Refused | None) -> LineCard:
        check = line.check
        offered = offered_to(self.facts, self.builds[check.car], check)
        places = [option.said.partition(" @ ")[2] for group in offered.found for option in group.options]
        places += [option.said.partition(" @ ")[2] for group in offered.failed for option in group.options]
        answers = tuple(self.answers[one.key] for one in line.checks if one.key in self.answers)
        return LineCard(
            line=line,
            anchor=f"l{line.number}",
            check=check,
            under=" · ".join(filter(None, (line.place, ", ".join(line.packs), line.tool))),
            minutes=minutes(line.minutes),
            found=tuple((group.name, group.name) for group in offered.found),
            broken=tuple(
                (f"{BROKEN}{group.options[0].mode}", group.name) for group in offered.failed if group.options
            ),
            where=Where.among(places),
            packs=line.packs if len(line.packs) > 1 else (),
            cautions=tuple(dict.fromkeys(caution for one in line.checks for caution in one.cautions)),
            whys=tuple(WhyLine.of(why) for why in check.why),
            worth=f"Saves about {money(check.gain)} on average; takes {money(check.cost)} of your time."
            if check.gain
            else "",
            joints=f"/cars/{check.car}/joints?check={check.check}" if check.how_tight else "",
            answers=answers,
            said=refused.said.get(line.number, LineSaid()) if refused else LineSaid(),
            troubles=refused.troubles if refused and refused.line == line.number else None,
        )

    def _short(self, held: Round) -> tuple[tuple[str, bool], ...]:
        """What holds for several lines of a round, in short; what belongs to one line stands at that line."""
        seen: Counter[str] = Counter()
        for line in held.lines:
            seen.update({caution.text for one in line.checks for caution in one.cautions})
        opening = {caution.text for step in held.opening for caution in step.cautions}
        shared = [
            caution
            for caution in held.cautions
            if caution.text in opening or seen[caution.text] * 2 >= len(held.lines)
        ]
        shown = shared[:MOST_SHORT] or list(held.cautions[:1])
        return tuple((one.short or one.text, one.adults_only) for one in shown)


def offered_to(facts: Facts, build: Build, check: SheetCheck) -> AnswerForm:
    """What the form offers as answers to a check on this build, and the pack in hand where there is one."""
    return answer_form(facts, build, facts.checks[check.check], check.chemistry)


def _choices(sheet: Sheet, ask: AskForm) -> tuple[MinutesChoice, ...]:
    """The minutes one may have, to scale, each with what it would save."""
    if not sheet.curve:
        return ()
    longest = max(point.minutes for point in sheet.curve)
    most = max((point.saves.value for point in sheet.curve), default=0.0) or 1.0
    made = []
    for point in sheet.curve:
        x = TAP_PERCENT / 2.0 + (100.0 - TAP_PERCENT) * (point.minutes - 5.0) / max(longest - 5.0, 1.0)
        drop = (CURVE_FOOT_PX - CURVE_TOP_PX) * point.saves.value / most
        made.append(
            MinutesChoice(
                minutes=f"{point.minutes:g}",
                link=ask.for_minutes(point.minutes),
                current=point.minutes == sheet.asked.minutes,
                saves=f"{point.saves.value:.1f}",
                x=round(x, 2),
                left=round(x - TAP_PERCENT / 2.0, 2),
                y=round(CURVE_FOOT_PX - drop, 1),
            )
        )
    return tuple(made)


def _minutes_words(sheet: Sheet) -> str:
    """“20 min: 14 looking, 6 for what it will probably find.”"""
    bench = sheet.bench
    parts = [(bench.looking, "looking"), (bench.cures, "for what it will probably find")]
    parts += [(bench.fixing, "to fix first"), (bench.cleaning, "cleaning"), (bench.wet, "after wet")]
    said = [f"{value:.0f} {words}" for value, words in parts if value >= 0.5]
    told = f"{sum(value for value, _ in parts):.0f} min: {', '.join(said)}." if len(said) > 1 else ""
    return " ".join(filter(None, (told, pace_words(sheet.pace))))


def _fixes(sheet: Sheet, workshop: Workshop) -> tuple[FixCard, ...]:
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    return tuple(FixCard.of(job, workshop, ledger) for job in sheet.fix_first)


def key_of(held: Round) -> str:
    """Under what a round is sent and found on its page."""
    return f"{held.key}-{str(held.car)[-6:]}"


def title_of(sheet: Sheet) -> str:
    """“Bramble, 20 minutes”."""
    names = [car.name for car in sheet.cars]
    who = f"{', '.join(names[:-1])} and {names[-1]}" if len(names) > 1 else "".join(names)
    return f"{who or 'Bench sheet'}, {sheet.asked.minutes:g} minutes"


def _left_out(left: Iterable[SheetLeftOut], *, several_cars: bool) -> tuple[LeftOut, ...]:
    grouped: dict[str, list[tuple[str, str]]] = {}
    for out in left:
        name = f"{out.car_name}: {out.name}" if several_cars else out.name
        grouped.setdefault(out.reason, []).append((name, minutes(out.minutes)))
    return tuple(LeftOut(reason, tuple(lines)) for reason, lines in grouped.items())
