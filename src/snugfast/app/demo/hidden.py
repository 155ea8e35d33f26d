"""The truth of the demo: true rates and delays that nobody in it knows, and what they do to parts.

Arrival, delay and sudden failures follow the same law that beliefs assume (`ModeLaw`), with other numbers
than the tables'. Each car's rate is the table's, times a gamma draw, times an error that all cars of this
workshop share: lognormal with mean one and a log spread of 1.2, and 0.6 for the delay. So the tables are
wrong for these cars, as they will be for yours.

Each mode of each part has chance of its own, drawn from its name and the seed. A mode added to the tables
therefore changes nothing for the others.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from math import exp
from random import Random

import numpy as np

from snugfast.facts.model import Clock, Event, Facts, Mode, Place
from snugfast.records.entries import Ran
from snugfast.upkeep.arrival import arrivals, law_array
from snugfast.upkeep.mode_law import ModeLaw
from snugfast.usecases.beliefs.exposure import law_of, run_exposure

RATE_ERROR_LOG_SD = 1.2
DELAY_ERROR_LOG_SD = 0.6


@dataclass(slots=True)
class HiddenRow:
    """One mode of one part as it truly is."""

    owner: str
    place: Place | None  # None for a mode of a pack
    mode: Mode
    law: ModeLaw
    rate_factor: float  # times the table's rate
    delay_factor: float  # times the table's mean delay
    chance: Random
    to_arrival: float  # what is left until the next defect arrives, in expected arrivals
    spot: str = ""
    age: float = 0.0
    extra: float = 0.0
    exposure: float = 0.0
    failures: int = 0
    defects: int = 0
    to_failure: float | None = None  # exposure left when there is a defect

    @property
    def defective(self) -> bool:
        """Whether there is a defect now."""
        return self.to_failure is not None

    @property
    def delay(self) -> float:
        """True mean delay, in clock units."""
        return self.law.mean_delay * self.delay_factor

    def run(self, exposure: float, arrived: float) -> bool:
        """Run this far, with so many arrivals expected at the table's rate. True when it failed."""
        if exposure <= 0.0:
            return False
        failed = self._run_out(exposure) if self.defective else self._run_good(exposure, arrived)
        self.age += exposure
        self.exposure += exposure
        self.extra *= exp(-exposure / self.law.fade)
        self.failures += failed
        return failed

    def _run_out(self, exposure: float) -> bool:
        assert self.to_failure is not None
        self.to_failure -= exposure
        return self.to_failure <= 0.0

    def _run_good(self, exposure: float, arrived: float) -> bool:
        true_arrived = arrived * self.rate_factor
        self.to_arrival -= true_arrived
        if self.to_arrival > 0.0:
            return False
        after = exposure * -self.to_arrival / true_arrived
        self.to_arrival = self.chance.expovariate(1.0)
        self.defects += 1
        self.plant()
        if self.chance.random() < self.law.sudden_share:
            return True
        assert self.to_failure is not None
        self.to_failure -= after
        return self.to_failure <= 0.0

    def plant(self) -> None:
        """A defect begins now."""
        self.to_failure = self.chance.expovariate(1.0 / self.delay)
        self._choose_spot()

    def _choose_spot(self) -> None:
        if self.place is not None and self.place.spots:
            self.spot = self.chance.choice(self.place.spots)

    def put_right(self, *, renewed: bool, works: float) -> None:
        """Somebody put it right; now and then it only looks so."""
        self.to_failure = None
        if renewed:
            self.age = 0.0
            self.to_arrival = self.chance.expovariate(1.0)
            self.happened(Event.FITTED)
        if self.chance.random() >= works:
            self.plant()

    def happened(self, event: Event) -> None:
        """An event that raises the rate for a while."""
        for raised in self.mode.raises:
            if raised.event is event:
                self.extra = max(self.extra, raised.factor - 1.0)

    def raised_by(self, event: Event) -> bool:
        """Whether the event does anything to this row."""
        return any(raised.event is event for raised in self.mode.raises)


