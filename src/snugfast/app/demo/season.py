"""The season of the demo: on which days they went out, in what weather, who came and how it was driven.

Drawn before anything is known of what breaks, so that the same seed gives the same season whatever the tables
say. The last outing lies two days before the end.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from math import cos, exp, pi
from random import Random

from snugfast.app.demo.cast import CARS, CastCar

OUTINGS = 31
LENGTH_days = 243
SALT_DAY = 21  # number of the outing at the sea
LOAN = range(13, 18)  # outings Nettle missed, lent to a school


@dataclass(frozen=True, slots=True)
class Drive:
    """One pack's worth of driving as it truly was."""

    minutes: float
    hits: int
    ground: str


# The day before the evening that the demo opens on: nobody looked at Bramble after it.
HARD_DAY = (Drive(13, 3, "gravel"), Drive(12, 4, "gravel"), Drive(14, 2, "dirt"))


@dataclass(frozen=True, slots=True)
class Outing:
    """A day out: its weather, and each car's drives."""

    number: int
    day: date
    ambient_degC: int
    wet: str
    drives: dict[str, tuple[Drive, ...]]


def season(seed: int, last_day: date) -> tuple[Outing, ...]:
    """All outings, oldest first."""
    chance = Random(f"{seed}/season")
    first_day = last_day - timedelta(days=LENGTH_days)
    step = LENGTH_days / (OUTINGS - 1)
    days = [first_day + timedelta(days=round(n * step + chance.uniform(-2, 2))) for n in range(OUTINGS - 1)]
    return tuple(_outing(chance, number, day) for number, day in enumerate([*days, last_day]))


def _outing(chance: Random, number: int, day: date) -> Outing:
    ambient = round(_usual_degC(day) + chance.gauss(0.0, 3.0))
    wet = chance.choices(["dry", "damp", "fresh water", "mud"], [0.68, 0.12, 0.12, 0.08])[0]
    drives = {car.name: _drives(chance, car, number) for car in CARS}
    return Outing(number, day, ambient, "salt water" if number == SALT_DAY else wet, drives)


def _drives(chance: Random, car: CastCar, number: int) -> tuple[Drive, ...]:
    """How a car was driven that day; drawn for cars that stayed at home too, so that chance keeps in step."""
    comes = chance.random() < car.comes_along
    ground = "sand" if number == SALT_DAY and car.name == "Bramble" else chance.choice(car.grounds)
    drives = tuple(
        Drive(round(car.minutes * chance.uniform(0.75, 1.2)), _poisson(chance, car.hits), ground)
        for _ in range(chance.randint(*car.packs))
    )
    if car.name == "Bramble" and number == OUTINGS - 1:
        return HARD_DAY
    away = car.name == "Nettle" and number in LOAN
    return drives if comes and number >= car.joins_at and not away else ()


def _usual_degC(day: date) -> float:
    """Warmest at the end of July, as in the north."""
    return 11.0 + 10.0 * cos(2.0 * pi * (day.timetuple().tm_yday - 205) / 365.25)


def _poisson(chance: Random, mean: float) -> int:
    count, left = 0, chance.random()
    term = exp(-mean)
    while left > term and count < 60:
        left -= term
        count += 1
        term *= mean / count
    return count
