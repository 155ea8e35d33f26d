"""Fitting a car's twin to what its owner read in its runs; nothing that does not fit is absorbed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID

from snugfast.core.errors import BadInput, SnugfastError
from snugfast.core.figures import Figure, Origin
from snugfast.physics.fitting import Fit, fit, predicted_with_band
from snugfast.physics.gearing import FanState, Question
from snugfast.physics.knobs import Knob
from snugfast.physics.powertrain import Place
from snugfast.physics.road import Air
from snugfast.physics.twin_readings import Outing, Reading, Sort, Spot
from snugfast.records.entries import BuildChanged, CarAdded, Entry, Ground, Ran
from snugfast.records.entries import Reading as Read
from snugfast.records.ledger import Ledger
from snugfast.records.standing import standing
from snugfast.usecases import twin_tables as tables
from snugfast.usecases.gearing_said import USUAL_AIR_degC, pack_by_id
from snugfast.usecases.gearing_study import HowToRun
from snugfast.usecases.twin_fit_kept import keep_fit
from snugfast.usecases.twin_of_car import PackChosen, pack_of_build, twin_of
from snugfast.usecases.twin_tables import COVERS_NINE_IN_TEN
from snugfast.usecases.what_stands import car_called, ledger_now
from snugfast.usecases.workshop import Workshop

if TYPE_CHECKING:
    from snugfast.records.store.reads import Reads

MOST_OUTINGS = 8  # the newest
FITTED = Origin("mine", "the twin, fitted to your readings")
CAN_WORDS = ("can", "motor")
UNIT_OF_SPEED = {"km/h": 1 / 3.6, "m/s": 1.0, "mph": 0.44704}
STYLE_ON: Mapping[Ground, str] = {
    Ground.TARMAC: "tarmac_laps",
    Ground.CARPET: "tarmac_laps",
    Ground.GRASS: "grass",
    Ground.DIRT: "dirt_laps",
    Ground.GRAVEL: "gravel",
    Ground.SAND: "gravel",
    Ground.ROCKS: "rocks",
}


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading beside the twin before and after; what does not fit is marked and was not absorbed."""

    when: datetime
    what: str
    read: float
    before: float
    after: Figure
    unit: str
    fits: bool
    off_by: float


@dataclass(frozen=True, slots=True)
class UnusedLine:
    """A reading that was left out, and why."""

    when: datetime
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class KnobLine:
    """One guessed number after the fit, as a factor on what the tables say."""

    name: str
    factor: Figure
    told: str


@dataclass(frozen=True, slots=True)
class TwinFitted:
    """A fit as a door shows it."""

    car: str
    sentence: str
    readings: tuple[ReadingLine, ...]
    unused: tuple[UnusedLine, ...]
    knobs: tuple[KnobLine, ...]
    alike: tuple[str, ...]
    converged: bool
    kept: bool
    next_can: Figure | None


@dataclass(frozen=True, slots=True)
class _Source:
    """A reading with the run it came from."""

    reading: Reading
    when: datetime
    what: str
    unit: str
    factor: float


def fit_twin(
    workshop: Workshop, car_name: str, *, how: HowToRun | None = None, keep: bool = True
) -> TwinFitted:
    """Fit the twin of a car to the readings of its runs, and keep the fit for the next study.

    Raises BadInput, saying what to read, when the journal has no reading that can be used.
    """
    how = how or HowToRun()
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        car = car_called(ledger, car_name)
        sources, unused = _gathered(workshop, reads, ledger, car.id)
    if not sources:
        listed = "; ".join(f"{line.what}: {line.why}" for line in unused[:3])
        raise BadInput(
            f"The journal has no reading of {car.name} that can be used.{f' {listed}' if listed else ''}",
            "Log a run with how warm the air was and what you read on the can, with the seconds after the "
            "stop (“motor can 68 °C 20 s”), or with the charge put back.",
        )
    spreads = {knob: spread for knob, spread in tables.prior_spreads().items() if spread > 0.0}
    found = fit(
        [one.reading for one in sources],
        spreads,
        executor=how.executor,
        progress=how.progress,
        should_stop=how.should_stop,
    )
    kept = keep_fit(workshop, car.id, found)
    by_reading = {id(one.reading): one for one in sources}
    lines = tuple(
        _line(by_reading[id(one.reading)], one.before, one.after, one.after_spread, one.fits, one.off_by)
        for one in found.readings
    )
    more = tuple(
        UnusedLine(by_reading[id(reading)].when, by_reading[id(reading)].what, why)
        for reading, why in found.unused
    )
    return TwinFitted(
        car=car.name,
        sentence=_sentence(found, lines),
        readings=lines,
        unused=(*unused, *more),
        knobs=tuple(_knob(one.knob, one.factor, one.low, one.high, one.is_told) for one in found.knobs),
        alike=_cannot_tell(found),
        converged=found.converged,
        kept=kept,
        next_can=_next_can(found, sources, how),
    )


def _line(
    source: _Source, before: float, after: float, spread: float, fits: bool, off_by: float
) -> ReadingLine:
    wide = COVERS_NINE_IN_TEN * spread * source.factor
    middle = after * source.factor
    return ReadingLine(
        when=source.when,
        what=source.what,
        read=source.reading.value * source.factor,
        before=before * source.factor,
        after=Figure(middle, source.unit, middle - wide, middle + wide, (FITTED,)),
        unit=source.unit,
        fits=fits,
        off_by=off_by,
    )


