"""The bands of a ladder: what they hold, and how near a few rungs come to all of them.

Authority: laws. Every guess driven up and down at every rung is the measure for the short work.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pytest

from snugfast.core.figures import Figure
from snugfast.physics.powertrain.powertrain import Car
from snugfast.physics.powertrain.runs import Driving, Run, drive
from snugfast.physics.powertrain.tyres import rolling_radius
from snugfast.physics.study.gearing import Climb, Question, Rung, by_ratio, final_drive
from snugfast.physics.study.knobs import Knob
from snugfast.physics.study.rung_slopes import NUDGE, numbers_turned
from snugfast.usecases.gearing.bands import BandsAlong, anchors
from snugfast.usecases.gearing.rungs import RungBands, charge_lasts_min
from snugfast.usecases.gearing.said import Asked, GearingSaid, read_question
from snugfast.usecases.gearing.study import GearingStudy, gearing_study
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.tables import COVERS_NINE_IN_TEN
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with workshop_in_memory() as (made, _):
        with_truck(made)
        yield made


@pytest.fixture(scope="module")
def study(workshop: Workshop) -> GearingStudy:
    return gearing_study(workshop, GearingSaid("Bramble", pinions="11-19", ambient="22 °C"))


def ends(figure: Figure | None) -> tuple[float, float, float]:
    assert figure is not None and figure.low is not None and figure.high is not None
    return figure.low, figure.value, figure.high


def test_every_rung_has_a_band_on_speed_heat_and_run_time(study: GearingStudy) -> None:
    """Law: the middle is the ladder's own figure, and lies inside a band that is wider than nothing."""
    for rung in study.rungs:
        bands = rung.bands
        assert rung.settled is not None
        held = {
            rung.top_speed_km_h: bands.top_speed,
            rung.peak.can_degC: bands.peak.can,
            rung.peak.controller_degC: bands.peak.controller,
            rung.settled.can_degC: bands.settled.can,
            rung.settled.winding_degC: bands.settled.winding,
        }
        for value, band in held.items():
            low, middle, high = ends(band)
            assert middle == value
            assert study.air_degC < low < middle < high or band is bands.top_speed
        low, middle, high = ends(bands.run_time)
        assert low <= rung.run_min == middle <= high
        assert low < high


def test_top_speed_is_as_sure_as_rpm_per_volt_and_tyre_growth(
    workshop: Workshop, study: GearingStudy
) -> None:
    """Law: top speed goes with rpm per volt, 3 %, with tyre growth, a half, and with little else.

    With nothing in its way v = c·r(v). A growth that is a share ε more makes r/r₀ − 1 that share more, and a
    larger tyre at its higher speed grows again: d ln v = ε·(1 − r₀/r)/(1 − d ln r/d ln v).
    """
    tyre = read_question(workshop, GearingSaid("Bramble", pinions="11-19", ambient="22 °C")).question.car.tyre
    for rung in study.rungs:
        low, middle, high = ends(rung.bands.top_speed)
        radius_m, slope_s = rolling_radius(tyre, middle / 3.6)
        of_growth = (1.0 - tyre.radius_m / radius_m) / (1.0 - slope_s * middle / 3.6 / radius_m)
        spread = math.hypot(0.03, 0.5 * of_growth)
        assert 0.95 < math.log(high / middle) / (1.645 * spread) < 1.25
        assert low * high == pytest.approx(middle**2)


def test_a_run_that_heat_may_end_has_heat_at_the_low_end(study: GearingStudy) -> None:
    """Law: today's can settles below its limit and the charge ends the run; a hotter car ends it sooner."""
    today = next(rung for rung in study.rungs if rung.is_today)
    assert today.settled is not None and today.settled.can_degC < study.limits.can_degC
    assert ends(today.bands.settled.can)[2] > study.limits.can_degC
    assert ends(today.bands.run_time)[0] < 0.5 * today.run_min


def test_a_rung_that_burns_has_no_band_on_heat(workshop: Workshop) -> None:
    made = gearing_study(workshop, GearingSaid("Bramble", style="tarmac_laps", pinions="15,26"))
    burns = made.rungs[-1]
    assert burns.settled is None
    assert burns.bands.settled.can is None
    assert burns.bands.peak.can is None
    assert ends(burns.bands.run_time)[2] < 10.0


# The short work against the full one.


@dataclass(frozen=True)
class Ladder:
    """A ladder that was climbed, with the bands of a few anchors and of all rungs."""

    asked: Asked
    question: Question
    rungs: list[Rung]
    few: list[RungBands]
    all: list[RungBands]


