"""The shapes of the tables: builds and places, modes, checks, access work, treatments, cautions, sources.

Everything here is what a table says, read and checked, and nothing more. `facts/load.py` is the only code
that opens the files. Numbers carry their pedigree: a key of the sources and the word for how it was seen.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from enum import Enum

from snugfast.facts.hunts import Cause, FaultTest, Strength, Symptom


class Seen(Enum):
    """How a source was seen; pages and documents show this word."""

    PRIMARY = "primary"
    SECONDARY = "secondary"
    MEMORY = "memory"
    PRACTICE = "practice"
    ELICITED = "elicited"


@dataclass(frozen=True, slots=True)
class Source:
    """One entry of the sources: what a number rests on."""

    key: str
    title: str
    seen: Seen
    authors: str = ""
    publisher: str = ""
    year: int | None = None
    through: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Pedigree:
    """Where a row comes from: source key, and the place in it."""

    source: str
    where: str = ""


@dataclass(frozen=True, slots=True)
class Caution:
    """What to beware of at a step. Shown wherever the step is shown; `short` where a line is all there is."""

    key: str
    text: str
    pedigree: Pedigree
    adults_only: bool = False
    short: str = ""


class Clock(Enum):
    """What wears a mode: the unit its exposure is counted in."""

    RUNNING_MIN = "running minutes"
    HARD_HITS = "hard hits"
    PACKS = "packs"
    WET_RUNS = "wet runs"
    DAYS = "days"


class Arrival(Enum):
    """How defects arrive while the part is good."""

    STEADY = "steady"
    WEAR_OUT = "wear-out"
    AFTER_EVENT = "raised by an event"


class Event(Enum):
    """What can raise the rate of a mode for a while."""

    FITTED = "fitted"  # the part itself is new in its place
    WORK_THERE = "work there"  # somebody opened or loosened this place
    HARD_HIT = "hard hit"
    PINION_CHANGED = "pinion changed"
    RADIO_WORK = "radio work"


@dataclass(frozen=True, slots=True)
class Raise:
    """After the event the rate is `factor` times as high, dying away by e over `decay` clock units."""

    event: Event
    factor: float
    decay: float


@dataclass(frozen=True, slots=True)
class Cold:
    """Below this air temperature the clock runs `factor` times as fast: nylon goes brittle."""

    below_degC: float
    factor: float


@dataclass(frozen=True, slots=True)
class Stress:
    """What the temperature of a part in a run does to the clocks of the modes it drives.

    The run counts 2^((temperature − `reference_degC`) / `doubling_K`) times, between `least` and `most`.
    `spots` are words of the spot that was read, `read_within_s` how long after the stop a reading still
    counts. `twin` is what the twin is asked where nobody read it, and empty where it cannot say.
    """

    key: str
    name: str
    spots: tuple[str, ...]
    modes: tuple[str, ...]
    reference_degC: float
    doubling_K: float
    least: float
    most: float
    read_within_s: float
    pedigree: Pedigree
    twin: str = ""


@dataclass(frozen=True, slots=True)
class Overload:
    """What a load that is not heat does to clocks.

    A run counts (load / load as the car came)^`power` times, between `least` and `most`.
    """

    key: str
    name: str
    twin: str
    modes: tuple[str, ...]
    power: float
    least: float
    most: float
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class Duty:
    """How much faster or slower some modes' clocks run on other kinds of car than the rates were set for.

    `times` maps a value of the trait `car_kind` to how many times as fast; others count once.
    """

    key: str
    name: str
    modes: tuple[str, ...]
    times: Mapping[str, float]
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class SafetyLimit:
    """The most that is let stand: belief of a defect now, and chance of failing before the next bench."""

    belief: float
    failing: float


@dataclass(frozen=True, slots=True)
class Mode:
    """One way one part fails, with its prior numbers.

    `between_defects` is the mean exposure between defects on an average car in good order; `spread` the gamma
    shape of how cars differ (cv = 1/√spread); `delay` the mean exposure from a visible defect to failure;
    `sudden` the share of failures that come with nothing to see before. Money is a share of part prices, so
    that it follows the owner's own price list: `cure_parts` and `failure_parts` map a role to how many of
    that part are used up on average. `stops` is the share of failures after which the car cannot be driven on
    until it is mended: the rest is driven home with, or costs something else than driving.
    """

    key: str
    name: str
    what_happens: str
    role: str
    clock: Clock
    between_defects: float
    spread: float
    delay: float
    delay_log_sd: float
    sudden: float
    arrival: Arrival
    cure: str
    cure_min: float
    cure_parts: Mapping[str, float]
    failure: str
    failure_min: float
    failure_parts: Mapping[str, float]
    lost_running_min: float
    stops: float
    pedigree: Pedigree
    traits: Mapping[str, str] = field(default_factory=dict)
    chemistries: tuple[str, ...] = ()  # of packs that can have it; none named means any
    wear_shape: float | None = None
    raises: tuple[Raise, ...] = ()
    wet_factor: Mapping[str, float] = field(default_factory=dict)
    ground_factor: Mapping[str, float] = field(default_factory=dict)
    cold: Cold | None = None
    safety: SafetyLimit | None = None
    no_check_because: str = ""


class Moment(Enum):
    """When a check can be done."""

    COLD_BENCH = "cold bench"
    ON_STAND = "on the stand, powered, hands clear"
    AFTER_RUN = "right after a run"
    FIELD = "in the field"


class Gate(Enum):
    """When a check is not a matter of worth but always comes first."""

    FIRST_PACK = "before the first pack of an outing"
    AFTER_RADIO_WORK = "after radio work"
    EACH_CHARGE = "before each charge"
    AFTER_MANY_HITS = "after many hits"


@dataclass(frozen=True, slots=True)
class Covers:
    """What a check can see: the chance that it finds this mode's defect when there is one."""

    mode: str
    detects: float


