"""Reading what was typed about packs. What cannot be read is noted, so that all of it is said at once."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from enum import Enum
from typing import TypeVar

from snugfast.core.errors import BadInput
from snugfast.core.units import Kind, in_unit, read_number, read_quantity
from snugfast.core.zones import local_time
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.records.entries import PackHarm
from snugfast.records.ledger import CarRecord, ChargerRecord, Ledger, PackRecord
from snugfast.records.moments import Moment, read_moment
from snugfast.usecases.packs.harm_words import is_nothing, read_harms
from snugfast.usecases.shared.attempts import Attempts
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called, charger_called, pack_called
from snugfast.usecases.shared.typed_words import read_choice
from snugfast.usecases.shared.workshop import Workshop

T = TypeVar("T")
E = TypeVar("E", bound=Enum)

YES, NO = ("yes", "y", "true", "on"), ("no", "n", "false", "off")


class Said(Attempts):
    """Reads texts against the ledger. `refuse` raises everything that could not be read."""

    def __init__(self, workshop: Workshop, ledger: Ledger | None = None) -> None:
        super().__init__()
        self.workshop = workshop
        if ledger is None:
            with workshop.store.reading() as reads:
                ledger = ledger_now(reads)
        self.ledger = ledger

    def pack(self, name: str) -> PackRecord | None:
        """The pack of that name."""
        return self.attempt(lambda: pack_called(self.ledger, name), None)

    def car(self, name: str) -> CarRecord | None:
        """The car of that name; None when none is named."""
        return self.attempt(lambda: car_called(self.ledger, name), None) if name.strip() else None

    def charger(self, name: str) -> ChargerRecord | None:
        """The charger of that name; None when none is named."""
        return self.attempt(lambda: charger_called(self.ledger, name), None) if name.strip() else None

    def moment(self, text: str) -> Moment:
        """When something happened."""
        now = self.workshop.now()
        read = lambda: read_moment(text, now=now, zone=self.workshop.zone)  # noqa: E731
        return self.attempt(read, read_moment("", now=now, zone=self.workshop.zone))

    def ahead(self, text: str, where: str) -> datetime | None:
        """A moment to come; None when nothing was said."""
        if not text.strip():
            return None
        now, zone = self.workshop.now(), self.workshop.zone
        return self.attempt(lambda: read_ahead(text, now=now, zone=zone, where=where), None)

    def amount(self, text: str, kind: Kind, unit: str, where: str, typed_in: str = "") -> float | None:
        """A quantity in `unit`; a bare number is taken in `typed_in`. None when nothing was said."""
        if not text.strip():
            return None
        if kind is Kind.CHARGE:
            text = re.sub(r"mah\b", "mAh", text.strip(), flags=re.IGNORECASE)
        si = self.attempt(lambda: read_quantity(text, kind, default_unit=typed_in or unit, where=where), None)
        return None if si is None else round(in_unit(si, unit), 9)

    def number(self, text: str, where: str) -> float | None:
        """A plain number; None when nothing was said."""
        return self.attempt(lambda: read_number(text, where=where), None) if text.strip() else None

    def whole(self, text: str, where: str, otherwise: int) -> int:
        """A whole number; of cells, “3S” too."""
        value = self.number(re.sub(r"(?<=\d)\s*s$", "", text.strip(), flags=re.IGNORECASE), where)
        if value is None:
            return otherwise
        if value != int(value):
            self.wrong(where, f"“{text}” is not a whole number", "write it like 3")
        return int(value)

    def yes(self, text: str, where: str) -> bool | None:
        """Yes or no; None when nothing was said."""
        word = text.strip().casefold()
        if not word:
            return None
        if word not in (*YES, *NO):
            self.wrong(where, f"“{text}” is neither yes nor no", "write yes or no")
        return word in YES

    def choice(self, text: str, choices: type[E], where: str, otherwise: E) -> E:
        """One of some words."""
        return self.attempt(lambda: read_choice(text, choices, where=where), otherwise)

    def chemistry(self, text: str) -> Chemistry:
        """What a pack is made of."""
        return self.attempt(lambda: read_chemistry(text), Chemistry.LITHIUM_POLYMER)

    def harms(self, words: Sequence[str], where: str) -> tuple[PackHarm, ...] | None:
        """What was found; empty when it was said that nothing was, None when nobody said."""
        said = [word for text in words for word in re.split(r"[;\n]", text) if word.strip()]
        if not said:
            return None
        found: list[PackHarm] = []
        for word in said:
            if not is_nothing(word):
                found += self.attempt(lambda word=word: read_harms(word, where=where), ())  # type: ignore[misc]
        return tuple(dict.fromkeys(found))

    def several(self, text: str, kind: Kind, unit: str, where: str, typed_in: str = "") -> tuple[float, ...]:
        """Numbers side by side, “3.80 3.81 3.79” or “3.80 / 3.81 / 3.79”, in `unit`."""
        parts = [part for part in re.split(r"[\s/;]+|,\s+", text.strip()) if part]
        read = (self.amount(part, kind, unit, where, typed_in) for part in parts if part not in ("V", "mΩ"))
        return tuple(value for value in read if value is not None)


def read_chemistry(text: str) -> Chemistry:
    """The chemistry a word stands for. Raises BadInput with those there are."""
    known = chemistry_of(text)
    return known if known is not None else read_choice(text, Chemistry, where="chemistry")


def read_ahead(text: str, *, now: datetime, zone: str, where: str) -> datetime:
    """A moment to come: “14:30”, “2026-06-20”, “2026-06-20 09:00”, “12 days”. Days end at noon.

    Raises BadInput for words that are no time, and for one that is past.
    """
    local = local_time(now, zone)
    words = text.strip().casefold()
    if match := re.fullmatch(r"(\d+)\s*(d|days?|h|hours?|weeks?)", words):
        hours = {"d": 24, "h": 1, "w": 168}[match[2][0]] * int(match[1])
        if hours > LONGEST_AHEAD_H:
            raise BadInput(f"{where}: “{text}” is more than ten years ahead.", AHEAD)
        return now + timedelta(hours=hours)
    if words in ("tomorrow", "today"):
        day = local + timedelta(days=words == "tomorrow")
        return _future(day.replace(hour=12 if words == "tomorrow" else 23, minute=59), now, text, where)
    if match := re.fullmatch(r"(\d{1,2}):(\d{2})", words):
        at = _clocked(local, int(match[1]), int(match[2]), text, where)
        return (at if at > local else at + timedelta(days=1)).astimezone(now.tzinfo)
    if match := re.fullmatch(r"(\d{4}-\d{2}-\d{2})(?:[ t](\d{1,2}):(\d{2}))?", words):
        try:
            day = datetime.fromisoformat(match[1]).replace(tzinfo=local.tzinfo)
        except ValueError:
            raise BadInput(f"{where}: “{text}” is not a day in the calendar.", AHEAD) from None
        hour, minute = (int(match[2]), int(match[3])) if match[2] else (12, 0)
        return _future(_clocked(day, hour, minute, text, where), now, text, where)
    raise BadInput(f"{where}: “{text}” is not a time I can read.", AHEAD)


LONGEST_AHEAD_H = 24 * 3653
AHEAD = "Write 14:30, tomorrow, 12 days, 2026-06-20 or 2026-06-20 09:00."


def _clocked(day: datetime, hour: int, minute: int, text: str, where: str) -> datetime:
    if hour > 23 or minute > 59:
        raise BadInput(f"{where}: “{text}” is not a time of day.", AHEAD)
    return day.replace(hour=hour, minute=minute, second=0, microsecond=0)


def _future(at: datetime, now: datetime, text: str, where: str) -> datetime:
    if at <= now:
        raise BadInput(f"{where}: “{text}” is past.", "Give a time to come.")
    return at.astimezone(now.tzinfo)