def _knob(knob: Knob, factor: float, low: float, high: float, told: bool) -> KnobLine:
    """A band of nine in ten from one standard deviation either way, of the logarithm."""
    wide = COVERS_NINE_IN_TEN
    figure = Figure(factor, "1", factor * (low / factor) ** wide, factor * (high / factor) ** wide, (FITTED,))
    return KnobLine(
        knob.value, figure, "told by the readings" if told else "hardly told: still as in the tables"
    )


def _cannot_tell(found: Fit) -> tuple[str, ...]:
    """What the readings leave open: guesses they cannot tell apart, and guesses they say nothing of."""
    apart = [f"The readings cannot tell {a.value} from {b.value}." for a, b in found.alike]
    silent = [one.knob.value for one in found.knobs if not one.is_told]
    if silent:
        apart.append(f"The readings say next to nothing of {', '.join(silent)}.")
    return tuple(apart)


def _sentence(found: Fit, lines: tuple[ReadingLine, ...]) -> str:
    odd = sum(not line.fits for line in lines)
    head = f"Fitted to {len(lines)} reading" + ("" if len(lines) == 1 else "s")
    tail = "" if found.converged else " It did not come to rest: take the numbers with care."
    if not odd:
        return f"{head}; all fit.{tail}"
    return f"{head}; {odd} of them do not fit and were not absorbed: read those again.{tail}"


def _next_can(found: Fit, sources: list[_Source], how: HowToRun) -> Figure | None:
    """What the can will read after a run like the newest one, with its band."""
    newest = max(sources, key=lambda one: one.when).reading.outing
    band = predicted_with_band(found, newest, Sort.CAN_TEMPERATURE, executor=how.executor)
    wide = COVERS_NINE_IN_TEN * band.spread
    return Figure(band.value, "°C", band.value - wide, band.value + wide, (FITTED,))


# From the journal.


def _gathered(
    workshop: Workshop, reads: Reads, ledger: Ledger, car: UUID
) -> tuple[list[_Source], list[UnusedLine]]:
    """The readings of the newest runs that have any, with the build as it was then."""
    runs = _runs_with_readings(standing(reads.entries_of({car})).entries, car)
    sources: list[_Source] = []
    unused: list[UnusedLine] = []
    for entry, ran, document in runs[-MOST_OUTINGS:]:
        try:
            outing = _outing(workshop, reads, ledger, ran, document)
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
    return sources, unused


def _runs_with_readings(entries: tuple[Entry, ...], car: UUID) -> list[tuple[Entry, Ran, Mapping[str, Any]]]:
    document: Mapping[str, Any] = {}
    found = []
    for entry in entries:
        match entry.fact:
            case CarAdded(car=who, build=build) | BuildChanged(car=who, build=build) if who == car:
                document = build
            case Ran(car=who) as ran if who == car and (ran.readings or ran.put_back_Ah is not None):
                found.append((entry, ran, document))
            case _:
                pass
    return found


def _outing(
    workshop: Workshop, reads: Reads, ledger: Ledger, ran: Ran, document: Mapping[str, Any]
) -> Outing:
    if ran.ground not in STYLE_ON:
        raise BadInput("It is not said on what ground that was.", "Correct the run: snugfast correct.")
    build = workshop.build(document)
    pack = _pack(reads, ledger, ran) or pack_of_build(build)
    twin = twin_of(build, pack)
    style = tables.style(STYLE_ON[ran.ground])
    air_degC = USUAL_AIR_degC if ran.ambient_degC is None else ran.ambient_degC
    question = Question(
        car=twin.car,
        place=Place(tables.ground(ran.ground.value), Air(temperature_degC=air_degC)),
        style=style,
        limits=tables.limits(),
        fan=FanState.RUNNING if twin.has_fan else FanState.OFF,
    )
    return Outing(question, ran.running_min * 60.0)


def _pack(reads: Reads, ledger: Ledger, ran: Ran) -> PackChosen | None:
    return next((pack for one in ran.packs if (pack := pack_by_id(reads, ledger, one))), None)


def _source(entry: Entry, ran: Ran, read: Read, outing: Outing) -> _Source | UnusedLine:
    what = read.typed or f"{read.spot} {read.value:g} {read.unit}"
    at = entry.happened_at
    if read.unit == "°C":
        if ran.ambient_degC is None:
            return UnusedLine(at, what, "It is not said how warm the air was.")
        on_can = any(word in read.spot for word in CAN_WORDS)
        reading = Reading(
            outing,
            Sort.CAN_TEMPERATURE,
            read.value,
            tables.reading_spread("can_K"),
            spot=Spot.CAN if on_can else Spot.ELSEWHERE,
            after_stop_s=read.seconds_after_stop,
        )
        return _Source(reading, at, what, "°C", 1.0)
    if read.unit in UNIT_OF_SPEED and "speed" in read.spot:
        speed_m_s = read.value * UNIT_OF_SPEED[read.unit]
        spread = tables.reading_spread("top_speed_share") * speed_m_s
        return _Source(Reading(outing, Sort.TOP_SPEED, speed_m_s, spread), at, what, "km/h", 3.6)
    if read.unit == "s" and "lap" in read.spot:
        return UnusedLine(
            at,
            what,
            "The twin's lap is not your track's, so its lap time is not compared.",
        )
    return UnusedLine(at, what, "Nothing in the twin answers to this reading.")


def _put_back(entry: Entry, put_back_Ah: float, outing: Outing) -> _Source:
    capacity = outing.question.car.pack.capacity_Ah * 3600.0
    spread = tables.reading_spread("charge_share") * capacity
    reading = Reading(outing, Sort.CHARGE_USED, put_back_Ah * 3600.0, spread)
    return _Source(reading, entry.happened_at, f"put back {put_back_Ah * 1000:.0f} mAh", "mAh", 1 / 3.6)
