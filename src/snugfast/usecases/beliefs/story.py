"""The story of a few cars, or of one pack, told entry by entry into beliefs.

Exposure, failures, checks, fittings and moves of the journal become operations on a bank of beliefs, one row
for each way each part can fail. Told again from the start, the story comes out equal to the last bit.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from snugfast.core.ids import derived
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
from snugfast.records.ledger import build_with, parts_of
from snugfast.upkeep.beliefs import BeliefBank
from snugfast.upkeep.mode_law import Start, UnknownExposure
from snugfast.usecases.beliefs.exposure import caught_up_exposure, law_of, run_exposure
from snugfast.usecases.beliefs.lateness import ONE_DAY
from snugfast.usecases.beliefs.scope import NOTHING, Rows, Scope
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
CERTAIN = 1.0 - 1e-9  # a belief that no clean look could ever move


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
    parts: Mapping[str, UUID]
    day: datetime


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
        self.left_at: dict[int, str] = {}  # by row, the one spot where a defect was found and left as it is
        self.builds_met: set[str] = set()  # marks of the builds whose twin was asked while this was told
        self.earlier = b""  # this story as it was some hundreds of entries ago, when it was told anew
        self.number: dict[Row, int] = {}
        self._scopes: dict[UUID, Scope] = {}

    # What the story can be asked.

    def scope(self, member: UUID) -> Scope:
        """The rows of a car as it stands, or of a pack."""
        if member not in self._scopes:
            self._scopes[member] = self._scope(member)
        return self._scopes[member]

    def to_now(self, now: datetime) -> None:
        """Let the calendar run on to now for what wears by days."""
        for member in (*self.cars, *self.packs):
            self._days(member, now)

    def stress_ahead(self, member: UUID, modes: Sequence[Mode], driving: Driving) -> RunStress:
        """What a run that lies ahead will do to the clocks, as far as heat and load are known."""
        return self.stress[member].of_run(modes, driving)

    # The telling.

    def take(self, entry: Entry) -> None:
        """One entry further."""
        self.told_further = True
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
        parts = parts_of(fact.car, fact.build, fact.car, {})
        build = self.read(fact.build)
        self.cars[fact.car] = StoryCar(fact.build, build, parts, entry.happened_at)
        says = self._twin_says(fact.build, build)
        self.stress[fact.car] = CarStress(self.facts, says, says)
        start = self._start(fact.history)
        self._settle(fact.car, start)
        scope = self.scope(fact.car)
        if fact.history is History.NEW:
            self._there_already(scope, lambda presence: presence.new)
            self._raise(scope, Event.FITTED)
        else:
            self._there_already(scope, lambda presence: presence.second_hand)

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
        self._add([(fact.pack, mode) for mode in modes], lambda mode: Start())

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
        """Give a belief to every way this car can fail that has none yet."""
        self._scopes.pop(car, None)
        here = self.cars[car]
        wanted = [(here.parts[place.key], mode) for mode, place in car_modes(self.facts, here.build)]
        self._add([pair for pair in wanted if Row(pair[0], pair[1].key) not in self.number], start)

    def _add(self, pairs: Sequence[tuple[UUID, Mode]], start: Callable[[Mode], Start]) -> None:
        if not pairs:
            return
        self.bank.add([law_of(mode) for _, mode in pairs], [start(mode) for _, mode in pairs])
        for carrier, mode in pairs:
            row = Row(carrier, mode.key)
            self.number[row] = len(self.rows)
            self.rows.append(row)
            self.marks.append(Mark())
        self.wetness.never_wet(range(len(self.rows) - len(pairs), len(self.rows)))
        for name, begin in SINCE_LOOK.items():
            setattr(self, name, np.append(getattr(self, name), np.full(len(pairs), begin)))

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

    def _days(self, member: UUID, now: datetime) -> None:
        since = self.cars[member].day if member in self.cars else self.packs.get(member)
        if since is None or now <= since:
            return
        scope = self.scope(member)
        days = np.full(len(scope.rows), (now - since) / ONE_DAY)
        if member in self.cars:
            self.cars[member] = replace(self.cars[member], day=now)
            planted, more = self.wetness.stood(member, scope, since, now)
            days += more
            if (wet := planted > 0.0).any():
                rows = scope.rows[wet]
                self.bank[rows] = self.bank[rows].disturbed(chance=planted[wet])
        else:
            self.packs[member] = now
        aging = scope.on_clock(Clock.DAYS)
        self._expose(scope.rows[aging], days[aging])

    def _expose(self, rows: Rows, exposure: Floats) -> None:
        if len(rows):
            self.bank[rows] = self.bank[rows].ran(exposure=exposure)
            self.since_look[rows] += exposure

    def _ran(self, entry: Entry, member: UUID, fact: Ran) -> None:
        scope = self.scope(member)
        if not len(scope.rows):
            return
        exposure = self._late(member, scope, entry.happened_at, run_exposure(scope.modes, fact))
        exposure = self._stressed(member, scope, Driving.of(fact), exposure)
        self.stress[member].learn(scope.modes, Driving.of(fact))
        breaks = [broke for broke in fact.broke if self._is_about(member, broke)]
        blamed = [self._blamed(scope, broke) for broke in breaks]
        broken = sorted({n for group in blamed for n in group})
        whole = [n for n in range(len(scope.rows)) if n not in broken]
        self._expose(scope.rows[whole], exposure[whole])
        self.since_look[scope.rows[broken]] += exposure[broken]
        # What broke twice in one run is told as two failures, each in its share of the run.
        share = exposure / np.maximum(1.0, _times(blamed, len(scope.rows)))
        for group, broke in zip(blamed, breaks, strict=True):
            self._broke(entry, scope, group, share[group], broke)
        if fact.hard_hits:
            self._raise(scope, Event.HARD_HIT)
        if member in self.cars and entry.precision is not Precision.ABOUT:
            self.wetness.got_wet(member, scope, fact.wet.value, entry.happened_at)

    def _stressed(self, member: UUID, scope: Scope, driving: Driving, exposure: Floats) -> Floats:
        """The exposure of a run with its heat and load; what they were is kept as a reason."""
        stress = self.stress[member].of_run(scope.modes, driving)
        stressed = exposure * stress.factor
        rows = scope.rows
        self.by_stress[rows] += stressed - exposure
        self.hottest[rows] = np.fmax(self.hottest[rows], stress.read_degC)
        self.warmer[rows] = np.fmax(self.warmer[rows], stress.warmer_K)
        self.loaded[rows] = np.fmax(self.loaded[rows], stress.load)
        return stressed

    def _broke(self, entry: Entry, scope: Scope, group: list[int], exposure: Floats, broke: Broke) -> None:
        """One failure, put down to the rows it may have been, and what was done about it."""
        rows = scope.rows[group]
        before = self._presence(rows)
        self._fail(scope, group, exposure, broke)
        self._after_break(scope, group, broke)
        if len(rows) == 1:
            self._tell(entry, rows, before, FAILED)

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

    def _fail(self, scope: Scope, group: list[int], exposure: Floats, broke: Broke) -> None:
        rows = scope.rows[group]
        if not len(rows):
            return
        if len(rows) == 1 and float(exposure[0]) > 0.0:
            self.bank[rows] = self.bank[rows].failed_within(exposure=exposure)
        elif len(rows) == 1:
            self.bank[rows] = self.bank[rows].failed_at(exposure=0.0)
        else:
            self.bank[rows], _ = self.bank[rows].one_failed_within(exposure=np.maximum(exposure, 1e-9))

    def _after_break(self, scope: Scope, group: list[int], broke: Broke) -> None:
        rows = scope.rows[group]
        if len(rows) != 1:
            return
        if broke.done is Done.RENEWED:
            self.bank[rows] = self.bank[rows].restored(renewed=True)
            self.wetness.never_wet(rows)
            self._raise(scope.only(group), Event.FITTED)
        doubt = 1.0 if broke.done is Done.LEFT else 1.0 - self._assume("fit_success")
        self.bank[rows] = self.bank[rows].disturbed(chance=doubt)

    def _failed_at_rest(self, entry: Entry, member: UUID, broke: Broke) -> None:
        scope = self.scope(member)
        group = self._blamed(scope, broke)
        self._broke(entry, scope, group, np.zeros(len(group)), broke)

    def _caught_up(self, entry: Entry, fact: CaughtUp) -> None:
        scope = self.scope(fact.car)
        exposure = caught_up_exposure(scope.modes, fact)
        exposure = self._late(fact.car, scope, entry.happened_at, exposure)
        each = Driving(fact.ground.value, fact.running_min / fact.packs)
        self._expose(scope.rows, self._stressed(fact.car, scope, each, exposure))
        if fact.hard_hits:
            self._raise(scope, Event.HARD_HIT)

    def _came_back(self, fact: CameBack) -> None:
        scope = self.scope(fact.car)
        per_pack = {
            Clock.RUNNING_MIN: self._assume("habit_running_min"),
            Clock.HARD_HITS: self._assume("habit_hard_hits"),
            Clock.PACKS: 1.0,
            Clock.WET_RUNS: self._assume("habit_wet_share"),
        }
        for clock, each in per_pack.items():
            rows = scope.rows[scope.on_clock(clock)]
            if len(rows):
                gone = UnknownExposure.between(fact.packs_low * each, fact.packs_high * each)
                self.bank[rows] = self.bank[rows].ran_unwatched(exposure=gone)
                self.since_look[rows] += 0.5 * (fact.packs_low + fact.packs_high) * each

    def _late(self, car: UUID, scope: Scope, at: datetime, exposure: Floats) -> Floats:
        """The exposure with what is late; how much that added is kept as a reason."""
        late = exposure * self.wetness.run_factor(car, scope, at)
        self.by_late[scope.rows] += late - exposure
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
        answered = {n: _deciding(answers) for n, answers in told.items()}
        covered = scope.of_modes(detects)
        touched = scope.rows[sorted({*covered, *answered})]
        before = self._presence(touched)
        clean = [n for n in covered if n not in answered]
        if clean:
            rows = scope.rows[clean]
            if fact.looked:
                self._put_right_unsaid(rows)
            self.bank[rows] = self.bank[rows].checked_clean(
                detection=np.array([detects[scope.modes[n].key] for n in clean]),
                false_alarm=check.false_alarm,
                looked=1.0 if fact.looked else self._assume("tick_look_chance"),
            )
        for n, answer in answered.items():
            self._answer(scope, n, answer, detects.get(scope.modes[n].key, 1.0), check.false_alarm)
        words = {int(scope.rows[n]): answer.word for n, answer in answered.items()}
        self._tell(entry, touched, before, "sound" if fact.looked else "ticked", words)

    def _put_right_unsaid(self, rows: Rows) -> None:
        """What was found and left, and is found sound now, was put right in between without a word."""
        left = rows[self.bank[rows].presence > CERTAIN]
        if len(left):
            self.bank[left] = self.bank[left].restored(works=self._assume("fit_success"))
            for row in left:
                self.left_at.pop(int(row), None)

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

    def _answer(self, scope: Scope, n: int, answer: Answer, detection: float, false_alarm: float) -> None:
        rows = scope.rows[[n]]
        if answer.word == FAILED:
            failed = Broke(answer.mode, answer.place, done=answer.done)
            self._fail(scope, [n], np.zeros(1), failed)
            self._after_break(scope, [n], failed)
            return
        self.bank[rows] = self.bank[rows].found(detection=detection, false_alarm=false_alarm)
        if answer.done is Done.LEFT:
            self._left(int(rows[0]), answer.spot)
            return
        self.left_at.pop(int(rows[0]), None)
        renewed = answer.done is Done.RENEWED
        self.bank[rows] = self.bank[rows].restored(works=self._assume("fit_success"), renewed=renewed)
        self._raise(scope.only([n]), Event.FITTED if renewed else Event.WORK_THERE)
        if renewed:
            self.wetness.never_wet(rows)

    def _left(self, row: int, spot: str) -> None:
        """Keep where a defect was left; with two, or one whose spot nobody said, no one part ends it."""
        self.left_at[row] = spot if self.left_at.get(row, spot) == spot else ""

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
        scope = self.scope(fact.car)
        self._raise(scope.only(scope.at_place(place.key)), Event.FITTED)
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
        """New parts at some spots: a defect that sat at one of them is gone, and nobody knows where it sat.

        Only where one was found and left is that known.
        """
        scope = self.scope(fact.car)
        for row in scope.rows[scope.at_place(place.key)]:
            known = float(self.bank[[row]].presence[0]) > CERTAIN
            share = min(1.0, len(fact.spots) / max(1, len(place.spots)))
            if known and self.left_at.get(int(row)) in fact.spots:
                share = self._assume("fit_success")
                del self.left_at[int(row)]
            self.bank[[row]] = self.bank[[row]].part_replaced(share=share)

    def _fitted_whole(self, fact: PartFitted, place: Place) -> None:
        here = self.cars[fact.car]
        old = here.parts[place.key]
        learned = {
            mode.key: self.bank[[self.number[Row(old, mode.key)]]].rate_log_weights()[0]
            for mode, at in car_modes(self.facts, here.build)
            if at.key == place.key
        }
        self.cars[fact.car] = replace(here, parts={**here.parts, place.key: fact.part})
        history = History.SECOND_HAND if fact.second_hand else History.NEW
        begin = self._start(history)
        self._settle(fact.car, lambda mode: replace(begin(mode), rate_log_weights=learned[mode.key]))

    def _moved(self, entry: Entry, fact: PartMoved) -> None:
        giver, taker = self.cars.get(fact.from_car), self.cars.get(fact.to_car)
        if giver is None or taker is None or fact.from_place not in giver.parts:
            return
        part = giver.parts[fact.from_place]
        left = derived(entry.id, f"{fact.from_car}/{fact.from_place}")
        self.cars[fact.from_car] = replace(giver, parts={**giver.parts, fact.from_place: left})
        taker = self.cars[fact.to_car]
        self.cars[fact.to_car] = replace(taker, parts={**taker.parts, fact.to_place: part})
        for car, place in ((fact.from_car, fact.from_place), (fact.to_car, fact.to_place)):
            self._settle(car, lambda mode: Start())
            scope = self.scope(car)
            self._raise(scope.only(scope.at_place(place)), Event.WORK_THERE)

    def _worked(self, fact: WorkDone) -> None:
        scope = self.scope(fact.car)
        event = Event(fact.event)
        if fact.place is not None:
            scope = scope.only(scope.at_place(fact.place))
            if event is Event.WORK_THERE:
                self._there_already(scope, lambda presence: presence.after_work)
        self._raise(scope, event)

    def _rebuilt(self, entry: Entry, car: UUID, document: Mapping[str, Any]) -> None:
        parts = parts_of(car, document, entry.id, self.cars[car].parts)
        self.cars[car] = replace(self._has_build(car, document), parts=parts)
        self._settle(car, lambda mode: Start())

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

    def _raise(self, scope: Scope, event: Event) -> None:
        factors = [
            (n, raise_.factor)
            for n, mode in enumerate(scope.modes)
            for raise_ in mode.raises
            if raise_.event is event
        ]
        if factors:
            rows = scope.rows[[n for n, _ in factors]]
            self.bank[rows] = self.bank[rows].raised(factor=np.array([factor for _, factor in factors]))

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
    """Of several answers for one place: what failed, else what was left, which is still there after the rest.

    What was left at several spots has no one spot.
    """
    left = [answer for answer in answers if answer.done is Done.LEFT]
    if failed := [answer for answer in answers if answer.word == FAILED]:
        return failed[-1]
    if left:
        return left[-1] if len({answer.spot for answer in left}) == 1 else replace(left[-1], spot="")
    return answers[-1]


def _times(groups: Sequence[Sequence[int]], size: int) -> Floats:
    """How often each position is named in the groups."""
    count = np.zeros(size)
    for group in groups:
        count[list(group)] += 1.0
    return count
