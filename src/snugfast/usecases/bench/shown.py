"""The sheet somebody has in hand: its numbers stay what they were until another is shown.

Kept for each person beside the journal. Dropped, nothing is lost but the numbers: a sheet is shown anew.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from snugfast.core.errors import NotKnown
from snugfast.core.ways_out import Action, WayOut
from snugfast.records.entries import Entry, Ground, SheetDone, Wet
from snugfast.records.ledger import Ledger, checked_key
from snugfast.records.store.troubles import StoreTrouble
from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.sheet import Asked, Sheet
from snugfast.usecases.journal.keeping import ledger_with
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.workshop import Workshop

SHOWN = "sheet shown"
FORM = "2"


@dataclass(frozen=True, slots=True)
class ShownCheck:
    """One check, on the car or on one pack of it."""

    check: str
    pack: UUID | None = None


@dataclass(frozen=True, slots=True)
class ShownLine:
    """One number of the sheet: a job to fix (`defect` is mode, place, spot) or checks to do."""

    number: int
    car: UUID
    title: str
    checks: tuple[ShownCheck, ...]
    defect: tuple[str, str, str] | None = None
    root: bool = False
    minutes: float = 0.0  # of a job, by the table


@dataclass(frozen=True, slots=True)
class ShownSheet:
    """A sheet as it was shown, and what was skipped of it."""

    made_at: datetime
    asked: Asked
    lines: tuple[ShownLine, ...]
    skipped: frozenset[int] = frozenset()
    answered: frozenset[int] = field(default_factory=frozenset)  # jobs, which no check tells of
    looking_min: float | None = None  # all but its jobs, by the table; None where work after wet is on it

    def line(self, number: int) -> ShownLine:
        """The line with this number. Raises NotKnown with those there are."""
        found = next((line for line in self.lines if line.number == number), None)
        if found is None:
            last = self.lines[-1].number if self.lines else 0
            raise NotKnown(f"There is no {number} on the sheet.", f"It goes from 1 to {last}.")
        return found

    def keys(self) -> frozenset[str]:
        """The checks of the sheet as `SheetCheck.key` has them."""
        return frozenset(
            f"{line.car}/{one.check}" + (f"/{one.pack}" if one.pack else "")
            for line in self.lines
            for one in line.checks
            if line.defect is None
        )


def shown_of(sheet: Sheet) -> ShownSheet:
    """A sheet as it is kept while somebody works through it."""
    jobs = [
        ShownLine(
            job.number,
            job.car,
            job.title,
            (ShownCheck(job.check),) if job.check else (),
            (job.mode, job.place, job.spot),
            root=job.times > 0,
            minutes=job.minutes / sheet.pace.times if job.tonight else 0.0,
        )
        for job in sheet.fix_first
    ]
    looks = [
        ShownLine(
            line.number,
            line.check.car,
            line.title,
            tuple(ShownCheck(check.check, check.pack) for check in line.checks),
        )
        for line in sheet.lines
    ]
    looking = None if sheet.treatments else (sheet.minutes - sheet.bench.fixing) / sheet.pace.times
    return ShownSheet(sheet.made_at, sheet.asked, (*jobs, *looks), looking_min=looking)


def keep_shown(workshop: Workshop, shown: ShownSheet) -> None:
    """Keep what was shown, for the person at this door; nothing is saved where nothing may be written.

    A full disk still shows the sheet: only its numbers are not known afterwards, and asking for one says so.
    """
    if workshop.read_only:
        return
    payload = json.dumps(_plain(shown), ensure_ascii=False).encode()
    with suppress(StoreTrouble), workshop.store.work() as work:
        position = work.reads.position()
        work.projections.put(SHOWN, workshop.author, position=position, fingerprint=FORM, payload=payload)
        work.commit()


def shown_now(workshop: Workshop) -> ShownSheet | None:
    """The sheet that was shown last to the person at this door."""
    with workshop.store.reading() as reads:
        kept = reads.projection(SHOWN, workshop.author)
    if kept is None or kept.fingerprint != FORM:
        return None
    return _read(json.loads(kept.payload))


def the_shown(workshop: Workshop) -> ShownSheet:
    """The same. Raises NotKnown when none was shown, or when a car of it has run since."""
    shown = shown_now(workshop)
    if shown is None:
        raise NotKnown(
            "No sheet was shown yet, so no number means anything.", WayOut("Show one", Action.SEE_SHEET)
        )
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    for car in dict.fromkeys(line.car for line in shown.lines):
        record = ledger.cars.get(car)
        ran = record.habits.last_run_at if record else None
        if record is not None and ran is not None and ran > shown.made_at:
            raise NotKnown(
                f"{record.name} has run since that sheet was shown, so it asks for another.",
                WayOut("Show it", Action.SEE_SHEET, record.name),
            )
    return shown


def still_open(shown: ShownSheet, ledger: Ledger) -> tuple[tuple[ShownLine, tuple[ShownCheck, ...]], ...]:
    """The lines with what of them was neither answered since the sheet was shown nor skipped."""
    found = []
    for line in shown.lines:
        if line.number in shown.skipped or line.number in shown.answered:
            continue
        car = ledger.cars.get(line.car)
        if car is None:
            continue
        if line.defect is not None:
            if line.root or _is_open(line, ledger):
                found.append((line, line.checks))
            continue
        left = tuple(
            one
            for one in line.checks
            if (done := car.last_checked.get(checked_key(one.check, one.pack))) is None
            or done < shown.made_at
        )
        if left:
            found.append((line, left))
    return tuple(found)


def draft_sheet_done(workshop: Workshop, shown: ShownSheet, entries: Sequence[Entry]) -> tuple[Entry, ...]:
    """The entry that the sheet is done, when these entries answer the last of its lines; else none."""
    with workshop.store.reading() as reads:
        before, after = ledger_now(reads), ledger_with(reads, entries)
    if not entries or still_open(shown, after) or not still_open(shown, before):
        return ()
    cars = tuple(dict.fromkeys(line.car for line in shown.lines))
    return (workshop.entry(SheetDone(cars, shown.made_at, shown.asked.minutes, planned_min(shown, after))),)


def planned_min(shown: ShownSheet, ledger: Ledger) -> float | None:
    """What the table says of the work that was done on a sheet, in minutes; None where nobody can tell.

    A job of “fix first” that is still open took none of the time. What was skipped, and what is due after
    wet, may have been done or not: such a sheet says nothing of the pace.
    """
    if shown.looking_min is None or shown.skipped:
        return None
    done = (line for line in shown.lines if line.defect is not None and not line.root)
    return shown.looking_min + sum(line.minutes for line in done if not _is_open(line, ledger))


def _is_open(line: ShownLine, ledger: Ledger) -> bool:
    """Whether a known defect is still there."""
    assert line.defect is not None
    mode, place, spot = line.defect
    return any(one.is_at(mode, place or None, spot) for one in ledger.cars[line.car].defects.open)


def with_skipped(shown: ShownSheet, numbers: Iterable[int]) -> ShownSheet:
    """The sheet with these lines skipped."""
    return replace(shown, skipped=shown.skipped | frozenset(numbers))


def _plain(shown: ShownSheet) -> dict[str, Any]:
    asked = shown.asked
    return {
        "made_at": shown.made_at.isoformat(),
        "asked": {
            "cars": list(asked.cars),
            "minutes": asked.minutes,
            "until": asked.until.value,
            "packs": asked.packs,
            "wet": asked.wet.value if asked.wet else None,
            "ground": asked.ground.value if asked.ground else None,
            "air_degC": asked.air_degC,
            "just_ran": asked.just_ran,
            "in_field": asked.in_field,
            "learner": asked.learner,
        },
        "lines": [
            [
                line.number,
                str(line.car),
                line.title,
                [[one.check, str(one.pack) if one.pack else None] for one in line.checks],
                list(line.defect) if line.defect else None,
                line.root,
                line.minutes,
            ]
            for line in shown.lines
        ],
        "skipped": sorted(shown.skipped),
        "answered": sorted(shown.answered),
        "looking_min": shown.looking_min,
    }


def _read(document: dict[str, Any]) -> ShownSheet:
    asked = document["asked"]
    return ShownSheet(
        made_at=datetime.fromisoformat(document["made_at"]),
        asked=Asked(
            **{
                **asked,
                "cars": tuple(asked["cars"]),
                "until": Until(asked["until"]),
                "wet": Wet(asked["wet"]) if asked["wet"] else None,
                "ground": Ground(asked["ground"]) if asked["ground"] else None,
            }
        ),
        lines=tuple(
            ShownLine(
                number,
                UUID(car),
                title,
                tuple(ShownCheck(check, UUID(pack) if pack else None) for check, pack in checks),
                (defect[0], defect[1], defect[2]) if defect else None,
                root,
                minutes,
            )
            for number, car, title, checks, defect, root, minutes in document["lines"]
        ),
        skipped=frozenset(document["skipped"]),
        answered=frozenset(document["answered"]),
        looking_min=document["looking_min"],
    )
