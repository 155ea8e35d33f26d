"""The shelf of packs: one row each with its sign, how full it is, by when it asks for something, and what.

The packs that ask soonest stand first. The sign is a shape with a word, so that colour says nothing alone.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import Enum
from uuid import UUID

from snugfast.core.figures import Figure
from snugfast.physics.packs.reasons import Level
from snugfast.usecases.packs.state import ActByCase, PackSeen, PacksNow
from snugfast.usecases.packs.today import PacksToday, ToDo, Urgency, today_of
from snugfast.usecases.shared.chemistry import shown
from snugfast.usecases.shared.workshop import Workshop

NEAR = timedelta(days=60)  # a deadline further off asks for nothing yet


class Sign(Enum):
    """What a pack is fit for, hardest first: a shape, and how a person says it."""

    OUT = ("■", "do not charge")
    RETIRE = ("□", "retire")
    ACT = ("◆", "act now")
    CHECK = ("○", "check first")
    EASY = ("▷", "go easy")
    READY = ("▶", "OK")

    @property
    def shape(self) -> str:
        """One character."""
        return self.value[0]

    @property
    def word(self) -> str:
        """How a person says it."""
        return self.value[1]


@dataclass(frozen=True, slots=True)
class ShelfRow:
    """One pack. `by` is a deadline that is near, `charge` a band; None where nothing tells."""

    pack: UUID
    name: str
    about: str  # “3S 5 Ah LiPo”
    sign: Sign
    charge: Figure | None
    by: datetime | None
    what: str
    why: str
    todo: tuple[ToDo, ...]


@dataclass(frozen=True, slots=True)
class Shelf:
    """All packs that are here, those that ask soonest first, and a sentence over them."""

    rows: tuple[ShelfRow, ...]
    sentence: str
    today: PacksToday
    at: datetime


def shelf_of(workshop: Workshop, now: PacksNow) -> Shelf:
    """The shelf from packs that were looked up already."""
    today = today_of(workshop, now)
    asked: dict[UUID, list[ToDo]] = {}
    for todo in (*today.todo, *today.countdown):
        asked.setdefault(todo.pack, []).append(todo)
    rows = sorted((_row(seen, asked, now.at) for seen in now.packs), key=lambda row: _order(row, now.at))
    return Shelf(tuple(rows), _sentence(rows), today, now.at)


def _row(seen: PackSeen, asked: Mapping[UUID, Sequence[ToDo]], now: datetime) -> ShelfRow:
    state = seen.state
    todo = tuple(asked.get(state.id, ()))
    reason = state.reasons[0] if state.reasons else None
    first = todo[0] if todo and todo[0].urgency < Urgency.LATER else None
    case = state.case
    return ShelfRow(
        pack=state.id,
        name=state.name,
        about=f"{state.cells}S {state.capacity_Ah:g} Ah {shown(state.chemistry)}",
        sign=_sign(seen, todo),
        charge=state.charge.charge if state.charge else None,
        by=_deadline(case, now),
        what=first.what if first else reason.way_back if reason else "",
        why=first.why if first else reason.says if reason else "",
        todo=todo,
    )


def _deadline(case: ActByCase | None, now: datetime) -> datetime | None:
    """By when to store or recharge it, where that is near enough to say and not past."""
    by = case.by if case else None
    return by if by is not None and now < by < now + NEAR else None


def _sign(seen: PackSeen, todo: Sequence[ToDo]) -> Sign:
    level = max(seen.judged.standing.level, seen.judged.now.level)
    if level is Level.DO_NOT_CHARGE:
        return Sign.OUT
    if level is Level.RETIRE:
        return Sign.RETIRE
    if any(one.urgency <= Urgency.TODAY for one in todo):
        return Sign.ACT
    return {Level.REST: Sign.CHECK, Level.GENTLY: Sign.EASY}.get(level, Sign.READY)


def _order(row: ShelfRow, now: datetime) -> tuple[int, float, str]:
    rank = {Sign.OUT: 0, Sign.ACT: 1, Sign.RETIRE: 2}.get(row.sign, 3)
    left_s = (row.by - now).total_seconds() if row.by is not None else float("inf")
    return rank, left_s, row.name.casefold()


def _sentence(rows: Sequence[ShelfRow]) -> str:
    """What the shelf says in one line: who needs somebody, and how many are ready."""
    if not rows:
        return "No packs yet."
    need = sum(row.sign in (Sign.OUT, Sign.ACT, Sign.RETIRE) for row in rows)
    ready = sum(row.sign in (Sign.READY, Sign.EASY) for row in rows)
    check = len(rows) - need - ready
    said = [
        f"{_many(need)} you today" if need else "",
        f"{check} to check before use" if check else "",
        f"{ready} ready" if ready else "",
    ]
    return f"{', '.join(filter(None, said))}."


def _many(count: int) -> str:
    return f"{count} pack needs" if count == 1 else f"{count} packs need"
