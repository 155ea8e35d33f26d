"""The one-off sheet of a car that came or goes: new, second-hand, back from a loan, put away, woken up."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

import numpy as np

from snugfast.core.errors import NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.vocabulary import CHECK_PACK_LOOK
from snugfast.facts.model import Build, Check, ExtraWork, Facts, Occasion, OneOffSheet
from snugfast.facts.texts import filled
from snugfast.records.entries import Fact, History, LaidUp, TreatmentDone, WokenUp
from snugfast.records.ledger import CarRecord
from snugfast.records.moments import read_moment
from snugfast.usecases.beliefs.stakes import Values, at_risk, costs, role_prices
from snugfast.usecases.beliefs.stories import remember, stories_of
from snugfast.usecases.beliefs.upcoming import Until, look_ahead
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.shared.applicability import answer_words, car_checks, fits, mode_keys, of_pack, opening
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.telling import tell
from snugfast.usecases.shared.workshop import Workshop

PRICES = Origin("invented-prices", "prices of the build; your own where you have written them")
ARRIVAL_MIN = 90.0  # as long as it pays; an arriving car is not looked at against the clock
LIKELY = Origin("delay-time-index", "belief of a defect times the parts its cure uses up")


@dataclass(frozen=True, slots=True)
class PartNeeded:
    """Parts that work on the sheet uses up, and what they cost."""

    name: str
    count: float
    cost: Figure


@dataclass(frozen=True, slots=True)
class OneOffWork:
    """Work that is no check."""

    name: str
    minutes: float
    steps: tuple[str, ...]
    parts: tuple[PartNeeded, ...]
    cautions: tuple[Caution, ...]
    adults_only: bool


@dataclass(frozen=True, slots=True)
class OneOffCheck:
    """A check that is done once because of the occasion; `done_at` when it was answered since."""

    check: str
    name: str
    moment: str
    minutes: float
    access: tuple[str, ...]
    steps: tuple[str, ...]
    good: str
    bad: str
    answers: tuple[str, ...]
    cautions: tuple[Caution, ...]
    adults_only: bool
    done_at: datetime | None
    of_pack: bool = False


@dataclass(frozen=True, slots=True)
class OneOff:
    """What is done once on a car, with total minutes and price."""

    key: str
    car: UUID
    car_name: str
    occasion: Occasion
    since: datetime
    name: str
    why: str
    before: tuple[OneOffWork, ...]
    checks: tuple[OneOffCheck, ...]
    after: tuple[OneOffWork, ...]
    minutes: float  # all of it, covers opened once
    minutes_left: float  # without the checks answered since; none once it is said to be done
    price: Figure  # of what the work uses up for certain
    likely: Figure  # of what the checks will probably find, by what is believed now
    done_at: datetime | None
    source: str
    sheet: Sheet | None = None  # of a car that arrives: where its checks come from


def occasion_of(car: CarRecord) -> tuple[Occasion, datetime]:
    """What happened to a car last, of all that asks for a one-off sheet, and when."""
    if car.laid_up_at is not None:
        return Occasion.LAY_UP, car.laid_up_at
    joined = Occasion.NEW if car.history is History.NEW else Occasion.SECOND_HAND
    times = (
        (joined, car.added_at),
        (Occasion.LOAN, car.came_back_at),
        (Occasion.WORKED, max(car.last_work.values(), default=None)),
        (Occasion.WAKE_UP, car.woken_at),
    )
    happened = [(occasion, at) for occasion, at in times if at is not None]
    return max(happened, key=lambda one: one[1])


def one_off_sheet(workshop: Workshop, car_name: str, occasion: Occasion | None = None) -> OneOff:
    """The one-off sheet of a car: for what happened to it last, or for an occasion that is to come.

    Raises NotKnown for a car that is not here, or when the tables hold no sheet for the occasion.
    """
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        car = car_called(ledger, car_name)
        position = reads.position()
        stories = stories_of(workshop, reads, ledger, [car.id])
    remember(workshop, position, stories.told)
    story = stories.of[car.id]
    build, now = workshop.build(car.build), workshop.now()
    last, since = occasion_of(car)
    if occasion is not None and occasion is not last:
        last, since = occasion, now
    sheet = sheet_for(workshop.facts, last)
    own = bench_sheet(workshop, Asked((car_name,), minutes=ARRIVAL_MIN)) if last.arrives else None
    making = _Making(workshop.facts, car, build, since)
    wanted = sheet.checks if own is None else making.wanted(own)
    chosen = {check.key: check for check in car_checks(workshop.facts, build)}
    checks = [chosen[key] for key in wanted if key in chosen]
    before, after = making.work(sheet.before), making.work(sheet.after)
    told = tuple(making.check(check) for check in checks)
    extra_min = sum(work.minutes for work in (*before, *after))
    open_checks = [check for check, one in zip(checks, told, strict=True) if one.done_at is None]
    done_at = _since(car.treated.get(sheet.key), since)
    ahead = look_ahead(workshop.facts, car.habits, until=Until.RUN, now=now)
    covered = {cover.mode for check in checks for cover in check.covers}
    risks = [risk for risk in at_risk(story, car.id, car.id, ahead, now) if risk.mode.key in covered]
    parts, _ = costs(risks, {car.id: role_prices(build)}, Values(0.0, 0.0, build.currency))
    likely = float(np.dot([risk.presence for risk in risks], parts)) if risks else 0.0
    return OneOff(
        key=sheet.key,
        car=car.id,
        car_name=car.name,
        occasion=last,
        since=since,
        name=sheet.name,
        why=sheet.why,
        before=before,
        checks=told,
        after=after,
        minutes=extra_min + making.minutes(checks),
        minutes_left=0.0 if done_at else extra_min + making.minutes(open_checks),
        price=_sum((part.cost for work in (*before, *after) for part in work.parts), build.currency),
        likely=Figure(likely / 100.0, build.currency, origins=(LIKELY,)),
        done_at=done_at,
        source=sheet.pedigree.source,
        sheet=own,
    )


def sheet_for(facts: Facts, occasion: Occasion) -> OneOffSheet:
    """The row of the tables for an occasion; an owner's own goes before ours. Raises NotKnown."""
    found = [sheet for sheet in facts.one_off_sheets.values() if sheet.occasion is occasion]
    if not found:
        raise NotKnown(
            f"There is no first-check list for “{occasion.value}”.", "Write one in your own tables."
        )
    return found[-1]


