"""What is in the journal of a car's steering: end points by radio, and its measured lengths."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from snugfast.records.entries import SteeringSet
from snugfast.records.ledger import CarRecord
from snugfast.records.standing import standing
from snugfast.usecases.shared.workshop import Workshop


@dataclass(frozen=True, slots=True)
class PastSet:
    """End points as they were set once."""

    at: datetime
    fact: SteeringSet


@dataclass(frozen=True, slots=True)
class SteeringPast:
    """Oldest first. `measured` are the newest lengths of the linkage."""

    sets: tuple[PastSet, ...] = ()
    measured: Mapping[str, str] = field(default_factory=dict)

    @property
    def latest(self) -> SteeringSet | None:
        """The end points that stand now."""
        return self.sets[-1].fact if self.sets else None

    def on_radio(self, radio: str) -> SteeringSet | None:
        """The end points set last with one radio."""
        wanted = radio.strip().casefold()
        return next((one.fact for one in reversed(self.sets) if one.fact.radio.casefold() == wanted), None)

    @property
    def radios(self) -> tuple[str, ...]:
        """The radios this car was set with, the newest first."""
        return tuple(dict.fromkeys(one.fact.radio for one in reversed(self.sets) if one.fact.radio))


def steering_of(workshop: Workshop, car: CarRecord) -> SteeringPast:
    """What is known of a car's steering."""
    with workshop.store.reading() as reads:
        stands = standing(reads.entries_of([car.id])).entries
    sets, measured = [], {}
    for entry in stands:
        fact = entry.fact
        if not isinstance(fact, SteeringSet) or fact.car != car.id:
            continue
        if fact.left is not None or fact.right is not None:
            sets.append(PastSet(entry.happened_at, fact))
        if fact.measured:
            measured = {str(key): str(value) for key, value in fact.measured.items()}
    return SteeringPast(tuple(sets), measured)
