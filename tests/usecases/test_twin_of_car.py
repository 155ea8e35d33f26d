"""The twin that is made from a build: what is read, what is guessed, what is refused."""

from __future__ import annotations

from dataclasses import replace

import pytest

from snugfast.core.errors import BadInput, NotKnown, SnugfastError
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.physics.study.gearing import FanState
from snugfast.physics.study.knobs import Knob
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.of_car import pack_of_build, twin_of
from snugfast.usecases.twin.pack_in_car import PackChosen
from tests.usecases.bench import TRUCK, facts

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

LIPO = PackChosen("Ember", "lithium-polymer", 3, 5.0)


def changed(build: Build, role: str, **sizes: str | float | None) -> Build:
    """The build with sizes of a role set, or left out where None."""

    def place_with(place: object) -> object:
        if place.role != role:  # type: ignore[attr-defined]
            return place
        merged = {**place.sizes, **sizes}  # type: ignore[attr-defined]
        return replace(place, sizes={k: v for k, v in merged.items() if v is not None})  # type: ignore[type-var]

    return replace(build, places=tuple(place_with(place) for place in build.places))  # type: ignore[arg-type]


def truck() -> Build:
    return facts().starters[TRUCK]


@pytest.mark.parametrize("key", list(facts().starters))
def test_every_starter_build_has_a_twin(key: str) -> None:
    build = facts().starters[key]
    pack = pack_of_build(build)
    if pack.chemistry != "lithium-polymer":
        pack = replace(LIPO, cells=2)
    twin = twin_of(build, pack)
    assert 5.0 < twin.car.final_drive < 80.0
    assert all(one.figure.origins for one in twin.numbers)


def test_a_larger_can_than_the_tables_have_is_scaled_and_says_so() -> None:
    build = facts().starters["truck-1-5-4wd-8s"]
    twin = twin_of(build, pack_of_build(build))
    assert twin.car.pack.series_cells == 8  # two packs of four in series
    assert any("scaled from 42 × 110" in note for note in twin.notes)


def test_what_only_the_label_tells_is_a_guess_with_a_band() -> None:
    told = {one.name: one for one in twin_of(truck(), LIPO).numbers}
    assert told["winding resistance"].estimated
    assert not told["rpm per volt (kV)"].estimated
    untold = {one.name: one for one in twin_of(changed(truck(), "motor", kv_rpm_V=None), LIPO).numbers}
    figure = untold["rpm per volt (kV)"].figure
    assert untold["rpm per volt (kV)"].estimated
    assert figure.low is not None and figure.high is not None and figure.low < 2700.0 < figure.high


def test_measured_cells_go_before_the_guess() -> None:
    measured = replace(LIPO, cell_ohm=(0.004, 0.004, 0.005), measured_with="charger")
    leads = 0.004
    assert twin_of(truck(), measured).car.pack.resistance_ohm == pytest.approx(0.013 + leads)
    band = pack_tables().band("resistance_of_cell", "milliohm_times_ampere_hour")
    assert twin_of(truck(), LIPO).car.pack.resistance_ohm == pytest.approx(3 * band.likely * 1e-3 / 5 + leads)


def test_the_inner_ratio_is_counted_from_bevel_gears_when_not_said() -> None:
    counted = twin_of(changed(truck(), "spur", internal_ratio=None), LIPO)
    assert counted.internal_ratio == pytest.approx(43 / 13)


@pytest.mark.parametrize(
    ("role", "sizes", "says"),
    [
        ("tyre", {"outer_mm": None}, "how large the tyres are"),
        ("motor", {"can_mm": None}, "how wide the motor can is"),
        ("motor", {"can_mm": 400.0}, "outside what the car model can guess"),
        ("controller", {"current_A": None}, "what current the ESC"),
        ("pinion", {"teeth_count": None}, "how many teeth"),
    ],
)
def test_an_impossible_build_gets_a_clear_sentence(
    role: str, sizes: dict[str, float | None], says: str
) -> None:
    with pytest.raises(SnugfastError, match=says) as refused:
        twin_of(changed(truck(), role, **sizes), LIPO)
    assert refused.value.way_out