@dataclass(slots=True)
class Hidden:
    """The truth of a whole workshop: rows by the name of the car or pack."""

    facts: Facts
    seed: int
    rows: dict[str, list[HiddenRow]] = field(default_factory=dict)

    def join(self, owner: str, pairs: Iterable[tuple[Mode, Place | None]], *, second_hand: bool) -> None:
        """A car or a pack joins with these modes."""
        self.rows[owner] = [self._begin(owner, mode, place, second_hand) for mode, place in pairs]

    def _begin(self, owner: str, mode: Mode, place: Place | None, second_hand: bool) -> HiddenRow:
        law = law_of(mode)
        errors = Random(f"{self.seed}/tables/{mode.key}")
        own = Random(f"{self.seed}/{owner}/{mode.key}")
        wider = self._assume("unknown_spread_factor") if second_hand else 1.0
        shape = law.spread_shape / wider
        rate = own.gammavariate(shape, 1.0 / shape) * _lognormal(errors, RATE_ERROR_LOG_SD)
        delay = _lognormal(own, law.delay_log_sd) * _lognormal(errors, DELAY_ERROR_LOG_SD)
        chance = Random(f"{self.seed}/{owner}/{mode.key}/{place.key if place else ''}")
        row = HiddenRow(owner, place, mode, law, rate, delay, chance, to_arrival=chance.expovariate(1.0))
        if second_hand:
            self._unknown_past(row)
        return row

    def came(self, owner: str, *, second_hand: bool) -> None:
        """What is wrong with a car as it comes, before anybody drove it here."""
        for row in self.rows[owner]:
            known = self.facts.presence.get(row.mode.key)
            there = 0.0 if known is None else known.second_hand if second_hand else known.new
            if there and not row.defective and row.chance.random() < there:
                row.plant()
            if not second_hand and not there:
                row.happened(Event.FITTED)

    def _unknown_past(self, row: HiddenRow) -> None:
        """Used for nobody knows how long, and running when it was sold: what had failed was put right."""
        means = {
            Clock.RUNNING_MIN: self._assume("unknown_running_min"),
            Clock.HARD_HITS: self._assume("unknown_hard_hits"),
            Clock.PACKS: self._assume("unknown_packs"),
            Clock.WET_RUNS: self._assume("unknown_wet_runs"),
            Clock.DAYS: self._assume("unknown_days"),
        }
        past = row.chance.expovariate(1.0 / means[row.mode.clock])
        if self._run([row], [past]):
            row.to_failure = None
        row.exposure, row.failures, row.defects = 0.0, 0, 0

    def ran(self, owner: str, ran: Ran) -> list[HiddenRow]:
        """One run of a car, or of a pack in it. What failed on the way, still broken."""
        rows = self.rows[owner]
        failed = self._run(rows, run_exposure([row.mode for row in rows], ran).tolist())
        if ran.hard_hits:
            self.happened(owner, Event.HARD_HIT)
        return failed

    def waited(self, owner: str, days: float) -> list[HiddenRow]:
        """Days that passed. What failed by lying about."""
        rows = [row for row in self.rows[owner] if row.mode.clock is Clock.DAYS]
        return self._run(rows, [days] * len(rows))

    def _run(self, rows: Sequence[HiddenRow], exposure: Sequence[float]) -> list[HiddenRow]:
        expected = arrivals(
            laws=law_array([row.law for row in rows]),
            age=np.array([row.age for row in rows]),
            extra=np.array([row.extra for row in rows]),
            exposure=np.array(exposure, dtype=float),
        ).tolist()
        return [
            row for row, far, arrived in zip(rows, exposure, expected, strict=True) if row.run(far, arrived)
        ]

    def happened(self, owner: str, event: Event, *, roles: frozenset[str] | None = None) -> None:
        """An event at a car, or only at the places of some roles."""
        for row in self.rows[owner]:
            if roles is None or row.mode.role in roles:
                row.happened(event)

    def put_right(self, row: HiddenRow, *, renewed: bool) -> None:
        """One row put right, with the chance of success that the tables assume."""
        row.put_right(renewed=renewed, works=self._assume("fit_success"))

    def harmed(self, owner: str, roles: Iterable[str], chance: float) -> None:
        """Work that may plant a fault of its own at the places of some roles."""
        wanted = frozenset(roles)
        for row in self.rows[owner]:
            able = row.mode.role in wanted and row.raised_by(Event.WORK_THERE) and not row.defective
            if able and row.chance.random() < chance:
                row.plant()

    def fitted(self, owner: str, place: str) -> None:
        """A new part in a place; how this car treats such parts stays as it is."""
        for row in self.at(owner, place):
            row.extra = 0.0
            row.put_right(renewed=True, works=1.0)

    def moved(self, giver: str, place: str, taker: str) -> None:
        """A part went from one car to the same place of another, and the giver got a fresh one."""
        went = {row.mode.key: row for row in self.at(giver, place)}
        replaced = {row.mode.key: row for row in self.at(taker, place)}
        for key in went.keys() & replaced.keys():
            self.rows[taker][self.rows[taker].index(replaced[key])] = went[key]
            fresh = self._begin(giver, went[key].mode, went[key].place, False)
            self.rows[giver][self.rows[giver].index(went[key])] = fresh
        for row in (*self.at(giver, place), *self.at(taker, place)):
            row.happened(Event.WORK_THERE)

    def at(self, owner: str, place: str) -> list[HiddenRow]:
        """The rows of one place."""
        return [row for row in self.rows[owner] if row.place is not None and row.place.key == place]

    def as_document(self) -> list[Mapping[str, object]]:
        """Every row as plain values, for the file beside the store."""
        return [
            {
                "of": owner,
                "place": row.place.key if row.place else None,
                "mode": row.mode.key,
                "clock": row.mode.clock.value,
                "between_defects": row.law.mean_between_defects / row.rate_factor,
                "delay": row.delay,
                "rate_factor": row.rate_factor,
                "delay_factor": row.delay_factor,
                "exposure": row.exposure,
                "defects": row.defects,
                "failures": row.failures,
                "defective_now": row.defective,
            }
            for owner, rows in self.rows.items()
            for row in rows
        ]

    def _assume(self, key: str) -> float:
        return self.facts.assumptions[key].value


def _lognormal(chance: Random, log_sd: float) -> float:
    """A draw with mean one."""
    return chance.lognormvariate(-0.5 * log_sd * log_sd, log_sd)
