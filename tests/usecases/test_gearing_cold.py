"""Gearing with cold and aged packs: numbers that exist, cold that is counted once, less charge.

Authority: laws. The table of packs and airs is that of an audit: a limit of the controller above what the
pack could give made the car stand still, then no numbers, then a division by zero.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from snugfast.core.figures import Figure
from snugfast.physics.powertrain.road import air_density
from snugfast.usecases.gearing.said import GearingSaid, read_question
from snugfast.usecases.gearing.study import gearing_study
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.log import MeasuredSaid, draft_measured
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.pack_in_car import leads_ohm, usable_share
from tests.usecases.bench import Clock, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

AT_25 = {"as new": "6 6", "used": "9 9", "worn": "12 12", "old": "15 16"}  # mΩ
ENDS, BETWEEN = ("5 °C", "-10 °C"), ("0 °C", "-5 °C")


@pytest.fixture(scope="module")
def touring() -> Iterator[tuple[Workshop, Clock]]:
    """The touring starter with a 120 A controller, and four packs of 2S 5 Ah."""
    with workshop_in_memory() as (workshop, clock):
        keep(workshop, [draft_car(workshop, "Tour", starter(workshop, "touring-1-10-4wd-2s"))])
        for name, cells in AT_25.items():
            with_pack(workshop, name, cells)
        yield workshop, clock


def with_pack(workshop: Workshop, name: str, mohm: str, warmth: str = "25 °C") -> None:
    keep(workshop, [draft_pack(workshop, PackSaid(name=name, cells="2", capacity="5000 mAh"))])
    said = MeasuredSaid(name, resistances=mohm, warmth=warmth, instrument="meter")
    keep(workshop, draft_measured(workshop, said).entries)


def pack_ohm(workshop: Workshop, name: str) -> float:
    return read_question(workshop, GearingSaid("Tour", pack=name)).twin.car.pack.resistance_ohm


def sound(figure: Figure | None) -> bool:
    """A band of numbers that exist, in order."""
    if figure is None:
        return True
    ends = (figure.low, figure.value, figure.high)
    return all(x is not None and math.isfinite(x) for x in ends) and ends[0] <= ends[1] <= ends[2]  # type: ignore[operator]


@pytest.mark.parametrize("air", [*ENDS, *(pytest.param(air, marks=pytest.mark.soak) for air in BETWEEN)])
def test_no_pack_in_no_air_gives_a_number_that_does_not_exist(
    touring: tuple[Workshop, Clock], air: str
) -> None:
    """Law: cold and age cost speed a little at a time; the car never stands still, no band runs away."""
    speeds = []
    for pack in AT_25:
        study = gearing_study(touring[0], GearingSaid("Tour", pack=pack, ambient=air, pinions="34"))
        for rung in study.rungs:
            heats = (*vars_of(rung.bands.settled), *vars_of(rung.bands.peak))
            assert all(sound(one) for one in (rung.bands.top_speed, rung.bands.run_time, *heats)), (pack, air)
        assert study.chosen is not None
        speeds.append(study.chosen.top_speed_km_h)
        band = study.chosen.bands.top_speed
        assert band is not None and band.high is not None and band.low is not None
        assert band.high / band.low < 1.6
    assert speeds == sorted(speeds, reverse=True)
    assert speeds[-1] > 40.0


def vars_of(heats: object) -> tuple[Figure | None, ...]:
    return tuple(getattr(heats, name) for name in ("winding", "can", "controller", "pack"))


def test_a_resistance_read_cold_is_brought_to_25_degrees_before_it_is_used(
    touring: tuple[Workshop, Clock],
) -> None:
    """Against: 8 mΩ a cell read at 10 °C are 5.22 at 25 °C with 20 kJ/mol (the factor is 1.533)."""
    workshop, _ = touring
    with_pack(workshop, "read cold", "8 8", "10 °C")
    with_pack(workshop, "read mild", "8 8", "25 °C")
    assert pack_ohm(workshop, "read mild") == pytest.approx(0.016 + leads_ohm().value)
    assert pack_ohm(workshop, "read cold") == pytest.approx(0.016 / 1.533 + leads_ohm().value, rel=1e-3)


def test_a_cold_pack_gives_less_of_its_charge_and_cold_air_holds_back_more(
    touring: tuple[Workshop, Clock],
) -> None:
    """Law: charge falls with cold, rate and the climb of the resistance; density as 1/T."""
    cold, mild = (
        read_question(touring[0], GearingSaid("Tour", pack="used", ambient=air)).question
        for air in ("-5 °C", "25 °C")
    )
    assert 4.7 < mild.car.pack.capacity_Ah < 5.0
    assert cold.car.pack.capacity_Ah == pytest.approx(
        mild.car.pack.capacity_Ah * usable_share(-5.0), rel=0.02
    )
    assert usable_share(25.0, climbed=2.0) == pytest.approx(0.8)
    assert usable_share(25.0, per_hour=11.0) == pytest.approx(0.9)
    assert usable_share(25.0, per_hour=0.3) == 1.0
    assert usable_share(-30.0, climbed=9.0) == 0.5
    assert cold.place.air.density_kg_m3 / mild.place.air.density_kg_m3 == pytest.approx(298.15 / 268.15)
    assert air_density(temperature_degC=20.0) == pytest.approx(1.204, abs=5e-4)  # worked: standard air
