"""Is the motor weak? Readings at the bench against its own earlier ones, or against its label.

Each comparison has the uncertainty of the instruments that took it, and says when that is too wide to tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum
from uuid import UUID

from snugfast.core.errors import BadInput, SnugfastError
from snugfast.core.figures import Figure
from snugfast.core.units import Kind, in_unit, read_number, read_quantity
from snugfast.facts.model import Build
from snugfast.physics.leads.motor_bench import (
    combined,
    kv_spun,
    kv_without_load,
    ohm_at_20,
    spread,
    star_windings,
    torque_left,
)
from snugfast.records.entries import Measured, PartFitted, Reading, Trial
from snugfast.records.ledger import CarRecord
from snugfast.records.moments import read_moment
from snugfast.records.standing import standing
from snugfast.usecases.leads.tables import OF_BUILD, origin, row, size_of
from snugfast.usecases.mechanics.tables import the_number
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.citing import Cited, cited, rests_on, tell_figure
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.guides import Guide, guide
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.build_read import BuildRead
from snugfast.usecases.twin.motor import motor_of
from snugfast.usecases.twin.of_car import pack_of_build

PAIRS = ("A–B", "B–C", "C–A")
OPPOSITE = ("C", "A", "B")  # the winding that a pair leaves out
COVERAGE = 2.0  # standard uncertainties told, about 95 %
WEAK_FROM = 0.03
DRAWS_MORE_FROM = 0.15
ODD_FROM = 0.05
ALIKE_V = 0.1
MOST_BRUSHLESS_ohm = 0.2
GUIDES = ("motor_hand", "motor_drill", "motor_no_load")
CAUTIONS = ("power-off", "hot-parts", "local-rules")


class Motor(Enum):
    """What the readings say of a motor."""

    LIKE_BEFORE = "like before"
    WEAK = "weak"
    SUSPECT = "suspect"
    CANNOT_TELL = "cannot tell"


@dataclass(frozen=True, slots=True)
class MotorSaid:
    """Readings of a motor as typed; empty means not taken."""

    car: str
    volts: str = ""  # without load
    rpm: str = ""
    no_load: str = ""  # amperes
    drill_rpm: str = ""  # “1000”, or “label 1000”
    pairs: str = ""  # a.c. volts between the pairs of wires
    ohms: str = ""  # four-wire milliohms between the pairs
    warm: str = ""  # winding, °C
    baseline: bool = False
    when: str = ""
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class MotorLine:
    """One figure of a motor, what it is held against, and what that says."""

    name: str
    now: Figure
    then: Figure | None
    sentence: str
    says: Motor


@dataclass(frozen=True, slots=True)
class MotorBench:
    """What the readings say."""

    car: str
    verdict: Motor
    sentence: str
    lines: tuple[MotorLine, ...]
    held_against: str
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...]


@dataclass(frozen=True, slots=True)
class MotorDraft:
    """An entry ready to be kept, and what it would say."""

    draft: Draft
    result: MotorBench


@dataclass(frozen=True, slots=True)
class _Read:
    """Readings in SI, of a person or of the journal. None where not taken."""

    volts_V: float | None = None
    rpm: float | None = None
    no_load_A: float | None = None
    drill_rpm: float | None = None
    drill_is_label: bool = False
    pairs_V: tuple[float, ...] = ()
    ohms: tuple[float, ...] = ()
    warm_degC: float = 20.0


@dataclass(frozen=True, slots=True)
class PastMotor:
    """One set of readings of the journal."""

    at: datetime
    told: str
    is_baseline: bool


def draft_motor(workshop: Workshop, said: MotorSaid) -> MotorDraft:
    """The entry of readings at the bench, and what they say of the motor.

    Raises BadInput for words that are no readings, and where nothing was read that says anything.
    """
    car, build = car_and_build(workshop, said.car)
    read = _read(said, build)
    fact = Measured(
        car=car.id,
        trial=Trial.MOTOR_BENCH,
        spot="",
        readings=tuple(_readings(read)),
        given={"drill_is_label": read.drill_is_label, "warm_degC": read.warm_degC},
        is_baseline=said.baseline,
    )
    moment = read_moment(said.when, now=workshop.now(), zone=workshop.zone)
    entry = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=said.id)
    before = None if said.baseline else _baseline(workshop, car, moment.at)
    result = _judge(workshop, car, build, read, before)
    return MotorDraft(Draft.told_now(workshop, (entry,)), result)


def past_motor(workshop: Workshop, car_name: str) -> tuple[PastMotor, ...]:
    """What was read of a motor before, oldest first."""
    car, _ = car_and_build(workshop, car_name)
    return tuple(
        PastMotor(at, "; ".join(reading.typed for reading in fact.readings), fact.is_baseline)
        for at, fact in _past(workshop, car)
    )


def motor_guides(workshop: Workshop) -> tuple[Guide, ...]:
    """The ways to look at a motor, the simplest first."""
    return tuple(guide(workshop.facts, "electrics", key) for key in GUIDES)


# Reading.


def _read(said: MotorSaid, build: Build) -> _Read:
    brushed = build.traits.get("motor", "").startswith("brushed")
    ohms = _list(said.ohms, Kind.RESISTANCE, "mohm", "ohms", 1 if brushed else 3)
    if not brushed and any(ohm > MOST_BRUSHLESS_ohm for ohm in ohms):
        raise BadInput(
            f"A brushless winding of {max(ohms):.2g} Ω is none: a two-wire meter reads its own leads.",
            "Send 1 to 5 A through the pair and read the millivolts on it: millivolts over amperes.",
        )
    drill, label = said.drill_rpm.strip(), False
    if drill.casefold().startswith("label"):
        drill, label = drill[len("label") :].strip(), True
    read = _Read(
        volts_V=_one(said.volts, Kind.VOLTAGE, "V", "volts", 1.0, 60.0),
        rpm=_rpm(said.rpm, "rpm", 500.0, 120_000.0),
        no_load_A=_one(said.no_load, Kind.CURRENT, "A", "no-load current", 0.05, 60.0),
        drill_rpm=_rpm(drill, "drill", 100.0, 5000.0),
        drill_is_label=label,
        pairs_V=_list(said.pairs, Kind.VOLTAGE, "V", "pairs", 1 if brushed else 3),
        ohms=ohms,
        warm_degC=_warm(said.warm),
    )
    if read.rpm is not None and read.volts_V is None:
        raise BadInput("Rpm without volts say nothing.", "Give the volts it ran on too.")
    if not (read.pairs_V or read.ohms or read.no_load_A or (read.volts_V and read.rpm)):
        raise BadInput(
            "Nothing was read that says anything of a motor.",
            "Give volts and rpm without load, its no-load current, or volts or milliohms between the wires.",
        )
    return read


def _one(words: str, kind: Kind, unit: str, where: str, least: float, most: float) -> float | None:
    if not words.strip():
        return None
    value = read_quantity(words, kind, default_unit=unit, where=where)
    if not least <= value <= most:
        raise BadInput(f"{where}: {words.strip()} cannot be.", f"It is {least:g} to {most:g} {unit}.")
    return value


def _rpm(words: str, where: str, least: float, most: float) -> float | None:
    clean = words.strip().removesuffix("rpm").replace(" ", "")
    if not clean:
        return None
    value = read_number(clean, where=where)
    if not least <= value <= most:
        raise BadInput(f"{where}: {words.strip()} cannot be.", f"It is {least:g} to {most:g} rpm.")
    return value


def _list(words: str, kind: Kind, unit: str, where: str, count: int) -> tuple[float, ...]:
    parts = [part for part in words.replace(";", ",").split(",") if part.strip()]
    if not parts:
        return ()
    if len(parts) != count:
        each = "one for each pair of wires: 0.270, 0.268, 0.271" if count == 3 else "one"
        raise BadInput(f"{where}: {len(parts)} readings.", f"Give {count}, {each}.")
    values = tuple(read_quantity(part, kind, default_unit=unit, where=where) for part in parts)
    if min(values) <= 0.0:
        raise BadInput(f"{where}: a reading of {min(values):g} cannot be.", "Read it again.")
    return values


def _warm(words: str) -> float:
    if not words.strip():
        return 20.0
    degC = in_unit(read_quantity(words, Kind.TEMPERATURE, default_unit="°C", where="warm"), "°C")
    if not -20.0 <= degC <= 150.0:
        raise BadInput(f"A winding of {degC:g} °C is none to measure.", "Let it cool to the air.")
    return degC


def _readings(read: _Read) -> Sequence[Reading]:
    found = [
        Reading(spot, value, unit, typed=f"{spot} {value * factor:.4g} {shown}")
        for spot, value, unit, factor, shown in (
            ("volts", read.volts_V, "V", 1.0, "V"),
            ("speed", read.rpm, "rpm", 1.0, "rpm"),
            ("no-load current", read.no_load_A, "A", 1.0, "A"),
            ("drill", read.drill_rpm, "rpm", 1.0, "rpm"),
        )
        if value is not None
    ]
    for pair, value in zip(PAIRS, read.pairs_V, strict=False):
        found.append(Reading(f"volts {pair}", value, "V", typed=f"{pair} {value * 1e3:.4g} mV"))
    for pair, value in zip(PAIRS, read.ohms, strict=False):
        found.append(Reading(f"ohms {pair}", value, "Ω", typed=f"{pair} {value * 1e3:.4g} mΩ"))
    return found


def _from_journal(fact: Measured) -> _Read:
    value = {reading.spot: reading.value for reading in fact.readings}
    return _Read(
        volts_V=value.get("volts"),
        rpm=value.get("speed"),
        no_load_A=value.get("no-load current"),
        drill_rpm=value.get("drill"),
        drill_is_label=bool(fact.given.get("drill_is_label")),
        pairs_V=tuple(value[f"volts {pair}"] for pair in PAIRS if f"volts {pair}" in value),
        ohms=tuple(value[f"ohms {pair}"] for pair in PAIRS if f"ohms {pair}" in value),
        warm_degC=float(fact.given.get("warm_degC", 20.0)),
    )


def _past(workshop: Workshop, car: CarRecord) -> list[tuple[datetime, Measured]]:
    with workshop.store.reading() as reads:
        stands = standing(reads.entries_of([car.id])).entries
    motors = {place.key for place in workshop.build(car.build).of_role("motor")}
    found: list[tuple[datetime, Measured]] = []
    for entry in stands:
        match entry.fact:
            case Measured(trial=Trial.MOTOR_BENCH) as fact if fact.car == car.id:
                found.append((entry.happened_at, fact))
            case PartFitted(place=place) if place in motors:
                found.clear()  # another motor
            case _:
                pass
    return found


def _baseline(workshop: Workshop, car: CarRecord, at: datetime) -> tuple[datetime, _Read] | None:
    earlier = [one for one in _past(workshop, car) if one[0] < at]
    marked = [one for one in earlier if one[1].is_baseline]
    found = marked[-1] if marked else earlier[0] if earlier else None
    return None if found is None else (found[0], _from_journal(found[1]))


# Judging.


def _judge(
    workshop: Workshop, car: CarRecord, build: Build, read: _Read, before: tuple[datetime, _Read] | None
) -> MotorBench:
    ohm = _ohm(build, read)
    then = before[1] if before else None
    lines = [
        line
        for line in (
            *(_kv_line(build, name, now, then, ohm) for name, now in _kvs(read, ohm)),
            _no_load_line(read, then),
            _pairs_line(read),
            *_ohm_lines(read, then),
        )
        if line is not None
    ]
    verdict = _worst([line.says for line in lines])
    held = f"Held against your readings of {before[0]:%Y-%m-%d}." if before else _first(build)
    found = MotorBench(
        car=car.name,
        verdict=verdict,
        sentence=_sentence(verdict, lines, before is not None),
        lines=tuple(lines),
        held_against=held,
        cautions=cautions_of(workshop.facts, CAUTIONS),
        sources=(),
    )
    return replace(found, sources=cited(workshop.facts, found))


def _ohm(build: Build, read: _Read) -> float:
    """A pair's resistance: read, or the car model's guess, or none where that lacks a size."""
    if read.ohms:
        return sum(read.ohms) / len(read.ohms)
    try:
        return motor_of(BuildRead(build), pack_of_build(build).cells)[0].resistance_ohm
    except SnugfastError:
        return 0.0


def _share(key: str, value: float, *, same: bool) -> float:
    """The relative uncertainty of a reading: its scatter where its own error cancels, else its error."""
    cells = row("instruments", key=key)
    return max(the_number(cells, "scatter" if same else "error"), the_number(cells, "least") / abs(value))


def _kvs(read: _Read, ohm: float) -> list[tuple[str, tuple[float, float, float]]]:
    """Rpm per volt by each way there are readings for: value, uncertainty against others, against itself."""
    found = []
    if read.volts_V is not None and read.rpm is not None:
        kv = kv_without_load(rpm=read.rpm, volts_V=read.volts_V, current_A=read.no_load_A or 0.0, ohm=ohm)
        off, scatter = (
            combined([_share("rpm", read.rpm, same=same), _share("volts", read.volts_V, same=same)])
            for same in (False, True)
        )
        found.append(("rpm per volt, without load", (kv, off, scatter)))
    if read.drill_rpm is not None and read.pairs_V:
        mean_V = sum(read.pairs_V) / len(read.pairs_V)
        drill = "drill label rpm" if read.drill_is_label else "drill rpm"
        off, scatter = (
            combined([_share(drill, read.drill_rpm, same=same), _share("pair volts", mean_V, same=same)])
            for same in (False, True)
        )
        found.append(("rpm per volt, spun", (kv_spun(rpm=read.drill_rpm, rms_V=mean_V), off, scatter)))
    return found


def _kv_line(
    build: Build,
    name: str,
    now: tuple[float, float, float],
    before: _Read | None,
    ohm: float,
) -> MotorLine:
    kv, off, scatter = now
    label = size_of(build, "motor", "kv_rpm_V")
    earlier = dict(_kvs(before, ohm)) if before is not None else {}
    origins = (*rests_on(kv_without_load, kv_spun, combined), origin("instruments"))
    if name in earlier:
        then, wide, against = earlier[name][0], combined([scatter, earlier[name][2]]), "then"
        figure: Figure | None = _kv_figure(then, earlier[name][1])
    elif label is not None:
        then, against = label[1], "its label"
        wide = combined([off, the_number(row("instruments", key="label kv"), "error") / COVERAGE])
        figure = Figure(then, "rpm/V", origins=(OF_BUILD,))
    else:
        now_figure = replace(_kv_figure(kv, off), origins=origins)
        return MotorLine(name, now_figure, None, "Nothing to hold it against yet.", Motor.CANNOT_TELL)
    told = COVERAGE * wide
    ratio = kv / then
    percent = f"{abs(ratio - 1.0) * 100:.0f} %"
    band = f"±{told * 100:.0f} %"
    if ratio - 1.0 > max(told, WEAK_FROM):
        less = (1.0 - torque_left(kv_now=kv, kv_then=then)) * 100
        sentence = (
            f"{percent} above {against}, surely ({band}): weak magnets, or more timing. "
            f"About {less:.0f} % less torque per ampere: it draws more for the same push and runs hotter."
        )
        says = Motor.WEAK if against == "then" else Motor.SUSPECT
    elif 1.0 - ratio > max(told, WEAK_FROM):
        sentence = f"{percent} below {against}, surely ({band}): something drags, or a winding is bad."
        says = Motor.SUSPECT
    else:
        sentence = (
            f"{percent} from {against}; these readings are good to {band}, so a smaller loss can’t be seen."
        )
        says = Motor.LIKE_BEFORE if against == "then" else Motor.CANNOT_TELL
    return MotorLine(name, replace(_kv_figure(kv, off), origins=origins), figure, sentence, says)


def _kv_figure(kv: float, off: float) -> Figure:
    wide = COVERAGE * off * kv
    return Figure(round(kv, -1), "rpm/V", low=round(kv - wide, -1), high=round(kv + wide, -1))


def _no_load_line(read: _Read, before: _Read | None) -> MotorLine | None:
    if read.no_load_A is None:
        return None
    off = COVERAGE * _share("current", read.no_load_A, same=False) * read.no_load_A
    now = Figure(
        read.no_load_A,
        "A",
        low=read.no_load_A - off,
        high=read.no_load_A + off,
        origins=(origin("instruments"),),
    )
    name = "current without load"
    if before is None or before.no_load_A is None:
        return MotorLine(name, now, None, "Nothing to hold it against yet.", Motor.CANNOT_TELL)
    then = Figure(before.no_load_A, "A")
    if read.volts_V and before.volts_V and abs(read.volts_V / before.volts_V - 1.0) > ALIKE_V:
        words = f"Then it ran on {before.volts_V:g} V, now on {read.volts_V:g} V: not to be compared."
        return MotorLine(name, now, then, words, Motor.CANNOT_TELL)
    told = COVERAGE * combined(
        [_share("current", value, same=True) for value in (read.no_load_A, before.no_load_A)]
    )
    ratio = read.no_load_A / before.no_load_A
    band = f"±{told * 100:.0f} %"
    if ratio - 1.0 > max(told, DRAWS_MORE_FROM):
        words = (
            f"{(ratio - 1.0) * 100:.0f} % more than then ({band}): a bearing, something that drags, weak "
            "magnets, or more timing."
        )
        return MotorLine(name, now, then, words, Motor.SUSPECT)
    words = f"{abs(ratio - 1.0) * 100:.0f} % from then, and readings are good to {band}."
    return MotorLine(name, now, then, words, Motor.LIKE_BEFORE)


def _pairs_line(read: _Read) -> MotorLine | None:
    if len(read.pairs_V) < 3:
        return None
    return _alike("the three pairs, spun", read.pairs_V, "pair volts", "V")


def _ohm_lines(read: _Read, before: _Read | None) -> list[MotorLine]:
    if not read.ohms:
        return []
    mean = sum(read.ohms) / len(read.ohms)
    now_ohm = ohm_at_20(ohm=mean, degC=read.warm_degC)
    off = COVERAGE * _share("ohms", mean, same=False) * now_ohm
    origins = (*rests_on(ohm_at_20), origin("instruments"))
    now = Figure(now_ohm * 1e3, "mΩ", low=(now_ohm - off) * 1e3, high=(now_ohm + off) * 1e3, origins=origins)
    found = []
    if before is not None and before.ohms:
        earlier = sum(before.ohms) / len(before.ohms)
        then_ohm = ohm_at_20(ohm=earlier, degC=before.warm_degC)
        told = COVERAGE * combined([_share("ohms", value, same=True) for value in (mean, earlier)])
        ratio = now_ohm / then_ohm
        changed = abs(ratio - 1.0) > max(told, ODD_FROM)
        words = f"{abs(ratio - 1.0) * 100:.0f} % {'more' if ratio > 1.0 else 'less'} than then at 20 °C, "
        words += f"good to ±{told * 100:.0f} %."
        if changed:
            words += " A joint or a connector, where more; a shorted winding, where less."
        says = Motor.SUSPECT if changed else Motor.LIKE_BEFORE
        found.append(MotorLine("winding", now, Figure(then_ohm * 1e3, "mΩ"), words, says))
    else:
        found.append(MotorLine("winding", now, None, "Nothing to hold it against yet.", Motor.CANNOT_TELL))
    if len(read.ohms) == 3:
        found.append(_alike("the three windings", read.ohms, "ohms", "Ω"))
    return found


def _alike(name: str, values: Sequence[float], key: str, unit: str) -> MotorLine:
    """Whether three readings that should be alike are; the drill's speed does not come into it."""
    apart = spread(values)
    told = COVERAGE * _share(key, min(values), same=True)
    figure = Figure(apart * 100, "% apart", origins=(*rests_on(spread), origin("instruments")))
    limit = max(2.0 * told, ODD_FROM)
    if apart <= limit:
        words = f"{apart * 100:.0f} % apart, and readings scatter by ±{told * 100:.0f} %: alike."
        return MotorLine(name, figure, None, words, Motor.LIKE_BEFORE)
    mean = sum(values) / len(values)
    if unit == "Ω":
        windings = star_windings(ab_ohm=values[0], bc_ohm=values[1], ca_ohm=values[2])
        middle = sorted(windings)[1]
        odd = max(range(3), key=lambda n: abs(windings[n] - middle))
        words = (
            f"{apart * 100:.0f} % apart: winding {'ABC'[odd]} is the odd one, or its wire or connector is."
        )
    else:
        odd = max(range(3), key=lambda n: abs(values[n] - mean))
        words = f"{apart * 100:.0f} % apart: {PAIRS[odd]} is the odd pair: a bad winding, wire or connector."
    return MotorLine(name, figure, None, words, Motor.SUSPECT)