def draft_sheet_done(workshop: Workshop, car_name: str, *, id: UUID | None = None) -> Draft:
    """The entry that says that the one-off sheet of a car was worked through."""
    sheet = one_off_sheet(workshop, car_name)
    return _draft(workshop, TreatmentDone(sheet.car, sheet.key), "", id)


def draft_lay_up(
    workshop: Workshop, car_name: str, *, words: str = "", when: str = "", id: UUID | None = None
) -> Draft:
    """The entry of a car put away."""
    return _draft(workshop, LaidUp(_car(workshop, car_name).id, words.strip()), when, id)


def draft_wake_up(
    workshop: Workshop, car_name: str, *, words: str = "", when: str = "", id: UUID | None = None
) -> Draft:
    """The entry of a car woken up."""
    return _draft(workshop, WokenUp(_car(workshop, car_name).id, words.strip()), when, id)


def _car(workshop: Workshop, name: str) -> CarRecord:
    with workshop.store.reading() as reads:
        return car_called(ledger_now(reads), name)


def _draft(workshop: Workshop, fact: Fact, when: str, id: UUID | None) -> Draft:
    moment = read_moment(when, now=workshop.now(), zone=workshop.zone)
    entry = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=id)
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    return Draft((entry,), (tell(entry, workshop.facts, ledger),))


class _Making:
    """One sheet being made, for one car."""

    def __init__(self, facts: Facts, car: CarRecord, build: Build, since: datetime) -> None:
        self.facts = facts
        self.car = car
        self.build = build
        self.since = since
        self.modes = mode_keys(facts, build)

    def wanted(self, sheet: Sheet) -> tuple[str, ...]:
        """What was looked at since the car came, the battery, then what its own sheet asks for, in its order.

        A battery that never ran in this car is on no sheet of it yet, but one goes in before it runs.
        """
        looked = [(at, key.split("/")[0]) for key, at in self.car.last_looked.items() if at >= self.since]
        asked = [check.check for check in sheet.checks if check.car == self.car.id]
        return tuple(dict.fromkeys([*(key for _, key in sorted(looked)), CHECK_PACK_LOOK, *asked]))

    def work(self, extras: Sequence[ExtraWork]) -> tuple[OneOffWork, ...]:
        """The work that this build can have."""
        return tuple(self._work(extra) for extra in extras if fits(extra.traits, self.build))

    def _work(self, extra: ExtraWork) -> OneOffWork:
        return OneOffWork(
            name=extra.name,
            minutes=extra.minutes,
            steps=tuple(filled(step, self.build) for step in extra.steps),
            parts=tuple(self._parts(extra)),
            cautions=cautions_of(self.facts, extra.cautions),
            adults_only=any(self.facts.cautions[key].adults_only for key in extra.cautions),
        )

    def _parts(self, extra: ExtraWork) -> Iterable[PartNeeded]:
        for role, share in extra.parts.items():
            for place in self.build.of_role(role):
                count = share * max(1, len(place.spots))
                cost = Figure(count * place.price_minor / 100.0, self.build.currency, origins=(PRICES,))
                yield PartNeeded(place.part, count, cost)

    def check(self, check: Check) -> OneOffCheck:
        """A check with its texts filled in."""
        done = [at for key, at in self.car.last_checked.items() if key.split("/")[0] == check.key]
        covers = [self.facts.access[key] for key in opening(self.facts, check.access)]
        behind = [key for cover in covers for key in cover.cautions]
        cautions = list(dict.fromkeys((*behind, *check.cautions)))
        return OneOffCheck(
            check=check.key,
            name=check.name,
            moment=check.moment.value,
            minutes=check.minutes,
            access=tuple(cover.name for cover in covers),
            steps=tuple(filled(step, self.build) for step in check.steps),
            good=filled(check.good, self.build),
            bad=filled(check.bad, self.build),
            answers=answer_words(check, self.modes),
            cautions=cautions_of(self.facts, cautions),
            adults_only=check.adults_only or any(self.facts.cautions[key].adults_only for key in cautions),
            done_at=_since(max(done, default=None), self.since),
            of_pack=of_pack(self.facts, check),
        )

    def minutes(self, checks: Sequence[Check]) -> float:
        """Minutes of some checks with what has to be opened for them, each cover once."""
        covers = {key for check in checks for key in opening(self.facts, check.access)}
        return sum(check.minutes for check in checks) + sum(self.facts.access[key].minutes for key in covers)


def _since(at: datetime | None, since: datetime) -> datetime | None:
    return at if at is not None and at >= since else None


def _sum(costs_of: Iterable[Figure], currency: str) -> Figure:
    return Figure(sum(cost.value for cost in costs_of), currency, origins=(PRICES,))
