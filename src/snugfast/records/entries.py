"""The journal's words: everything that happens is an entry.

An `Entry` is an envelope (who, when, how sure of when, what it replaces) around one `Fact` (what happened).
Entries are never edited: a correction replaces, an undo withdraws, a redo withdraws the withdrawal.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import Enum
from typing import Annotated, Any
from uuid import UUID

from snugfast.core.vocabulary import Ground as Ground
from snugfast.core.vocabulary import History as History
from snugfast.core.vocabulary import PackHarm as PackHarm
from snugfast.core.vocabulary import Stands as Stands
from snugfast.core.vocabulary import Wet as Wet
from snugfast.records.bounds import AtMost, IsBuild, IsSettings, Within

Minutes = Annotated[float, Within(0.0, 1e6)]
RunningMinutes = Annotated[float, Within(0.0, 1e6, above=True)]
Count = Annotated[float, Within(0.0, 1e5)]
Ah = Annotated[float, Within(-1e4, 1e4)]
DegC = Annotated[float, Within(-273.15, 5000.0)]
Volts = Annotated[float, Within(0.0, 1000.0)]
Ohms = Annotated[float, Within(0.0, 1e6)]
Watts = Annotated[float, Within(0.0, 1e6, above=True)]
Amperes = Annotated[float, Within(0.0, 1e5)]
EndTravel = Annotated[float, Within(-1e4, 1e4)]
Name = Annotated[str, AtMost(400)]
Pieces = Annotated[int, Within(0, 100_000)]
Build = Annotated[Mapping[str, Any], IsBuild()]


class Precision(Enum):
    """How sure the time is."""

    MINUTE = "minute"
    DAY = "day"
    ABOUT = "about"


class Trial(Enum):
    """What was tried and timed, to be held against the car's own earlier trials."""

    FREE_SPIN = "free spin"
    PUSH_ROLL = "push roll"
    MOTOR_BENCH = "motor at the bench"


class Done(Enum):
    """What was done about what was found."""

    PUT_RIGHT = "put right"
    RENEWED = "renewed"
    LEFT = "left as it is"


class TravelUnit(Enum):
    """What end points were read in. Per cent means something on one radio only."""

    MICROSECONDS = "µs"
    PERCENT = "%"


class WhenOff(Enum):
    """What the motor did when the transmitter was switched off."""

    STOPPED = "stopped at once"
    LATE = "stopped late"
    DROVE_ON = "drove on"
    JUMPED = "jumped"


class HuntSaid(Enum):
    """How a test of a hunt was answered."""

    NOTHING_WRONG = "nothing wrong"
    SHOWN = "shown"
    CANNOT_TELL = "can't tell"
    CANNOT_DO = "can't do here"
    NOT_IT = "looked at, not it"
    NOT_CURED = "mended, still the same"


class HuntEnd(Enum):
    """How far a hunt has come."""

    OPEN = "open"
    FOUND = "found"
    GIVEN_UP = "given up"


class Finish(Enum):
    """To where a pack was charged."""

    FULL = "full"
    LONG_LIFE = "a little below full"
    STORAGE = "storage charge"
    PART = "part of the way"


@dataclass(frozen=True, slots=True)
class Money:
    """An amount in minor units of a currency. Different currencies are never added."""

    minor: Annotated[int, Within(-1e12, 1e12)]
    currency: Annotated[str, AtMost(20)]


@dataclass(frozen=True, slots=True)
class FromBox:
    """Pieces of a part that were taken out of the box of spares."""

    item: UUID
    count: Pieces


@dataclass(frozen=True, slots=True)
class Reading:
    """A measurement: what, where, in which unit, and how long after stopping (None: not said, not used)."""

    spot: str
    value: Annotated[float, Within(-1e9, 1e9)]
    unit: str
    seconds_after_stop: Annotated[float, Within(0.0, 1e7)] | None = None
    typed: str = ""


