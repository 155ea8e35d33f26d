"""The workshop at a glance: its cars with what they have been through since the last bench."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from snugfast.records.entries import CaughtUp, Ran
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.records.standing import standing
from snugfast.usecases.bench.outlook import Outlook, outlooks
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads


@dataclass(frozen=True, slots=True)
class SinceBench:
    """What a car has been through since somebody last looked at it on the bench."""

    last_bench: datetime | None
    runs: int
    about_packs: float  # remembered in bulk
    minutes: float


@dataclass(frozen=True, slots=True)
class CarGlance:
    """One car of the workshop."""

    car: CarRecord
    build_name: str
    since: SinceBench
    outlook: Outlook


@dataclass(frozen=True, slots=True)
class Overview:
    """The cars that are here, by name."""

    cars: tuple[CarGlance, ...]
    ledger: Ledger


def overview(workshop: Workshop) -> Overview:
    """The workshop as it stands."""
    seen = outlooks(workshop, cars_here)
    with workshop.store.reading() as reads:
        glances = tuple(_glance(workshop, reads, outlook) for outlook in seen.cars)
    return Overview(glances, seen.ledger)


def glance(workshop: Workshop, car_id: UUID) -> tuple[CarGlance, Ledger]:
    """One car, here or gone, and the ledger it stands in. Raises KeyError for an identity that is no car."""
    seen = outlooks(workshop, lambda ledger: [ledger.cars[car_id]])
    with workshop.store.reading() as reads:
        return _glance(workshop, reads, seen.cars[0]), seen.ledger


def _glance(workshop: Workshop, reads: Reads, outlook: Outlook) -> CarGlance:
    car = outlook.car
    last = max(car.last_checked.values(), default=None)
    ran = standing(reads.entries_around([car.id], last or car.added_at, workshop.now())).entries
    later = [entry.fact for entry in ran if entry.happened_at > (last or car.added_at)]
    runs = [fact for fact in later if isinstance(fact, Ran) and fact.car == car.id]
    told = [fact for fact in later if isinstance(fact, CaughtUp) and fact.car == car.id]
    since = SinceBench(
        last_bench=last,
        runs=len(runs),
        about_packs=sum(fact.packs for fact in told),
        minutes=sum(run.running_min for run in runs) + sum(fact.running_min for fact in told),
    )
    return CarGlance(car, workshop.build(car.build).name, since, outlook)