def test_more_cells_than_the_controller_is_made_for_are_refused() -> None:
    with pytest.raises(BadInput, match="made for 3 cells"):
        twin_of(truck(), replace(LIPO, cells=4))


@pytest.mark.parametrize(
    ("chemistry", "full_V", "half_V", "empty_V", "cutoff_V"),
    [
        ("lithium-polymer", 4.20, (3.7, 3.9), 3.0, 3.2),
        ("high-voltage lithium", 4.35, (3.75, 3.95), 3.0, 3.2),
        ("lithium iron phosphate", 3.60, (3.28, 3.33), 2.0, 2.8),
    ],
)
def test_each_kind_of_cell_has_a_curve_and_a_cut_off_of_its_own(
    chemistry: str, full_V: float, half_V: tuple[float, float], empty_V: float, cutoff_V: float
) -> None:
    """*Practice*: full voltages of labels, and 3.3 V at rest for lithium iron phosphate."""
    made = twin_of(truck(), replace(LIPO, chemistry=chemistry))
    curve = made.car.pack.curve
    assert curve.voltage_V(1.0) == pytest.approx(full_V)
    assert curve.voltage_V(0.0) == pytest.approx(empty_V)
    assert half_V[0] < curve.voltage_V(0.5) < half_V[1]
    assert made.car.controller.cutoff_V_per_cell == cutoff_V


def test_lithium_iron_phosphate_is_slower_flatter_and_no_surer_than_an_ordinary_pack() -> None:
    """Law: fewer volts are less speed; a curve of another cell widens the band."""
    lipo, high, iron = (
        twin_of(truck(), replace(LIPO, chemistry=chemistry))
        for chemistry in ("lithium-polymer", "high-voltage lithium", "lithium iron phosphate")
    )
    volts = [made.car.pack.curve.voltage_V(0.9) for made in (iron, lipo, high)]
    assert volts == sorted(volts)
    flat = [made.car.pack.curve.voltage_V(0.8) - made.car.pack.curve.voltage_V(0.3) for made in (iron, lipo)]
    assert flat[0] < 0.08 < flat[1]
    assert high.spreads[Knob.RPM_PER_VOLT] > lipo.spreads[Knob.RPM_PER_VOLT]
    assert iron.spreads[Knob.RPM_PER_VOLT] > lipo.spreads[Knob.RPM_PER_VOLT]
    assert iron.car.pack.resistance_ohm > lipo.car.pack.resistance_ohm


def test_a_ratio_that_cannot_be_counted_is_asked_for() -> None:
    crawler = facts().starters["crawler-1-10-4wd-3s-brushed"]
    with pytest.raises(NotKnown, match="is not known") as refused:
        twin_of(changed(crawler, "spur", internal_ratio=None), LIPO)
    assert isinstance(refused.value.way_out, WayOut)
    assert refused.value.way_out.action is Action.GIVE_INTERNAL_RATIO


def test_cells_that_nobody_knows_are_refused_with_the_names_there_are() -> None:
    with pytest.raises(BadInput, match="does not know “unobtainium”") as refused:
        twin_of(truck(), replace(LIPO, chemistry="unobtainium"))
    assert "lithium-polymer" in refused.value.way_out


@pytest.mark.parametrize(
    ("key", "fan"), [("truck-1-10-4wd-3s", FanState.RUNNING), ("crawler-1-10-4wd-3s-brushed", FanState.OFF)]
)
def test_a_car_is_driven_with_its_fan_running_where_it_has_one(key: str, fan: FanState) -> None:
    build = facts().starters[key]
    question = twin_of(build, pack_of_build(build)).driven(
        tables.style("grass"), ground="grass", air_degC=31.0
    )
    assert question.fan is fan
    assert question.place.air.temperature_degC == 31.0
    assert question.place.ground == tables.ground("grass")