@dataclass(frozen=True, slots=True)
class Broke:
    """Something failed. `mode` is None when the cause is unknown; `pack` names the pack when one failed."""

    mode: str | None
    place: str | None = None
    spot: str = ""
    pack: UUID | None = None
    words: str = ""
    done: Done = Done.PUT_RIGHT
    minutes: Minutes | None = None
    spent: Money | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What a check found at one spot: the word, and the mode it points at (None when it points at none)."""

    word: str
    mode: str | None
    place: str | None = None
    spot: str = ""
    done: Done = Done.PUT_RIGHT


@dataclass(frozen=True, slots=True)
class CarAdded:
    """A car joined the workshop, with its build as it stood then."""

    car: UUID
    name: Name
    build: Build
    history: History = History.NEW
    starter: str = ""


@dataclass(frozen=True, slots=True)
class BuildChanged:
    """The owner edited the build. Parts in places that stayed keep their clocks."""

    car: UUID
    build: Build


@dataclass(frozen=True, slots=True)
class CarLeft:
    """A car left the workshop for good."""

    car: UUID
    why: str = ""


@dataclass(frozen=True, slots=True)
class PackAdded:
    """A pack joined the workshop."""

    pack: UUID
    name: Name
    chemistry: str
    cells: Annotated[int, Within(1, 1000)]
    capacity_Ah: Annotated[float, Within(0.0, 1e4, above=True)]
    price: Money | None = None
    details: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class PackLeft:
    """A pack left the workshop: retired, sold, handed to a collection point."""

    pack: UUID
    why: str = ""


@dataclass(frozen=True, slots=True)
class PackLooked:
    """A pack was looked at, felt and smelled. Nothing found is an empty tuple."""

    pack: UUID
    found: tuple[PackHarm, ...] = ()
    words: str = ""


@dataclass(frozen=True, slots=True)
class PackHurt:
    """Something happened to a pack: a crash, water, heat, cells driven too low or charged too high."""

    pack: UUID
    harms: tuple[PackHarm, ...] = ()
    hottest_degC: DegC | None = None
    car: UUID | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class PackCleared:
    """The way back from harm was walked to its end: what is over, and by whose word or instructions."""

    pack: UUID
    harms: tuple[PackHarm, ...] = ()
    by: str = ""


@dataclass(frozen=True, slots=True)
class PackCharged:
    """A charge that ended now. `cells_V` are what the charger showed at its end, not rest readings.

    `put_in_Ah` is below zero when the charger took charge out, as a storage function does.
    """

    pack: UUID
    finish: Finish
    put_in_Ah: Ah | None = None
    current_A: Amperes | None = None
    minutes: Minutes | None = None
    charger: UUID | None = None
    cells_V: tuple[Volts, ...] = ()


@dataclass(frozen=True, slots=True)
class PackMeasured:
    """Cells read one by one: volts after a rest, resistances by one instrument, and how warm the pack was."""

    pack: UUID
    rest_V: tuple[Volts, ...] = ()
    rested_min: Annotated[float, Within(0.0, 1e8)] | None = None
    resistances_ohm: tuple[Ohms, ...] = ()
    instrument: str = ""
    temperature_degC: DegC | None = None


@dataclass(frozen=True, slots=True)
class PackStands:
    """A pack was left standing: unplugged, or in which car and whether that is switched off."""

    pack: UUID
    stands: Stands
    car: UUID | None = None
    shelf_degC: DegC | None = None


@dataclass(frozen=True, slots=True)
class ChargerAdded:
    """A charger joined the workshop. Amperes and watts are of one channel; `supply_W` feeds them all."""

    charger: UUID
    name: Name
    channels: Annotated[int, Within(1, 1000)]
    most_A: Annotated[float, Within(0.0, 1e5, above=True)]
    most_W: Watts
    supply_W: Watts | None = None
    balances: bool = True
    stores: bool = True
    price: Money | None = None


@dataclass(frozen=True, slots=True)
class ChargerLeft:
    """A charger left the workshop."""

    charger: UUID
    why: str = ""


@dataclass(frozen=True, slots=True)
class Ran:
    """One pack's worth of driving by one car (two packs when they run in series or parallel)."""

    car: UUID
    packs: tuple[UUID, ...]
    running_min: RunningMinutes
    about: bool = False
    ground: Ground = Ground.UNKNOWN
    wet: Wet = Wet.DRY
    hard_hits: Count = 0.0
    hits_said: str = "none"
    ambient_degC: DegC | None = None
    readings: tuple[Reading, ...] = ()
    put_back_Ah: Ah | None = None
    noticed: tuple[str, ...] = ()
    broke: tuple[Broke, ...] = ()
    from_box: tuple[FromBox, ...] = ()


