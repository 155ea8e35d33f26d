"""What needs somebody now: what is unsafe, what has a deadline, what is known to be broken."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from uuid import UUID

from snugfast.core.vocabulary import in_sentence
from snugfast.facts.model import Build, Facts, Moment
from snugfast.records.ledger import CarRecord
from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.bench.outlook import Outlook
from snugfast.usecases.packs.today import PacksToday, ToDo, Urgency
from snugfast.usecases.shared.applicability import car_checks
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.workshop import Workshop

AWAY = (Moment.AFTER_RUN, Moment.FIELD)  # no check of a sheet made at the bench
LIKELY = 0.5  # elicited: a defect that is as likely there as not is no matter for the next sheet
MOST_NAMED = 2
SHEET_MIN = 20.0


class Sort(Enum):
    """What kind of thing it is; each door says where it is done."""

    PACK = "pack"
    PACKS = "packs"  # the same for several of them
    UNSAFE = "unsafe"
    SHEET = "sheet"
    WET = "wet"
    BROKEN = "broken"


@dataclass(frozen=True, slots=True)
class Need:
    """One thing: how pressing (the smaller `rank`, the sooner), what, why, by when, and of what."""

    rank: int
    sort: Sort
    of: UUID  # the car or the pack; of several packs the first
    name: str  # of the car or the packs
    what: str
    why: str = ""
    by: str = ""
    cautions: tuple[Caution, ...] = ()

    @property
    def at_once(self) -> bool:
        """Whether it may burn or hurt if it waits."""
        return self.rank == 0


def needs_now(
    workshop: Workshop,
    outlooks: Sequence[Outlook],
    packs: PacksToday,
    *,
    only_packs: Collection[UUID] | None = None,
) -> tuple[Need, ...]:
    """The most pressing first: packs that burn, what is unsafe, deadlines, wet, broken, sheets due."""
    asked = [todo for todo in packs.todo if only_packs is None or todo.pack in only_packs]
    found = [_packs(alike) for alike in _alike(asked)]
    for outlook in outlooks:
        found += _limits(workshop.facts, workshop.build(outlook.car.build), outlook)
        found += _wet(outlook)
        found += _broken(workshop.facts, outlook)
    return tuple(sorted(found, key=lambda need: need.rank))


def _alike(asked: Iterable[ToDo]) -> Iterable[Sequence[ToDo]]:
    """What is asked of several packs in the same words together, where the first of them stands."""
    together: dict[tuple[object, ...], list[ToDo]] = {}
    for todo in asked:
        together.setdefault((todo.urgency, todo.what, todo.why), []).append(todo)
    return together.values()


def _packs(alike: Sequence[ToDo]) -> Need:
    todo, sort = alike[0], Sort.PACK if len(alike) == 1 else Sort.PACKS
    rank = {Urgency.NOW: 0, Urgency.TODAY: 2, Urgency.SOON: 5}.get(todo.urgency, 6)
    names = ", ".join(one.pack_name for one in alike)
    return Need(rank, sort, todo.pack, names, f"{names}: {todo.what}", todo.why, cautions=todo.cautions)


def _limits(facts: Facts, build: Build, outlook: Outlook) -> Iterable[Need]:
    """Safety limits that a look can help: a must that was skipped is unsafe, the rest is a sheet that is due.

    A limit is passed after nearly every outing, as it should be: the next sheet asks for it before the car
    runs. That alone is nothing to shout about.
    """
    known = {defect.mode for defect in outlook.car.defects.open}
    beyond = [
        risk
        for risk in outlook.risks
        if risk.needs_a_look and risk.pack is None and risk.mode.key not in known
    ]
    unsafe = [risk for risk in beyond if _skipped(outlook.car, risk) or risk.presence >= LIKELY]
    asked = list(dict.fromkeys(filter(None, (_check_for(facts, build, one) for one in unsafe or beyond))))
    first = "; ".join(asked[:1] + [in_sentence(name) for name in asked[1:MOST_NAMED]])
    why = f"{first}." if first else ""
    car = outlook.car
    if unsafe:
        likely = [in_sentence(risk.mode.name) for risk in unsafe if risk.presence >= LIKELY]
        how = f"{likely[0]}, more likely than not" if likely else "a must was skipped"
        yield Need(1, Sort.UNSAFE, car.id, car.name, f"{car.name} isn’t safe to run: {how}", why)
    elif beyond:
        yield Need(4, Sort.SHEET, car.id, car.name, f"{car.name}: sheet due, {SHEET_MIN:g} min", why)


def _skipped(car: CarRecord, risk: AtRisk) -> bool:
    """Whether somebody had it in hand since the car ran last, and ticked it off without looking."""
    ticked = risk.mark.looked_at if risk.mark.how == "ticked" else None
    return ticked is not None and (car.habits.last_run_at is None or ticked >= car.habits.last_run_at)


def _check_for(facts: Facts, build: Build, risk: AtRisk) -> str:
    """The check at the bench that sees most of it."""
    seen = [
        (cover.detects, check.name)
        for check in car_checks(facts, build)
        if check.moment not in AWAY
        for cover in check.covers
        if cover.mode == risk.mode.key
    ]
    return max(seen, default=(0.0, ""), key=lambda one: one[0])[1]


def _wet(outlook: Outlook) -> Iterable[Need]:
    for due in outlook.treatments:
        what = f"{outlook.car.name} after wet: {due.name}"
        by = f"{due.when}, {due.minutes:g} min"
        why = due.when_late if due.overdue else ""
        yield Need(3, Sort.WET, outlook.car.id, outlook.car.name, what, why, by)


def _broken(facts: Facts, outlook: Outlook) -> Iterable[Need]:
    for defect in outlook.car.defects.open:
        mode = facts.modes.get(defect.mode)
        what = f"{outlook.car.name}: {mode.name if mode else defect.word}"
        what += f", {defect.spot}" if defect.spot else ""
        unsafe = mode is not None and mode.safety is not None
        why = "Don’t drive before it is fixed." if unsafe else ""
        yield Need(1 if unsafe else 4, Sort.BROKEN, outlook.car.id, outlook.car.name, what, why)
