"""What a person asks about gearing, as typed, read into the question that the sums work on."""

from __future__ import annotations

from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput
from snugfast.core.units import Kind, in_unit, read_number, read_quantity
from snugfast.facts.model import Build
from snugfast.physics.study.gearing import Question
from snugfast.physics.study.knobs import turned
from snugfast.records.ledger import CarRecord
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.chosen_pack import USUAL_AIR_degC, chosen_pack
from snugfast.usecases.twin.fit_kept import KeptFit, kept_fit
from snugfast.usecases.twin.of_car import Twin, twin_of
from snugfast.usecases.twin.other_tyres import on_tyres

COLDEST_degC, WARMEST_degC = -30.0, 50.0
FEWEST_TEETH, MOST_TEETH = 5, 200


@dataclass(frozen=True, slots=True)
class GearingSaid:
    """A gearing question as typed. Empty means not said: today's gears, the usual style, 25 °C."""

    car: str
    style: str = ""
    ground: str = ""
    pinions: str = ""  # “12-20” or “13, 15, 17”
    spurs: str = ""
    tyre: str = ""
    ambient: str = ""
    pack: str = ""
    to: str = ""  # the speed whose time is wanted
    internal: str = ""  # turns of the spur gear for one of a wheel


@dataclass(frozen=True, slots=True)
class Asked:
    """A question read: the car's twin as it is driven, the teeth to try, and the words for a door."""

    car: CarRecord
    build: Build
    twin: Twin
    question: Question
    ground: str
    pinions: tuple[int, ...]
    spurs: tuple[int, ...]
    tyre_m: float
    other_tyres: bool
    fit: KeptFit | None
    ambient_said: bool


def read_question(workshop: Workshop, said: GearingSaid) -> Asked:
    """What is asked. Raises BadInput for words that cannot be read and builds that lack a size."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        car = car_called(ledger, said.car)
        build = workshop.build(car.build)
        pack = chosen_pack(reads, ledger, car, build, said.pack)
        fit = kept_fit(reads, car.id)
    tyre_m = _tyre(said.tyre)
    twin = twin_of(build, pack, internal=_internal(said.internal))
    style = tables.style(said.style.strip() or twin.kind.style)
    ground = _ground(said.ground, style.grounds[0])
    air_degC, ambient_said = _air(said.ambient)
    question = replace(twin.driven(style, ground=ground, air_degC=air_degC), goal_m_s=_goal(said.to))
    if tyre_m is not None:
        question = replace(question, car=on_tyres(twin, tyre_m, question.car))
    if fit is not None:
        factors = fit.learned.on(style.key).factors
        twin = replace(twin, car=turned(replace(question, car=twin.car), factors).car)
        question = turned(question, factors)
    pinions = _teeth(said.pinions, "pinions") or _around(twin)
    spurs = _teeth(said.spurs, "spurs") or (twin.pair.spur_teeth,)
    return Asked(
        car=car,
        build=build,
        twin=twin,
        question=question,
        ground=ground,
        pinions=pinions,
        spurs=spurs,
        tyre_m=tyre_m or twin.tyre_m,
        other_tyres=tyre_m is not None and abs(tyre_m - twin.tyre_m) > 1e-6,
        fit=fit,
        ambient_said=ambient_said,
    )


# Words.


def _teeth(words: str, where: str) -> tuple[int, ...]:
    """“12-20” or “13, 15, 17” as teeth, in order, none twice."""
    counts: set[int] = set()
    for part in words.replace("–", "-").replace(" to ", "-").split(","):
        if not part.strip():
            continue
        ends = [_count(end, where) for end in part.split("-")]
        if len(ends) > 2 or ends[0] > ends[-1]:
            raise BadInput(f"{where}: “{part.strip()}” is no run of teeth.", "Write 12-20, or 13, 15, 17.")
        counts.update(range(ends[0], ends[-1] + 1))
    return tuple(sorted(counts))


def _count(words: str, where: str) -> int:
    number = read_number(words, where=where)
    if number != int(number) or not FEWEST_TEETH <= number <= MOST_TEETH:
        raise BadInput(
            f"{where}: a gear of {words.strip()} teeth cannot be.",
            f"Write whole numbers from {FEWEST_TEETH} to {MOST_TEETH}.",
        )
    return int(number)


def _around(twin: Twin) -> tuple[int, ...]:
    """Four teeth either way, or a fifth of the pinion where that is more."""
    teeth = twin.pair.pinion_teeth
    reach = max(4, round(teeth / 5))
    return tuple(range(max(FEWEST_TEETH, teeth - reach), teeth + reach + 1))


def _tyre(words: str) -> float | None:
    return read_quantity(words, Kind.LENGTH, default_unit="mm", where="tyre") if words.strip() else None


def _internal(words: str) -> float | None:
    if not words.strip():
        return None
    ratio = read_number(words, where="internal")
    if not 0.5 <= ratio <= 100.0:
        raise BadInput(
            f"A spur gear does not turn {ratio:g} times for one turn of a wheel.", "Count it again."
        )
    return ratio


def _ground(words: str, usual: str) -> str:
    key = words.strip().replace(" ", "_") or usual
    tables.ground(key)
    return key


def _air(words: str) -> tuple[float, bool]:
    if not words.strip():
        return USUAL_AIR_degC, False
    kelvin = read_quantity(words, Kind.TEMPERATURE, default_unit="°C", where="ambient")
    air_degC = in_unit(kelvin, "°C")
    if not COLDEST_degC <= air_degC <= WARMEST_degC:
        raise BadInput(
            f"The car model was not made for air of {air_degC:g} °C.",
            f"Give {COLDEST_degC:g} to {WARMEST_degC:g} °C.",
        )
    return air_degC, True


def _goal(words: str) -> float | None:
    return read_speed(words, "to") if words.strip() else None


def read_speed(words: str, where: str) -> float:
    """A speed in m/s; km/h when no unit was typed. Raises BadInput for one no such car has."""
    speed_m_s = read_quantity(words, Kind.SPEED, default_unit="km/h", where=where)
    if not 0.0 < speed_m_s <= 100.0:
        raise BadInput(f"{where}: {words.strip()} is no speed of such a car.", "Write it like 30 km/h.")
    return speed_m_s