@dataclass(frozen=True, slots=True)
class AnswerWord:
    """A word a person may answer a check with, and the mode it points at ("" when it points at none).

    A word may stand several times in a check, for modes that belong to different traits or places: those are
    meant that the build at hand can have.
    """

    word: str
    mode: str


@dataclass(frozen=True, slots=True)
class CheckWords:
    """How a check is done on a pack of another chemistry: what then stands in for the check's own words."""

    steps: tuple[str, ...]
    good: str
    bad: str
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Check:
    """One thing to do at the bench. Texts may name sizes of the build as {role.size}."""

    key: str
    name: str
    moment: Moment
    roles: tuple[str, ...]
    minutes: float
    covers: tuple[Covers, ...]
    answers: tuple[AnswerWord, ...]
    steps: tuple[str, ...]
    good: str
    bad: str
    pedigree: Pedigree
    access: str = ""
    tools: tuple[str, ...] = ()
    how_tight: str = ""
    thread_lock: str = ""
    wait_min: float = 0.0
    wait_for: str = ""
    false_alarm: float = 0.0
    harm: float = 0.0
    harm_text: str = ""
    cautions: tuple[str, ...] = ()
    gates: tuple[Gate, ...] = ()
    traits: Mapping[str, str] = field(default_factory=dict)
    adults_only: bool = False
    for_chemistry: Mapping[str, CheckWords] = field(default_factory=dict)

    def worded_for(self, chemistry: str) -> Check:
        """The check as it is done on a pack of this chemistry."""
        words = self.for_chemistry.get(chemistry)
        if words is None:
            return self
        return replace(
            self, steps=words.steps, good=words.good, bad=words.bad, cautions=words.cautions, for_chemistry={}
        )


@dataclass(frozen=True, slots=True)
class Access:
    """Work that several checks share: body off, gear cover off. `parent` is what must be open before it."""

    key: str
    name: str
    parent: str
    minutes: float
    steps: tuple[str, ...]
    roles: tuple[str, ...]
    pedigree: Pedigree
    harm: float = 0.0
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ExtraWork:
    """Work on a sheet that is no check.

    `parts` maps a role to how much of each of its parts is used up: 1 renews them all, 0.03 of a transmitter
    is a set of cells.
    """

    name: str
    minutes: float
    steps: tuple[str, ...]
    roles: tuple[str, ...] = ()
    parts: Mapping[str, float] = field(default_factory=dict)
    traits: Mapping[str, str] = field(default_factory=dict)
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Round:
    """A place to stand on a bench sheet: the checks that are done with the car and the hands like this.

    A check belongs to the round that names it in `checks`, else to that of its moment, else to that of its
    access ("" is a car as it stands). `first` come before the others of their round, whatever they are worth.
    """

    key: str
    name: str
    hands: str
    pedigree: Pedigree
    moments: tuple[Moment, ...] = ()
    access: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    first: tuple[str, ...] = ()
    begin: tuple[str, ...] = ()  # treatments at its beginning, on a car that ran since anybody looked


