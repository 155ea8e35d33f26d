"""What needs somebody now: what is unsafe, what has a deadline, what is known to be broken."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from urllib.parse import quote
from uuid import UUID

from snugfast.facts.model import Facts
from snugfast.usecases.bench.outlook import Outlook
from snugfast.usecases.packs.today import PacksToday, ToDo, Urgency
from snugfast.usecases.shared.cautions import Caution


@dataclass(frozen=True, slots=True)
class Need:
    """One thing: how pressing, what, by when, and where it is done. The smaller `rank`, the sooner."""

    rank: int
    sign: str
    what: str
    why: str
    by: str
    link: str
    link_words: str
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
    sign = {0: "s-now", 2: "s-now", 5: "s-soon"}.get(rank, "s-some")
    what = f"{todo.pack_name}: {todo.what}"
    return Need(rank, sign, what, todo.why, "", f"/packs/{todo.pack}", todo.pack_name, todo.cautions)


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
        yield Need(
            rank=1,
            sign="s-now",
            what=f"{outlook.car.name} isn’t safe to run yet.",
            why="; ".join(name.lower() for name in list(named)[:2]).capitalize()
            + ": not looked at for too long.",
            by="",
            link=_sheet(outlook),
            link_words="Check it",
        )


def _wet(outlook: Outlook) -> Iterable[Need]:
    for due in outlook.treatments:
        what = f"{outlook.car.name} after wet: {due.name}"
        by = f"{due.when}, {due.minutes:g} min"
        yield Need(3, "s-wet", what, due.when_late if due.overdue else "", by, _sheet(outlook), "How")


def _broken(facts: Facts, outlook: Outlook) -> Iterable[Need]:
    for defect in outlook.car.defects.open:
        mode = facts.modes.get(defect.mode)
        what = f"{outlook.car.name}: {mode.name if mode else defect.word}"
        what += f", {defect.spot}" if defect.spot else ""
        unsafe = mode is not None and mode.safety is not None
        rank, sign = (1, "s-now") if unsafe else (4, "s-soon")
        why = "Don’t drive before it is fixed." if unsafe else ""
        yield Need(rank, sign, what, why, "", f"{_sheet(outlook)}#fix", "Fix first")


def _sheet(outlook: Outlook) -> str:
    return f"/sheet?car={quote(outlook.car.name)}&minutes=20&make=1"
