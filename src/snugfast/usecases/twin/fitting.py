"""Fitting a car's twin to what its owner read in its runs; nothing that does not fit is absorbed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.physics.study.fitting import Fit, Strange, fit, predicted_with_band
from snugfast.physics.study.knobs import NOT_READ, Knob
from snugfast.physics.study.lap_times import LapsTold, tracks_of
from snugfast.physics.study.twin_readings import Sort
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.fit_kept import keep_fit
from snugfast.usecases.twin.how_to_run import HowToRun
from snugfast.usecases.twin.readings_of_runs import ReadingOfRun, ReadingsOfRuns, UnusedLine, readings_of_runs
from snugfast.usecases.twin.tables import COVERS_NINE_IN_TEN

OTHER_SET_UP = "Time another pinion, pack or tyre on the same track"
FITTED = Origin("mine", "the car model, fitted to your readings")


@dataclass(frozen=True, slots=True)
class ReadingLine:
    """One reading beside the twin before and after; what does not fit is marked and was not absorbed.

    A lap time is held against the twin's lap made as long as the track.
    """

    when: datetime
    what: str
    read: float
    before: float
    after: Figure
    unit: str
    fits: bool
    off_by: float

    @property
    def digits(self) -> int:
        """How many decimals are worth showing: tenths of a second, and whole numbers of all else."""
        return 1 if self.unit == "s" else 0


@dataclass(frozen=True, slots=True)
class LapsLine:
    """What the lap times of one track told, in one sentence; `surer` is a share, of the best told guess."""

    track: str
    laps: int
    times_the_twins: float
    best_told: str
    surer: float
    sentence: str


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
    laps: tuple[LapsLine, ...]
    converged: bool
    kept: bool
    next_can: Figure | None
    next_charge: Figure | None
    strange: tuple[str, ...]


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
        gathered = readings_of_runs(workshop, reads, ledger, car.id)
    sources = gathered.readings
    _refuse_when_nothing_tells(car.name, gathered)
    found = fit(
        [one.reading for one in sources],
        {knob: at for knob, at in gathered.spreads.items() if at > 0.0},
        effort_spread=tables.effort_spread(),
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
        unused=(*gathered.unused, *more),
        knobs=tuple(
            _knob(one.knob, one.factor, one.low, one.high, one.is_told)
            for one in found.knobs
            if one.knob not in NOT_READ
        ),
        alike=_cannot_tell(found),
        laps=tuple(_laps(told) for told in found.laps),
        converged=found.converged,
        kept=kept,
        next_can=_next(found, sources, Sort.CAN_TEMPERATURE, how),
        next_charge=_next(found, sources, Sort.CHARGE_USED, how),
        strange=tuple(_strange(one) for one in found.strange),
    )


def _refuse_when_nothing_tells(car: str, gathered: ReadingsOfRuns) -> None:
    """Raise BadInput where no reading can be used, or only lap times that stand alone on their track."""
    if not gathered.readings:
        listed = "; ".join(f"{line.what}: {line.why}" for line in gathered.unused[:3])
        raise BadInput(
            f"The journal has no reading of {car} that can be used.{f' {listed}' if listed else ''}",
            "Log a run with how warm the air was and what you read on the can, with the seconds after the "
            "stop (“motor can 68 °C 20 s”), or with the charge put back.",
        )
    read = [one.reading for one in gathered.readings]
    if len(tracks_of(read)) == len(read):
        raise BadInput(
            f"One lap time on a track says nothing of {car} yet: it says how long the track is.",
            f"{OTHER_SET_UP}, or read the motor can after a run.",
        )


def _laps(told: LapsTold) -> LapsLine:
    return LapsLine(
        told.track, told.laps, told.times_the_twins, told.best.value, told.surer, _laps_sentence(told)
    )


def _laps_sentence(told: LapsTold) -> str:
    if told.laps == 1:
        return f"One lap time of “{told.track}” says nothing of the car yet. {OTHER_SET_UP}."
    head = f"{told.laps} lap times of “{told.track}” (a lap is {told.times_the_twins:.2f} of the car model's)"
    if not told.tell_something:
        return (
            f"{head} say next to nothing of the car: these set-ups are alike, or so near in time that the "
            f"track rules. {OTHER_SET_UP}."
        )
    return (
        f"{head} tell most about {told.best.value}: its band is {told.surer * 100:.0f} % narrower for them."
    )


def _line(
    source: ReadingOfRun, before: float, after: float, spread: float, fits: bool, off_by: float
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
    silent = [one.knob.value for one in found.knobs if not one.is_told and one.knob not in NOT_READ]
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


def _next(found: Fit, sources: Sequence[ReadingOfRun], sort: Sort, how: HowToRun) -> Figure | None:
    """What will be read after a run like the newest one, with its band: the can in °C, the charge in mAh."""
    newest = max(sources, key=lambda one: one.when).reading.outing
    band = predicted_with_band(found, newest, sort, executor=how.executor)
    unit, factor = ("mAh", 1.0 / 3.6) if sort is Sort.CHARGE_USED else ("°C", 1.0)
    low, value, high = (one * factor for one in (band.low, band.value, band.high))
    return Figure(value, unit, max(low, 0.0) if unit == "mAh" else low, high, (FITTED,))


LOOK_AT = {
    Knob.ROLLING: "wheels that drag, or minutes and charge that do not belong together",
    Knob.EFFORT: "the minutes of the runs, and whether the charge put back is of these runs alone",
    Knob.RPM_PER_VOLT: "the motor and the teeth in the build",
    Knob.COPPER: "the motor in the build, and where the temp gun was aimed",
    Knob.COOLING: "where the temp gun was aimed, and mud or a cover round the motor",
    Knob.MASS: "the mass in the build: put the car on a kitchen scale",
    Knob.PACK: "the pack: read its cells",
}


def _strange(one: Strange) -> str:
    """What the readings would need the car or its driver to be, and where to look first."""
    what = one.knob.value if one.knob is not Knob.EFFORT else f"how hard it is driven ({one.style})"
    often = f"{one.factor:.1f} times" if one.factor >= 1.0 else f"only {one.factor:.2f} of"
    look = LOOK_AT.get(one.knob, "the build, and the readings themselves")
    return (
        f"These readings do not look like such a car: {what} would have to be {often} what the tables say. "
        f"Check {look}."
    )