@dataclass(frozen=True, slots=True)
class CaughtUp:
    """Running remembered in bulk: “about six packs since May, one wet”. The entry's time is the end of it."""

    car: UUID
    since: datetime
    packs: Count
    running_min: RunningMinutes
    wet_packs: Count = 0.0
    wet: Wet = Wet.FRESH_WATER
    hard_hits: Count = 0.0
    ground: Ground = Ground.UNKNOWN


@dataclass(frozen=True, slots=True)
class Checked:
    """The answer to a check. No answers means sound. `looked` is False for a tick without looking.

    A check of a pack names the pack it was done on.
    """

    car: UUID
    check: str
    pack: UUID | None = None
    answers: tuple[Answer, ...] = ()
    looked: bool = True
    minutes: Minutes | None = None
    spent: Money | None = None
    noticed: str = ""
    from_box: tuple[FromBox, ...] = ()


@dataclass(frozen=True, slots=True)
class Failed:
    """Something was found broken outside a run."""

    car: UUID
    broke: Broke
    from_box: tuple[FromBox, ...] = ()


@dataclass(frozen=True, slots=True)
class HuntStep:
    """One answer of a hunt: of a test, with the word that was shown; or of a cause that was tried."""

    said: HuntSaid
    test: str = ""
    word: Name = ""
    cause: str = ""


@dataclass(frozen=True, slots=True)
class SheetDone:
    """A bench sheet worked through to its last line, which happened when that was answered.

    `began_at` is when the sheet was made; `planned_min` what it was made to take, where that is known.
    """

    cars: tuple[UUID, ...]
    began_at: datetime
    asked_min: Minutes
    planned_min: Minutes | None = None


@dataclass(frozen=True, slots=True)
class Hunted:
    """A hunt for a fault, with all its answers so far; a further answer corrects it.

    Once the cause is found, `broke` is what it comes to where the cause is a way to fail. `temporary` says
    that it was mended only to get home.
    """

    car: UUID
    symptoms: tuple[str, ...]
    steps: tuple[HuntStep, ...] = ()
    pack: UUID | None = None
    end: HuntEnd = HuntEnd.OPEN
    cause: str = ""
    broke: Broke | None = None
    temporary: bool = False
    from_box: tuple[FromBox, ...] = ()


@dataclass(frozen=True, slots=True)
class PartFitted:
    """A part went into a place: new (fresh clock) unless it came with a history.

    `spots` empty means all of the place. `sizes` holds those that differ from the build, which has them from
    then on; they need all of the place.
    """

    car: UUID
    place: str
    part: UUID
    name: Name
    spots: tuple[str, ...] = ()
    spent: Money | None = None
    second_hand: bool = False
    sizes: Mapping[str, Any] = field(default_factory=dict)
    from_box: tuple[FromBox, ...] = ()


@dataclass(frozen=True, slots=True)
class PartMoved:
    """The part in one place went into the same kind of place of another car, clock and all."""

    from_car: UUID
    from_place: str
    to_car: UUID
    to_place: str


@dataclass(frozen=True, slots=True)
class WorkDone:
    """Work that raises or lowers rates for a while: radio work, motor out, a hit found later."""

    car: UUID
    event: str
    place: str | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class SettingChanged:
    """A setting of the car: pinion teeth, spring, cut-off."""

    car: UUID
    name: str
    value: str


@dataclass(frozen=True, slots=True)
class Measured:
    """Readings of one trial at one spot. `given` holds what they rest on: a length, turns, a clock's step.

    `is_baseline` says that later readings are to be held against these, because parts were renewed.
    """

    car: UUID
    trial: Trial
    spot: str
    readings: tuple[Reading, ...]
    given: Mapping[str, Any] = field(default_factory=dict)
    is_baseline: bool = False


