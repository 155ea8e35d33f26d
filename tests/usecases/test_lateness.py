"""What a treatment left undone does to the beliefs, held against the law written down for it.

Authority: docs/decisions/0006 (law), the bank's own operations called by hand (against).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import timedelta
from uuid import UUID

import numpy as np
import pytest

from snugfast.core.ids import compose
from snugfast.facts.builds import build_document
from snugfast.facts.load import read_build
from snugfast.facts.model import Facts
from snugfast.records.entries import (
    Answer,
    CarAdded,
    Checked,
    Done,
    Entry,
    Fact,
    Ground,
    PartFitted,
    Precision,
    Ran,
    SettingChanged,
    TreatmentDone,
    Wet,
)
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.story_form import story_bytes, story_from
from tests.usecases.bench import MORNING, TRUCK, facts

CAR = compose(7, bytes(10))
BEARING = "wheel_bearing_worn"
ONE_HOUR = timedelta(hours=1)


@dataclass
class Told:
    """A story told by hand, an hour counting from its beginning."""

    story: Story
    count: int = 0

    def take(self, hours: float, fact: Fact, precision: Precision = Precision.MINUTE) -> None:
        self.count += 1
        at = MORNING + hours * ONE_HOUR
        entry = Entry(
            id=compose(1000 + self.count, bytes(10)),
            happened_at=at,
            recorded_at=at,
            author=CAR,
            fact=fact,
            precision=precision,
        )
        self.story.take(entry)

    def presence(self, mode: str, hours: float, place: str | None = None) -> float:
        """P(defect) of a mode as of an hour."""
        beliefs, _ = self.story.as_of(CAR, MORNING + hours * ONE_HOUR)
        return float(beliefs.presence[_at(self.story, mode, place)][0])


def _at(story: Story, mode: str, place: str | None = None) -> list[int]:
    return story.scope(CAR).where(
        lambda m, p: m.key == mode and (place is None or (p is not None and p.key == place))
    )[:1]


def again(story: Story) -> Story:
    return story_from(story_bytes(story), story.facts, story.read, story.members)


def truck(tables: Facts | None = None) -> Told:
    """A truck that joined at hour 0."""
    tables = tables or facts()
    told = Told(Story(tables, lambda document: read_build(document, "build", tables), [CAR]))
    told.take(0, CarAdded(CAR, "Bramble", build_document(tables.starters[TRUCK])))
    return told


def without_treatments() -> Facts:
    return replace(facts(), treatments={})


def run(wet: Wet = Wet.DRY, minutes: float = 12.0) -> Ran:
    return Ran(CAR, (), minutes, wet=wet)


MUD = facts().treatments["wash_mud"]
SALT = facts().treatments["wash_salt"]
HARM = next(p for p in MUD.protects if p.mode == BEARING)


def wet_truck(wet: Wet = Wet.MUD, tables: Facts | None = None) -> Told:
    told = truck(tables)
    told.take(1, run(wet))
    return told


def test_until_the_deadline_waiting_costs_nothing() -> None:
    """Law: done in time, everything is as if there were no treatments at all."""
    told, plain = wet_truck(), wet_truck(tables=without_treatments())
    for one in (told, plain):
        for key in (MUD.key, "open_electrics"):
            one.take(1 + MUD.deadline_h - 0.1, TreatmentDone(CAR, key))
        one.take(400, run())
    done, other = told.story.bank, plain.story.bank
    assert np.array_equal(done[np.arange(len(done))].presence, other[np.arange(len(other))].presence)


@pytest.mark.parametrize("late_d", [0.5, 3.0, 10.0])
def test_standing_wet_plants_defects_at_the_written_rate(late_d: float) -> None:
    """Worked: 1 − (1 − p)·exp(−late days / defect_in_d)."""
    hour = 1 + MUD.deadline_h + 24 * late_d
    before = wet_truck(tables=without_treatments()).presence(BEARING, hour)
    assert HARM.defect_in_d is not None
    expected = 1.0 - (1.0 - before) * np.exp(-late_d / HARM.defect_in_d)
    assert wet_truck().presence(BEARING, hour) == pytest.approx(expected, rel=1e-12)


def test_once_the_wet_is_spent_it_does_no_more() -> None:
    """Law: constant after spent_d days past the deadline, and running counts plainly again."""
    end = 1 + MUD.deadline_h + 24 * MUD.spent_d
    told = wet_truck()
    assert told.presence(BEARING, end) == pytest.approx(told.presence(BEARING, end + 2000), rel=1e-12)
    told.take(end + 1, SettingChanged(CAR, "springs", "soft"))
    rows = told.story.scope(CAR).rows[_at(told.story, BEARING)]
    by_hand = told.story.bank[rows].ran(exposure=12.0).presence[0]
    told.take(end + 2, run())
    assert told.story.bank[rows].presence[0] == pytest.approx(by_hand, rel=1e-12)


def test_a_run_while_it_is_late_counts_factor_times() -> None:
    """Against: the bank's own run with the exposure multiplied by hand."""
    told = wet_truck()
    hour = 1 + MUD.deadline_h + 48
    told.take(hour, SettingChanged(CAR, "springs", "soft"))
    rows = told.story.scope(CAR).rows[_at(told.story, BEARING)]
    mode = facts().modes[BEARING]
    ground = mode.ground_factor.get("gravel", 1.0)
    by_hand = told.story.bank[rows].ran(exposure=12.0 * ground * HARM.factor)
    told.take(hour, replace(run(), ground=Ground.GRAVEL))
    assert told.story.bank[rows].presence[0] == pytest.approx(by_hand.presence[0], rel=1e-12)