def climbed(workshop: Workshop, style: str, pinions: str, minutes: float, *, every: bool = True) -> Ladder:
    asked = read_question(workshop, GearingSaid("Bramble", style=style, pinions=pinions, ambient="22 °C"))
    twin = asked.twin
    pairs = [replace(twin.pair, pinion_teeth=teeth) for teeth in asked.pinions]
    ratios = list(by_ratio(pairs, twin.internal_ratio))
    question = replace(asked.question, style=replace(asked.question.style, minutes=minutes), goal_m_s=8.0)
    chosen = round(final_drive(twin.pair, twin.internal_ratio), 9)
    with Driving() as driving:
        climb = Climb(question, cars_of(question, ratios), driving)
        few = anchors(ratios, climb.settling(), chosen, question)
        assert len(few) <= 3
        short = BandsAlong(asked, question, few, driving)
        full = BandsAlong(asked, question, set(ratios), driving)
        rungs = climb.rungs()
        return Ladder(asked, question, rungs, short.of(rungs), full.of(rungs) if every else [])


def cars_of(question: Question, ratios: Sequence[float]) -> list[Car]:
    return [replace(question.car, final_drive=ratio) for ratio in ratios]


@pytest.mark.slow
@pytest.mark.parametrize("style", ["dirt_laps", pytest.param("gravel", marks=pytest.mark.soak)])
def test_bands_between_the_anchors_are_those_of_driving_every_rung(workshop: Workshop, style: str) -> None:
    """The ends of bands worked out at three rungs, against those worked out at all nine.

    Stated: top speed to 0.3 km/h, settled temperatures to a twelfth of the band's width, run time to a minute
    or a tenth of the band.
    """
    ladder = climbed(workshop, style, "11-19", 30.0)
    for few, every in zip(ladder.few, ladder.all, strict=True):
        assert ends(few.top_speed) == pytest.approx(ends(every.top_speed), abs=0.3)
        for part in ("winding", "can", "controller", "pack"):
            one, other = ends(getattr(few.settled, part)), ends(getattr(every.settled, part))
            assert one == pytest.approx(other, abs=(other[2] - other[0]) / 12.0)
        one, other = ends(few.run_time), ends(every.run_time)
        assert one == pytest.approx(other, abs=max(1.0, (other[2] - other[0]) / 10.0))


@pytest.mark.slow
def test_bands_of_a_hurried_drive_are_those_of_the_long_one(workshop: Workshop) -> None:
    """Every guess driven up and down through the whole run at every rung, against the hurried short way.

    Stated: the logarithm of a band's width to 6 % for can and winding, to 15 % for the controller, to a
    quarter for the pack (it warms in a straight line until it is empty, so that what takes its charge sooner
    also leaves it less time), and to a tenth for how long the charge lasts.
    """
    ladder = climbed(workshop, "dirt_laps", "18", 30.0, every=False)
    question, asked = ladder.question, ladder.asked
    knobs = [knob for knob in Knob if asked.twin.spreads[knob] > 0.0]
    ratios = [rung.final_drive for rung in ladder.rungs]
    entries = [
        one.entry(car)
        for both in numbers_turned(question, knobs)
        for one in both
        for car in cars_of(one, ratios)
    ]
    ran = drive(entries, for_s=question.style.minutes * 60.0)
    driven = np.array(ran, dtype=object).reshape(-1, 2, len(ratios))
    spreads = np.array([asked.twin.spreads[knob] for knob in knobs])
    air_degC = question.place.air.temperature_degC

    def wide(n: int, of: Callable[[Run], float]) -> float:
        slopes = [(math.log(of(up)) - math.log(of(down))) / (2.0 * NUDGE) for up, down in driven[:, :, n]]
        return COVERS_NINE_IN_TEN * float(np.hypot.reduce(np.array(slopes) * spreads))

    def rise(part: str) -> Callable[[Run], float]:
        return lambda run: float(getattr(run, f"top_{part}_degC")) - air_degC

    for n, bands in enumerate(ladder.few):
        for part, share in (("can", 0.06), ("winding", 0.06), ("controller", 0.15), ("pack", 0.25)):
            low, middle, _ = ends(getattr(bands.peak, part))  # the high end is cut where a part is gone
            told = math.log((middle - air_degC) / (low - air_degC))
            assert told == pytest.approx(wide(n, rise(part)), rel=share)
        charge = charge_lasts_min(question, ladder.rungs[n].run)
        told = math.log(ends(bands.run_time)[2] / charge)  # heat does not end the coolest
        assert told == pytest.approx(wide(n, lambda run: charge_lasts_min(question, run)), rel=0.1)