@dataclass(frozen=True, slots=True)
class Presence:
    """The chance that a mode's defect is there at one place before anybody looked.

    `new`: on a car as it comes from its box; `second_hand`: on one bought used, beside what its unknown past
    has worn; `after_work`: where somebody has just worked.
    """

    mode: str
    pedigree: Pedigree
    new: float = 0.0
    second_hand: float = 0.0
    after_work: float = 0.0


@dataclass(frozen=True, slots=True)
class RootJob:
    """The work that ends what keeps coming back: due when a mode came `after` times within `within_days`."""

    mode: str
    after: int
    within_days: float
    job: str
    minutes: float
    pedigree: Pedigree
    parts: Mapping[str, float] = field(default_factory=dict)
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Trait:
    """What a kind of car may have or not: a glued tyre or a clamped one. `values` maps each to its words."""

    key: str
    name: str
    values: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Role:
    """A kind of place: what every wheel nut, every pinion is called across builds, and where it is drawn."""

    key: str
    name: str
    notch: str


@dataclass(frozen=True, slots=True)
class Place:
    """Where a part sits in a build, with its interface sizes. `spots` names like places on one clock."""

    key: str
    role: str
    name: str
    part: str
    spots: tuple[str, ...]
    price_minor: int
    sizes: Mapping[str, str | float]
    pedigree: Pedigree
    material: str = ""
    into: str = ""
    wet_rated: bool | None = None
    note: str = ""

    @property
    def pieces(self) -> int:
        """How many of the part the place holds: one at each spot, or as many as it says are at each."""
        each = self.sizes.get("each_count", 1.0)
        return max(1, len(self.spots)) * int(each if isinstance(each, float) else 1)


@dataclass(frozen=True, slots=True)
class FitSize:
    """A size by which a part fits; `of_role` and `of_size` name what it must equal elsewhere."""

    size: str
    of_role: str = ""
    of_size: str = ""


@dataclass(frozen=True, slots=True)
class SparePart:
    """What a spare part of a role fits by, and what one piece weighs and takes up on a 1/10 car.

    Parts of one `family` with the same sizes are the same part. `of_design` says that they fit cars of the
    same build only, whatever the sizes say.
    """

    role: str
    family: str
    must: tuple[FitSize, ...]
    may: tuple[str, ...]
    of_design: bool
    carried: bool
    mass_g: float
    volume_ml: float
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class Build:
    """What a car is made of."""

    key: str
    name: str
    description: str
    scale: str
    traits: Mapping[str, str]
    places: tuple[Place, ...]
    pedigree: Pedigree
    currency: str = "CRD"

    def place(self, key: str) -> Place | None:
        """The place of that key, or None."""
        return next((place for place in self.places if place.key == key), None)

    def of_role(self, role: str) -> tuple[Place, ...]:
        """All places of one role."""
        return tuple(place for place in self.places if place.role == role)


class StepKind(Enum):
    """What a step of a treatment does, in the order in which such steps make sense."""

    UNPLUG = "unplug"
    OPEN = "open"
    RINSE = "rinse"
    DISPLACE = "displace"
    DRY = "dry"
    OIL = "oil"
    LOOK = "look"


@dataclass(frozen=True, slots=True)
class TreatmentStep:
    """One step of a treatment. Its text may name sizes of the build as {role.size}."""

    kind: StepKind
    text: str


@dataclass(frozen=True, slots=True)
class Protects:
    """What a treatment that is late does to a mode.

    While it is late, whatever adds to the mode's clock counts `factor` times. Where `defect_in_d` is given,
    standing alone plants a defect too: in the mean after so many days of being late.
    """

    mode: str
    factor: float
    defect_in_d: float | None = None


@dataclass(frozen=True, slots=True)
class Treatment:
    """Work after a run. `after` are the journal's words for how wet it was; empty for every run.

    `deadline_h` counts from the end of the run. `spent_d` is how many days past the deadline the wet goes on
    doing harm; after that what it could do is done, and the checks are left to find it. Doing this one
    settles those it `includes` as well. What has no deadline is due before the next run; no sum knows it.
    """

    key: str
    name: str
    after: tuple[str, ...]
    deadline_h: float
    spent_d: float
    minutes: float
    steps: tuple[TreatmentStep, ...]
    protects: tuple[Protects, ...]
    when_late: str
    pedigree: Pedigree
    roles: tuple[str, ...] = ()
    includes: tuple[str, ...] = ()
    tools: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()

    @property
    def is_dated(self) -> bool:
        """Whether it has a deadline in hours."""
        return math.isfinite(self.deadline_h)