@dataclass(frozen=True, slots=True)
class SteeringSet:
    """Steering set at the bench, on one car with one radio, or the linkage measured.

    `left` and `right` are the end points as the radio shows them, `centre` its centre offset. `was_quiet`
    says that the servo was quiet at both ends before anything was turned; `quiet` that it was afterwards.
    `measured` holds lengths and other data as typed, by name; none when only end points were set.
    """

    car: UUID
    radio: Name = ""
    unit: TravelUnit = TravelUnit.PERCENT
    left: EndTravel | None = None
    right: EndTravel | None = None
    centre: EndTravel | None = None
    was_quiet: bool = True
    quiet: bool = True
    done: tuple[str, ...] = ()
    measured: Mapping[str, Any] = field(default_factory=dict)
    words: str = ""


@dataclass(frozen=True, slots=True)
class SetUpChanged:
    """What of a car's set-up was changed or measured, why, and how it drove.

    `values` are by quantity and where, “camber/front left”: a number in the unit of the quantity, or words.
    An entry without values says how the set-up that stood drove, on a track and in a weather.
    """

    car: UUID
    values: Mapping[str, Any] = field(default_factory=dict)
    why: str = ""
    drove: str = ""
    track: Name = ""
    weather: Name = ""
    air_degC: DegC | None = None


@dataclass(frozen=True, slots=True)
class RadioTested:
    """The radio of a car tested: failsafe, range, batteries of the transmitter, which model memory.

    `receiver` is what sat in the car; `range_m` how far the steering followed, and `follows_to_end` whether
    it did all the way that was walked.
    """

    car: UUID
    radio: Name
    receiver: Name = ""
    model: Name = ""
    when_off: WhenOff | None = None
    range_m: Annotated[float, Within(0.0, 1e5)] | None = None
    follows_to_end: bool = True
    transmitter_V: Volts | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class LearnerLimits:
    """How far throttle and steering go when a learner drives. None: that one is not limited."""

    car: UUID
    radio: Name
    throttle_percent: Annotated[float, Within(0.0, 200.0)] | None = None
    rate_percent: Annotated[float, Within(0.0, 200.0)] | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class TreatmentDone:
    """Work with a deadline was done: dried, rinsed, oiled."""

    car: UUID
    treatment: str
    minutes: Minutes | None = None


@dataclass(frozen=True, slots=True)
class LaidUp:
    """A car was put away for a while."""

    car: UUID
    words: str = ""


@dataclass(frozen=True, slots=True)
class WokenUp:
    """A car that was put away is to be driven again."""

    car: UUID
    words: str = ""


@dataclass(frozen=True, slots=True)
class CameBack:
    """A car came back from a loan; how much it ran meanwhile is only guessed."""

    car: UUID
    packs_low: Count
    packs_high: Count
    words: str = ""


@dataclass(frozen=True, slots=True)
class BoxPart:
    """A part that the box of spares holds, or a change of what is said of it.

    `sizes` are those by which it fits; `design` is the key of the build it is made for where no size says
    that, `made_for` its name. `price` is of one piece; it is bought `pack_of` pieces at a time. `is_kept` is
    False when the box is not to hold it any more.
    """

    item: UUID
    name: Name
    role: str
    sizes: Mapping[str, Any] = field(default_factory=dict)
    design: str = ""
    made_for: str = ""
    place: Name = ""
    minimum: Pieces = 0
    price: Money | None = None
    pack_of: Annotated[int, Within(1, 10_000)] = 1
    supplier: Name = ""
    delivery_days: Annotated[float, Within(0.0, 1000.0)] | None = None
    is_kept: bool = True


@dataclass(frozen=True, slots=True)
class BoxCounted:
    """A part in the box was counted: so many pieces are there."""

    item: UUID
    count: Pieces


@dataclass(frozen=True, slots=True)
class BoxTook:
    """Pieces left the box for another reason than a finding: given away, lost, used on something else."""

    item: UUID
    count: Pieces
    why: Name = ""


@dataclass(frozen=True, slots=True)
class BoxOrdered:
    """Pieces were ordered. `spent` is for all of them, when they were paid for then."""

    order: UUID
    item: UUID
    count: Pieces
    spent: Money | None = None


