"""A bench sheet as a door gets it: what was asked, and the steps with why, how and what each is worth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import groupby, takewhile
from math import ceil
from uuid import UUID

from snugfast.core.figures import Figure
from snugfast.facts.model import Moment
from snugfast.records.entries import Ground, Wet
from snugfast.upkeep.pace import Pace
from snugfast.usecases.beliefs.stakes import Values
from snugfast.usecases.beliefs.upcoming import Ahead, Until
from snugfast.usecases.bench.fix_first import FixJob
from snugfast.usecases.bench.sheet_words import Moved, WhyMode
from snugfast.usecases.bench.treatments import DueTreatment
from snugfast.usecases.bench.wet_readiness import WetReadiness
from snugfast.usecases.packs.blocks import PackBlock
from snugfast.usecases.packs.plugged_in import PluggedIn
from snugfast.usecases.shared.cautions import Caution

LEAST_GAP_SAID = 1e-3
BY_THE_TABLE = Pace()


@dataclass(frozen=True, slots=True)
class Asked:
    """What the sheet is for."""

    cars: tuple[str, ...] = ()  # names; none means every car here that is not laid up
    minutes: float = 20.0
    until: Until = Until.OUTING
    packs: float | None = None
    wet: Wet | None = None
    ground: Ground | None = None
    air_degC: float | None = None
    just_ran: bool = False
    in_field: bool = False
    learner: bool = False  # what is for adults is marked as to be done with a grown-up


@dataclass(frozen=True, slots=True)
class SheetCheck:
    """One check on the sheet: why now, how, what to beware of."""

    key: str  # car/check or car/check/pack
    car: UUID
    car_name: str
    pack: UUID | None
    pack_name: str
    check: str
    name: str
    moment: Moment
    minutes: float
    gate: bool
    must: bool
    why: tuple[WhyMode, ...]
    gain: Figure | None  # None where no sum is asked
    cost: Figure
    firm: bool  # worth its minutes at half and at double of the judgement values too
    steps: tuple[str, ...]
    good: str
    bad: str
    how_tight: str
    thread_lock: str
    wait: str
    harm: str
    tools: tuple[str, ...]
    cautions: tuple[Caution, ...]
    answers: tuple[str, ...]
    adults_only: bool
    chemistry: str = ""  # of the pack it is done on
    round: str = ""  # key of the round it belongs to
    access: tuple[str, ...] = ()  # what has to be open for it, outermost first
    look_hardest: str = ""  # the place that is likelier than all others to have it


@dataclass(frozen=True, slots=True)
class SheetAccess:
    """Work that opens the way to the checks after it, or that a round begins with, said once."""

    key: str
    car: UUID
    car_name: str
    name: str
    minutes: float
    steps: tuple[str, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to do on the sheet; the same look at several packs is one line.

    `worth` is 0 (a must that no sum weighs) to 3. All else stands in `checks`, one for each pack.
    """

    number: int
    title: str
    place: str  # where to look hardest, "" where it is plain or nothing is known
    packs: tuple[str, ...]
    tool: str
    worth: int
    must: bool
    minutes: float
    wait: str
    adults_only: bool
    checks: tuple[SheetCheck, ...]

    @property
    def check(self) -> SheetCheck:
        """The check of the line, or that on its first pack."""
        return self.checks[0]


@dataclass(frozen=True, slots=True)
class Round:
    """A place to stand: what to open, what to beware of, and the lines."""

    key: str
    name: str
    hands: str
    car: UUID
    car_name: str
    minutes: float  # lines and opening, without what they will find
    cautions: tuple[Caution, ...]  # of the opening and of every line, each once, but for the whole job's
    opening: tuple[SheetAccess, ...]
    lines: tuple[Line, ...]


@dataclass(frozen=True, slots=True)
class BenchMinutes:
    """What the minutes of a sheet go to; all of them together are what it takes."""

    looking: float  # checks, their ways in, reading and answering
    cures: float  # of what they will probably find
    cleaning: float
    fixing: float  # jobs of “fix first” that are for tonight
    wet: float  # work that is due after wet

    @property
    def all(self) -> float:
        """All of them."""
        return self.looking + self.cures + self.cleaning + self.fixing + self.wet


@dataclass(frozen=True, slots=True)
class CurvePoint:
    """What a sheet of so many minutes would save."""

    minutes: float
    saves: Figure
    lines: int