def _worst(says: Sequence[Motor]) -> Motor:
    for one in (Motor.WEAK, Motor.SUSPECT, Motor.LIKE_BEFORE):
        if one in says:
            return one
    return Motor.CANNOT_TELL


def _sentence(verdict: Motor, lines: Sequence[MotorLine], has_baseline: bool) -> str:
    match verdict:
        case Motor.WEAK:
            return "Yes, it is weak: its magnets hold less than they did."
        case Motor.SUSPECT:
            names = ", ".join(line.name for line in lines if line.says is Motor.SUSPECT)
            return f"Something is wrong with it: {names}."
        case Motor.LIKE_BEFORE if has_baseline:
            return "Not weak as far as these readings can see: like before."
        case Motor.LIKE_BEFORE:
            return "Its windings are alike. Whether it is weak, only a second reading later can tell."
        case _:
            return "These readings cannot tell. Save them: the next ones are held against them."


def _first(build: Build) -> str:
    label = size_of(build, "motor", "kv_rpm_V")
    if label is None:
        return "The first readings of this motor: later ones are held against them."
    return f"Held against the label ({label[1]:g} rpm/V), good to 10 % at best; later readings against these."


def told_lines(found: MotorBench) -> tuple[str, ...]:
    """The answer as lines for any door."""
    return (
        found.sentence,
        *(
            f"{line.name}: {tell_figure(line.now)}"
            f"{f', then {tell_figure(line.then)}' if line.then is not None else ''}. {line.sentence}"
            for line in found.lines
        ),
        found.held_against,
    )
