"""Wires and connectors of a car: from the build, said better, with others instead; and soldering one.

Authority: laws and sums by hand; the car's currents are the car model's, which has tests of its own.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise

import pytest

from snugfast.core.errors import BadInput
from snugfast.facts.load import load_facts
from snugfast.physics.leads.wires import gauge_area
from snugfast.usecases.leads.soldering import SolderSaid, soldering_of
from snugfast.usecases.leads.tables import electrics
from snugfast.usecases.leads.wire_words import (
    area_in_words,
    connector_known,
    outside_mm,
    read_connector,
    read_wire,
    wire_name,
)
from snugfast.usecases.leads.wiring import Wiring, WiringSaid, wiring_of
from snugfast.usecases.shared.guides import guide, guides_of
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through the car model: not in make check


@pytest.fixture(scope="module")
def bench() -> Iterator[Workshop]:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        yield workshop


@pytest.fixture(scope="module")
def thin(bench: Workshop) -> Wiring:
    """The truck on thin wire and a worn connector."""
    return wiring_of(bench, WiringSaid("Bramble", wire="16AWG", length="40 cm", plug_ohm="2 mohm"))


def test_what_is_lost_is_ohms_times_amperes(thin: Wiring) -> None:
    """*By hand*: 0.8 m of 1.309 mm² with 12 % for its strands is 11.8 mΩ; two poles of 2 mΩ are 4 mΩ."""
    parts = {part.key: part for part in thin.parts}
    assert list(parts) == ["pack_wires", "pack_plug", "motor_wires", "motor_plugs"]
    assert parts["pack_wires"].resistance.value * 1e3 == pytest.approx(
        0.8 * 1000 / 58 / 1.3087 * 1.12, rel=1e-3
    )
    assert parts["pack_plug"].resistance.value == pytest.approx(0.004)
    for part in thin.parts:
        each, wires = part.rms.value, {"pack_wires": 2, "pack_plug": 2}.get(part.key, 3)
        assert part.heat.value == pytest.approx(part.resistance.value / 2 * wires * each**2, rel=1e-6)
    assert thin.lost.value == pytest.approx(sum(part.lost.value for part in thin.parts))


def test_three_motor_wires_share_two_thirds_of_the_time(thin: Wiring) -> None:
    """*Law*: in each moment two of three carry the current, so each has √⅔ of its root mean square."""
    motor, bullets = thin.parts[2], thin.parts[3]
    assert motor.rms.value == pytest.approx(bullets.rms.value)
    heat = 2.0 * (motor.rms.value / math.sqrt(2 / 3)) ** 2 * motor.resistance.value / 2
    assert motor.heat.value == pytest.approx(heat)


def test_thin_wire_runs_hot_and_thicker_is_cooler_faster_and_told_in_figures(thin: Wiring) -> None:
    wires = thin.parts[0]
    assert wires.hottest.value > 60.0 and wires.verdict != "fine"
    assert (wires.hottest.low or 0) < wires.hottest.value < (wires.hottest.high or 0)
    names = [one.name for one in thin.upgrades]
    assert names[0] == "wire of 2.1 mm² (14 AWG)" and names[-1] == "both"
    both = thin.upgrades[-1]
    assert both.hottest.value < both.hottest_before.value
    assert both.saved.value == pytest.approx(sum(one.saved.value for one in thin.upgrades[:2]))
    assert both.faster_km_h > max(one.faster_km_h for one in thin.upgrades[:2]) > 0.0
    assert "W less heat" in both.sentence
    assert {source.seen for source in thin.sources} >= {"secondary", "practice", "elicited", "memory"}


@pytest.mark.parametrize(
    ("words", "mm2"),
    [("12AWG", 3.309), ("awg 12", 3.309), ("12 awg", 3.309), ("3.3 mm²", 3.3), ("5.26mm2", 5.26)],
)
def test_wires_are_read_as_they_are_written(words: str, mm2: float) -> None:
    assert read_wire(words, "wire") == pytest.approx(mm2, rel=1e-3)


@pytest.mark.parametrize(
    ("words", "helps"), [("12", "12AWG or 3.3 mm2"), ("60 mm2", "0.1 to 16 mm²"), ("thick", "gauge")]
)
def test_a_bare_number_is_no_wire(words: str, helps: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_wire(words, "wire")
    assert helps in f"{refused.value.sentence} {refused.value.way_out}"


@pytest.mark.parametrize(
    ("said", "helps"),
    [
        ({"plug": "two flat blade"}, "two flat blades"),
        ({"plug_ohm": "3 ohm"}, "Millivolts across one pole"),
        ({"length": "30 m"}, "30 cm"),
    ],
)
def test_what_cannot_be_is_refused(bench: Workshop, said: dict[str, str], helps: str) -> None:
    with pytest.raises(BadInput) as refused:
        wiring_of(bench, WiringSaid("Bramble", **said))
    assert helps in f"{refused.value.sentence} {refused.value.way_out}"


def test_every_starter_names_wire_and_connectors_that_are_known() -> None:
    for build in load_facts().starters.values():
        assert any(area_in_words(place.part) for place in build.of_role("power_lead")), build.key
        plugs = [
            str(place.sizes["plug"])
            for role in ("controller_plug", "pack_plug", "motor_plug")
            for place in build.of_role(role)
        ]
        assert plugs and all(connector_known(plug) for plug in plugs), build.key


def test_tables_of_wires_and_connectors_hold_their_rules() -> None:
    rows = electrics("wires").rows
    for row in rows:
        name, area = row["name"], row["area_mm2"]
        assert isinstance(name, str) and isinstance(area, float)
        assert gauge_area(number=float(name.removesuffix(" AWG"))) * 1e6 == pytest.approx(area, abs=0.006)
        assert wire_name(area).endswith(f"({name})")
    assert all(low["outer_mm"] < high["outer_mm"] for low, high in pairwise(rows))  # type: ignore[operator]
    assert outside_mm(4.0) == pytest.approx(4.5 + (4.0 - 3.31) / (5.26 - 3.31), rel=1e-6)
    for shape in ("two round pins", "single bullet"):
        like = [row for row in electrics("connectors").rows if str(row["key"]).startswith(shape)]
        assert [row["claimed_A"] for row in like] == sorted(row["claimed_A"] for row in like)  # type: ignore[type-var]
        ohms = [row["usual_mohm"] for row in like]
        assert ohms == sorted(ohms, reverse=True)  # type: ignore[type-var]
    for row in electrics("connectors").rows:
        assert row["low_mohm"] < row["usual_mohm"] < row["high_mohm"]  # type: ignore[operator]
        assert read_connector(str(row["key"])) is not None
    for row in electrics("wiring").rows:
        assert row["low"] <= row["usual"] <= row["high"]  # type: ignore[operator]


def test_a_weak_iron_is_told_before_the_insulation_melts(bench: Workshop) -> None:
    """*By hand*: 304 J into the joint at half of 60 W, less half of 12.9 W: 13 s. At 25 W: 50 s."""
    strong = soldering_of(bench, SolderSaid("Bramble"))
    assert strong.seconds.value == pytest.approx(304 / (30 - 6.45), rel=0.01)
    assert "strong enough" in strong.sentence
    assert "too weak" in soldering_of(bench, SolderSaid("Bramble", iron="25W")).sentence
    never = soldering_of(bench, SolderSaid("Bramble", wire="8AWG", iron="25 W"))
    assert "never melts" in never.sentence and math.isinf(never.seconds.value)


def test_one_wire_of_a_pack_is_bare_at_a_time_and_it_is_an_adult_s_work(bench: Workshop) -> None:
    job = soldering_of(bench, SolderSaid("Bramble")).job
    assert job.adults_only
    first = next(n for n, step in enumerate(job.steps) if "ONE wire" in step.do)
    assert any("One" in caution.short or "one wire" in caution.text for caution in job.steps[first].cautions)
    assert first < next(n for n, step in enumerate(job.steps) if "second wire, the same" in step.do)
    assert any("wash your hands" in caution.text for caution in job.cautions)
    assert all("{" not in step.do for step in job.steps)


def test_every_guide_of_electrics_is_whole() -> None:
    """*Law of this project*: known cautions and sources; a hand is never sent to what is powered or hot."""
    facts = load_facts()
    fill = {"strip_mm": "5", "tip_degC": "350", "iron_W": "60", "seconds": "9"}
    for key in guides_of("electrics"):
        one = guide(facts, "electrics", key, sizes=fill)
        assert one.source in facts.sources and one.steps and one.name
        text = " ".join(step.do for step in one.steps)
        if "older" in text:
            assert one.adults_only, key
