"""Is the motor weak? Against its own readings, against its label, and when nobody can tell.

Authority: sums by hand; laws of what instruments can prove.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import BadInput
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.leads.motor_bench import (
    Motor,
    MotorBench,
    MotorSaid,
    draft_motor,
    motor_guides,
    past_motor,
)
from snugfast.usecases.mechanics.drag_test import past_trials
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@pytest.fixture
def bench() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def read(bench: tuple[Workshop, Clock], *, save: bool = True, **said: str) -> MotorBench:
    workshop, clock = bench
    drafted = draft_motor(workshop, MotorSaid("Bramble", **said))  # type: ignore[arg-type]
    if save:
        keep(workshop, drafted.draft.entries)
        clock.on(days=7)
    return drafted.result


def test_a_label_is_too_loose_to_call_a_motor_weak(bench: tuple[Workshop, Clock]) -> None:
    """2743 rpm/V against 2700 on the label, good to 10 %: nobody can tell."""
    found = read(bench, drill_rpm="1000", pairs="0.270, 0.270, 0.270")
    kv = found.lines[0]
    assert kv.now.value == 2740 and kv.then is not None and kv.then.value == 2700
    assert kv.says is Motor.CANNOT_TELL and "can’t be seen" in kv.sentence
    assert "only a second reading later can tell" in found.sentence
    assert "good to 10 % at best" in found.held_against


def test_magnets_that_lost_a_tenth_are_weak_against_its_own_reading(bench: tuple[Workshop, Clock]) -> None:
    """*By hand*: a tenth less voltage at the same speed is 11 % more rpm per volt, 10 % less torque."""
    read(bench, drill_rpm="1000", pairs="0.270, 0.270, 0.270")
    found = read(bench, drill_rpm="1000", pairs="0.243, 0.243, 0.243")
    assert found.verdict is Motor.WEAK
    assert "11 % above then" in found.lines[0].sentence
    assert "About 10 % less torque" in found.lines[0].sentence


def test_a_loss_that_the_meter_cannot_see_is_said_to_be_unseen(bench: tuple[Workshop, Clock]) -> None:
    read(bench, drill_rpm="1000", pairs="0.270, 0.270, 0.270")
    found = read(bench, drill_rpm="1000", pairs="0.263, 0.263, 0.263")
    assert found.verdict is Motor.LIKE_BEFORE
    assert "as far as these readings can see" in found.sentence
    assert "a smaller loss can’t be seen" in found.lines[0].sentence


def test_one_pair_that_is_odd_is_named_whatever_the_drill_does(bench: tuple[Workshop, Clock]) -> None:
    found = read(bench, drill_rpm="label 1000", pairs="0.270, 0.268, 0.241")
    assert found.verdict is Motor.SUSPECT
    assert "C–A is the odd pair" in found.lines[-1].sentence


def test_the_odd_winding_is_named_from_milliohms(bench: tuple[Workshop, Clock]) -> None:
    found = read(bench, ohms="12.0, 12.1, 13.9")
    assert found.verdict is Motor.SUSPECT
    assert "winding B is the odd one" in found.lines[-1].sentence


def test_more_current_without_load_points_at_a_drag(bench: tuple[Workshop, Clock]) -> None:
    """*By hand*: 3.2 to 4.1 A on the same volts are 28 % more."""
    read(bench, volts="7.4", rpm="19 900", no_load="3.2A")
    found = read(bench, volts="7.4 V", rpm="19900", no_load="4.1 A")
    assert found.verdict is Motor.SUSPECT
    assert "28 % more than then" in found.lines[1].sentence and "bearing" in found.lines[1].sentence


def test_other_volts_are_not_compared(bench: tuple[Workshop, Clock]) -> None:
    read(bench, volts="7.4", rpm="19900", no_load="3.2")
    found = read(bench, volts="11.1", rpm="29850", no_load="4.1")
    assert "not to be compared" in found.lines[1].sentence


def test_a_new_baseline_begins_anew_and_its_readings_are_no_free_roll(
    bench: tuple[Workshop, Clock],
) -> None:
    read(bench, drill_rpm="1000", pairs="0.270, 0.270, 0.270")
    workshop, _ = bench
    fresh = draft_motor(
        workshop, MotorSaid("Bramble", drill_rpm="1000", pairs="0.243,0.243,0.243", baseline=True)
    )
    assert fresh.result.verdict is not Motor.WEAK
    assert (
        len(past_motor(workshop, "Bramble")) == 1 and "A–B 270 mV" in past_motor(workshop, "Bramble")[0].told
    )
    assert past_trials(workshop, "Bramble") == ()
    assert "motor at the bench" in " ".join(fresh.draft.echo)


@pytest.mark.parametrize(
    ("said", "helps"),
    [
        ({"ohms": "210, 212, 211"}, "millivolts over amperes"),
        ({"pairs": "0.27, 0.27"}, "Give 3"),
        ({"rpm": "19500"}, "volts it ran on"),
        ({"warm": "25"}, "Nothing was read"),
        ({"volts": "7.4V", "rpm": "9"}, "500 to 120000"),
        ({"volts": "7,4V", "rpm": "19500"}, "7.4"),
    ],
)
def test_what_says_nothing_or_cannot_be_is_refused(
    bench: tuple[Workshop, Clock], said: dict[str, str], helps: str
) -> None:
    with pytest.raises(BadInput) as refused:
        read(bench, save=False, **said)
    assert helps in f"{refused.value.sentence} {refused.value.way_out}"


def test_a_bare_motor_under_power_is_for_adults_and_clamped(bench: tuple[Workshop, Clock]) -> None:
    by_key = {guide.key: guide for guide in motor_guides(bench[0])}
    assert by_key["motor_no_load"].adults_only and by_key["motor_drill"].adults_only
    assert not by_key["motor_hand"].adults_only
    assert any("5 s at most" in caution.text for caution in by_key["motor_no_load"].cautions)
