"""What needs somebody now: what is unsafe, what has a deadline, what is known to be broken."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from uuid import UUID

from snugfast.facts.model import Facts
from snugfast.usecases.bench.outlook import Outlook
from snugfast.usecases.packs.today import PacksToday, ToDo, Urgency
from snugfast.usecases.shared.cautions import Caution


class Sort(Enum):
    """What kind of thing it is; each door says where it is done."""

    PACK = "pack"
    UNSAFE = "unsafe"
    WET = "wet"
    BROKEN = "broken"


@dataclass(frozen=True, slots=True)
class Need:
    """One thing: how pressing (the smaller `rank`, the sooner), what, why, by when, and of what."""

    rank: int
    sort: Sort
    of: UUID  # the car or the pack
    name: str  # of the car or the pack
    what: str
    why: str = ""
    by: str = ""
    cautions: tuple[Caution, ...] = ()

    @property
    def at_once(self) -> bool:
        """Whether it may burn or hurt if it waits."""
        return self.rank == 0


def needs_now(
    facts: Facts,
    outlooks: Sequence[Outlook],
    packs: PacksToday,
    *,
    only_packs: Collection[UUID] | None = None,
) -> tuple[Need, ...]:
    """The most pressing first: packs that burn, cars that are unsafe, deadlines, wet, what is broken."""
    found = [_pack(todo) for todo in packs.todo if only_packs is None or todo.pack in only_packs]
    for outlook in outlooks:
        found += _unsafe(outlook)
        found += _wet(outlook)
        found += _broken(facts, outlook)
    return tuple(sorted(found, key=lambda need: need.rank))


def _pack(todo: ToDo) -> Need:
    rank = {Urgency.NOW: 0, Urgency.TODAY: 2, Urgency.SOON: 5}.get(todo.urgency, 6)
    what = f"{todo.pack_name}: {todo.what}"
    return Need(rank, Sort.PACK, todo.pack, todo.pack_name, what, todo.why, cautions=todo.cautions)


def _unsafe(outlook: Outlook) -> Iterable[Need]:
    """A car past a safety limit that nobody has looked at: one line, whatever the number of limits."""
    known = {defect.mode for defect in outlook.car.defects.open}
    beyond = [
        risk
        for risk in outlook.risks
        if risk.breaks_safety_limit and risk.pack is None and risk.mode.key not in known
    ]
    if beyond:
        named = dict.fromkeys(risk.mode.name for risk in beyond)
        why = "; ".join(name.lower() for name in list(named)[:2]).capitalize()
        yield Need(
            rank=1,
            sort=Sort.UNSAFE,
            of=outlook.car.id,
            name=outlook.car.name,
            what=f"{outlook.car.name} isn’t safe to run yet.",
            why=f"{why}: not looked at for too long.",
        )


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
