"""The radio of a car: failsafe and range as they were tested, model memories, learner limits, first "
"power-up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.units import Kind, read_number, read_quantity
from snugfast.core.vocabulary import (
    CHECK_FAIL_SAFE,
    CHECK_RANGE_WALK,
    MODE_ANTENNA_DAMAGED,
    MODE_FAIL_SAFE,
)
from snugfast.core.zones import local_day
from snugfast.facts.model import Build, Event
from snugfast.records.entries import (
    Answer,
    Checked,
    Done,
    Entry,
    LearnerLimits,
    PartFitted,
    RadioTested,
    WhenOff,
    WorkDone,
)
from snugfast.records.ledger import CarRecord
from snugfast.records.moments import read_moment
from snugfast.records.standing import standing
from snugfast.usecases.chassis.steering_past import steering_of
from snugfast.usecases.shared.applicability import car_checks
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_and_build, cars_here
from snugfast.usecases.shared.workshop import Workshop

RADIO_ROLES = frozenset(("receiver", "transmitter", "antenna", "gyro"))
SHORTER = 0.7  # of the last range walk: worth a look, our own
CAUTIONS = ("stand-clear", "radio-order", "stand-low-throttle", "radio-lost", "local-rules")
CHILD_CAUTIONS = ("fast-car-people", "radio-order", "hot-parts", "local-rules")


@dataclass(frozen=True, slots=True)
class PowerUp:
    """One step of the first power-up after work on the receiver."""

    name: str
    do: str


POWER_UP = (
    PowerUp(
        "Battery out",
        "Motor unplugged or out of mesh. Car on its stand, wheels clear. Motor ends insulated from each "
        "other.",
    ),
    PowerUp(
        "Plugs",
        "Each plug in its channel and the right way round, as the receiver is marked; pushed all the way "
        "in. Antenna up its tube.",
    ),
    PowerUp(
        "Transmitter on first",
        "Fresh batteries, this car’s model selected, trims zero, throttle at rest. Bind as the radio’s "
        "instructions say.",
    ),
    PowerUp(
        "Battery in, hands clear",
        "The servo goes to its middle once and is quiet; the ESC gives its usual tones. Smoke, heat or a "
        "chattering servo: battery out at once.",
    ),
    PowerUp(
        "Steering",
        "Left is left. If not: servo reverse on the radio. Then the end points: they are of the old "
        "receiver until you have listened at full lock.",
    ),
    PowerUp(
        "Throttle, motor still off",
        "Trim zero. Set throttle direction and teach the ESC neutral, full and brake as its maker says.",
    ),
    PowerUp(
        "Failsafe set",
        "As the radio’s instructions say: throttle to neutral or brake. Not every radio comes set so.",
    ),
    PowerUp(
        "Battery out, motor on",
        "Motor plugged in or back in mesh. Transmitter on, then battery in, wheels clear. A touch of "
        "throttle: forwards is forwards.",
    ),
    PowerUp(
        "Failsafe tested",
        "Wheels turning slowly, transmitter off: they must stop at once and stay stopped. Transmitter on "
        "again before the battery comes out.",
    ),
    PowerUp(
        "Range walk",
        "Car on its stand, a helper who only watches. Steer all the time, as far as you will ever drive. "
        "Then note the distance.",
    ),
    PowerUp("Battery out first, transmitter off last", "Then save what you saw."),
)
BEFORE_A_CHILD = (
    "An adult beside the driver, the transmitter’s switch in reach.",
    "Right model selected, limits set on this radio, and tried: full trigger on the stand is slow.",
    "Open ground, nobody in front or within a car’s stopping distance, no street, no water.",
    "Say first: let go of the trigger and it stops. Nobody picks the car up while it is plugged in.",
    "Battery in and out, and anything hot, is for the adult.",
)


@dataclass(frozen=True, slots=True)
class RadioSaid:
    """A test as typed; empty means not said."""

    car: str
    radio: str = ""
    receiver: str = ""
    model: str = ""
    when_off: str = ""
    range: str = ""
    twitched: bool = False
    cells: str = ""
    words: str = ""
    when: str = ""
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class LimitsSaid:
    """Learner limits as typed."""

    car: str
    radio: str = ""
    throttle: str = ""
    rate: str = ""
    words: str = ""
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class Tested:
    """One test of the journal."""

    at: datetime
    day: str
    fact: RadioTested


@dataclass(frozen=True, slots=True)
class Memory:
    """A car on one radio: its model memory, and the limits for a learner."""

    car: str
    model: str
    limits: str


@dataclass(frozen=True, slots=True)
class RadioRecord:
    """What is known of a car's radio."""

    car: str
    tests: tuple[Tested, ...]  # newest first
    failsafe: str
    failsafe_holds: bool
    range: str
    limits: LearnerLimits | None
    limits_words: str
    memories: tuple[tuple[str, tuple[Memory, ...]], ...]  # by radio
    radio: str
    receiver: str
    power_up: tuple[PowerUp, ...]
    before_a_child: tuple[str, ...]
    cautions: tuple[Caution, ...]
    child_cautions: tuple[Caution, ...]


