"""What stands now: cars, packs, parts in their places, settings and habits, folded from the journal.

A projection. Dropped and folded again from the same standing entries, in replay order, it comes out equal.
Builds are kept as the documents they were written as; reading them needs the tables, which live next door.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from snugfast.core.zones import local_day
from snugfast.records.box import BOX_FACTS, Stock, taken_by
from snugfast.records.entries import (
    BuildChanged,
    CameBack,
    CarAdded,
    CarLeft,
    CaughtUp,
    ChargerAdded,
    ChargerLeft,
    Checked,
    Entry,
    History,
    LaidUp,
    PackAdded,
    PackLeft,
    PackLooked,
    PackMeasured,
    PartFitted,
    PartMoved,
    Ran,
    SettingChanged,
    SettingsChosen,
    TreatmentDone,
    Unreadable,
    Wet,
    WokenUp,
    WorkDone,
    subjects,
)
from snugfast.records.known_defects import Defects
from snugfast.records.pack_marks import LOOK, RESISTANCES, VOLTAGES, PackMarks, marked
from snugfast.records.roster import Roster, after_move, build_with, first_roster

WET_ENOUGH = frozenset((Wet.FRESH_WATER, Wet.MUD, Wet.SALT_WATER))


@dataclass(frozen=True, slots=True)
class Habits:
    """How a car is driven, as running sums over its logged runs."""

    runs: int = 0
    running_min: float = 0.0
    hard_hits: float = 0.0
    wet_runs: float = 0.0
    outings: int = 0
    last_day: str = ""
    first_run_at: datetime | None = None
    last_run_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class CarRecord:
    """One car: its build document, which part sits in which place, settings and habits."""

    id: UUID
    name: str
    build: Mapping[str, Any]
    history: History
    starter: str
    added_at: datetime
    roster: Roster
    left_at: datetime | None = None
    settings: Mapping[str, str] = field(default_factory=dict)
    habits: Habits = Habits()
    packs: tuple[UUID, ...] = ()
    last_checked: Mapping[str, datetime] = field(default_factory=dict)
    last_looked: Mapping[str, datetime] = field(default_factory=dict)  # of those, what was not only ticked
    hits_at_look: Mapping[str, float] = field(default_factory=dict)  # hard hits in all when last looked
    last_work: Mapping[str, datetime] = field(default_factory=dict)
    swapped_with: frozenset[UUID] = frozenset()
    came_back_at: datetime | None = None
    laid_up_at: datetime | None = None  # None once it was woken or driven again
    woken_at: datetime | None = None
    treated: Mapping[str, datetime] = field(default_factory=dict)
    defects: Defects = field(default_factory=Defects)

    @property
    def parts(self) -> Mapping[str, UUID]:
        """The part in each place."""
        return self.roster.parts


@dataclass(frozen=True, slots=True)
class PackRecord:
    """One pack."""

    id: UUID
    name: str
    chemistry: str
    cells: int
    capacity_Ah: float
    added_at: datetime
    left_at: datetime | None = None
    details: Mapping[str, Any] = field(default_factory=dict)
    runs: int = 0
    marks: PackMarks = field(default_factory=PackMarks)


@dataclass(frozen=True, slots=True)
class ChargerRecord:
    """One charger; amperes and watts are of one channel."""

    id: UUID
    name: str
    channels: int
    most_A: float
    most_W: float
    supply_W: float | None
    balances: bool
    stores: bool
    left_at: datetime | None = None


@dataclass(frozen=True, slots=True)
class Ledger:
    """Everything that stands, by identity."""

    cars: Mapping[UUID, CarRecord] = field(default_factory=dict)
    packs: Mapping[UUID, PackRecord] = field(default_factory=dict)
    settings: Mapping[str, Any] = field(default_factory=dict)
    last_order: tuple[datetime, bytes] | None = None
    chargers: Mapping[UUID, ChargerRecord] = field(default_factory=dict)
    unreadable: tuple[UUID, ...] = ()  # entries that stand and that this program cannot read
    stock: Stock = field(default_factory=Stock)

    def car_named(self, name: str) -> CarRecord | None:
        """The car of that name that is still here; upper and lower case are one."""
        wanted = name.strip().casefold()
        return next((c for c in self.cars.values() if c.name.casefold() == wanted and not c.left_at), None)

    def pack_named(self, name: str) -> PackRecord | None:
        """The pack of that name that is still here; upper and lower case are one."""
        wanted = name.strip().casefold()
        return next((p for p in self.packs.values() if p.name.casefold() == wanted and not p.left_at), None)

    def charger_named(self, name: str) -> ChargerRecord | None:
        """The charger of that name that is still here; upper and lower case are one."""
        wanted = name.strip().casefold()
        here = (c for c in self.chargers.values() if not c.left_at)
        return next((c for c in here if c.name.casefold() == wanted), None)


def checked_key(check: str, pack: UUID | None) -> str:
    """Under what `last_checked` keeps a check: its key, and the pack it was done on."""
    return f"{check}/{pack}" if pack else check


def fold(entries: Iterable[Entry], ledger: Ledger | None = None) -> Ledger:
    """Fold standing entries, in replay order, onto a ledger.

    Entries about cars or packs that the journal does not hold (they were withdrawn) are passed over: what
    rested on them no longer stands either.
    """
    folding = _Folding(ledger or Ledger())
    for entry in entries:
        folding.take(entry)
    return folding.result()


class _Folding:
    """The mutable inside of one fold; nothing of it leaves but the frozen ledger."""

    def __init__(self, ledger: Ledger) -> None:
        self.cars = dict(ledger.cars)
        self.packs = dict(ledger.packs)
        self.settings = dict(ledger.settings)
        self.chargers = dict(ledger.chargers)
        self.last_order = ledger.last_order
        self.unreadable = ledger.unreadable
        self.stock = ledger.stock

    def result(self) -> Ledger:
        return Ledger(
            self.cars,
            self.packs,
            self.settings,
            self.last_order,
            self.chargers,
            self.unreadable,
            self.stock,
        )

    def take(self, entry: Entry) -> None:
        self.last_order = entry.order
        if isinstance(entry.fact, BOX_FACTS) or taken_by(entry.fact):
            self.stock = self.stock.after(entry)
        for pack in subjects(entry.fact) & self.packs.keys():
            record = self.packs[pack]
            self.packs[pack] = replace(record, marks=marked(record.marks, entry, pack))
        match entry.fact:
            case CarAdded() as fact:
                self.cars[fact.car] = _new_car(entry, fact)
            case PackAdded() as fact:
                self.packs[fact.pack] = PackRecord(
                    id=fact.pack,
                    name=fact.name,
                    chemistry=fact.chemistry,
                    cells=fact.cells,
                    capacity_Ah=fact.capacity_Ah,
                    added_at=entry.happened_at,
                    details=fact.details,
                )
            case PackLooked(pack=pack) if pack in self.packs:
                self._looked(entry, pack, LOOK)
            case PackMeasured(pack=pack) as read if pack in self.packs:
                if read.rest_V:
                    self._looked(entry, pack, VOLTAGES)
                if read.resistances_ohm:
                    self._looked(entry, pack, RESISTANCES)
            case ChargerAdded() as fact:
                self.chargers[fact.charger] = ChargerRecord(
                    id=fact.charger,
                    name=fact.name,
                    channels=fact.channels,
                    most_A=fact.most_A,
                    most_W=fact.most_W,
                    supply_W=fact.supply_W,
                    balances=fact.balances,
                    stores=fact.stores,
                )
            case ChargerLeft(charger=charger) if charger in self.chargers:
                self.chargers[charger] = replace(self.chargers[charger], left_at=entry.happened_at)
            case PackLeft(pack=pack) if pack in self.packs:
                self.packs[pack] = replace(self.packs[pack], left_at=entry.happened_at)
            case SettingsChosen(values=values):
                self.settings.update(values)
            case Unreadable():
                self.unreadable = (*self.unreadable, entry.id)
            case PartMoved() as fact:
                self._move(entry, fact)
            case fact:
                car = self.cars.get(getattr(fact, "car", None))  # type: ignore[arg-type]
                if car is not None:
                    car = replace(car, defects=car.defects.after(entry))
                    self.cars[car.id] = car
                    self._of_car(entry, car)

    def _of_car(self, entry: Entry, car: CarRecord) -> None:
        match entry.fact:
            case BuildChanged(build=build):
                self.cars[car.id] = replace(
                    car, build=build, roster=car.roster.rebuilt(car.id, build, entry.id)
                )
            case CarLeft():
                self.cars[car.id] = replace(car, left_at=entry.happened_at)
            case SettingChanged(name=name, value=value):
                self.cars[car.id] = replace(car, settings={**car.settings, name: value})
            case PartFitted(place=place, part=part, spots=spots) as fact if not spots:
                build = build_with(car.build, fact)
                self.cars[car.id] = replace(car, build=build, roster=car.roster.with_part(place, part))
            case Checked() as fact:
                for pack in dict.fromkeys((fact.pack, None)):  # the car's own check may name a pack besides
                    car = _checked(car, entry, checked_key(fact.check, pack), fact.looked)
                self.cars[car.id] = car
            case WorkDone(event=event):
                worked = {**car.last_work, event: entry.happened_at}
                self.cars[car.id] = replace(car, last_work=worked)
            case Ran() as fact:
                self._run(entry, car, fact)
            case CaughtUp() as fact:
                self.cars[car.id] = replace(car, habits=_caught_up(car.habits, entry, fact))
            case CameBack():
                self.cars[car.id] = replace(car, came_back_at=entry.happened_at)
            case LaidUp():
                self.cars[car.id] = replace(car, laid_up_at=entry.happened_at)
            case WokenUp():
                self.cars[car.id] = replace(car, laid_up_at=None, woken_at=entry.happened_at)
            case TreatmentDone(treatment=treatment):
                treated = {**car.treated, treatment: entry.happened_at}
                self.cars[car.id] = replace(car, treated=treated)

    def _looked(self, entry: Entry, pack: UUID, check: str) -> None:
        """A check of a pack counts for every car it goes in."""
        for car in self.cars.values():
            if pack in car.packs:
                self.cars[car.id] = _checked(car, entry, checked_key(check, pack), looked=True)

    def _run(self, entry: Entry, car: CarRecord, fact: Ran) -> None:
        here = tuple(pack for pack in fact.packs if pack in self.packs)
        for pack in car.packs:
            if pack not in here and self.packs[pack].marks.in_car == car.id:  # other packs went in instead
                record = self.packs[pack]
                self.packs[pack] = replace(record, marks=replace(record.marks, in_car=None))
        for pack in here:
            self.packs[pack] = replace(self.packs[pack], runs=self.packs[pack].runs + 1)
        used = (*(pack for pack in car.packs if pack not in here), *here)
        self.cars[car.id] = replace(car, habits=_ran(car.habits, entry, fact), packs=used, laid_up_at=None)

    def _move(self, entry: Entry, fact: PartMoved) -> None:
        moved = after_move({car.id: car.roster for car in self.cars.values()}, fact, entry.id)
        if not moved:
            return
        giver = self.cars[fact.from_car]
        stay, went = giver.defects.moved(fact.from_place)
        self.cars[giver.id] = replace(
            giver,
            roster=moved[giver.id],
            swapped_with=giver.swapped_with | {fact.to_car},
            defects=stay,
        )
        taker = self.cars[fact.to_car]
        self.cars[taker.id] = replace(
            taker,
            roster=moved[taker.id],
            swapped_with=taker.swapped_with | {giver.id},
            defects=taker.defects.with_part(fact.to_place, went),
        )


def _checked(car: CarRecord, entry: Entry, key: str, looked: bool) -> CarRecord:
    checked = {**car.last_checked, key: entry.happened_at}
    if not looked:
        return replace(car, last_checked=checked)
    return replace(
        car,
        last_checked=checked,
        last_looked={**car.last_looked, key: entry.happened_at},
        hits_at_look={**car.hits_at_look, key: car.habits.hard_hits},
    )


def _new_car(entry: Entry, fact: CarAdded) -> CarRecord:
    return CarRecord(
        id=fact.car,
        name=fact.name,
        build=fact.build,
        history=fact.history,
        starter=fact.starter,
        added_at=entry.happened_at,
        roster=first_roster(fact.car, fact.build),
    )


def _ran(habits: Habits, entry: Entry, fact: Ran) -> Habits:
    day = local_day(entry.happened_at, entry.zone)
    return replace(
        habits,
        runs=habits.runs + 1,
        running_min=habits.running_min + fact.running_min,
        hard_hits=habits.hard_hits + fact.hard_hits,
        wet_runs=habits.wet_runs + (1.0 if fact.wet in WET_ENOUGH else 0.0),
        outings=habits.outings + (1 if day != habits.last_day else 0),
        last_day=day,
        first_run_at=habits.first_run_at or entry.happened_at,
        last_run_at=entry.happened_at,
    )


def _caught_up(habits: Habits, entry: Entry, fact: CaughtUp) -> Habits:
    last = habits.last_run_at
    return replace(habits, last_run_at=max(last, entry.happened_at) if last else entry.happened_at)


def overlapping(runs: Iterable[tuple[Entry, Ran]], end: datetime, running_min: float) -> tuple[Entry, ...]:
    """The runs, told to the minute, that were under way at the same time as a run that ended at `end`."""
    begin = end - timedelta(minutes=running_min)
    return tuple(
        entry
        for entry, ran in runs
        if entry.happened_at > begin and entry.happened_at - timedelta(minutes=ran.running_min) < end
    )
