"""Finding an entry again: by its short mark, and as the words it was typed with."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown, RefusedAction
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Facts
from snugfast.records.entries import Broke, Done, Entry, Hunted, Precision, Ran, Reading, Withdrawn
from snugfast.records.ledger import Ledger
from snugfast.records.standing import Standing, standing
from snugfast.usecases.journal.filter import day_begins, day_ends, kinds_meant
from snugfast.usecases.journal.run_log import RunSaid
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.telling import MARK_LENGTH, mark_of, tell, tell_when
from snugfast.usecases.shared.workshop import Workshop


@dataclass(frozen=True, slots=True)
class JournalLine:
    """One entry as the journal shows it. `state` is “”, “corrected” or “withdrawn”."""

    mark: str
    id: UUID
    text: str
    author: str
    state: str


def entry_marked(workshop: Workshop, mark: str) -> Entry:
    """The newest entry with that mark. Raises NotKnown when there is none."""
    wanted = mark.strip().casefold().lstrip("#")
    if len(wanted) < MARK_LENGTH or not all(letter in "0123456789abcdef-" for letter in wanted):
        raise BadInput(
            f"“{mark}” is not the mark of an entry.",
            WayOut("Marks stand at the left in the journal", Action.SEE_JOURNAL),
        )
    with workshop.store.reading() as reads:
        found = reads.entry_ending(wanted.replace("-", ""))
    if found is not None:
        return found.entry
    raise NotKnown(f"No entry has the mark “{mark}”.", WayOut("Look in the journal", Action.SEE_JOURNAL))


def newest_version(workshop: Workshop, entry: Entry) -> Entry:
    """The entry as it was last corrected. Raises RefusedAction when it was taken back."""
    with workshop.store.reading() as reads:
        kin = reads.changes_to([entry.id])
    stands = [other for other in standing([entry, *kin]).entries if not isinstance(other.fact, Withdrawn)]
    if not stands:
        raise RefusedAction("This entry was taken back.", "Log it anew.")
    return max(stands, key=lambda other: (other.recorded_at, other.id))


def journal_lines(
    workshop: Workshop,
    *,
    text: str = "",
    car: str = "",
    kind: str = "",
    since: str = "",
    until: str = "",
    limit: int = 30,
) -> tuple[JournalLine, ...]:
    """A page of the journal, newest first, withdrawn and corrected ones included and marked; a hunt is one.

    `kind` is a word of `KIND_WORDS`; the days `since` and `until` are included.
    """
    now, zone = workshop.now(), workshop.zone
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        subject = car_called(ledger, car).id if car else None
        names = {person.id: person.name or "somebody" for person in reads.people()}
        wanted = limit
        while True:
            rows = reads.search(
                text=text,
                kinds=kinds_meant(kind),
                subject=subject,
                since=day_begins(since, now=now, zone=zone),
                until=day_ends(until, now=now, zone=zone),
                limit=wanted,
            )
            related = tuple(reads.related(row.entry for row in rows))
            found = standing(related)
            behind = answered_hunts(related, found)
            shown = [row for row in rows if row.entry.id not in behind]
            if len(rows) < wanted or len(shown) >= limit:
                break
            wanted += max(limit, wanted)
    return tuple(
        JournalLine(
            mark=mark_of(row.entry.id),
            id=row.entry.id,
            text=tell(row.entry, workshop.facts, ledger),
            author=names.get(row.entry.author, "somebody"),
            state="withdrawn"
            if row.entry.id in found.withdrawn
            else "corrected"
            if row.entry.id in found.superseded
            else "",
        )
        for row in shown[:limit]
    )


def answered_hunts(related: Iterable[Entry], found: Standing) -> frozenset[UUID]:
    """Hunts as they stood before a further answer: a list shows a hunt once."""
    entries = tuple(related)
    replaced = {entry.replaces for entry in entries}
    return frozenset(
        entry.id
        for entry in entries
        if isinstance(entry.fact, Hunted)
        and entry.id in replaced
        and (entry.id in found.superseded or entry.id in found.withdrawn)
    )


def said_again(entry: Entry, facts: Facts, ledger: Ledger) -> RunSaid:
    """A run in the words it could have been typed with, to start a correction from.

    Raises BadInput for an entry that is not a run.
    """
    ran = entry.fact
    if not isinstance(ran, Ran):
        raise BadInput("Only runs are corrected field by field.", "Withdraw this entry and log it anew.")
    about = "about " if ran.about else ""
    if ran.car not in ledger.cars:
        raise RefusedAction(
            "The car of this run was taken back, so it counts for nothing.", "Bring the car back first."
        )
    return RunSaid(
        car=ledger.cars[ran.car].name,
        packs=tuple(ledger.packs[pack].name for pack in ran.packs if pack in ledger.packs),
        minutes=f"{about}{ran.running_min:g}",
        when=_when(entry),
        ground=ran.ground.value,
        wet=ran.wet.value,
        hits=ran.hits_said,
        ambient="" if ran.ambient_degC is None else f"{ran.ambient_degC:g} °C",
        put_back="" if ran.put_back_Ah is None else f"{ran.put_back_Ah * 1000:g} mAh",
        readings=tuple(_reading(reading) for reading in ran.readings),
        noticed=ran.noticed,
        broke=tuple(_broke(broke, facts) for broke in ran.broke),
    )


def _when(entry: Entry) -> str:
    told = tell_when(entry)
    return told if entry.precision is not Precision.ABOUT else f"about {told.removeprefix('about ')}"


def _reading(reading: Reading) -> str:
    after = "" if reading.seconds_after_stop is None else f" {reading.seconds_after_stop:g} s"
    return f"{reading.spot} {reading.value:g} {reading.unit}{after}"


def _broke(broke: Broke, facts: Facts) -> str:
    if broke.mode is None and broke.words:
        return f"unknown: {broke.words}"
    where = broke.spot or (broke.place or "").replace("_", " ")
    at = f" @ {where}" if where and broke.mode else ""
    done = "" if broke.done is Done.PUT_RIGHT else f": {broke.done.value}"
    return f"{_mode(broke.mode, facts) if broke.mode else 'unknown'}{at}{done}"


def _mode(key: str, facts: Facts) -> str:
    """The name of a mode; its key when the tables no longer have it."""
    mode = facts.modes.get(key)
    return mode.name if mode else key
