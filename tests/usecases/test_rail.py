"""Can this servo reset this receiver? From the build, from labels, from a meter.

Authority: *by hand* for volts of one resistor on a limited supply; laws elsewhere.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import pytest

from snugfast.core.errors import BadInput, SnugfastError
from snugfast.facts.load import load_facts
from snugfast.usecases.leads.rail import Rail, RailSaid, Verdict, _known, _servo_key, _supply_row, rail_of
from snugfast.usecases.leads.tables import electrics
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@pytest.fixture(scope="module")
def bench() -> Iterator[Workshop]:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        yield workshop


def told(bench: Workshop, **said: str) -> Rail:
    return rail_of(bench, RailSaid("Bramble", **said))


def test_from_the_build_alone_a_stall_holds_and_a_quick_change_of_lock_is_open(bench: Workshop) -> None:
    """The bands say no more: 3 to 6 A against 1.8 to 4 A of servo."""
    found = told(bench)
    assert found.verdict is Verdict.HOLDS
    assert "A quick change of lock may: try it" in found.sentence and "estimate" in found.notes[0]
    volts = found.moments[0].volts
    assert volts.low is not None and volts.high is not None
    assert 3.7 < volts.low < volts.value < volts.high <= 6.0
    assert {source.seen for source in found.sources} >= {"elicited", "practice", "memory", "primary"}


def test_a_servo_and_a_supply_that_are_near_each_other_cannot_be_told_apart(bench: Workshop) -> None:
    found = told(bench, stall="3A", gives="2A")
    assert found.verdict is Verdict.MAY_RESET and "cannot tell" in found.sentence


def test_a_strong_servo_on_a_small_supply_can_reset_the_receiver(bench: Workshop) -> None:
    """*By hand*: 5 A at 6 V is 1.2 Ω; 2 A·1.1 less 0.25 A leave 1.95 A·1.2 Ω = 2.34 V."""
    found = told(bench, stall="5A", supply="6V", gives="2A")
    assert found.verdict is Verdict.CAN_RESET
    assert found.sentence == "This servo can reset this receiver."
    assert found.moments[0].volts.value == pytest.approx(2.34)
    assert "No capacitor cures" in found.capacitor_sentence


def test_a_modest_servo_on_a_strong_supply_holds(bench: Workshop) -> None:
    found = told(bench, stall="1.5A", supply="6V", gives="6A")
    assert found.verdict is Verdict.HOLDS
    assert found.moments[0].volts.value == pytest.approx((6 - 0.1 * 0.25) / (1 + 0.1 / 4.0), rel=1e-6)
    assert "without a capacitor" in found.capacitor_sentence
    assert all(math.isinf(line.buys.value) for line in found.capacitors)


def test_a_quick_change_of_lock_pulls_lower_than_a_stall(bench: Workshop) -> None:
    stalled, quick = told(bench, stall="2.5A", supply="6V", gives="3A").moments
    assert quick.wanted.value > stalled.wanted.value
    assert quick.volts.value < stalled.volts.value


def test_ten_times_the_capacitor_buys_ten_times_as_long(bench: Workshop) -> None:
    """*Law*: t goes with C. And it is milliseconds."""
    lines = {line.capacitance_uF: line.buys for line in told(bench, stall="3A", gives="2A").capacitors}
    assert lines[10000].value == pytest.approx(10 * lines[1000].value)
    assert 0.0002 < lines[1000].value < 0.01


@pytest.mark.parametrize(
    ("lowest", "verdict"),
    [("5.1V", Verdict.HOLDS), ("3.6", Verdict.MAY_RESET), ("3.1 V", Verdict.CAN_RESET)],
)
def test_what_a_meter_showed_goes_before_every_estimate(
    bench: Workshop, lowest: str, verdict: Verdict
) -> None:
    found = told(bench, lowest=lowest)
    assert found.verdict is verdict
    assert found.moments[0].measured and "You read" in found.why
    assert any("never one of" in step.do for step in found.measure.steps)


def test_a_supply_above_what_the_servo_is_made_for_is_told(bench: Workshop) -> None:
    assert any("set it lower" in note for note in told(bench, supply="7.4V").notes)


@pytest.mark.parametrize(
    ("said", "helps"),
    [
        ({"supply": "12V"}, "5 to 8.4 V"),
        ({"stall": "0A"}, "above zero"),
        ({"stall": "2,5A"}, "2.5"),
        ({"lowest": "7V"}, "with no load"),
    ],
)
def test_what_cannot_be_is_refused(bench: Workshop, said: dict[str, str], helps: str) -> None:
    with pytest.raises(BadInput) as refused:
        told(bench, **said)
    assert helps in f"{refused.value.sentence} {refused.value.way_out}"


def test_every_starter_has_a_servo_a_supply_and_an_answer() -> None:
    """Trait: a larger car's servo draws more; a micro servo's gears do not matter."""
    keys = {}
    for build in load_facts().starters.values():
        servos = build.of_role("servo")
        known, _ = _known(RailSaid(build.name), build, _supply_row(build), servos)
        keys[build.key] = _servo_key(build, servos)
        assert 0.5 < known.servos.value < 15.0
    assert keys["mini-1-18-4wd-2s"] == "micro" and keys["monster-1-8-4wd-6s"] == "large"
    assert keys["on-road-1-10-4wd-shaft-brushed"] == "plain" and keys["truck-1-10-4wd-3s"] == "strong"


def test_its_tables_hold_their_rules() -> None:
    for name, ending in (("servos", "_A"), ("supplies", "_A"), ("rail", "")):
        for row in electrics(name).rows:
            low, usual, high = (row[f"{end}{ending}"] for end in ("low", "usual", "high"))
            assert isinstance(low, float) and isinstance(usual, float) and isinstance(high, float)
            assert low <= usual <= high, row
    for name in ("servos", "supplies"):
        usual_A = [row["usual_A"] for row in electrics(name).rows]
        assert usual_A == sorted(usual_A)  # type: ignore[type-var]


def test_a_car_without_a_receiver_is_refused_kindly(bench: Workshop) -> None:
    with pytest.raises(SnugfastError):
        rail_of(bench, RailSaid("Nobody"))