@dataclass(frozen=True, slots=True)
class BoxArrived:
    """Pieces came into the box: bought, or of an order. `spent` is for all of them, when paid for now."""

    item: UUID
    count: Pieces
    spent: Money | None = None
    order: UUID | None = None


@dataclass(frozen=True, slots=True)
class SettingsChosen:
    """The owner's judgement values and habits, as far as they were said this time."""

    values: Annotated[Mapping[str, Any], IsSettings()]


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """An earlier entry no longer stands. Withdrawing a withdrawal makes it stand again."""

    entry: UUID
    why: str = ""


@dataclass(frozen=True, slots=True)
class Unreadable:
    """An entry this program cannot read, as it was kept: it counts for nothing, and can be withdrawn.

    `newer` says that a newer program wrote it; `why` says what is wrong, in words. Never written anew.
    """

    kind: str
    version: int
    document: Any
    why: str
    newer: bool = False


Fact = (
    CarAdded
    | BuildChanged
    | CarLeft
    | PackAdded
    | PackLeft
    | PackLooked
    | PackHurt
    | PackCleared
    | PackCharged
    | PackMeasured
    | PackStands
    | ChargerAdded
    | ChargerLeft
    | Ran
    | CaughtUp
    | Checked
    | Failed
    | Hunted
    | SheetDone
    | PartFitted
    | PartMoved
    | WorkDone
    | SettingChanged
    | Measured
    | SteeringSet
    | SetUpChanged
    | RadioTested
    | LearnerLimits
    | TreatmentDone
    | LaidUp
    | WokenUp
    | CameBack
    | BoxPart
    | BoxCounted
    | BoxTook
    | BoxOrdered
    | BoxArrived
    | SettingsChosen
    | Withdrawn
    | Unreadable
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One line of the journal. Times are UTC; `zone` is where it happened, for showing."""

    id: UUID
    happened_at: datetime
    recorded_at: datetime
    author: UUID
    fact: Fact
    precision: Precision = Precision.MINUTE
    zone: str = "UTC"
    replaces: UUID | None = None
    typed: str = ""

    @property
    def order(self) -> tuple[datetime, bytes]:
        """What replay sorts by: when it happened, then identity."""
        return (self.happened_at, self.id.bytes)


def subjects(fact: Fact) -> frozenset[UUID]:
    """The cars, packs and chargers an entry is about, so that the journal can be asked for one of them."""
    match fact:
        case Ran(car=car, packs=packs):
            return frozenset((car, *packs))
        case Checked(car=car, pack=UUID() as pack) | Failed(car=car, broke=Broke(pack=UUID() as pack)):
            return frozenset((car, pack))
        case SheetDone(cars=cars):
            return frozenset(cars)
        case Hunted(car=car, pack=pack, broke=broke):
            involved = (pack, broke.pack if broke else None)
            return frozenset((car, *(one for one in involved if one is not None)))
        case PartMoved(from_car=from_car, to_car=to_car):
            return frozenset((from_car, to_car))
        case PackHurt(pack=pack, car=UUID() as car) | PackStands(pack=pack, car=UUID() as car):
            return frozenset((pack, car))
        case PackCharged(pack=pack, charger=UUID() as charger):
            return frozenset((pack, charger))
        case (
            PackAdded(pack=pack)
            | PackLeft(pack=pack)
            | PackLooked(pack=pack)
            | PackHurt(pack=pack)
            | PackCleared(pack=pack)
            | PackCharged(pack=pack)
            | PackMeasured(pack=pack)
            | PackStands(pack=pack)
        ):
            return frozenset((pack,))
        case ChargerAdded(charger=charger) | ChargerLeft(charger=charger):
            return frozenset((charger,))
        case (
            BoxPart(item=item)
            | BoxCounted(item=item)
            | BoxTook(item=item)
            | BoxOrdered(item=item)
            | BoxArrived(item=item)
        ):
            return frozenset((item,))
        case SettingsChosen() | Withdrawn() | Unreadable():
            return frozenset()
        case _:
            return frozenset((fact.car,))
