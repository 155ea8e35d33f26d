"""The lists of a workshop: cars, packs, runs, answers, breaks, parts, money."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from snugfast.core.zones import local_time
from snugfast.records.entries import Broke, Checked, Entry, Failed, Hunted, Money, PartFitted, Ran
from snugfast.records.ledger import Ledger, fold
from snugfast.records.standing import standing
from snugfast.usecases.shared.telling import mark_of
from snugfast.usecases.shared.workshop import Workshop

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Listing:
    """One list: its name, its columns in order, and a row for each line."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[Row, ...]


def listings(workshop: Workshop) -> tuple[Listing, ...]:
    """Every list, of what stands."""
    with workshop.store.reading() as reads:
        entries = standing(row.entry for row in reads.entries_after(0)).entries
    ledger = fold(entries)
    names = _Names(ledger)
    return (
        _listing("cars", _cars(ledger), "name", "build", "added", "left", "runs", "running_min", "hard_hits"),
        _listing(
            "packs", _packs(ledger), "name", "chemistry", "cells", "capacity_Ah", "added", "left", "runs"
        ),
        _listing("runs", _each(entries, Ran, names.run), *RUN_COLUMNS),
        _listing("answers", _each(entries, Checked, names.answers), *ANSWER_COLUMNS),
        _listing("breaks", [row for entry in entries for row in names.breaks(entry)], *BREAK_COLUMNS),
        _listing("parts", _each(entries, PartFitted, names.part), *PART_COLUMNS),
    )


WHEN = ("mark", "day", "sure")
RUN_COLUMNS = (
    *WHEN,
    "car",
    "packs",
    "running_min",
    "ground",
    "wet",
    "hard_hits",
    "ambient_degC",
    "put_back_Ah",
    "noticed",
)
ANSWER_COLUMNS = (*WHEN, "car", "pack", "check", "looked", "found", "minutes", "spent", "currency")
BREAK_COLUMNS = (*WHEN, "car", "pack", "mode", "place", "spot", "done", "words", "spent", "currency")
PART_COLUMNS = (*WHEN, "car", "place", "spots", "part", "second_hand", "spent", "currency")


class _Names:
    """Rows with names instead of identities."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger

    def run(self, entry: Entry, ran: Ran) -> Row:
        return {
            **_when(entry),
            "car": self._car(ran.car),
            "packs": ", ".join(self._pack(pack) for pack in ran.packs),
            "running_min": ran.running_min,
            "ground": ran.ground.value,
            "wet": ran.wet.value,
            "hard_hits": ran.hard_hits,
            "ambient_degC": ran.ambient_degC,
            "put_back_Ah": ran.put_back_Ah,
            "noticed": "; ".join(ran.noticed),
        }

    def answers(self, entry: Entry, checked: Checked) -> Row:
        return {
            **_when(entry),
            **_money(checked.spent),
            "car": self._car(checked.car),
            "pack": self._pack(checked.pack) if checked.pack else "",
            "check": checked.check,
            "looked": "yes" if checked.looked else "no",
            "found": "; ".join(f"{one.word} {one.spot}".strip() for one in checked.answers) or "sound",
            "minutes": checked.minutes,
        }

    def breaks(self, entry: Entry) -> list[Row]:
        match entry.fact:
            case Ran(car=car, broke=broke):
                return [self._break(entry, car, one) for one in broke]
            case Failed(car=car, broke=one) | Hunted(car=car, broke=Broke() as one):
                return [self._break(entry, car, one)]
            case _:
                return []

    def part(self, entry: Entry, fitted: PartFitted) -> Row:
        return {
            **_when(entry),
            **_money(fitted.spent),
            "car": self._car(fitted.car),
            "place": fitted.place,
            "spots": ", ".join(fitted.spots),
            "part": fitted.name,
            "second_hand": "yes" if fitted.second_hand else "no",
        }

    def _break(self, entry: Entry, car: UUID, broke: Broke) -> Row:
        return {
            **_when(entry),
            **_money(broke.spent),
            "car": self._car(car),
            "pack": self._pack(broke.pack) if broke.pack else "",
            "mode": broke.mode or "unknown",
            "place": broke.place,
            "spot": broke.spot,
            "done": broke.done.value,
            "words": broke.words,
        }

    def _car(self, car: UUID) -> str:
        return self.ledger.cars[car].name if car in self.ledger.cars else str(car)

    def _pack(self, pack: UUID) -> str:
        return self.ledger.packs[pack].name if pack in self.ledger.packs else str(pack)


def _listing(name: str, rows: Iterable[Row], *columns: str) -> Listing:
    return Listing(name, columns, tuple(rows))


def _each(entries: Iterable[Entry], kind: type[Any], row: Callable[[Entry, Any], Row]) -> list[Row]:
    return [row(entry, entry.fact) for entry in entries if isinstance(entry.fact, kind)]


def _cars(ledger: Ledger) -> list[Row]:
    return [
        {
            "name": car.name,
            "build": car.build.get("name", ""),
            "added": f"{car.added_at:%Y-%m-%d}",
            "left": f"{car.left_at:%Y-%m-%d}" if car.left_at else "",
            "runs": car.habits.runs,
            "running_min": car.habits.running_min,
            "hard_hits": car.habits.hard_hits,
        }
        for car in ledger.cars.values()
    ]


def _packs(ledger: Ledger) -> list[Row]:
    return [
        {
            "name": pack.name,
            "chemistry": pack.chemistry,
            "cells": pack.cells,
            "capacity_Ah": pack.capacity_Ah,
            "added": f"{pack.added_at:%Y-%m-%d}",
            "left": f"{pack.left_at:%Y-%m-%d}" if pack.left_at else "",
            "runs": pack.runs,
        }
        for pack in ledger.packs.values()
    ]


def _when(entry: Entry) -> Row:
    local = local_time(entry.happened_at, entry.zone)
    return {"mark": mark_of(entry.id), "day": f"{local:%Y-%m-%d %H:%M}", "sure": entry.precision.value}


def _money(amount: Money | None) -> Row:
    return (
        {"spent": amount.minor / 100, "currency": amount.currency}
        if amount
        else {"spent": None, "currency": ""}
    )
