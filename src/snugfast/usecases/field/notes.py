"""What was noted on a field sheet, as it comes home: short lines of text, each whole in itself.

    Snugfast field notes 1
    sheet 019de2c4-41f0-7665-9184-f68e75f40101 position 123
    2026-05-10 14:32Z | check | Bramble | wheel_nuts | | loose @ front left: left | two turns
    2026-05-10 14:40Z | run | Bramble | Ember 1 | 13 | gravel | damp | 2 | pulls to the left
    2026-05-10 15:05Z | wet | Bramble | wash_mud

Fault hunts: see `hunts.py`.
The identity of an entry follows from the sheet and its line, so a line taken in twice is one entry. It lands
at its own time, however late it comes.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from uuid import UUID

from snugfast.core.errors import BadInput, SnugfastError, WrongData
from snugfast.core.findings import Finding
from snugfast.core.ids import derived
from snugfast.core.zones import local_time
from snugfast.records.entries import Entry
from snugfast.usecases.bench.treatments import TreatedSaid, draft_treated
from snugfast.usecases.field.hunts import HuntsHome, read_tap
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.forms import keep_form
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.workshop import Workshop

BEGINS = "Snugfast field notes 1"
_SHEET = re.compile(r"sheet ([0-9a-f-]{36}) position (\d{1,12})\b", re.IGNORECASE)
_TIME = re.compile(r"(\d{4}-\d\d-\d\d)[ T](\d\d:\d\d)Z")
MOST_LINES = 500
FIELDS = {"check": 7, "run": 9, "wet": 4, "hunt": 8}


@dataclass(frozen=True, slots=True)
class NotesTakenIn:
    """What came of field notes. `since` counts the entries that came in after their sheet was made."""

    new: int
    known: int
    told: tuple[str, ...]
    since: int
    entries: tuple[UUID, ...]


@dataclass(frozen=True, slots=True)
class _Line:
    """One line, and the sheet it is from."""

    sheet: UUID
    position: int
    typed: str
    number: int


def take_in_notes(workshop: Workshop, text: str) -> NotesTakenIn:
    """Keep what was noted. Raises WrongData with every line that cannot be; then nothing is saved."""
    lines = list(_lines(text))
    if not lines:
        raise BadInput(
            "There are no field notes in this.",
            f"Paste all of it, from “{BEGINS}” on.",
        )
    if len(lines) > MOST_LINES:
        raise BadInput(f"That is more than {MOST_LINES} notes.", "Take them in piece by piece.")
    wrong: list[Finding] = []
    entries: dict[UUID, Entry] = {}
    hunts = HuntsHome(workshop)
    for line in sorted(lines, key=_hunts_in_order):
        try:
            entries |= {entry.id: entry for entry in _entries(workshop, line, hunts)}
        except WrongData as refused:
            place = f"note {line.number}"
            wrong += [
                replace(one, where=f"{place}, {one.where}" if one.where else place)
                for one in refused.findings
            ]
        except SnugfastError as refused:
            wrong.append(Finding(f"note {line.number}", refused.sentence, refused.way_out))
    if wrong:
        raise WrongData("The field notes", wrong)
    with workshop.store.reading() as reads:
        known = {row.entry.id for row in reads.entries_with(entries)}
        since = max(0, reads.position() - min(line.position for line in lines))
    fresh = [entry for entry in entries.values() if entry.id not in known]
    left_out = tuple(
        f"A hunt was answered further at home, or undone: {count} answers from the field left out."
        for count in hunts.gone_on.values()
    )
    if not fresh:
        return NotesTakenIn(0, len(known), left_out, since, ())
    kept = keep_form(workshop, fresh)
    further = {entry.replaces for entry in fresh}
    told = (told for entry, told in zip(fresh, kept.told, strict=True) if entry.id not in further)
    return NotesTakenIn(len(fresh), len(known), (*told, *left_out), since, tuple(entry.id for entry in fresh))


def _hunts_in_order(line: _Line) -> tuple[str, int, str]:
    """Hunts come last, each tap after the one before, however the notes were put together."""
    parts = line.typed.split(" | ")
    return (parts[2], len(parts[3]), parts[3]) if len(parts) > 3 and parts[1] == "hunt" else ("", 0, "")


def _lines(text: str) -> Iterator[_Line]:
    """The lines with notes. What a messenger put around or between them is passed over."""
    sheet: UUID | None = None
    position, number = 0, 0
    for row in text.splitlines():
        if found := _SHEET.search(row):
            sheet, position = _sheet_id(found[1]), int(found[2])
        elif "|" in row and sheet is not None:
            number += 1
            yield _Line(sheet, position, " | ".join(part.strip() for part in row.split("|")), number)


def _sheet_id(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        raise BadInput("The number of the field sheet is not whole.", "Copy the notes again.") from None


def _entries(workshop: Workshop, line: _Line, hunts: HuntsHome) -> Sequence[Entry]:
    parts = [part.strip() for part in line.typed.split("|")]
    kind = parts[1] if len(parts) > 1 else ""
    if len(parts) != FIELDS.get(kind, 0):
        raise BadInput(f"“{line.typed[:60]}” is not whole.", "Copy the notes again.")
    at = _moment(parts[0])
    when = f"{local_time(at, workshop.zone):%Y-%m-%d %H:%M}"
    id = derived(line.sheet, line.typed)
    if kind == "hunt":
        version = hunts.take(read_tap(line.sheet, at, parts[2:]))
        return [version] if version else []
    if kind == "check":
        _, _, car, check, pack, words, note = parts
        said = FoundSaid(car, check, tuple(_split(words, ";")), pack=pack, noticed=note, when=when, id=id)
        drafted = draft_found(workshop, said).entries
    elif kind == "run":
        _, _, car, packs, minutes, ground, wet, hits, note = parts
        run = RunSaid(
            car,
            tuple(_split(packs, ",")),
            minutes,
            when,
            ground,
            wet,
            hits,
            noticed=tuple(_split(note, ";")),
            id=id,
        )
        drafted = draft_runs(workshop, (run,)).entries
    else:
        drafted = draft_treated(workshop, TreatedSaid(parts[2], parts[3], when=when, id=id)).entries
    return [replace(entry, happened_at=at) for entry in drafted]


def _split(text: str, mark: str) -> Iterable[str]:
    return filter(None, (part.strip() for part in text.split(mark)))


def _moment(text: str) -> datetime:
    found = _TIME.fullmatch(text)
    try:
        if found:
            return datetime.strptime(f"{found[1]} {found[2]}", "%Y-%m-%d %H:%M").replace(tzinfo=UTC)
    except ValueError:
        pass
    raise BadInput(f"“{text[:30]}” is no time.", "Copy the notes again.")
