"""Friction timed at the bench, kept, and held against the car's own baseline.

Authority: the laws of even slowing (times and slopes made from a known friction come back), and counts.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import pytest

from snugfast.core.errors import SnugfastError
from snugfast.facts.model import Build
from snugfast.physics.bearings.timed_trials import Change
from snugfast.records.entries import Measured, Trial
from snugfast.usecases.journal.cars import starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.mechanics.drag_test import (
    DragDraft,
    RollSaid,
    SpinSaid,
    draft_roll,
    draft_spin,
    past_trials,
    runs_free,
)
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

G = 9.80665


@pytest.fixture
def bench() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def spun(workshop: Workshop, times: str, **said: object) -> DragDraft:
    drafted = draft_spin(
        workshop,
        SpinSaid("Bramble", "front left", times, runs_free=True, **said),  # type: ignore[arg-type]
    )
    keep(workshop, drafted.draft.entries)
    return drafted


def rolled(workshop: Workshop, there: str, back: str, **said: object) -> DragDraft:
    drafted = draft_roll(workshop, RollSaid("Bramble", "3 m", there, back, **said))  # type: ignore[arg-type]
    keep(workshop, drafted.draft.entries)
    return drafted


def test_readings_are_kept_as_they_were_read(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    spun(workshop, "5.2, 5.4, 5.1")
    past = past_trials(workshop, "Bramble")
    assert [one.fact.trial for one in past] == [Trial.FREE_SPIN]
    assert [reading.value for reading in past[0].fact.readings] == [5.2, 5.4, 5.1]
    assert past[0].fact.spot == "front left"


def test_a_wheel_that_stops_sooner_has_more_friction_than_its_baseline(
    bench: tuple[Workshop, Clock],
) -> None:
    workshop, clock = bench
    first = spun(workshop, "8.1, 8.3, 8.0, 8.2")
    assert first.result.comparison is None and "baseline" in first.result.sentences[-1]
    clock.on(days=3)
    later = spun(workshop, "4.1, 4.2, 4.0, 4.1")
    comparison = later.result.comparison
    assert comparison is not None and comparison.change is Change.MORE
    assert comparison.ratio == pytest.approx(2.0, rel=0.02)
    assert comparison.low < 2.0 < comparison.high
    assert later.result.checks[0][0] == "wheel_bearing_feel"


def test_equal_readings_show_no_change(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    spun(workshop, "5.2, 5.4, 5.1")
    clock.on(days=1)
    same = spun(workshop, "5.3, 5.1, 5.4").result.comparison
    assert same is not None and same.change is Change.NOT_SEEN


def test_renewed_parts_begin_a_new_baseline(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    spun(workshop, "4.0, 4.1, 4.2")
    clock.on(days=1)
    spun(workshop, "8.0, 8.1, 8.2", baseline=True)
    clock.on(days=1)
    later = spun(workshop, "8.1, 8.0, 8.2").result.comparison
    assert later is not None and later.change is Change.NOT_SEEN


def test_spins_with_turns_are_not_held_against_spins_without(bench: tuple[Workshop, Clock]) -> None:
    workshop, clock = bench
    spun(workshop, "5.2, 5.4, 5.1")
    clock.on(days=1)
    assert spun(workshop, "5.2, 5.4, 5.1", turns="12, 13, 12").result.comparison is None


def test_counted_turns_and_a_weighed_wheel_give_the_drag_itself(bench: tuple[Workshop, Clock]) -> None:
    """*Law*: I = 0.75·m·r², τ = 4π·N·I/t²."""
    workshop, _ = bench
    friction = spun(workshop, "10.0, 10.0, 10.0", turns="20, 20, 20", wheel_mass="130 g").result.friction
    assert friction is not None and friction.low and friction.high
    inertia = 0.75 * 0.130 * 0.059**2
    assert friction.value == pytest.approx(4 * math.pi * 20 * inertia / 100.0)
    assert friction.low < friction.value < friction.high


def test_rolling_both_ways_gives_back_friction_and_slope(bench: tuple[Workshop, Clock]) -> None:
    """*Law*: on a floor that falls s, a car of coefficient c slows with g(c ∓ s)/(1+κ)."""
    workshop, _ = bench
    coefficient, slope, share = 0.060, 0.004, 0.10

    def time_s(way: float) -> float:
        return math.sqrt(2 * 3.0 / (G * (coefficient - way * slope) / (1 + share)))

    there, back = (", ".join([f"{time_s(way):.6f}"] * 3) for way in (1.0, -1.0))
    result = rolled(workshop, there, back, rotating_share="10 %").result
    assert result.friction and result.slope
    assert result.friction.value == pytest.approx(coefficient, rel=1e-4)
    assert result.slope.value == pytest.approx(slope, rel=1e-3)
    assert result.friction.low and result.friction.low < coefficient


def test_a_car_rolled_the_other_way_round_on_a_leaning_floor_has_not_changed(
    bench: tuple[Workshop, Clock],
) -> None:
    workshop, clock = bench
    rolled(workshop, "2.0, 2.1, 2.0", "3.0, 3.1, 3.1")
    clock.on(days=1)
    turned = rolled(workshop, "3.0, 3.1, 3.1", "2.0, 2.1, 2.0").result.comparison
    assert turned is not None and turned.ratio == pytest.approx(1.0)


def test_halves_and_stopping_places_tell_the_same_friction(bench: tuple[Workshop, Clock]) -> None:
    """*Law*: slowed evenly from 2 m/s, a car goes v·t − a·t²/2 and stands after v²/2a, v/a seconds."""
    workshop, _ = bench
    slowing = 0.55
    first = (2.0 - math.sqrt(4.0 - 2 * slowing * 1.5)) / slowing
    both = (2.0 - math.sqrt(4.0 - 2 * slowing * 3.0)) / slowing
    halves = f"{first:.6f}+{both - first:.6f}"
    by_halves = rolled(workshop, halves, halves).result.friction
    stopped = f"{2.0**2 / (2 * slowing):.6f}m/{2.0 / slowing:.6f}s"
    by_stop = rolled(workshop, stopped, stopped).result.friction
    assert by_halves and by_stop
    assert by_halves.value == pytest.approx(by_stop.value, rel=1e-3)


def test_rolls_with_the_mesh_closed_are_compared_with_their_like_alone(
    bench: tuple[Workshop, Clock],
) -> None:
    workshop, clock = bench
    rolled(workshop, "3.1, 3.0, 3.2", "3.0, 3.1, 3.1")
    clock.on(days=1)
    assert rolled(workshop, "1.9, 2.0, 1.9", "2.0, 1.9, 2.0", mesh_closed=True).result.comparison is None
    worse = rolled(workshop, "1.9, 2.0, 1.9", "2.0, 1.9, 2.0").result.comparison
    assert worse is not None and worse.change is Change.MORE


def test_a_corner_that_turns_the_drive_is_refused_until_a_person_says_it_runs_free(
    bench: tuple[Workshop, Clock],
) -> None:
    workshop, _ = bench
    with pytest.raises(SnugfastError) as refused:
        draft_spin(workshop, SpinSaid("Bramble", "front left", "5.2"))
    assert "say that it runs free" in refused.value.way_out


def test_the_end_without_drive_shafts_runs_free_and_an_unnamed_end_does_not(
    bench: tuple[Workshop, Clock],
) -> None:
    workshop, _ = bench
    build = starter(workshop, "truck-1-10-4wd-3s")

    def with_shafts(*spots: str) -> Build:
        places = tuple(
            replace(place, spots=spots) if place.role == "drive_shaft" else place for place in build.places
        )
        return replace(build, places=places)

    rear_driven = with_shafts("rear left", "rear right")
    assert runs_free(rear_driven, "front left")
    assert not runs_free(rear_driven, "rear left")
    assert not runs_free(with_shafts("left", "right"), "front left")


def test_a_kept_trial_can_be_told(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    echo = spun(workshop, "5.2, 5.4", turns="12, 13").draft.echo[0]
    assert "free spin at front left: 5.2 s, 12 turns and 5.4 s, 13 turns" in echo
    entry = spun(workshop, "6.0", baseline=True).draft.entries[0]
    assert isinstance(entry.fact, Measured) and entry.fact.is_baseline


def test_every_figure_says_where_it_comes_from(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    result = rolled(workshop, "3.1, 3.0", "3.0, 3.1").result
    assert result.friction and result.friction.origins
    assert "secondary" in {source.seen for source in result.sources}


@pytest.mark.parametrize(
    ("said", "helps"),
    [
        ({"there": "2.1", "back": "2.1, 2.2"}, "as often back"),
        ({"there": "", "back": "2.1"}, "several"),
        ({"there": "1.1+0.9", "back": "1.1+1.6"}, "Let it go"),
        ({"there": "0.01", "back": "2.1"}, "5.2"),
        ({"there": "2.1/3/4", "back": "2.1"}, "1.1+1.6"),
        ({"there": "2.1", "back": "2.1", "length": "300 m"}, "2 to 5 m"),
    ],
)
def test_what_cannot_be_is_refused_with_a_suggestion(
    bench: tuple[Workshop, Clock], said: dict[str, str], helps: str
) -> None:
    workshop, _ = bench
    with pytest.raises(SnugfastError) as refused:
        draft_roll(workshop, RollSaid("Bramble", **{"length": "3 m", **said}))  # type: ignore[arg-type]
    assert helps in refused.value.way_out


def test_times_and_turns_must_pair(bench: tuple[Workshop, Clock]) -> None:
    workshop, _ = bench
    with pytest.raises(SnugfastError, match="do not pair"):
        spun(workshop, "5.2, 5.3", turns="12")
