"""Packs as pages show them: verdict and charge in words, a gauge, times on the clock."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from typing import Self
from uuid import UUID

from snugfast.core.figures import Figure
from snugfast.usecases.packs.shelf import ShelfRow, Sign
from snugfast.usecases.packs.state import ActByCase, PackState, drain_words
from snugfast.usecases.packs.today import ToDo, Urgency
from snugfast.usecases.packs.words import (
    band_of_spans,
    charge_words,
    moment_words,
    runs_words,
)
from snugfast.usecases.shared.cautions import Caution
from snugfast.usecases.shared.chemistry import shown
from snugfast.web.numbers import count

GAUGE_WIDTH = 100


@dataclass(frozen=True, slots=True)
class ChargeGauge:
    """A charge as a band on a rule of a hundred: from, width, and where the likely value stands."""

    words: str
    start: int
    width: int
    likely: int

    @classmethod
    def of(cls, share: Figure) -> Self:
        low = share.low if share.low is not None else share.value
        high = share.high if share.high is not None else share.value
        start, end = round(low * GAUGE_WIDTH), round(high * GAUGE_WIDTH)
        return cls(charge_words(share), start, max(end - start, 1), round(share.value * GAUGE_WIDTH))


@dataclass(frozen=True, slots=True)
class CaseRow:
    """One way a pack may stand, and by when to act then."""

    left: str
    said: bool
    by: str
    span: str
    danger: str
    drain: str

    @classmethod
    def of(cls, case: ActByCase, zone: str, now: datetime) -> Self:
        how = "measured" if case.measured else "guessed"
        return cls(
            left=case.left.value,
            said=case.said,
            by=moment_words(case.by, zone, now),
            span=band_of_spans(case.act),
            danger=moment_words(case.danger_by, zone, now),
            drain="none" if case.drain.value == 0.0 else f"{drain_words(case.drain)}, {how}",
        )


@dataclass(frozen=True, slots=True)
class ToDoLine:
    """One thing to do about a pack."""

    urgency: str
    pack: UUID
    pack_name: str
    what: str
    why: str
    cautions: tuple[Caution, ...]

    @classmethod
    def of(cls, todo: ToDo) -> Self:
        return cls(todo.urgency.words, todo.pack, todo.pack_name, todo.what, todo.why, todo.cautions)


@dataclass(frozen=True, slots=True)
class ShelfCard:
    """One pack on the shelf."""

    id: UUID
    name: str
    about: str
    shape: str
    word: str
    urgent: bool
    barred: bool
    gauge: ChargeGauge | None
    by: str
    what: str
    why: str
    todo: tuple[ToDoLine, ...]

    @classmethod
    def of(cls, row: ShelfRow, zone: str, now: datetime) -> Self:
        return cls(
            id=row.pack,
            name=row.name,
            about=row.about,
            shape=row.sign.shape,
            word=row.sign.word,
            urgent=row.sign in (Sign.OUT, Sign.RETIRE, Sign.ACT),
            barred=row.sign in (Sign.OUT, Sign.RETIRE),
            gauge=ChargeGauge.of(row.charge) if row.charge else None,
            by=f"by {moment_words(row.by, zone, now)}" if row.by else "",
            what=row.what,
            why=row.why,
            todo=tuple(ToDoLine.of(todo) for todo in row.todo),
        )


def cautions_once(todos: Iterable[ToDo]) -> tuple[Caution, ...]:
    """The cautions of what can wait, each once; those of what cannot stand with it."""
    told = (caution for todo in todos if todo.urgency is not Urgency.NOW for caution in todo.cautions)
    return tuple(dict.fromkeys(told))


def about_pack(state: PackState) -> tuple[str, ...]:
    """What a pack is, in a few words."""
    return (
        shown(state.chemistry),
        count(state.cells, "cell"),
        f"{state.capacity_Ah:g} Ah",
        runs_words(state.wear.runs, state.wear.cycles_from_charges),
    )


def standing_words(state: PackState) -> str:
    """Where a pack was last said to be."""
    if state.in_car:
        return f"{state.stands or 'last driven'} in {state.in_car}"
    return state.stands or "how it stands is not entered"
