"""What the records forbid: entries that contradict what stands, each with a sentence and a way out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from datetime import datetime, timedelta
from uuid import UUID

from snugfast.core.findings import Finding
from snugfast.core.ways_out import Action, WayOut
from snugfast.core.zones import is_zone, local_day, local_time
from snugfast.records.chassis_rules import learner_rules, radio_rules, set_up_rules, steering_rules
from snugfast.records.entries import (
    BoxArrived,
    BoxCounted,
    BoxOrdered,
    BoxPart,
    BoxTook,
    CameBack,
    CarAdded,
    CaughtUp,
    ChargerAdded,
    Checked,
    Entry,
    Failed,
    Hunted,
    HuntEnd,
    LaidUp,
    LearnerLimits,
    Measured,
    PackAdded,
    PackCharged,
    PackCleared,
    PackHurt,
    PackLooked,
    PackMeasured,
    PackStands,
    PartFitted,
    PartMoved,
    Precision,
    RadioTested,
    Ran,
    SetUpChanged,
    SheetDone,
    SteeringSet,
    TreatmentDone,
    Unreadable,
    WokenUp,
    WorkDone,
)
from snugfast.records.ledger import CarRecord, ChargerRecord, Ledger, PackRecord, overlapping
from snugfast.records.pack_rules import (
    cells_of_pack,
    charge_rules,
    charger_rules,
    cleared_rules,
    hurt_rules,
    measured_rules,
)

LONGEST_RUN_MIN = 240.0  # one pack; beyond this somebody typed hours, or a whole season
LONGEST_BENCH_MIN = 24.0 * 60.0
COLDEST_degC, WARMEST_degC = -40.0, 60.0  # air that anybody drives in
MOST_CHARGE_Ah = 50.0  # into one pack, at once
ABOUT_SLACK = timedelta(days=31)  # “about May”
LONGEST_NAME = 80  # letters; longer ones break every list they stand in
CLOCK_SLACK = timedelta(minutes=5)  # two machines' clocks


def contradictions(entry: Entry, ledger: Ledger, near: Iterable[Entry] = ()) -> tuple[Finding, ...]:
    """Everything about an entry that cannot be true as things stand.

    `near` are the standing runs and charges of its car and packs around that time.
    """
    return (*impossible(entry), *_contradictions(entry, ledger, tuple(near)))


def impossible(entry: Entry) -> tuple[Finding, ...]:
    """Everything about an entry that cannot be true whatever else the journal holds.

    What comes from another bench is judged by this too: it may contradict what stands here, for both benches
    may have had their reasons, but not itself.
    """
    return tuple(_impossible(entry))


def _impossible(entry: Entry) -> Iterator[Finding]:
    yield from _envelope(entry)
    fact = entry.fact
    match fact:
        case CarAdded(name=name):
            yield from _name("car", name)
        case PackAdded(name=name, cells=cells, capacity_Ah=capacity):
            yield from _name("pack", name)
            if not 1 <= cells <= 14:
                yield Finding("cells", f"{cells} cells is no pack of a car", "give 1 to 14")
            if not 0.05 <= capacity <= 50.0:
                yield Finding(
                    "capacity", f"{capacity:g} Ah is no pack of a car", "write it like 5 Ah or 5000 mAh"
                )
        case ChargerAdded(name=name) as added:
            yield from _name("charger", name)
            yield from charger_rules(added)
        case BoxPart(name=name, role=role):
            yield from _name("part", name)
            if not role.strip():
                yield Finding("role", "the kind of part is missing", "name the place it goes in")
        case BoxTook(count=count) | BoxOrdered(count=count) | BoxArrived(count=count) if count < 1:
            yield Finding("count", "no pieces are no entry", "give 1 or more")
        case PackHurt() as hurt:
            yield from hurt_rules(hurt)
        case PackMeasured() as read:
            yield from measured_rules(read)
        case PackCharged() as charged:
            yield from charge_rules(charged)
        case Ran() as ran:
            yield from _run_by_itself(ran)
        case CaughtUp() as told:
            yield from _caught_up_by_itself(entry, told)
        case Checked(minutes=minutes) | TreatmentDone(minutes=minutes):
            yield from _minutes_at_the_bench(minutes)
        case Failed(broke=broke):
            yield from _minutes_at_the_bench(broke.minutes)
        case SheetDone(cars=cars, began_at=began_at, asked_min=asked):
            if not cars:
                yield Finding("cars", "a sheet is of some car", "name the cars")
            if began_at > entry.happened_at:
                yield Finding("began", "the sheet was begun after it was done", "give the earlier time")
            yield from _minutes_at_the_bench(asked)
        case Hunted() as hunt:
            yield from _hunt_by_itself(hunt)
        case SteeringSet() as steered:
            yield from steering_rules(steered)
        case WorkDone(event=event):
            if not event.strip():
                yield Finding("event", "nothing says what was worked on", "name it")
        case SetUpChanged() as changed:
            yield from set_up_rules(changed)
        case RadioTested() as tested:
            yield from radio_rules(tested)
        case LearnerLimits() as limits:
            yield from learner_rules(limits)
        case Measured() as measured:
            if not measured.readings:
                yield Finding("readings", "nothing was read", "give what the clock showed")
        case Unreadable(why=why, newer=newer):
            yield Finding("", why.rstrip("."), "update Snugfast" if newer else "leave it out")
        case _:
            pass


def _hunt_by_itself(hunt: Hunted) -> Iterator[Finding]:
    if not hunt.symptoms:
        yield Finding("symptoms", "what the car does is missing", "name what you see")
    if (hunt.end is HuntEnd.FOUND) != bool(hunt.cause):
        yield Finding("cause", "a hunt that ended well has a cause, and no other has one", "give both")
    if hunt.broke and hunt.end is not HuntEnd.FOUND:
        yield Finding("broke", "nothing was found yet, and something broke", "say what was found")
    if hunt.broke:
        yield from _minutes_at_the_bench(hunt.broke.minutes)


def _envelope(entry: Entry) -> Iterator[Finding]:
    if not is_zone(entry.zone):
        yield Finding("zone", f"“{entry.zone[:60]}” is not a time zone", "write it like Europe/Berlin or UTC")
    if entry.happened_at > entry.recorded_at + CLOCK_SLACK:
        yield Finding(
            "when",
            f"{local_day(entry.happened_at, entry.zone)} has not come yet",
            "give a time that has passed",
        )


def _contradictions(entry: Entry, ledger: Ledger, near: tuple[Entry, ...]) -> Iterator[Finding]:
    fact = entry.fact
    match fact:
        case CarAdded(car=car, name=name):
            yield from _taken("car", name, car, ledger.car_named(name))
        case PackAdded(pack=pack, name=name):
            yield from _taken("pack", name, pack, ledger.pack_named(name))
        case PackLooked(pack=pack) | PackStands(pack=pack, car=None):
            yield from _packs_here(entry, (pack,), ledger)
        case PackStands(pack=pack, car=UUID() as car):
            yield from _packs_here(entry, (pack,), ledger)
            yield from _car_here(entry, car, ledger)
        case BoxCounted(item=item) | BoxTook(item=item) | BoxOrdered(item=item) | BoxArrived(item=item) if (
            item not in ledger.stock.items
        ):
            yield Finding("part", "this part is not in the box", WayOut("add it first", Action.ADD_TO_BOX))
        case BoxTook(item=item, count=count) if count > ledger.stock.items[item].count:
            held = ledger.stock.items[item]
            yield Finding(
                "count", f"the box holds {held.count} × {held.name}", "count them first, or take fewer"
            )
        case PackHurt() as hurt:
            yield from _packs_here(entry, (hurt.pack,), ledger)
        case PackCleared() as cleared:
            yield from _packs_here(entry, (cleared.pack,), ledger)
            yield from cleared_rules(entry, cleared, ledger.packs.get(cleared.pack))
        case PackMeasured() as read:
            yield from _packs_here(entry, (read.pack,), ledger)
            yield from cells_of_pack("volts", read.rest_V, ledger.packs.get(read.pack))
            yield from cells_of_pack("resistances", read.resistances_ohm, ledger.packs.get(read.pack))
        case PackCharged() as charged:
            yield from _packs_here(entry, (charged.pack,), ledger)
            yield from cells_of_pack("volts", charged.cells_V, ledger.packs.get(charged.pack))
            yield from _charged_and_driven(entry, charged, ledger, near)
        case ChargerAdded(charger=charger, name=name):
            yield from _taken("charger", name, charger, ledger.charger_named(name))
        case Ran() as ran:
            yield from _run(entry, ran, ledger, near)
        case CaughtUp() as told:
            yield from _caught_up(entry, told, ledger)
        case SheetDone(cars=cars):
            for car in cars:
                yield from _car_here(entry, car, ledger)
        case Hunted(car=car, pack=UUID() as pack):
            yield from _car_here(entry, car, ledger)
            yield from _packs_here(entry, (pack,), ledger)
        case (
            Checked(car=car) | TreatmentDone(car=car) | Failed(car=car) | Hunted(car=car) | CameBack(car=car)
        ):
            yield from _car_here(entry, car, ledger)
        case SteeringSet(car=car) | SetUpChanged(car=car) | RadioTested(car=car) | LearnerLimits(car=car):
            yield from _car_here(entry, car, ledger)
        case LaidUp(car=car) | WokenUp(car=car):
            yield from _car_here(entry, car, ledger)
            yield from _resting(ledger.cars.get(car), wanted=isinstance(fact, WokenUp))
        case Measured() as measured:
            yield from _car_here(entry, measured.car, ledger)
        case PartFitted(car=car, place=place):
            yield from _car_here(entry, car, ledger)
            yield from _place_there(ledger.cars.get(car), place)
        case PartMoved() as moved:
            for car, place in ((moved.from_car, moved.from_place), (moved.to_car, moved.to_place)):
                yield from _car_here(entry, car, ledger)
                yield from _place_there(ledger.cars.get(car), place)
        case _:
            pass


def _run(entry: Entry, ran: Ran, ledger: Ledger, near: tuple[Entry, ...]) -> Iterator[Finding]:
    yield from _car_here(entry, ran.car, ledger)
    yield from _packs_here(entry, ran.packs, ledger)
    if entry.precision is Precision.MINUTE:
        yield from _at_the_same_time(entry, ran, ledger, near)
        yield from _driven_and_charged(entry, ran, ledger, near)


def _run_by_itself(ran: Ran) -> Iterator[Finding]:
    if len(set(ran.packs)) != len(ran.packs):
        yield Finding("pack", "the same pack is named twice", "name each pack once")
    yield from _amount("minutes", ran.running_min, LONGEST_RUN_MIN, "log one pack at a time")
    yield from _amount("hits", ran.hard_hits, 500.0, "give the hits of this run alone", may_be_zero=True)
    if ran.ambient_degC is not None and not COLDEST_degC <= ran.ambient_degC <= WARMEST_degC:
        yield Finding(
            "ambient", f"{ran.ambient_degC:g} °C is no weather to drive in", "give the air like 14 °C"
        )
    if ran.put_back_Ah is not None:
        yield from _amount("put back", ran.put_back_Ah, MOST_CHARGE_Ah, "write it like 4200 mAh")


def _at_the_same_time(entry: Entry, ran: Ran, ledger: Ledger, near: tuple[Entry, ...]) -> Iterator[Finding]:
    told = [
        (other, other.fact)
        for other in near
        if isinstance(other.fact, Ran)
        and other.precision is Precision.MINUTE
        and other.id not in (entry.id, entry.replaces)
    ]
    for other in overlapping(told, entry.happened_at, ran.running_min):
        assert isinstance(other.fact, Ran)
        for pack in sorted(set(ran.packs) & set(other.fact.packs)):
            where = ledger.cars[other.fact.car].name if other.fact.car in ledger.cars else "another car"
            yield Finding(
                "pack",
                f"{ledger.packs[pack].name} was in {where} until {_clock(other)} that day",
                "correct the time or the pack of one of the two runs",
            )
        if other.fact.car == ran.car:
            yield Finding(
                "car",
                f"{ledger.cars[ran.car].name} was already out until {_clock(other)} that day",
                "correct the time of one of the two runs",
            )


def _driven_and_charged(entry: Entry, ran: Ran, ledger: Ledger, near: tuple[Entry, ...]) -> Iterator[Finding]:
    """A pack that is driven is not on the charger at the same time."""
    begin = entry.happened_at - timedelta(minutes=ran.running_min)
    for other in near:
        charged = other.fact
        if (
            isinstance(charged, PackCharged)
            and charged.minutes is not None
            and charged.pack in ran.packs
            and other.precision is Precision.MINUTE
            and other.happened_at > begin
            and other.happened_at - timedelta(minutes=charged.minutes) < entry.happened_at
        ):
            yield Finding(
                "pack",
                f"{ledger.packs[charged.pack].name} was on the charger until {_clock(other)} that day",
                "correct the time of the run or of the charge",
            )


def _charged_and_driven(
    entry: Entry, charged: PackCharged, ledger: Ledger, near: tuple[Entry, ...]
) -> Iterator[Finding]:
    """A pack that charges is not in a car at the same time."""
    if entry.precision is not Precision.MINUTE or charged.minutes is None:
        return
    told = [
        (other, other.fact)
        for other in near
        if isinstance(other.fact, Ran)
        and charged.pack in other.fact.packs
        and other.precision is Precision.MINUTE
        and other.id != entry.replaces
    ]
    for other in overlapping(told, entry.happened_at, charged.minutes):
        assert isinstance(other.fact, Ran)
        car = ledger.cars[other.fact.car].name if other.fact.car in ledger.cars else "a car"
        yield Finding(
            "pack",
            f"{ledger.packs[charged.pack].name} was in {car} until {_clock(other)} that day",
            "correct the time of the charge or of the run",
        )


def _caught_up(entry: Entry, told: CaughtUp, ledger: Ledger) -> Iterator[Finding]:
    yield from _car_here(entry, told.car, ledger)
    car = ledger.cars.get(told.car)
    if car is not None and told.since < car.added_at - ABOUT_SLACK:
        yield Finding(
            "since",
            f"{car.name} has been here only since {local_day(car.added_at, entry.zone)}",
            "give a later day, or correct the day the car was added",
        )


def _caught_up_by_itself(entry: Entry, told: CaughtUp) -> Iterator[Finding]:
    yield from _amount("packs", told.packs, 2000.0, "give the packs run since then")
    yield from _amount("minutes", told.running_min, told.packs * LONGEST_RUN_MIN, "give minutes per pack")
    if told.wet_packs > told.packs:
        yield Finding(
            "wet", f"{told.wet_packs:g} of {told.packs:g} packs cannot be wet", "give fewer wet packs"
        )
    if told.since >= entry.happened_at:
        yield Finding("since", "the time it began lies after the time it ended", "give the earlier day")


def _car_here(entry: Entry, car: UUID, ledger: Ledger) -> Iterator[Finding]:
    record = ledger.cars.get(car)
    if record is None:
        yield Finding("car", "this car is not in the workshop", WayOut("add it first", Action.ADD_CAR))
    elif _before(entry, record.added_at):
        yield Finding(
            "when",
            f"{record.name} has been here only since {local_day(record.added_at, entry.zone)}",
            "give a later day, or correct the day the car was added",
        )
    elif record.left_at is not None and entry.happened_at > record.left_at:
        yield Finding(
            "car",
            f"{record.name} left the workshop on {local_day(record.left_at, entry.zone)}",
            "give an earlier day",
        )


def _packs_here(entry: Entry, packs: tuple[UUID, ...], ledger: Ledger) -> Iterator[Finding]:
    for pack in packs:
        record = ledger.packs.get(pack)
        if record is None:
            yield Finding("pack", "this pack is not in the workshop", WayOut("add it first", Action.ADD_PACK))
        elif _before(entry, record.added_at):
            yield Finding(
                "when",
                f"{record.name} has been here only since {local_day(record.added_at, entry.zone)}",
                "give a later day, or correct the day the pack was added",
            )
        elif record.left_at is not None and entry.happened_at > record.left_at:
            yield Finding(
                "pack",
                f"{record.name} left the workshop on {local_day(record.left_at, entry.zone)}",
                "name the pack that was used",
            )


def _resting(car: CarRecord | None, *, wanted: bool) -> Iterator[Finding]:
    if car is None or (car.laid_up_at is not None) == wanted:
        return
    if wanted:
        yield Finding("car", f"{car.name} is not laid up", "log its runs as they come")
    else:
        yield Finding(
            "car", f"{car.name} is laid up already", WayOut("wake it first", Action.WAKE_CAR, car.name)
        )


def _before(entry: Entry, added_at: datetime) -> bool:
    """Whether something happened before a thing was here, as far as its time is known."""
    match entry.precision:
        case Precision.MINUTE:
            return entry.happened_at < added_at
        case Precision.DAY:
            return local_day(entry.happened_at, entry.zone) < local_day(added_at, entry.zone)
        case Precision.ABOUT:
            return entry.happened_at < added_at - ABOUT_SLACK


def _name(noun: str, name: str) -> Iterator[Finding]:
    if not name.strip():
        yield Finding("name", f"the {noun} has no name", "give it one")
    elif len(name) > LONGEST_NAME:
        yield Finding("name", f"{len(name)} letters are too many for a {noun}", f"stay within {LONGEST_NAME}")
    elif any(not letter.isprintable() for letter in name):
        yield Finding("name", f"the name of the {noun} holds a character that cannot be seen", "leave it out")


def _taken(
    noun: str, name: str, own: UUID, holder: CarRecord | PackRecord | ChargerRecord | None
) -> Iterator[Finding]:
    if holder is not None and holder.id != own:
        yield Finding("name", f"there is already a {noun} called “{name}”", "give it another name")


def _place_there(car: CarRecord | None, place: str) -> Iterator[Finding]:
    if car is not None and place not in car.parts:
        yield Finding(
            "place",
            f"{car.name} has no place “{place}”",
            WayOut("look at its parts list", Action.SEE_PLACES, car.name),
        )


def _amount(
    where: str, value: float, most: float, way_out: str, *, may_be_zero: bool = False
) -> Iterator[Finding]:
    if not math.isfinite(value) or value < 0.0 or (value == 0.0 and not may_be_zero):
        least = "zero or a number above it" if may_be_zero else "a number above zero"
        yield Finding(where, f"{value:g} cannot be", f"give {least}")
    elif value > most:
        yield Finding(where, f"{value:g} is more than can be", way_out)


def _minutes_at_the_bench(minutes: float | None) -> Iterator[Finding]:
    if minutes is not None:
        yield from _amount(
            "minutes", minutes, LONGEST_BENCH_MIN, "give the minutes of this alone", may_be_zero=True
        )


def _clock(entry: Entry) -> str:
    """The time of day where it happened."""
    return f"{local_time(entry.happened_at, entry.zone):%H:%M}"
