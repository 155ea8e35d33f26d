"""The readings of a car's runs, as the twin can be held against them, and what is left out of them.

The build counts as it stood at the time of the run, and a pack as full at the start. Lap times belong to a
track: the same words on the same ground mean the same one.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from snugfast.core.errors import BadInput, SnugfastError
from snugfast.core.ways_out import Action, WayOut
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.twin_readings import Outing, Reading, Sort, Spot
from snugfast.records.entries import BuildChanged, CarAdded, Entry, PartFitted, Ran
from snugfast.records.entries import Reading as Read
from snugfast.records.ledger import Ledger
from snugfast.records.roster import build_with
from snugfast.records.standing import standing
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.chosen_pack import USUAL_AIR_degC, pack_by_id
from snugfast.usecases.twin.of_car import Twin, pack_of_build, twin_of
from snugfast.usecases.twin.pack_in_car import PackChosen

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

MOST_OUTINGS = 8  # the newest
CAN_WORDS = ("can", "motor")
LAP_WORDS = ("lap", "laps")
UNIT_OF_SPEED = {"km/h": 1 / 3.6, "m/s": 1.0, "mph": 0.44704}


@dataclass(frozen=True, slots=True)
class UnusedLine:
    """A reading that was left out, and why."""

    when: datetime
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class ReadingOfRun:
    """A reading with the run it came from; `factor` makes `unit` of the unit it is kept in."""

    reading: Reading
    when: datetime
    what: str
    unit: str
    factor: float


@dataclass(frozen=True, slots=True)
class ReadingsOfRuns:
    """What was read in the newest runs, what of it is left out, and how far off the newest twin may be.

    `spreads` are standard deviations of the logarithm of each knob.
    """

    readings: tuple[ReadingOfRun, ...]
    unused: tuple[UnusedLine, ...]
    spreads: Mapping[Knob, float]


def readings_of_runs(workshop: Workshop, reads: Reads, ledger: Ledger, car: UUID) -> ReadingsOfRuns:
    """The readings of the newest runs that have any, with the build as it was then."""
    runs = _runs_with_readings(standing(reads.entries_of({car})).entries, car)
    sources: list[ReadingOfRun] = []
    unused: list[UnusedLine] = []
    spreads: Mapping[Knob, float] = {}
    for entry, ran, document in runs[-MOST_OUTINGS:]:
        try:
            twin = _twin(workshop, reads, ledger, ran, document)
            outing, spreads = _outing(twin, ran), twin.spreads
        except SnugfastError as refused:
            unused.append(UnusedLine(entry.happened_at, "the run", refused.sentence))
            continue
        for read in ran.readings:
            source = _source(entry, ran, read, outing)
            if isinstance(source, UnusedLine):
                unused.append(source)
            else:
                sources.append(source)
        if ran.put_back_Ah is not None:
            sources.append(_put_back(entry, ran.put_back_Ah, outing))
    return ReadingsOfRuns(tuple(sources), tuple(unused), spreads)


def _runs_with_readings(entries: tuple[Entry, ...], car: UUID) -> list[tuple[Entry, Ran, Mapping[str, Any]]]:
    document: Mapping[str, Any] = {}
    found = []
    for entry in entries:
        match entry.fact:
            case CarAdded(car=who, build=build) | BuildChanged(car=who, build=build) if who == car:
                document = build
            case PartFitted(car=who) as part if who == car and part.sizes:
                document = build_with(document, part)
            case Ran(car=who) as ran if who == car and (ran.readings or ran.put_back_Ah is not None):
                found.append((entry, ran, document))
            case _:
                pass
    return found


def _twin(workshop: Workshop, reads: Reads, ledger: Ledger, ran: Ran, document: Mapping[str, Any]) -> Twin:
    build = workshop.build(document)
    return twin_of(build, _pack(reads, ledger, ran) or pack_of_build(build))


def _outing(twin: Twin, ran: Ran) -> Outing:
    style = tables.style_on(ran.ground, twin.kind.style)
    if style is None:
        raise BadInput(
            "On what ground that was is not entered.", WayOut("Correct the run", Action.CORRECT_RUN)
        )
    air_degC = USUAL_AIR_degC if ran.ambient_degC is None else ran.ambient_degC
    question = twin.driven(style, ground=ran.ground.value, air_degC=air_degC)
    return Outing(question, ran.running_min * 60.0)


def _pack(reads: Reads, ledger: Ledger, ran: Ran) -> PackChosen | None:
    return next((pack for one in ran.packs if (pack := pack_by_id(reads, ledger, one))), None)


def _source(entry: Entry, ran: Ran, read: Read, outing: Outing) -> ReadingOfRun | UnusedLine:
    what = read.typed or f"{read.spot} {read.value:g} {read.unit}"
    at = entry.happened_at
    if read.unit == "°C":
        if ran.ambient_degC is None:
            return UnusedLine(at, what, "How warm the air was is not entered.")
        on_can = any(word in read.spot for word in CAN_WORDS)
        reading = Reading(
            outing,
            Sort.CAN_TEMPERATURE,
            read.value,
            tables.reading_spread("can_K"),
            spot=Spot.CAN if on_can else Spot.ELSEWHERE,
            after_stop_s=read.seconds_after_stop,
        )
        return ReadingOfRun(reading, at, what, "°C", 1.0)
    if read.unit in UNIT_OF_SPEED and "speed" in read.spot:
        speed_m_s = read.value * UNIT_OF_SPEED[read.unit]
        spread = tables.reading_spread("top_speed_share") * speed_m_s
        return ReadingOfRun(Reading(outing, Sort.TOP_SPEED, speed_m_s, spread), at, what, "km/h", 3.6)
    if read.unit == "s" and not set(LAP_WORDS).isdisjoint(read.spot.split()):
        spread = tables.reading_spread("lap_time_share") * read.value
        track = f"{read.spot}, {ran.ground.value}"
        return ReadingOfRun(
            Reading(outing, Sort.LAP_TIME, read.value, spread, track=track), at, what, "s", 1.0
        )
    return UnusedLine(at, what, "Nothing in the car model answers to this reading.")


def _put_back(entry: Entry, put_back_Ah: float, outing: Outing) -> ReadingOfRun:
    capacity = outing.question.car.pack.capacity_Ah * 3600.0
    spread = tables.reading_spread("charge_share") * capacity
    reading = Reading(outing, Sort.CHARGE_USED, put_back_Ah * 3600.0, spread)
    return ReadingOfRun(reading, entry.happened_at, f"put back {put_back_Ah * 1000:.0f} mAh", "mAh", 1 / 3.6)