def radio_record(workshop: Workshop, car_name: str) -> RadioRecord:
    """What was tested on a car's radio, whether that still holds, and what else this radio drives."""
    car, build = car_and_build(workshop, car_name)
    entries = _entries(workshop, car)
    tests = [
        Tested(entry.happened_at, local_day(entry.happened_at, workshop.zone), entry.fact)
        for entry in entries
        if isinstance(entry.fact, RadioTested)
    ]
    failsafe, holds = _failsafe(tests, entries, build, workshop.zone)
    limits = _limits(entries)
    radio = tests[-1].fact.radio if tests else next(iter(steering_of(workshop, car).radios), "")
    receivers = [place.part for place in build.of_role("receiver")]
    return RadioRecord(
        car=car.name,
        tests=tuple(reversed(tests)),
        failsafe=failsafe,
        failsafe_holds=holds,
        range=_range(tests),
        limits=limits,
        limits_words=limits_words(limits),
        memories=_memories(workshop),
        radio=radio,
        receiver=next((one.fact.receiver for one in reversed(tests) if one.fact.receiver), "")
        or (receivers[0] if receivers else ""),
        power_up=POWER_UP,
        before_a_child=BEFORE_A_CHILD,
        cautions=cautions_of(workshop.facts, CAUTIONS),
        child_cautions=cautions_of(workshop.facts, CHILD_CAUTIONS),
    )


def draft_radio(workshop: Workshop, said: RadioSaid) -> Draft:
    """The entries of a radio that was tested: the record, and the checks it answers.

    A motor that did not stop is a known defect until it is mended. Raises BadInput for what is no test.
    """
    car, build = car_and_build(workshop, said.car)
    if not said.radio.strip():
        raise BadInput(
            "Nobody said which radio.", "Give it a name you will know again, as “pistol” or “stick”."
        )
    moment = read_moment(said.when, now=workshop.now(), zone=workshop.zone)
    fact = RadioTested(
        car=car.id,
        radio=said.radio.strip(),
        receiver=said.receiver.strip(),
        model=said.model.strip(),
        when_off=_when_off(said.when_off),
        range_m=_metres(said.range),
        follows_to_end=not said.twitched,
        transmitter_V=_volts(said.cells),
        words=said.words.strip(),
    )
    if fact.when_off is None and fact.range_m is None and fact.transmitter_V is None and not fact.model:
        raise BadInput(
            "Nothing was tested.", "Say what the motor did with the transmitter off, or how far you walked."
        )
    entries = [workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=said.id)]
    here = {check.key for check in car_checks(workshop.facts, build)}
    entries += [
        workshop.entry(checked, happened_at=moment.at, precision=moment.precision)
        for checked in _checks(car, build, fact)
        if checked.check in here
    ]
    return Draft.told_now(workshop, entries)


def draft_limits(workshop: Workshop, said: LimitsSaid) -> Draft:
    """The entry of limits for a learner. Raises BadInput for what is no limit."""
    car, _ = car_and_build(workshop, said.car)
    if not said.radio.strip():
        raise BadInput("Limits are set on one radio.", "Name the radio.")
    throttle, rate = (
        _percent(name, text) for name, text in (("throttle", said.throttle), ("rate", said.rate))
    )
    if throttle is None and rate is None:
        raise BadInput("No limit was given.", "Give throttle or steering rate in per cent: 40 %.")
    fact = LearnerLimits(car.id, said.radio.strip(), throttle, rate, said.words.strip())
    entry = workshop.entry(fact, id=said.id)
    return Draft.told_now(workshop, (entry,))


def learner_limits(workshop: Workshop, car: CarRecord) -> str:
    """The limits for a learner on a car, in words; “” where there are none."""
    return limits_words(_limits(_entries(workshop, car)))


def limits_words(limits: LearnerLimits | None) -> str:
    """“throttle 40 %, steering rate 70 % on pistol”."""
    if limits is None:
        return ""
    named = (("throttle", limits.throttle_percent), ("steering rate", limits.rate_percent))
    told = ", ".join(f"{name} {value:g} %" for name, value in named if value is not None)
    return f"{told} on {limits.radio}"


def _checks(car: CarRecord, build: Build, fact: RadioTested) -> list[Checked]:
    found = []
    if fact.when_off is not None:
        word = {
            WhenOff.LATE: "stopped late",
            WhenOff.DROVE_ON: "drove on",
            WhenOff.JUMPED: "jumped",
        }.get(fact.when_off)
        answers = (_answer(build, word, MODE_FAIL_SAFE, "receiver"),) if word else ()
        found.append(Checked(car.id, CHECK_FAIL_SAFE, answers=answers))
    if fact.range_m is not None:
        answers = (
            () if fact.follows_to_end else (_answer(build, "twitches near", MODE_ANTENNA_DAMAGED, "antenna"),)
        )
        found.append(Checked(car.id, CHECK_RANGE_WALK, answers=answers))
    return found


def _answer(build: Build, word: str, mode: str, role: str) -> Answer:
    places = build.of_role(role)
    return Answer(word, mode if places else None, places[0].key if places else None, "", Done.LEFT)


