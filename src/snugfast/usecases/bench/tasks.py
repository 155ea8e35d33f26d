"""What could be done at this bench: checks on cars and packs, which come first, which make no sense now."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from snugfast.core.zones import local_day
from snugfast.facts.model import Build, Check, Event, Facts, Gate, Moment
from snugfast.records.ledger import CarRecord, checked_key
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.bench.sheet_words import BENCH_DAY
from snugfast.usecases.shared.applicability import car_checks, of_pack, sees, sees_pack_too


@dataclass(frozen=True, slots=True)
class Task:
    """A check that could be done on one car, or on one pack of it.

    `beside` is the pack that a check of the car looks at as well, as a look at both halves of a plug does.
    """

    key: str
    car: CarRecord
    pack: UUID | None
    check: Check
    gate: bool
    moment_is_now: bool
    answered: bool
    beside: UUID | None = None

    @property
    def possible(self) -> bool:
        """Whether there is any point in doing it now."""
        return self.moment_is_now and not self.answered


@dataclass(frozen=True, slots=True)
class Tasks:
    """Finds the tasks of a car. `pack_modes` are the ways each pack can fail, `packs` those in each car."""

    facts: Facts
    asked: Asked
    now: datetime
    zone: str
    packs: Mapping[UUID, tuple[UUID, ...]]
    pack_modes: Mapping[UUID, frozenset[str]]

    def of(self, car: CarRecord, build: Build) -> Iterable[Task]:
        """Every check of this car, and of each pack that goes in it."""
        for check in car_checks(self.facts, build):
            for pack in self._packs_for(check, car):
                key = f"{car.id}/{check.key}" + (f"/{pack}" if pack else "")
                gate = self._gate_is_due(car, check, pack)
                yield Task(
                    key=key,
                    car=car,
                    pack=pack,
                    beside=None if pack else self._beside(check, car),
                    check=check,
                    gate=gate,
                    moment_is_now=self._is_now(check),
                    answered=not gate and self._is_answered(car, check, pack),
                )

    def _packs_for(self, check: Check, car: CarRecord) -> Iterable[UUID | None]:
        """The packs a check is done on, of those that can have what it finds; none but the car itself."""
        if not of_pack(self.facts, check):
            return (None,)
        return [pack for pack in self.packs[car.id] if sees(self.facts, check, self.pack_modes[pack])]

    def _beside(self, check: Check, car: CarRecord) -> UUID | None:
        """The pack a check of the car looks at as well: the one that goes in it next."""
        return next(iter(self.packs[car.id]), None) if sees_pack_too(self.facts, check) else None

    def _is_answered(self, car: CarRecord, check: Check, pack: UUID | None) -> bool:
        """Whether it was answered at this bench: looking again at what did not run tells nothing new."""
        done = car.last_checked.get(checked_key(check.key, pack))
        ran = car.habits.last_run_at
        return done is not None and self.now - done < BENCH_DAY and (ran is None or done >= ran)

    def _is_now(self, check: Check) -> bool:
        match check.moment:
            case Moment.AFTER_RUN:
                return self.asked.just_ran
            case Moment.FIELD:
                return self.asked.in_field
            case _:
                return True

    def _gate_is_due(self, car: CarRecord, check: Check, pack: UUID | None) -> bool:
        """A tick without a look opens no gate."""
        key = checked_key(check.key, pack)
        done = car.last_looked.get(key)
        today = done is not None and self._day(done) == self._day(self.now)
        radio = car.last_work.get(Event.RADIO_WORK.value)
        for gate in check.gates:
            if gate is Gate.AFTER_RADIO_WORK and radio and (done is None or done < radio):
                return True
            if gate in (Gate.FIRST_PACK, Gate.EACH_CHARGE) and not today:
                return True
            if gate is Gate.AFTER_MANY_HITS:
                since = car.habits.hard_hits - car.hits_at_look.get(key, 0.0)
                if since >= self.facts.assumptions["hits_many"].value:
                    return True
        return False

    def _day(self, at: datetime) -> str:
        return local_day(at, self.zone)
