"""What a sheet is asked for, read from words."""

from __future__ import annotations

from urllib.parse import urlencode

from snugfast.core.errors import BadInput
from snugfast.core.units import Kind, in_unit, read_number, read_quantity
from snugfast.records.entries import Ground, Wet
from snugfast.records.rules import COLDEST_degC, WARMEST_degC
from snugfast.usecases.beliefs.upcoming import Until
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.shared.typed_words import read_choice, read_minutes

LONGEST_EVENING_MIN = 600.0
MOST_PACKS = 40.0


def read_asked(
    *,
    cars: tuple[str, ...] = (),
    minutes: str = "20",
    until: str = "outing",
    packs: str = "",
    wet: str = "",
    ground: str = "",
    air: str = "",
    just_ran: bool = False,
    in_field: bool = False,
    learner: bool = False,
) -> Asked:
    """The question as typed. Raises BadInput for what cannot be."""
    have = minutes_of_an_evening(minutes)
    planned = packs_planned(packs)
    return Asked(
        cars=tuple(car for car in cars if car.strip()),
        minutes=have,
        until=read_choice(until, Until, where="until"),
        packs=planned,
        wet=read_choice(wet, Wet, where="wet") if wet.strip() else None,
        ground=read_choice(ground, Ground, where="ground") if ground.strip() else None,
        air_degC=_read_air(air) if air.strip() else None,
        just_ran=just_ran,
        in_field=in_field,
        learner=learner,
    )


def minutes_of_an_evening(text: str) -> float:
    """Minutes at the bench or of running. Raises BadInput for more than an evening has."""
    have, _ = read_minutes(text)
    if not 0.0 <= have <= LONGEST_EVENING_MIN:
        raise BadInput(f"minutes: {have:g} cannot be.", f"Give 0 to {LONGEST_EVENING_MIN:g} minutes.")
    return have


def packs_planned(text: str) -> float | None:
    """How many packs each car is to run; None when nothing is said. Raises BadInput for what cannot be."""
    planned = read_number(text, where="packs") if text.strip() else None
    if planned is not None and not 0.0 < planned <= MOST_PACKS:
        raise BadInput(f"packs: {planned:g} cannot be.", f"Give a number above zero, up to {MOST_PACKS:g}.")
    return planned


def query_of(asked: Asked) -> str:
    """The question as the end of an address; read back it is the same question."""
    said: dict[str, object] = {
        "car": asked.cars,
        "minutes": f"{asked.minutes:g}",
        "until": asked.until.value,
        "packs": f"{asked.packs:g}" if asked.packs is not None else "",
        "wet": asked.wet.value if asked.wet else "",
        "ground": asked.ground.value if asked.ground else "",
        "air": f"{asked.air_degC:g} °C" if asked.air_degC is not None else "",
    }
    flags = {name: "true" for name in ("just_ran", "in_field", "learner") if getattr(asked, name)}
    return urlencode({name: value for name, value in said.items() if value} | flags, doseq=True)


def _read_air(words: str) -> float:
    kelvin = read_quantity(words, Kind.TEMPERATURE, default_unit="°C", where="air")
    air_degC = in_unit(kelvin, "°C")
    if not COLDEST_degC <= air_degC <= WARMEST_degC:
        raise BadInput(f"air: {air_degC:.0f} °C is no weather to drive in.", "Give the air like -4 °C.")
    return air_degC