@dataclass(frozen=True, slots=True)
class WetRule:
    """What has to be rated for it before a car goes into this kind of wet. `key` is the journal's word."""

    key: str
    must_be_rated: tuple[str, ...]
    when_rated: str
    when_not: str
    pedigree: Pedigree
    cautions: tuple[str, ...] = ()


class Occasion(Enum):
    """When a car gets a one-off sheet."""

    NEW = "new from the box"
    SECOND_HAND = "second-hand or unknown"
    LOAN = "back from a loan"
    WORKED = "just worked on"
    LAY_UP = "lay-up"
    WAKE_UP = "wake-up"

    @property
    def arrives(self) -> bool:
        """Whether a car comes to be looked at as it is: its checks are those of its own sheet."""
        return self not in (Occasion.LAY_UP, Occasion.WAKE_UP)


@dataclass(frozen=True, slots=True)
class OneOffSheet:
    """What is done once, when a car comes or goes: work before the checks, the checks, work after them."""

    key: str
    name: str
    occasion: Occasion
    why: str
    before: tuple[ExtraWork, ...]
    checks: tuple[str, ...]
    after: tuple[ExtraWork, ...]
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class PriceLevel:
    """How many of another money a starter's euro comes to, in round figures."""

    key: str
    times: float
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class AlsoCalled:
    """What people also type for one kind of thing: from their words to known keys or words."""

    key: str
    words: Mapping[str, str]
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class Assumption:
    """One of our own numbers outside the parts: what “a few” hits stands for, what a tick is worth."""

    key: str
    value: float
    unit: str
    meaning: str
    pedigree: Pedigree


@dataclass(frozen=True, slots=True)
class Facts:
    """All tables, read whole and checked.

    `notches` is the order of the drive-line strip; `size_units` the unit of each size that is told with one;
    `standard_sizes` lists, for the sizes that have one, the
    values a build may say; `standard_bearings` the bore, outside diameter and width of made bearings, in mm.
    """

    sources: Mapping[str, Source]
    cautions: Mapping[str, Caution]
    roles: Mapping[str, Role]
    access: Mapping[str, Access]
    modes: Mapping[str, Mode]
    checks: Mapping[str, Check]
    starters: Mapping[str, Build]
    size_names: Mapping[str, str]
    size_units: Mapping[str, str] = field(default_factory=dict)
    traits: Mapping[str, Trait] = field(default_factory=dict)
    notches: tuple[str, ...] = ()
    standard_sizes: Mapping[str, frozenset[str | float]] = field(default_factory=dict)
    standard_bearings: frozenset[tuple[float, float, float]] = frozenset()
    assumptions: Mapping[str, Assumption] = field(default_factory=dict)
    treatments: Mapping[str, Treatment] = field(default_factory=dict)
    wet_rules: Mapping[str, WetRule] = field(default_factory=dict)
    one_off_sheets: Mapping[str, OneOffSheet] = field(default_factory=dict)
    stress: Mapping[str, Stress] = field(default_factory=dict)
    overload: Mapping[str, Overload] = field(default_factory=dict)
    duty: Mapping[str, Duty] = field(default_factory=dict)
    also_called: Mapping[str, AlsoCalled] = field(default_factory=dict)
    price_levels: Mapping[str, PriceLevel] = field(default_factory=dict)
    rounds: Mapping[str, Round] = field(default_factory=dict)  # in the order they are walked
    presence: Mapping[str, Presence] = field(default_factory=dict)  # by mode
    roots: Mapping[str, RootJob] = field(default_factory=dict)  # by mode
    spare_parts: Mapping[str, SparePart] = field(default_factory=dict)  # by role
    hunt_strengths: Mapping[str, Strength] = field(default_factory=dict)
    hunt_symptoms: Mapping[str, Symptom] = field(default_factory=dict)
    hunt_causes: Mapping[str, Cause] = field(default_factory=dict)
    hunt_tests: Mapping[str, FaultTest] = field(default_factory=dict)

    def round_of(self, check: Check) -> Round:
        """The round of the sheet a check belongs to; behind access that no round names, the deepest."""
        held = tuple(self.rounds.values())
        named = next((one for one in held if check.key in one.checks), None)
        timed = next((one for one in held if check.moment in one.moments), None)
        behind = next((one for one in held if check.access in one.access), None)
        return named or timed or behind or [one for one in held if one.access][-1]
