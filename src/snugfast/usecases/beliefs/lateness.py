"""Treatments that are still to be done: until when, and how late they are.

A treatment is work with a deadline in hours after a wet run. Before the deadline it costs nothing to wait;
past it the wet does harm, until it is done or until the wet has spent itself.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from snugfast.core.zones import local_time
from snugfast.facts.model import Facts, Treatment
from snugfast.records.entries import Entry, Precision, Ran
from snugfast.records.ledger import Ledger
from snugfast.usecases.shared.applicability import mode_keys
from snugfast.usecases.shared.workshop import Workshop

ONE_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Open:
    """A treatment that was not done yet.

    `own` are the lots (by row and number) that were renewed since and so were never in that water: None while
    they are dry, their own deadline once they stood in the water of a later run.
    """

    due: datetime
    own: Mapping[tuple[int, int], datetime | None] = field(default_factory=dict)

    def due_for(self, lot: tuple[int, int]) -> datetime | None:
        """The deadline of one lot; None when it is dry."""
        return self.own.get(lot, self.due)


def opened_by(facts: Facts, wet: str, modes: Collection[str]) -> Iterator[Treatment]:
    """The treatments that this kind of wet asks for, on a car that can fail in these ways."""
    for treatment in facts.treatments.values():
        if wet in treatment.after and any(protected.mode in modes for protected in treatment.protects):
            yield treatment


def settled_by(facts: Facts, key: str) -> frozenset[str]:
    """The treatments that are settled when this one is done: itself and all that it includes."""
    treatment = facts.treatments.get(key)
    return frozenset((key, *treatment.includes)) if treatment else frozenset()


def due_after(treatment: Treatment, run_ended: datetime) -> datetime:
    """Until when it should be done."""
    return run_ended + timedelta(hours=treatment.deadline_h)


def spent_at(treatment: Treatment, due: datetime) -> datetime:
    """When the wet has done all the harm it can; from then on the checks are left to find it."""
    return due + timedelta(days=treatment.spent_d)


def is_late(treatment: Treatment, due: datetime, at: datetime) -> bool:
    """Whether the wet is doing harm at that moment."""
    return due < at <= spent_at(treatment, due)


def late_days(treatment: Treatment, due: datetime, since: datetime, until: datetime) -> float:
    """Days between two moments on which the wet did harm."""
    begin, end = max(since, due), min(until, spent_at(treatment, due))
    return max(timedelta(0), end - begin) / ONE_DAY


def asked_for(workshop: Workshop, ledger: Ledger, entry: Entry) -> Iterator[str]:
    """What a run that was wet asks for, in sentences, to be said with its echo."""
    fact = entry.fact
    if not isinstance(fact, Ran) or fact.car not in ledger.cars or entry.precision is Precision.ABOUT:
        return
    modes = mode_keys(workshop.facts, workshop.build(ledger.cars[fact.car].build))
    for treatment in opened_by(workshop.facts, fact.wet.value, modes):
        due = due_after(treatment, entry.happened_at)
        now = workshop.now()
        late = ", which is past" if now > due else ""
        yield (
            f"{treatment.name}: by {time_words(due, now, workshop.zone)}{late}, "
            f"about {treatment.minutes:g} min."
        )


def time_words(at: datetime, now: datetime, zone: str) -> str:
    """A time of day, with its day when that is not today."""
    here, today = local_time(at, zone), local_time(now, zone).date()
    return f"{here:%H:%M}" if here.date() == today else f"{here:%Y-%m-%d %H:%M}"