def _entries(workshop: Workshop, car: CarRecord) -> tuple[Entry, ...]:
    with workshop.store.reading() as reads:
        stands = standing(reads.entries_of([car.id])).entries
    return tuple(entry for entry in stands if getattr(entry.fact, "car", car.id) == car.id)


def _failsafe(tests: list[Tested], entries: tuple[Entry, ...], build: Build, zone: str) -> tuple[str, bool]:
    last = next((one for one in reversed(tests) if one.fact.when_off is not None), None)
    if last is None:
        return "The failsafe was never tested here. Test it before this car drives.", False
    assert last.fact.when_off is not None
    receiver = f" with {last.fact.receiver}" if last.fact.receiver else ""
    told = f"{last.day}, {last.fact.radio}{receiver}: transmitter off, motor {last.fact.when_off.value}."
    if last.fact.when_off is not WhenOff.STOPPED:
        return f"{told} Don’t drive until it stops at once.", False
    since = [entry for entry in entries if entry.happened_at > last.at]
    for entry in since:
        if _is_radio_work(entry, build):
            day = local_day(entry.happened_at, zone)
            return f"{told} Since then there was radio work ({day}): test it again.", False
    return told, True


def _is_radio_work(entry: Entry, build: Build) -> bool:
    fact = entry.fact
    if isinstance(fact, WorkDone):
        return fact.event == Event.RADIO_WORK.value
    if isinstance(fact, PartFitted):
        place = build.place(fact.place)
        return place is not None and place.role in (*RADIO_ROLES, "controller")
    return False


def _range(tests: list[Tested]) -> str:
    walks = [one for one in tests if one.fact.range_m is not None]
    if not walks:
        return ""
    last = walks[-1]
    assert last.fact.range_m is not None
    followed = (
        "the steering followed all the way" if last.fact.follows_to_end else "it twitched or froze there"
    )
    told = f"{last.day}: {last.fact.range_m:g} m, {followed}."
    best = max(
        (one.fact.range_m for one in walks[:-1] if one.fact.range_m is not None and one.fact.follows_to_end),
        default=0.0,
    )
    if not last.fact.follows_to_end and last.fact.range_m < SHORTER * best:
        told += f" It was {best:g} m before: antenna, batteries, a wet receiver or other radios. Don’t drive."
    return told


def _limits(entries: tuple[Entry, ...]) -> LearnerLimits | None:
    found = [entry.fact for entry in entries if isinstance(entry.fact, LearnerLimits)]
    return found[-1] if found else None


def _memories(workshop: Workshop) -> tuple[tuple[str, tuple[Memory, ...]], ...]:
    """Every car on every radio, as tested or set last."""
    by_radio: dict[str, list[Memory]] = {}
    with workshop.store.reading() as reads:
        cars = cars_here(ledger_now(reads))
    for car in cars:
        entries = _entries(workshop, car)
        limits = _limits(entries)
        radios = dict.fromkeys(entry.fact.radio for entry in entries if isinstance(entry.fact, RadioTested))
        radios |= dict.fromkeys(steering_of(workshop, car).radios)
        for radio in radios:
            models = [
                entry.fact.model
                for entry in entries
                if isinstance(entry.fact, RadioTested) and entry.fact.radio == radio and entry.fact.model
            ]
            here = limits_words(limits) if limits and limits.radio == radio else ""
            by_radio.setdefault(radio, []).append(Memory(car.name, models[-1] if models else "", here))
    return tuple((radio, tuple(cars)) for radio, cars in sorted(by_radio.items()))


def _when_off(words: str) -> WhenOff | None:
    wanted = words.strip().casefold()
    if not wanted:
        return None
    short = {"stopped": WhenOff.STOPPED, "braked": WhenOff.STOPPED, "late": WhenOff.LATE}
    meant = {**short, **{one.value: one for one in WhenOff}}
    if wanted not in meant:
        raise BadInput(
            f"“{words}” is not what a motor does with the transmitter off.",
            f"Say {', '.join(one.value for one in WhenOff)}.",
        )
    return meant[wanted]


def _metres(text: str) -> float | None:
    if not text.strip():
        return None
    metres = read_quantity(text, Kind.LENGTH, default_unit="m", where="range")
    if not 1.0 <= metres <= 2000.0:
        raise BadInput(f"A range walk of {metres:g} m is none.", "Give the metres you walked: 60 m.")
    return metres


def _volts(text: str) -> float | None:
    if not text.strip():
        return None
    volts = read_quantity(text, Kind.VOLTAGE, default_unit="V", where="transmitter batteries")
    if not 1.0 <= volts <= 30.0:
        raise BadInput(
            f"{volts:g} V is no transmitter’s.", "Give the volts of all its batteries together: 5.6 V."
        )
    return volts


def _percent(name: str, text: str) -> float | None:
    if not text.strip():
        return None
    value = read_number(text.strip().removesuffix("%").strip(), where=name)
    if not 5.0 <= value <= 100.0:
        raise BadInput(f"{name}: {value:g} % is no limit a learner drives with.", "Give 5 to 100 %.")
    return value
