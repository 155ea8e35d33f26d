"""A day out in one go: which cars ran which packs, one after another; what is not said is as last time."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.ids import derived
from snugfast.core.zones import local_time
from snugfast.facts.model import Build
from snugfast.records.entries import Entry, Ran
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.records.rules import LONGEST_RUN_MIN
from snugfast.records.standing import standing
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.typed_words import read_minutes
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

BETWEEN_RUNS_MIN = 5.0  # to change a pack
LOOK_BACK = timedelta(hours=18)  # runs this close before the last one were the same outing


@dataclass(frozen=True, slots=True)
class LastTime:
    """How a car was driven the last time it was out. Empty texts where it never was."""

    car: UUID
    name: str
    at: datetime | None
    packs: tuple[str, ...]  # that it ran then
    known_packs: tuple[str, ...]  # that it ever ran, those of last time first
    minutes: str
    hits: str
    ground: str
    wet: str


@dataclass(frozen=True, slots=True)
class CarOut:
    """One car of an outing as said: its packs one after another, and what holds for each of them."""

    car: str
    packs: tuple[str, ...]
    minutes: tuple[str, ...] = ()  # one for all packs, or one for each
    hits: str = ""
    put_back: tuple[str, ...] = ()
    noticed: tuple[str, ...] = ()  # said of the last run
    readings: tuple[str, ...] = ()
    broke: tuple[str, ...] = ()
    together: bool = False  # all packs in one run, not one after another


@dataclass(frozen=True, slots=True)
class OutingSaid:
    """A day out as said; every field a text."""

    cars: tuple[CarOut, ...]
    ground: str = ""
    wet: str = ""
    ambient: str = ""
    when: str = ""  # when it ended; now when not said
    id: UUID | None = None


def last_times(workshop: Workshop) -> tuple[LastTime, ...]:
    """How each car here was driven last, the one that was out last first."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        seen = [_last_time(reads, ledger, car) for car in cars_here(ledger)]
    return tuple(sorted(seen, key=lambda one: (one.at is None, -(one.at or workshop.now()).timestamp())))


def draft_outing(workshop: Workshop, said: OutingSaid) -> Draft:
    """The runs of an outing. Packs of one car ran one after another, the last one until `when`.

    Raises BadInput when no car or no minutes are said, WrongData with all that cannot be read.
    """
    if not said.cars:
        raise BadInput("No car was chosen.", "Choose the cars that were out.")
    usual = {one.name.casefold(): one for one in last_times(workshop)}
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    runs = tuple(
        run
        for number, car in enumerate(said.cars)
        for run in _runs(workshop, ledger, said, car, usual.get(car.car.strip().casefold()), number)
    )
    return draft_runs(workshop, runs)


def _runs(
    workshop: Workshop, ledger: Ledger, said: OutingSaid, car: CarOut, usual: LastTime | None, number: int
) -> Iterable[RunSaid]:
    packs = _sets(workshop, ledger, car)
    minutes = car.minutes if len(car.minutes) == len(packs) else (car.minutes[:1] or ("",)) * len(packs)
    minutes = tuple(each or (usual.minutes if usual else "") for each in minutes)
    ends = _ends(workshop, said.when, minutes, _joined_at(ledger, car))
    for n, (pack, each, when) in enumerate(zip(packs, minutes, ends, strict=True)):
        last = n == len(packs) - 1
        yield RunSaid(
            car=car.car,
            packs=pack,
            minutes=each,
            when=when,
            ground=said.ground or (usual.ground if usual else ""),
            wet=said.wet,
            hits=car.hits,
            ambient=said.ambient,
            put_back=car.put_back[n] if n < len(car.put_back) else "",
            readings=car.readings if last else (),
            noticed=car.noticed if last else (),
            broke=car.broke if last else (),
            id=derived(said.id, f"{number}/{n}/{car.car}/{'+'.join(pack)}") if said.id else None,
        )


def packs_at_a_time(build: Build) -> int:
    """How many packs the car carries on a run."""
    return sum(max(1, len(place.spots)) for place in build.of_role("pack")) or 1


def _sets(workshop: Workshop, ledger: Ledger, car: CarOut) -> tuple[tuple[str, ...], ...]:
    """The packs of each run: one, or as many as the car carries at a time (two on a 1/5 truck)."""
    record = ledger.car_named(car.car)
    at_a_time = (
        packs_at_a_time(workshop.build(record.build)) if record and not car.together else len(car.packs)
    )
    return tuple(_taken(car.packs, at_a_time)) or ((),)


def _taken(packs: Sequence[str], at_a_time: int) -> Iterable[tuple[str, ...]]:
    """The packs in their order, so many at a time; the last may be fewer."""
    for first in range(0, len(packs), max(1, at_a_time)):
        yield tuple(packs[first : first + at_a_time])


def _joined_at(ledger: Ledger, car: CarOut) -> datetime | None:
    """When the last of the car and its packs joined the workshop."""
    record = ledger.car_named(car.car)
    packs = (ledger.pack_named(name) for name in car.packs)
    return max((one.added_at for one in (record, *packs) if one is not None), default=None)


def _ends(workshop: Workshop, when: str, minutes: Sequence[str], joined: datetime | None) -> list[str]:
    """When each run ended, as typed: the last one now, those before it that much earlier.

    A day that was named is said of all of them: its hours are not known. So is today, for a car or a pack
    that was only added after it had run.
    """
    if when.strip():
        return [when] * len(minutes)
    end, ends = workshop.now(), []
    for each in reversed(minutes):
        ends.append(f"{local_time(end, workshop.zone):%Y-%m-%d %H:%M}")
        end -= timedelta(minutes=_minutes(each) + BETWEEN_RUNS_MIN)
    if joined is not None and end <= joined:
        return ["today"] * len(minutes)
    return ends[::-1]


def _minutes(text: str) -> float:
    """Minutes to lay runs apart by; what cannot be read, or be, is refused where the run is read."""
    try:
        minutes = read_minutes(text)[0]
    except BadInput:
        return 0.0
    return minutes if 0.0 <= minutes <= LONGEST_RUN_MIN else 0.0


def _last_time(reads: Reads, ledger: Ledger, car: CarRecord) -> LastTime:
    names = {pack.id: pack.name for pack in ledger.packs.values() if pack.left_at is None}
    known = [names[pack] for pack in car.packs if pack in names]
    at = car.habits.last_run_at
    runs = _runs_of(reads, car, at) if at is not None else []
    if not runs:
        return LastTime(car.id, car.name, at, (), tuple(known), "", "", "", "")
    last = runs[-1]
    packs = tuple(dict.fromkeys(names[pack] for run in runs for pack in run.packs if pack in names))
    return LastTime(
        car=car.id,
        name=car.name,
        at=at,
        packs=packs,
        known_packs=tuple(dict.fromkeys((*packs, *known))),
        minutes=f"{last.running_min:g}",
        hits=last.hits_said if last.hits_said in ("none", "a few", "many") else f"{last.hard_hits:g}",
        ground=last.ground.value if last.ground.value != "unknown" else "",
        wet=last.wet.value,
    )


def _runs_of(reads: Reads, car: CarRecord, at: datetime) -> list[Ran]:
    """The runs of the last outing of a car, in their order."""
    found = reads.entries_around([car.id], at - LOOK_BACK, at + timedelta(minutes=1))
    mine: list[Entry] = [entry for entry in standing(found).entries if isinstance(entry.fact, Ran)]
    mine.sort(key=lambda entry: (entry.happened_at, entry.id))
    return [entry.fact for entry in mine if isinstance(entry.fact, Ran) and entry.fact.car == car.id]