@dataclass(frozen=True, slots=True)
class SheetLeftOut:
    """A check that is not on the sheet, and why."""

    car_name: str
    name: str
    reason: str
    gain: Figure
    minutes: float


@dataclass(frozen=True, slots=True)
class SheetCar:
    """A car of the evening: what lies ahead of it, and the chance that something stops it."""

    id: UUID
    name: str
    ahead: Ahead
    stop_chance: Figure  # as it stands
    stop_chance_after: Figure  # after this sheet, its jobs done
    stop_chance_unseen: Figure  # had everything that is wrong now been found and fixed: what nobody can see
    expected_loss: Figure
    first_look: bool = False  # nobody has looked at this car here yet


@dataclass(frozen=True, slots=True)
class Sheet:
    """Everything a door shows."""

    made_at: datetime
    asked: Asked
    cars: tuple[SheetCar, ...]
    steps: tuple[SheetAccess | SheetCheck, ...]
    minutes: float
    loss_avoided: Figure  # all of it
    saved_now: Figure  # the share of it before the next bench
    bench: BenchMinutes
    cost_of_minutes: Figure
    shortfall: str
    unguarded: tuple[str, ...]
    left_out: tuple[SheetLeftOut, ...]
    moved: tuple[Moved, ...]
    values: Values
    position: int
    treatments: tuple[DueTreatment, ...] = ()
    readiness: tuple[WetReadiness, ...] = ()
    fix_first: tuple[FixJob, ...] = ()
    curve: tuple[CurvePoint, ...] = ()
    cautions: tuple[Caution, ...] = ()  # for the whole job: those of most rounds
    rounds: tuple[Round, ...] = ()
    plugged_in: tuple[PluggedIn, ...] = ()  # packs to pull before anything else
    blocked: tuple[PackBlock, ...] = ()  # cars that stay out until a damaged pack is out of them
    pace: Pace = BY_THE_TABLE  # of the owner, by which all minutes here are told
    driver_words: str = ""  # how hard the driver is on cars, where that is learned and far from the tables
    short_of_best: float = (
        0.0  # share of what could be saved that this choice may miss at most; 0: it is the best
    )

    @property
    def gap_words(self) -> str:
        """How near to the best the choice is, where it is not proven to be it and that shows."""
        if self.short_of_best < LEAST_GAP_SAID:
            return ""
        return f"Within {ceil(self.short_of_best * 1000.0) / 10.0:.1f} % of the best for these minutes."

    @property
    def treatment_minutes(self) -> float:
        """Minutes of work that is due after wet and that no sum weighs."""
        return sum(treatment.minutes for treatment in self.treatments)

    @property
    def in_order(self) -> tuple[SheetAccess | SheetCheck | DueTreatment, ...]:
        """The steps as they are worked through: a wet car is dried before it is plugged in or opened."""
        ordered: list[SheetAccess | SheetCheck | DueTreatment] = []
        for car in self.cars:
            steps = [step for step in self.steps if step.car == car.id]
            wet = list(takewhile(_may_be_wet, steps))
            ordered += wet
            ordered += [treatment for treatment in self.treatments if treatment.car == car.id]
            ordered += steps[len(wet) :]
        return tuple(ordered)

    @property
    def lines(self) -> tuple[Line, ...]:
        """The lines of all rounds, by number."""
        lines = (line for one in self.rounds for line in one.lines)
        return tuple(sorted(lines, key=lambda line: line.number))

    @property
    def stands(self) -> tuple[tuple[Round, ...], ...]:
        """The rounds as they are walked: the same place to stand with several cars is one."""
        return stands_of(self.rounds)

    @property
    def checks(self) -> tuple[SheetCheck, ...]:
        """The checks alone, in working order."""
        return tuple(step for step in self.steps if isinstance(step, SheetCheck))


def stands_of(rounds: Sequence[Round]) -> tuple[tuple[Round, ...], ...]:
    """Rounds of one kind that follow each other, car by car, put together."""
    return tuple(tuple(group) for _, group in groupby(rounds, key=lambda one: one.key))


def _may_be_wet(step: SheetAccess | SheetCheck) -> bool:
    """Whether a step comes before a wet car is dried: hot readings, and gates with the pack unplugged."""
    if isinstance(step, SheetAccess):
        return False
    return step.moment is Moment.AFTER_RUN or (step.gate and step.moment is Moment.COLD_BENCH)
