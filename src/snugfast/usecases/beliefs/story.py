"""The story of a few cars, or of one pack, told entry by entry into beliefs.

Exposure, failures, checks, fittings and moves of the journal become operations on a bank of beliefs, one row
for each way each part can fail. Told again from the start, the story comes out equal to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Build, Check, Clock, Event, Facts, Mode, Place, Presence
from snugfast.records.entries import (
    Answer,
    Broke,
    BuildChanged,
    CameBack,
    CarAdded,
    CaughtUp,
    Checked,
    Done,
    Entry,
    Failed,
    History,
    Hunted,
    PackAdded,
    PackLooked,
    PackMeasured,
    PartFitted,
    PartMoved,
    Precision,
    Ran,
    TreatmentDone,
    WorkDone,
    subjects,
)
from snugfast.records.ledger import WET_ENOUGH
from snugfast.records.roster import Roster, after_move, build_with, first_roster
from snugfast.upkeep.beliefs import BeliefBank, Beliefs
from snugfast.upkeep.found_among import Look, found_among
from snugfast.upkeep.mode_law import Start, UnknownExposure
from snugfast.upkeep.severity import allowing_for, exactly, taught
from snugfast.usecases.beliefs.driver import Driver, Teaches
from snugfast.usecases.beliefs.exposure import caught_up_exposure, law_of, run_exposure
from snugfast.usecases.beliefs.hunt_looks import clean_looks
from snugfast.usecases.beliefs.lateness import ONE_DAY
from snugfast.usecases.beliefs.lots import Lot, Lots, mask
from snugfast.usecases.beliefs.scope import NOTHING, LotsOf, Rows, Scope
from snugfast.usecases.beliefs.stress import CarStress, Driving, RunStress
from snugfast.usecases.beliefs.wetness import Wetness
from snugfast.usecases.packs.climb import Climb, mean_at_25_degC
from snugfast.usecases.packs.signs import as_checks
from snugfast.usecases.shared.applicability import car_modes, opening, pack_modes, sees_pack_too
from snugfast.usecases.twin.says import TwinSays, mark_of_build, twin_says

Floats = NDArray[np.float64]
FAILED = "failed"
SINCE_LOOK = {
    "since_look": 0.0,
    "by_late": 0.0,
    "by_stress": 0.0,
    "hottest": np.nan,
    "warmer": np.nan,
    "loaded": np.nan,
}
"""What a story keeps of each row since it was last looked at, and with what it begins."""
CLOCKS = tuple(Clock)  # in the order of an odometer
BENCH_DAY = ONE_DAY / 2


@dataclass(frozen=True, slots=True)
class Row:
    """What a row of the bank stands for: one mode of one part, or of one pack."""

    carrier: UUID
    mode: str


@dataclass(frozen=True, slots=True)
class Mark:
    """What is told of a row besides its belief: when it was last looked at, and how that moved it.

    Rates are multiples of the table's; an ageing part's rate of the moment would jump with every new part.
    """

    looked_at: datetime | None = None
    how: str = ""
    before: float = 0.0
    rate_before: float = 0.0
    after: float = 0.0
    rate_after: float = 0.0


@dataclass(frozen=True, slots=True)
class StoryCar:
    """A car as the story has it at this point."""

    document: Mapping[str, Any]
    build: Build
    roster: Roster
    day: datetime
    history: History = History.NEW
    odometer: tuple[float, ...] = (0.0,) * len(CLOCKS)  # what the car has been through, on each clock

    @property
    def parts(self) -> Mapping[str, UUID]:
        """The part in each place."""
        return self.roster.parts

    def further(self, clock: Clock, amount: float) -> StoryCar:
        """The car when one clock has run on."""
        at = CLOCKS.index(clock)
        odometer = (*self.odometer[:at], self.odometer[at] + amount, *self.odometer[at + 1 :])
        return replace(self, odometer=odometer)


class Story:
    """Beliefs about some cars or one pack, and the telling that changes them.

    `members` are the cars (or the one pack) it is about; entries about others are passed over.
    """

    def __init__(
        self, facts: Facts, read: Callable[[Mapping[str, Any]], Build], members: Iterable[UUID]
    ) -> None:
        self.facts = facts
        self.read = read
        self.members = frozenset(members)
        self.bank = BeliefBank()
        self.rows: list[Row] = []
        self.marks: list[Mark] = []
        self.since_look: Floats = np.empty(0)
        self.by_late: Floats = np.empty(0)  # of since_look, what a late treatment added
        self.by_stress: Floats = np.empty(0)  # of since_look, what heat and load added or took away
        self.hottest: Floats = np.empty(0)  # read since the last look, °C; not a number when nothing was
        self.warmer: Floats = np.empty(0)  # most since then, K over a usual run as it came, by the twin
        self.loaded: Floats = np.empty(0)  # most load since then, as a multiple of that of the car as it came
        self.cars: dict[UUID, StoryCar] = {}
        self.stress: dict[UUID, CarStress] = {}  # by car, or by pack
        self.packs: dict[UUID, datetime] = {}
        self.climbs: dict[tuple[UUID, str], Climb] = {}  # of a pack's resistance, by instrument
        self.opened: dict[tuple[UUID, str], datetime] = {}
        self.wetness = Wetness(facts)
        self.last_order: tuple[datetime, bytes] | None = None
        self.told_further = False
        self.lots = Lots(self.bank)  # which of the like parts of a row stand apart
        self.waiting: Floats = np.empty(0)  # days that nobody has yet seen these rows live through
        self.began: dict[UUID, tuple[float, ...]] = {}  # odometer at which a part began, if not zero
        self.builds_met: set[str] = set()  # marks of the builds whose twin was asked while this was told
        self.earlier = b""  # this story as it was some hundreds of entries ago, when it was told anew
        self.number: dict[Row, int] = {}
        self.widened: Floats = np.empty(0)  # how much wider the rates of a row were taken at its beginning
        self.driver: Driver | None = None  # what all cars say of their driver; no part of what is told
        self._scopes: dict[UUID, Scope] = {}
        self._teaches: Teaches | None = None
        self._driven: dict[UUID, tuple[Driver, Floats]] = {}

    # What the story can be asked.

    def scope(self, member: UUID) -> Scope:
        """The rows of a car as it stands, or of a pack."""
        if member not in self._scopes:
            self._scopes[member] = self._scope(member)
        return self._scopes[member]

    def as_of(self, member: UUID, now: datetime) -> tuple[Beliefs, Floats]:
        """(beliefs, days since the last entry) of each row of a member now; the story stays as it is."""
        scope = self.scope(member)
        beliefs, days = self._as_driven(member, scope), np.zeros(len(scope.rows))
        since = self._day_of(member)
        if since is None or not len(scope.rows):
            return beliefs, days
        planted, passed = self._stood(member, scope, max(since, now))
        if (planted > 0.0).any():
            beliefs = beliefs.disturbed(chance=planted)
        aging = scope.on_clock(Clock.DAYS)
        days[aging] = passed[aging]
        return beliefs.ran(exposure=self.waiting[scope.rows] + days), days

    def driven_by(self, driver: Driver) -> Story:
        """The same story as it is to be asked when all cars say this of the driver; it stays as it is."""
        asked = copy(self)
        asked.driver, asked._driven = driver, {}
        return asked

    @property
    def teaches(self) -> Teaches:
        """What the rows of these cars say of all rows, for each mode. Nothing of packs."""
        if self._teaches is None:
            found: dict[str, list[Floats]] = {}
            for car in sorted(self.cars):
                driven = self._driven_rows(self.scope(car))
                for mode, logs in zip(driven.modes, self._taught(driven), strict=True):
                    found.setdefault(mode.key, []).append(logs)
            self._teaches = {mode: exactly(logs) for mode, logs in found.items()}
        return self._teaches

    def _driven_rows(self, scope: Scope) -> Scope:
        """What goes wrong by driving: the calendar is alike to every driver."""
        return scope.only(scope.where(lambda mode, _: mode.clock is not Clock.DAYS))

    def _shapes(self, scope: Scope) -> list[float]:
        """The gamma shapes that the rates of some rows began with."""
        wider = self.widened[scope.rows].tolist()
        return [mode.spread / one for mode, one in zip(scope.modes, wider, strict=True)]

    def _taught(self, scope: Scope) -> Floats:
        return taught(self.bank[scope.rows], self._shapes(scope))

    def _as_driven(self, member: UUID, scope: Scope) -> Beliefs:
        """The rows of a member with what all cars say of the driver."""
        beliefs, driver = self.bank[scope.rows], self.driver
        if driver is None or member not in self.cars or not len(scope.rows):
            return beliefs
        kept = self._driven.get(member)
        if kept is None or kept[0] is not driver:
            driven = self._driven_rows(scope)
            modes = [mode.key for mode in driven.modes]
            rows = self.bank[driven.rows]
            weights = beliefs.weights.copy()
            weights[scope.where(lambda mode, _: mode.clock is not Clock.DAYS)] = allowing_for(
                rows, self._shapes(driven), modes, self._taught(driven), driver.severity
            ).weights
            kept = self._driven[member] = (driver, weights)
        return replace(beliefs, weights=kept[1].copy())

    def late_ahead(self, member: UUID, now: datetime, days: float) -> tuple[Floats, Floats]:
        """(chance of a defect planted, how many times a run counts) while treatments stay undone so long."""
        scope, until = self.scope(member), now + timedelta(days=days)
        planted, _ = self.wetness.stood(member, scope, self._lots_of(scope), now, until)
        return planted, self.wetness.run_factor(member, scope, self._lots_of(scope), until)

    def stress_ahead(self, member: UUID, modes: Sequence[Mode], driving: Driving) -> RunStress:
        """What a run that lies ahead will do to the clocks, as far as heat and load are known."""
        return self.stress[member].of_run(modes, driving)

    # The telling.

    def take(self, entry: Entry) -> None:
        """One entry further."""
        self.told_further = True
        self._teaches = None
        self._driven.clear()
        for member in sorted(self.members & subjects(entry.fact)):
            self._days(member, entry.happened_at)
        match entry.fact:
            case CarAdded(car=car) as fact if car in self.members:
                self._join(entry, fact)
            case PackAdded(pack=pack) as fact if pack in self.members:
                self._join_pack(entry, fact)
            case Ran() as fact:
                for member in (fact.car, *fact.packs):
                    self._ran(entry, member, fact)
            case CaughtUp(car=car) as fact if car in self.cars:
                self._caught_up(entry, fact)
            case Checked() as fact:
                self._checked(entry, fact)
            case PackLooked() | PackMeasured() as seen:
                for answered in as_checks(seen, self._climbed(seen)):
                    self._checked(entry, answered)
            case Failed(car=car, broke=broke):
                self._failed_at_rest(entry, broke.pack or car, broke)
            case Hunted(car=car, pack=pack) as hunt:
                for looks in clean_looks(self.facts, hunt):
                    for member in (car, *((pack,) if pack else ())):
                        self._ruled_out(self.scope(member), looks)
                if hunt.broke is not None:
                    self._failed_at_rest(entry, hunt.broke.pack or car, hunt.broke)
            case PartFitted(car=car) as fact if car in self.cars:
                self._fitted(entry, fact)
            case PartMoved() as fact:
                self._moved(entry, fact)
            case WorkDone(car=car) as fact if car in self.cars:
                self._worked(fact)
            case TreatmentDone(car=car, treatment=treatment):
                self.wetness.treated(car, treatment)
            case CameBack(car=car) as fact if car in self.cars:
                self._came_back(fact)
            case BuildChanged(car=car, build=build) if car in self.cars:
                self._rebuilt(entry, car, build)
            case _:
                pass
        self.last_order = entry.order

    # Joining.

    def _join(self, entry: Entry, fact: CarAdded) -> None:
        build = self.read(fact.build)
        roster = first_roster(fact.car, fact.build)
        self.cars[fact.car] = StoryCar(fact.build, build, roster, entry.happened_at, fact.history)
        says = self._twin_says(fact.build, build)
        self.stress[fact.car] = CarStress(self.facts, says, says)
        self._settle(fact.car, self._start(fact.history))
        scope = self.scope(fact.car)
        if fact.history is History.NEW:
            self._there_already(scope, lambda presence: presence.new)
            self._raise(scope.only(scope.where(self._not_told_already)), Event.FITTED)
        else:
            self._there_already(scope, lambda presence: presence.second_hand)

    def _not_told_already(self, mode: Mode, place: Place | None) -> bool:
        """Whether what is wrong from the box is told by a raised rate alone; both would count twice."""
        return mode.key not in self.facts.presence or not self.facts.presence[mode.key].new

    def _there_already(self, scope: Scope, chance: Callable[[Presence], float]) -> None:
        """Defects that were there before anybody looked: of a car as it comes, or where somebody worked."""
        known = self.facts.presence
        chances = np.array([chance(known[mode.key]) if mode.key in known else 0.0 for mode in scope.modes])
        if (there := chances > 0.0).any():
            rows = scope.rows[there]
            self.bank[rows] = self.bank[rows].disturbed(chance=chances[there])

    def _join_pack(self, entry: Entry, fact: PackAdded) -> None:
        self.packs[fact.pack] = entry.happened_at
        self.stress[fact.pack] = CarStress(self.facts)
        modes = pack_modes(self.facts, fact.chemistry)
        self._add([(fact.pack, mode, 1) for mode in modes], lambda mode: Start())

    def _start(self, history: History) -> Callable[[Mode], Start]:
        if history is History.NEW:
            return lambda mode: Start()
        means = {
            Clock.RUNNING_MIN: self._assume("unknown_running_min"),
            Clock.HARD_HITS: self._assume("unknown_hard_hits"),
            Clock.PACKS: self._assume("unknown_packs"),
            Clock.WET_RUNS: self._assume("unknown_wet_runs"),
            Clock.DAYS: self._assume("unknown_days"),
        }
        wider = self._assume("unknown_spread_factor")
        return lambda mode: Start(
            unchecked=UnknownExposure.about(means[mode.clock]), age=means[mode.clock], spread_factor=wider
        )

    def _settle(self, car: UUID, start: Callable[[Mode], Start]) -> None:
        """Give a belief to every way this car can fail that has none yet.

        A part that was there before it could fail in this way, as the build has it now, is as old as it is.
        """
        self._scopes.pop(car, None)
        here = self.cars[car]
        wanted = [
            (here.parts[place.key], mode, max(1, len(place.spots)))
            for mode, place in car_modes(self.facts, here.build)
            if Row(here.parts[place.key], mode.key) not in self.number
        ]
        first = len(self.rows)
        self._add(wanted, start)
        been = np.array(
            [self._been_through(here, part)[CLOCKS.index(mode.clock)] for part, mode, _ in wanted]
        )
        if (old := np.flatnonzero(been > 0.0)).size:
            self.bank[first + old] = self.bank[first + old].ran(exposure=been[old])

    def _been_through(self, here: StoryCar, part: UUID) -> tuple[float, ...]:
        """What a part that sits in this car has been through, on each clock."""
        began = self.began.get(part, (0.0,) * len(CLOCKS))
        return tuple(now - then for now, then in zip(here.odometer, began, strict=True))

    def _add(self, wanted: Sequence[tuple[UUID, Mode, int]], start: Callable[[Mode], Start]) -> None:
        if not wanted:
            return
        laws, starts = [law_of(mode) for _, mode, _ in wanted], [start(mode) for _, mode, _ in wanted]
        self.bank.add(laws, starts, [parts for _, _, parts in wanted])
        first = len(self.rows)
        for carrier, mode, _ in wanted:
            row = Row(carrier, mode.key)
            self.number[row] = len(self.rows)
            self.rows.append(row)
            self.marks.append(Mark())
        self.wetness.never_wet((row, 0) for row in range(first, len(self.rows)))
        self.waiting = np.append(self.waiting, np.zeros(len(wanted)))
        self.widened = np.append(self.widened, [one.spread_factor for one in starts])
        for name, begin in SINCE_LOOK.items():
            setattr(self, name, np.append(getattr(self, name), np.full(len(wanted), begin)))

    def _scope(self, member: UUID) -> Scope:
        if member in self.cars:
            here = self.cars[member]
            pairs: list[tuple[UUID, Mode, Place | None]] = [
                (here.parts[place.key], mode, place) for mode, place in car_modes(self.facts, here.build)
            ]
        elif member in self.packs:
            pairs = [(member, self.facts.modes[row.mode], None) for row in self.rows if row.carrier == member]
        else:
            return NOTHING
        rows = np.array([self.number[Row(carrier, mode.key)] for carrier, mode, _ in pairs], np.intp)
        return Scope(rows, tuple(mode for _, mode, _ in pairs), tuple(place for _, _, place in pairs))

    # Exposure.

    def _day_of(self, member: UUID) -> datetime | None:
        return self.cars[member].day if member in self.cars else self.packs.get(member)

    def _days(self, member: UUID, now: datetime) -> None:
        """The calendar runs on. What wears by days waits for somebody to see that it lives."""
        since = self._day_of(member)
        if since is None or now <= since:
            return
        scope = self.scope(member)
        planted, days = self._stood(member, scope, now)
        if member in self.cars:
            passed = (now - since) / ONE_DAY
            self.cars[member] = replace(self.cars[member], day=now).further(Clock.DAYS, passed)
            if (wet := planted > 0.0).any():
                self.bank[scope.rows] = self.bank[scope.rows].disturbed(chance=np.where(wet, planted, 0.0))
        else:
            self.packs[member] = now
        aging = scope.on_clock(Clock.DAYS)
        rows = scope.rows[aging]
        self.waiting[rows] += days[aging]
        self.since_look[rows] += days[aging]

    def _stood(self, member: UUID, scope: Scope, now: datetime) -> tuple[Floats, Floats]:
        """(chance of a defect planted in each lot by standing wet, days that passed for each row)."""
        since = self._day_of(member)
        assert since is not None
        days = np.full(len(scope.rows), (now - since) / ONE_DAY)
        lots = self._lots_of(scope)
        if member not in self.cars:
            return np.zeros(lots.size), days
        planted, more = self.wetness.stood(member, scope, lots, since, now)
        return planted, days + (np.maximum.reduceat(more, lots.first[:-1]) if more.size else more)

    def _lots_of(self, scope: Scope) -> LotsOf:
        return self._lots_of_rows(scope.rows)

    def _lots_of_rows(self, rows: Rows) -> LotsOf:
        """Where the lots of some rows stand in the bank's order."""
        if not self.lots.apart:
            return LotsOf(np.arange(len(rows) + 1))
        sizes = [len(self.lots.of(int(row))) for row in rows]
        return LotsOf(np.concatenate([[0], np.cumsum(sizes)]).astype(np.intp))

    def _live(self, rows: Rows) -> None:
        """Somebody sees now that these have lived through the days that waited."""
        late = rows[self.waiting[rows] > 0.0]
        if len(late):
            self.bank[late] = self.bank[late].ran(exposure=self.waiting[late])
            self.waiting[late] = 0.0

    def _ran(self, entry: Entry, member: UUID, fact: Ran) -> None:
        scope = self.scope(member)
        if not len(scope.rows):
            return
        rows, lots = scope.rows, self._lots_of(scope)
        exposure = self._stressed(member, scope, Driving.of(fact), run_exposure(scope.modes, fact))
        exposure = self._late(member, scope, lots, entry.happened_at, exposure)
        self.stress[member].learn(scope.modes, Driving.of(fact))
        if member in self.cars:
            self._drove(member, fact)
            if entry.precision is not Precision.ABOUT:
                self.wetness.got_wet(member, scope, fact.wet.value, entry.happened_at)
        breaks = [broke for broke in fact.broke if self._is_about(member, broke)]
        exposure += np.repeat(self.waiting[rows], np.diff(lots.first))
        self.waiting[rows] = 0.0
        if breaks:
            self._ran_with_breaks(entry, scope, lots, exposure, breaks)
        else:
            self.bank[rows] = self.bank[rows].ran(exposure=exposure)
        if fact.hard_hits:
            self._raise(scope, Event.HARD_HIT)

    def _drove(self, car: UUID, fact: Ran | CaughtUp) -> None:
        packs, wet = (
            (1.0, float(fact.wet in WET_ENOUGH)) if isinstance(fact, Ran) else (fact.packs, fact.wet_packs)
        )
        here = self.cars[car]
        for clock, amount in (
            (Clock.RUNNING_MIN, fact.running_min),
            (Clock.HARD_HITS, fact.hard_hits),
            (Clock.PACKS, packs),
            (Clock.WET_RUNS, wet),
        ):
            here = here.further(clock, amount)
        self.cars[car] = here

    def _ran_with_breaks(
        self, entry: Entry, scope: Scope, lots: LotsOf, exposure: Floats, breaks: Sequence[Broke]
    ) -> None:
        """A run in which something failed. What failed twice did so in two shares of the run."""
        run = {
            int(row): exposure[lots.first[n] : lots.first[n + 1]].copy() for n, row in enumerate(scope.rows)
        }
        known: list[tuple[Broke, list[int], int | None]] = []
        for broke in breaks:
            group = self._blamed(scope, broke)
            lot = None
            if len(group) == 1:
                row = int(scope.rows[group[0]])
                likely = self.bank[[row]].failing(exposure=run[row])
                lot, parent = self._stand_apart(row, broke.spot, scope.places[group[0]], likely)
                if lot == len(run[row]):
                    run[row] = np.append(run[row], run[row][parent])
            known.append((broke, group, lot))
        times = {row: np.zeros(len(lot_run)) for row, lot_run in run.items()}
        for _, group, lot in known:
            for n in group:
                times[int(scope.rows[n])][slice(None) if lot is None else lot] += 1.0
        for broke, group, lot in sorted(known, key=lambda told: told[2] is None):
            rows = scope.rows[group]
            before = self._presence(rows)
            if lot is not None:
                (row,) = (int(row) for row in rows)
                which = mask(len(run[row]), [lot])
                self._fail(row, which, np.where(which, run[row] / np.maximum(times[row], 1.0), 0.0))
                self._after_break(entry, scope.only(group), row, lot, broke)
                self._tell(entry, rows, before, FAILED)
            elif group:
                shares = [run[int(row)] / np.maximum(times[int(row)], 1.0) for row in rows]
                self._blame(rows, np.concatenate(shares), broke)
        whole = [n for n, row in enumerate(scope.rows) if not times[int(row)].all()]
        if whole:
            left = [np.where(times[row] > 0.0, 0.0, run[row]) for row in map(int, scope.rows[whole])]
            rows = scope.rows[whole]
            self.bank[rows] = self.bank[rows].ran(exposure=np.concatenate(left))
        for row in scope.rows:
            self.lots.tidy(int(row))

    def _stand_apart(self, row: int, spot: str, place: Place | None, likely: Floats) -> tuple[int, int]:
        """(lot, the lot it was drawn from): one part of a row by itself, as wet as it was."""
        lot, parent = self.lots.one(row, spot, place.spots if place else (), likely)
        if lot != parent:
            self.wetness.parted(row, parent, lot)
        return lot, parent

    def _stressed(self, member: UUID, scope: Scope, driving: Driving, exposure: Floats) -> Floats:
        """The exposure of a run with its heat and load; what they were is kept as a reason."""
        stress = self.stress[member].of_run(scope.modes, driving)
        stressed: Floats = exposure * stress.factor
        rows = scope.rows
        self.by_stress[rows] += stressed - exposure
        self.hottest[rows] = np.fmax(self.hottest[rows], stress.read_degC)
        self.warmer[rows] = np.fmax(self.warmer[rows], stress.warmer_K)
        self.loaded[rows] = np.fmax(self.loaded[rows], stress.load)
        return stressed

    def _is_about(self, member: UUID, broke: Broke) -> bool:
        return (broke.pack or None) == (member if member in self.packs else None)

    def _blamed(self, scope: Scope, broke: Broke) -> list[int]:
        """Positions of the rows that a break can be put down to."""
        return scope.where(
            lambda mode, place: (
                (broke.mode is None or mode.key == broke.mode)
                and (broke.place is None or (place is not None and place.key == broke.place))
            )
        )

    def _fail(self, row: int, which: NDArray[np.bool_], exposure: Floats) -> None:
        """One part fails, within an exposure or, where there is none, just now."""
        now = self.bank[[row]]
        if float(exposure[which].sum()) > 0.0:
            self.bank[[row]] = now.failed_within(exposure=exposure, which=which)
        else:
            self.bank[[row]] = now.failed_at(exposure=exposure, which=which)

    def _blame(self, rows: Rows, exposure: Floats, broke: Broke, *, at_rest: bool = False) -> None:
        """One of many may have failed. What then is left so is one part of each row, nobody knows which."""
        left_at = None
        if broke.done is Done.LEFT:
            exposure, left_at = self._one_of_each(rows, exposure)
        self.bank[rows], _ = self.bank[rows].one_failed_within(
            exposure=np.maximum(exposure, 1e-9),
            works=self._assume("fit_success"),
            left_at=left_at,
            at_rest=at_rest,
        )

    def _one_of_each(self, rows: Rows, exposure: Floats) -> tuple[Floats, Rows]:
        """Let one part of each lot of several stand apart, to carry what that lot is blamed for.

        Gives the exposure of all lots then, and which of them carries the blame of each.
        """
        counts, at = self.bank[rows].counts, self._lots_of_rows(rows)
        each, carriers, first = [], [], 0
        for n, row in enumerate(int(row) for row in rows):
            here = slice(at.first[n], at.first[n + 1])
            lots, carrier = exposure[here], list(range(at.first[n + 1] - at.first[n]))
            for lot in [lot for lot, count in enumerate(counts[here]) if count > 1.0]:
                new = self.lots.any_of(row, lot)
                self.wetness.parted(row, lot, new)
                lots = np.append(lots, lots[lot])
                carrier[lot] = new
                carrier.append(new)
            each.append(lots)
            carriers += [first + lot for lot in carrier]
            first += len(carrier)
        return np.concatenate(each), np.array(carriers, np.intp)

    def _after_break(self, entry: Entry, scope: Scope, row: int, lot: int, broke: Broke) -> None:
        """What was done about the one part that failed; `scope` is its row."""
        which = mask(len(self.lots.of(row)), [lot])
        if broke.done is Done.LEFT:
            self.bank[[row]] = self.bank[[row]].left_broken(which)
            self._left(entry, row, lot)
        else:
            self._mended(scope, row, lot, renewed=broke.done is Done.RENEWED)

    def _mended(self, scope: Scope, row: int, lot: int, *, renewed: bool) -> None:
        which = mask(len(self.lots.of(row)), [lot])
        works = self._assume("fit_success")
        self.bank[[row]] = self.bank[[row]].restored(works=works, renewed=renewed, which=which)
        self.lots.change(row, lot, Lot(self.lots.of(row)[lot].spot))
        if renewed:
            self.wetness.never_wet([(row, lot)])
            self._raise(scope, Event.FITTED, which)

    def _left(self, entry: Entry, row: int, lot: int) -> None:
        self.lots.change(row, lot, Lot(self.lots.of(row)[lot].spot, left_at=entry.happened_at))

    def _failed_at_rest(self, entry: Entry, member: UUID, broke: Broke) -> None:
        """Something was found broken: it went in the last days, or as on any other run."""
        scope = self.scope(member)
        group = self._blamed(scope, broke)
        rows = scope.rows[group]
        before = self._presence(rows)
        if len(group) == 1:
            row = int(rows[0])
            usual = self._usual_run()[scope.modes[group[0]].clock] + self.waiting[row]
            likely = self.bank[[row]].failing(exposure=float(usual))
            lot, _ = self._stand_apart(row, broke.spot, scope.places[group[0]], likely)
            which = mask(len(self.lots.of(row)), [lot])
            self._fail(row, which, np.full(which.size, self.waiting[row]))
            self.waiting[row] = 0.0
            self._after_break(entry, scope.only(group), row, lot, broke)
            self._tell(entry, rows, before, FAILED)
            self.lots.tidy(row)
        elif group:
            usually = self._usual_run()
            run = np.array([usually[scope.modes[n].clock] for n in group]) + self.waiting[rows]
            self._blame(rows, run[self.bank[rows].row], broke, at_rest=True)

    def _usual_run(self) -> Mapping[Clock, float]:
        """What one pack of a driver nothing is known about adds to each clock."""
        return {
            Clock.RUNNING_MIN: self._assume("habit_running_min"),
            Clock.HARD_HITS: self._assume("habit_hard_hits"),
            Clock.PACKS: 1.0,
            Clock.WET_RUNS: self._assume("habit_wet_share"),
            Clock.DAYS: 0.0,
        }

    def _caught_up(self, entry: Entry, fact: CaughtUp) -> None:
        scope, lots = self.scope(fact.car), self._lots_of(self.scope(fact.car))
        exposure = caught_up_exposure(scope.modes, fact)
        each = Driving(fact.ground.value, fact.running_min / fact.packs)
        exposure = self._stressed(fact.car, scope, each, exposure)
        exposure = self._late(fact.car, scope, lots, entry.happened_at, exposure)
        self._drove(fact.car, fact)
        self._live(scope.rows)
        self.bank[scope.rows] = self.bank[scope.rows].ran(exposure=exposure)
        if fact.hard_hits:
            self._raise(scope, Event.HARD_HIT)

    def _came_back(self, fact: CameBack) -> None:
        scope = self.scope(fact.car)
        self._live(scope.rows)
        packs = 0.5 * (fact.packs_low + fact.packs_high)
        for clock, each in self._usual_run().items():
            rows = scope.rows[scope.on_clock(clock)]
            self.cars[fact.car] = self.cars[fact.car].further(clock, packs * each)
            if len(rows) and each > 0.0:
                gone = UnknownExposure.between(fact.packs_low * each, fact.packs_high * each)
                self.bank[rows] = self.bank[rows].ran_unwatched(exposure=gone)
                self.since_look[rows] += packs * each

    def _late(self, car: UUID, scope: Scope, lots: LotsOf, at: datetime, exposure: Floats) -> Floats:
        """The exposure of each lot, with what is late; how much that added is kept as a reason."""
        each: Floats = np.repeat(exposure, np.diff(lots.first))
        late: Floats = each * self.wetness.run_factor(car, scope, lots, at)
        more = np.maximum.reduceat(late - each, lots.first[:-1]) if late.size else late
        self.by_late[scope.rows] += more
        self.since_look[scope.rows] += exposure + more
        return late

    # Looking and putting right.

    def _checked(self, entry: Entry, fact: Checked) -> None:
        """What a look tells of the car, of the pack it was done on, or of both where it sees both."""
        check = self.facts.checks.get(fact.check)
        if check is None:
            return
        if fact.pack is not None:
            self._looked_at(entry, fact, check, self.scope(fact.pack))
        if fact.pack is None or sees_pack_too(self.facts, check):
            self._looked_at(entry, fact, check, self.scope(fact.car))
            if fact.looked:  # what was only ticked was not opened, nor a key put on it
                self._opened(entry, fact.car, check.access, check.harm, check.roles)

    def _looked_at(self, entry: Entry, fact: Checked, check: Check, scope: Scope) -> None:
        if not len(scope.rows):
            return
        detects = {cover.mode: cover.detects for cover in check.covers}
        told: dict[int, list[Answer]] = {}
        for answer in fact.answers:
            for n in self._answered(scope, answer):
                told.setdefault(n, []).append(answer)
        covered = scope.of_modes(detects)
        touched = scope.rows[sorted({*covered, *told})]
        self._live(touched)
        before = self._presence(touched)
        if fact.looked:
            self._mended_unsaid(entry, touched)
        clean = [n for n in covered if n not in told]
        if clean:
            rows = scope.rows[clean]
            self.bank[rows] = self.bank[rows].checked_clean(
                detection=np.array([detects[scope.modes[n].key] for n in clean]),
                false_alarm=check.false_alarm,
                looked=1.0 if fact.looked else self._assume("tick_look_chance"),
            )
        for n, answers in told.items():
            self._answer(entry, scope, n, answers, detects.get(scope.modes[n].key), check.false_alarm)
        words = {int(scope.rows[n]): answers[-1].word for n, answers in told.items()}
        self._tell(entry, touched, before, "sound" if fact.looked else "ticked", words)

    def _ruled_out(self, scope: Scope, looks: Mapping[str, float]) -> None:
        """A clean test of a hunt. It is no check of a part, so when that was last looked at stays."""
        if not (seen := scope.of_modes(looks)):
            return
        rows = scope.rows[seen]
        self._live(rows)
        self.bank[rows] = self.bank[rows].checked_clean(
            detection=np.array([looks[scope.modes[n].key] for n in seen]),
            false_alarm=self._assume("hunt_false_alarm"),
        )

    def _mended_unsaid(self, entry: Entry, rows: Rows) -> None:
        """What was left may have been mended since without a word: a chance for each bench day."""
        for row in (int(row) for row in rows if int(row) in self.lots.apart):
            lots = self.lots.of(row)
            again = [
                n
                for n, lot in enumerate(lots)
                if lot.left_at is not None
                and (lot.weighed_at is None or entry.happened_at - lot.weighed_at > BENCH_DAY)
            ]
            if again:
                chance = self._assume("unsaid_mending_chance") * self._assume("fit_success")
                now = self.bank[[row]]
                self.bank[[row]] = now.mended_unsaid(chance=chance, which=mask(len(lots), again))
                for n in again:
                    self.lots.change(row, n, replace(lots[n], weighed_at=entry.happened_at))

    def _climbed(self, seen: PackLooked | PackMeasured) -> Climb | None:
        """How the resistances of a pack have climbed, with this reading."""
        if isinstance(seen, PackLooked) or not seen.resistances_ohm or seen.temperature_degC is None:
            return None
        mean_ohm = mean_at_25_degC(seen.resistances_ohm, seen.temperature_degC)
        if mean_ohm is None:
            return None
        key = seen.pack, seen.instrument
        self.climbs[key] = self.climbs.get(key, Climb()).further(mean_ohm)
        return self.climbs[key]

    def _answered(self, scope: Scope, answer: Answer) -> list[int]:
        if answer.mode is None:
            return []
        return scope.where(
            lambda mode, place: (
                mode.key == answer.mode
                and (answer.place is None or (place is not None and place.key == answer.place))
            )
        )

    def _answer(
        self,
        entry: Entry,
        scope: Scope,
        n: int,
        answers: Sequence[Answer],
        detection: float | None,
        false_alarm: float,
    ) -> None:
        """What was found on one row: in some of its parts, and by the same look in none of the others.

        A check that does not cover the row says nothing of the others.
        """
        row, place = int(scope.rows[n]), scope.places[n]
        by_spot: dict[str, list[Answer]] = {}
        for answer in answers:
            known = place is not None and answer.spot in place.spots
            by_spot.setdefault(answer.spot if known else "", []).append(answer)
        found: dict[int, Answer] = {}
        tied: list[tuple[int, Floats, Mapping[int, Floats]]] = []
        hit, missed = (1.0, 1.0) if detection is None else (detection, 1.0 - detection)
        for spot, said in by_spot.items():
            now, pool, answer = self.bank[[row]], self.lots.without_name(row), _deciding(said)
            alarm = now.alarm_of_each(false_alarm)
            likely = now.found_by(detection=hit, false_alarm=alarm)
            lot, parent = self._stand_apart(row, spot, place, likely)
            found[lot] = answer
            if len(pool) > 1 and parent in pool and answer.word != FAILED and answer.done is Done.LEFT:
                quiet = np.ones_like(alarm) if detection is None else 1.0 - alarm
                look = Look(hit, missed, alarm[pool, None], quiet[pool, None])
                here, others = found_among(
                    now.presences[pool], now.counts[pool], pool.index(parent), look, named=bool(spot)
                )
                after = {n: others[k] for k, n in enumerate(pool) if n not in (lot, parent)}
                tied.append((lot, here, after))
        size = len(self.lots.of(row))
        seen = mask(size, [lot for lot, answer in found.items() if answer.word != FAILED])
        failed = mask(size, [lot for lot, answer in found.items() if answer.word == FAILED])
        now = self.bank[[row]]
        alarm = now.alarm_of_each(false_alarm)
        quiet = np.ones_like(alarm) if detection is None else 1.0 - alarm
        now = now.weighed(
            if_defective=np.where(seen, hit, np.where(failed, 1.0, missed)),
            if_good=np.where(seen, alarm, np.where(failed, 1.0, quiet)),
        )
        for lot, here, rest in tied:
            now.presences[lot] = here
            for n, presence in rest.items():
                if n not in found:
                    now.presences[n] = presence
        self.bank[[row]] = now
        for lot, answer in found.items():
            if answer.word == FAILED:
                self._fail(row, mask(size, [lot]), np.zeros(size))
                broke = Broke(answer.mode, answer.place, done=answer.done)
                self._after_break(entry, scope.only([n]), row, lot, broke)
            elif answer.done is Done.LEFT:
                self._left(entry, row, lot)
            else:
                renewed = answer.done is Done.RENEWED
                self._mended(scope.only([n]), row, lot, renewed=renewed)
                if not renewed:
                    self._raise(scope.only([n]), Event.WORK_THERE, mask(size, [lot]))
        self.lots.tidy(row)

    def _opened(self, entry: Entry, car: UUID, access: str, harm: float, roles: tuple[str, ...]) -> None:
        """Opening covers and putting a key on screws can plant a fault of its own."""
        scope = self.scope(car)
        if harm:
            self._plant(scope, harm, roles)
        again = timedelta(hours=self._assume("access_again_hours"))
        for key in opening(self.facts, access):
            last = self.opened.get((car, key))
            if last is None or entry.happened_at - last > again:
                step = self.facts.access[key]
                self._raise(scope.only(scope.at_roles(step.roles)), Event.WORK_THERE)
                if step.harm:
                    self._plant(scope, step.harm, step.roles)
            self.opened[car, key] = entry.happened_at

    def _plant(self, scope: Scope, harm: float, roles: tuple[str, ...]) -> None:
        there = scope.only(scope.at_roles(roles))
        rows = there.rows[there.where(lambda mode, _: any(r.event is Event.WORK_THERE for r in mode.raises))]
        if len(rows):
            self._live(rows)
            self.bank[rows] = self.bank[rows].disturbed(chance=harm)

    # Parts coming and going.

    def _fitted(self, entry: Entry, fact: PartFitted) -> None:
        here = self.cars[fact.car]
        place = here.build.place(fact.place)
        if place is None:
            return
        if fact.sizes:
            self._has_build(fact.car, build_with(here.document, fact))
        if fact.spots:
            self._fitted_some(fact, place)
        else:
            self._fitted_whole(fact, place)
            whole = self.scope(fact.car)
            self._raise(whole.only(whole.at_place(place.key)), Event.FITTED)
        scope = self.scope(fact.car)
        if place.role == "pinion":
            self._pinion_changed(fact, scope)
        rows = scope.rows[scope.at_place(place.key)]
        self._tell(entry, rows, self._presence(rows), "fitted")

    def _pinion_changed(self, fact: PartFitted, scope: Scope) -> None:
        """Where its teeth are known the twin says what it does to heat, for as long as it stays in.

        A raise that dies away stands for not knowing; set over what the twin says it would count twice.
        """
        stress = self.stress[fact.car]
        told = bool(fact.sizes) and stress.now is not None
        unknown = scope.where(lambda mode, _: not (told and stress.twin_drives(mode)))
        self._raise(scope.only(unknown), Event.PINION_CHANGED)

    def _fitted_some(self, fact: PartFitted, place: Place) -> None:
        """New parts at some spots; the others of the place stay as they are."""
        scope = self.scope(fact.car)
        for n in scope.at_place(place.key):
            row = int(scope.rows[n])
            self._live(scope.rows[[n]])
            spots = [spot for spot in fact.spots if spot in place.spots]
            lots = [self._stand_apart(row, spot, place, self._alike(row))[0] for spot in spots] or [0]
            which = mask(len(self.lots.of(row)), lots)
            works = self._assume("fit_success")
            self.bank[[row]] = self.bank[[row]].replaced(works=works, which=which)
            for lot in lots:
                self.lots.change(row, lot, Lot(self.lots.of(row)[lot].spot))
            self.wetness.never_wet((row, lot) for lot in lots)
            self._raise(scope.only([n]), Event.FITTED, which)

    def _alike(self, row: int) -> Floats:
        """Every part of a row as likely as the others."""
        return np.ones_like(self.bank[[row]].presences)

    def _fitted_whole(self, fact: PartFitted, place: Place) -> None:
        here = self.cars[fact.car]
        old = here.parts[place.key]
        rows = {
            mode.key: self.number[Row(old, mode.key)]
            for mode, at in car_modes(self.facts, here.build)
            if at.key == place.key
        }
        self.cars[fact.car] = replace(here, roster=here.roster.with_part(place.key, fact.part))
        self.began[fact.part] = here.odometer
        history = History.SECOND_HAND if fact.second_hand else History.NEW
        begin = self._start(history)
        learned = {key: self.bank[[row]].log_weights()[0] for key, row in rows.items()}
        wider = {key: float(self.widened[row]) for key, row in rows.items()}
        self._settle(
            fact.car,
            lambda mode: replace(begin(mode), log_weights=learned[mode.key], spread_factor=wider[mode.key]),
        )

    def _moved(self, entry: Entry, fact: PartMoved) -> None:
        """A part goes to another car with all it has been through; what it displaced lies aside till then."""
        known = {car: self.cars[car].roster for car in (fact.from_car, fact.to_car) if car in self.cars}
        after = after_move(known, fact, entry.id)
        if not after:
            return
        pairs = ((fact.from_car, fact.from_place), (fact.to_car, fact.to_place))
        leaving = {
            part: self._been_through(self.cars[car], part)
            for car, place in pairs
            if (part := known[car].parts.get(place)) is not None
        }
        for car, place in pairs:
            here = replace(self.cars[car], roster=after[car])
            part = here.parts[place]
            been = leaving.get(part) or self.began.pop(part, None) or (0.0,) * len(CLOCKS)
            self.began[part] = tuple(now - before for now, before in zip(here.odometer, been, strict=True))
            self.cars[car] = here
        for part, been in leaving.items():
            if not any(part in self.cars[car].parts.values() for car, _ in pairs):
                self.began[part] = been  # lies aside: kept as what it has been through
        for car, place in pairs:
            self._settle(car, lambda mode: Start())
            scope = self.scope(car)
            self._raise(scope.only(scope.at_place(place)), Event.WORK_THERE)

    def _worked(self, fact: WorkDone) -> None:
        scope = self.scope(fact.car)
        event = next((one for one in Event if one.value == fact.event), None)
        if event is None:
            return  # work that a newer program knows: what it raises is not known here
        if fact.place is not None:
            scope = scope.only(scope.at_place(fact.place))
            if event is Event.WORK_THERE:
                self._there_already(scope, lambda presence: presence.after_work)
        self._raise(scope, event)

    def _rebuilt(self, entry: Entry, car: UUID, document: Mapping[str, Any]) -> None:
        before = self.cars[car].roster
        here = self._has_build(car, document)
        self.cars[car] = replace(here, roster=before.rebuilt(car, document, entry.id))
        for place, part in self.cars[car].parts.items():
            if place not in before.parts:
                self.began[part] = here.odometer
        self._settle(car, self._start(here.history))

    def _has_build(self, car: UUID, document: Mapping[str, Any]) -> StoryCar:
        build = self.read(document)
        self.cars[car] = replace(self.cars[car], document=document, build=build)
        self.stress[car].changed(self._twin_says(document, build))
        return self.cars[car]

    def _twin_says(self, document: Mapping[str, Any], build: Build) -> TwinSays | None:
        mark = mark_of_build(document)
        self.builds_met.add(mark)
        return twin_says(mark, build)

    # Small things.

    def _raise(self, scope: Scope, event: Event, which: NDArray[np.bool_] | None = None) -> None:
        """Rates go up for a while; `which` are the lots it is about, when the scope is one row."""
        factors = [
            (n, raise_.factor)
            for n, mode in enumerate(scope.modes)
            for raise_ in mode.raises
            if raise_.event is event
        ]
        if factors:
            rows = scope.rows[[n for n, _ in factors]]
            self._live(rows)
            factor = np.array([factor for _, factor in factors])
            self.bank[rows] = self.bank[rows].raised(factor=factor, which=which)

    def _presence(self, rows: Rows) -> tuple[Floats, Floats]:
        if not len(rows):
            return np.empty(0), np.empty(0)
        beliefs = self.bank[rows]
        return beliefs.presence, beliefs.rate_multiplier

    def _tell(
        self,
        entry: Entry,
        rows: Rows,
        before: tuple[Floats, Floats],
        how: str,
        words: Mapping[int, str] | None = None,
    ) -> None:
        """Remember when these rows were looked at, and how that moved them since the bench day began."""
        after = self._presence(rows)
        for n, row in enumerate(int(row) for row in rows):
            old = self.marks[row]
            same_day = old.looked_at is not None and entry.happened_at - old.looked_at < ONE_DAY / 2
            self.marks[row] = Mark(
                looked_at=entry.happened_at,
                how=(words or {}).get(row, how),
                before=old.before if same_day else float(before[0][n]),
                rate_before=old.rate_before if same_day else float(before[1][n]),
                after=float(after[0][n]),
                rate_after=float(after[1][n]),
            )
            if how != "ticked":
                for name, begin in SINCE_LOOK.items():
                    getattr(self, name)[row] = begin

    def _assume(self, key: str) -> float:
        return self.facts.assumptions[key].value


def _deciding(answers: Sequence[Answer]) -> Answer:
    """Of several answers for one part: what failed, else what was left, which is still there."""
    failed = [answer for answer in answers if answer.word == FAILED]
    left = [answer for answer in answers if answer.done is Done.LEFT]
    return (failed or left or list(answers))[-1]