def test_done_late_it_stops_there_and_mends_nothing() -> None:
    told = wet_truck()
    late = 1 + MUD.deadline_h + 72
    planted = told.presence(BEARING, late)
    told.take(late, TreatmentDone(CAR, MUD.key, 20))
    assert told.presence(BEARING, late + 500) == pytest.approx(planted, rel=1e-12)


def test_another_wet_run_does_not_move_the_deadline() -> None:
    """Law: the older water is still in."""
    told = wet_truck()
    told.take(6, run(Wet.MUD))
    assert told.story.wetness.open[CAR, MUD.key].due == MORNING + (1 + MUD.deadline_h) * ONE_HOUR


def test_a_spent_wet_makes_way_for_a_new_deadline() -> None:
    told = wet_truck()
    later = 1 + MUD.deadline_h + 24 * MUD.spent_d + 100
    told.take(later, run(Wet.MUD))
    assert told.story.wetness.open[CAR, MUD.key].due == MORNING + (later + MUD.deadline_h) * ONE_HOUR


def test_the_greater_work_settles_the_lesser() -> None:
    told = truck()
    told.take(1, run(Wet.FRESH_WATER))
    told.take(2, run(Wet.SALT_WATER))
    assert {key for _, key in told.story.wetness.open} >= {"dry_fresh_water", "wash_salt"}
    told.take(3, TreatmentDone(CAR, SALT.key))
    assert told.story.wetness.open == {}


def test_the_lesser_work_leaves_the_greater_open() -> None:
    told = wet_truck(Wet.SALT_WATER)
    told.take(2, TreatmentDone(CAR, "dry_fresh_water"))
    assert (CAR, SALT.key) in told.story.wetness.open


def test_damp_and_dry_runs_open_nothing_and_neither_does_an_old_run_at_about() -> None:
    """Law: nobody knows when “about May” was, so no hours are counted from it."""
    told = truck()
    told.take(1, run(Wet.DAMP))
    told.take(2, run(Wet.DRY))
    told.take(3, run(Wet.SALT_WATER), Precision.ABOUT)
    assert told.story.wetness.open == {}


SPOTS = ("front left", "front right", "rear left", "rear right")
NEW_AT_A_CHECK = tuple(
    Answer("gritty", BEARING, "wheel_bearings_inner", spot, Done.RENEWED) for spot in SPOTS
)


@pytest.mark.parametrize(
    "fact",
    [
        Checked(CAR, "wheel_bearing_feel", answers=NEW_AT_A_CHECK),
        PartFitted(CAR, "wheel_bearings_inner", UUID(int=9), "bearing"),
    ],
)
def test_a_part_renewed_since_was_never_in_that_water(fact: Fact) -> None:
    """Law: its belief stays where the renewing left it, while its old neighbours go on rusting."""
    told = wet_truck(Wet.SALT_WATER)
    hour = 1 + SALT.deadline_h + 24
    told.take(hour, fact)
    fresh, soon = "wheel_bearings_inner", told.presence(BEARING, hour, "wheel_bearings_inner")
    assert told.presence(BEARING, hour + 240, fresh) == pytest.approx(soon, rel=1e-12)
    assert told.presence(BEARING, hour + 240, "wheel_bearings_outer") > 0.8


@pytest.mark.parametrize("cuts", [[2.5], [30.0, 31.0], [3.0, 77.7, 200.0, 900.0]])
def test_how_often_the_story_is_told_changes_nothing(cuts: list[float]) -> None:
    """Law: entries in between that bear on nothing cut the time into pieces; the outcome is the same."""
    told = wet_truck(Wet.SALT_WATER)
    for hour in sorted(cuts):
        told.take(hour, SettingChanged(CAR, "springs", "soft"))
    whole = wet_truck(Wet.SALT_WATER)
    assert told.presence(BEARING, 1000) == pytest.approx(whole.presence(BEARING, 1000), rel=1e-9)


def test_what_is_open_survives_bytes_and_back() -> None:
    told = wet_truck()
    told.take(40, PartFitted(CAR, "wheel_bearings_inner", UUID(int=9), "bearing"))
    assert again(told.story).wetness.open == told.story.wetness.open
    assert any(left.own for left in told.story.wetness.open.values())


def test_salt_left_in_is_worse_than_mud_and_mud_than_fresh_water() -> None:
    """Law: salt is the worst of all."""

    def after_a_week(wet: Wet) -> float:
        return wet_truck(wet).presence(BEARING, 24 * 7)

    assert after_a_week(Wet.SALT_WATER) > after_a_week(Wet.MUD) > after_a_week(Wet.FRESH_WATER)


def test_the_clock_of_days_is_stretched_where_a_table_says_so() -> None:
    """Worked: three late days at factor five count fifteen."""
    protects = tuple(
        replace(p, mode="fail_safe_wrong", factor=5.0, defect_in_d=None) for p in MUD.protects[:1]
    )
    tables = replace(facts(), treatments={MUD.key: replace(MUD, protects=protects)})
    told, plain = wet_truck(tables=tables), wet_truck(tables=without_treatments())
    late = 1 + MUD.deadline_h + 72
    at = _at(told.story, "fail_safe_wrong")
    days = [one.story.as_of(CAR, MORNING + late * ONE_HOUR)[1][at] for one in (told, plain)]
    assert days[0] - days[1] == pytest.approx(4.0 * 3.0)
