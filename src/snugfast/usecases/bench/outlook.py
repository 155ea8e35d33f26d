"""What lies ahead of a car as it stands: the chance that something stops it, and where on the car.

The same sums as on the bench sheet, without weighing any check: cheap enough for the first page.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from uuid import UUID

from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.usecases.beliefs.stakes import AtRisk, any_failure, at_risk
from snugfast.usecases.beliefs.stories import remember, stories_of
from snugfast.usecases.beliefs.upcoming import Ahead, Until, look_ahead
from snugfast.usecases.bench.treatments import DueTreatment, due_treatments
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.takes_pack import that_fit
from snugfast.usecases.shared.workshop import Workshop

FAILING = Origin("delay-time-index", "chance of failing before the next bench chance")
PACKS_LOOKED_AT = 4


@dataclass(frozen=True, slots=True)
class Station:
    """One notch of the drive-line strip: how many places it has, and the chance that it stops the car."""

    notch: str
    places: int
    fail_chance: float
    weightiest: str  # the likeliest way to fail here, "" when none is known


@dataclass(frozen=True, slots=True)
class Outlook:
    """A car until its next bench chance."""

    car: CarRecord
    ahead: Ahead
    stop_chance: Figure
    stations: tuple[Station, ...]
    risks: tuple[AtRisk, ...]
    treatments: tuple[DueTreatment, ...]

    @property
    def weakest(self) -> Station:
        """The station that is likeliest to stop the car."""
        return max(self.stations, key=lambda station: station.fail_chance)


@dataclass(frozen=True, slots=True)
class Outlooks:
    """The ledger as it stands, and the outlook of each car asked for."""

    ledger: Ledger
    position: int
    cars: tuple[Outlook, ...]


def outlooks(workshop: Workshop, choose: Callable[[Ledger], Sequence[CarRecord]]) -> Outlooks:
    """The outlook of some cars of the ledger, each until its next outing is over."""
    with workshop.store.reading() as reads:
        position = reads.position()
        ledger = ledger_now(reads)
        cars = choose(ledger)
        members = {car.id: (car.id, *packs_in_use(ledger, car, workshop.build(car.build))) for car in cars}
        stories = stories_of(
            workshop, reads, ledger, [one for several in members.values() for one in several]
        )
    remember(workshop, position, stories.told)
    told = stories.of
    now = workshop.now()
    made = []
    for car in cars:
        ahead = look_ahead(workshop.facts, car.habits, until=Until.OUTING, now=now)
        risks = tuple(
            risk
            for member in members[car.id]
            for risk in at_risk(
                told[member],
                member,
                car.id,
                ahead if member == car.id else ahead.shared_by(len(members[car.id]) - 1),
                now,
            )
        )
        due = due_treatments(workshop.facts, told[car.id], car, workshop.build(car.build), now, workshop.zone)
        made.append(_outlook(workshop, car, ahead, risks, due))
    return Outlooks(ledger, position, tuple(made))


def packs_in_use(ledger: Ledger, car: CarRecord, build: Build) -> tuple[UUID, ...]:
    """The packs that go in this car, the last used first, as far as they are here and it can take them."""
    here = [pack for pack in reversed(car.packs) if ledger.packs[pack].left_at is None]
    return tuple(that_fit(build, ledger, here)[:PACKS_LOOKED_AT])


def _outlook(
    workshop: Workshop,
    car: CarRecord,
    ahead: Ahead,
    risks: tuple[AtRisk, ...],
    due: tuple[DueTreatment, ...],
) -> Outlook:
    roles = workshop.facts.roles
    build = workshop.build(car.build)
    stations = []
    for notch in workshop.facts.notches:
        here = [risk for risk in risks if roles[risk.mode.role].notch == notch]
        worst = max(here, key=lambda risk: risk.fail_chance, default=None)
        stations.append(
            Station(
                notch=notch,
                places=sum(roles[place.role].notch == notch for place in build.places),
                fail_chance=any_failure(risk.fail_chance for risk in here),
                weightiest=worst.mode.name if worst else "",
            )
        )
    chance = any_failure(risk.stop_chance for risk in risks)
    return Outlook(car, ahead, Figure(chance, "1", origins=(FAILING,)), tuple(stations), risks, due)
