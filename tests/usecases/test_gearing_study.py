"""The gearing study on the starter truck, from its own build.

The trade facts are common practice without a source. Styles and estimates of the twin were tuned until they
held, so these tests hold the tables together; they are no independent proof.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import pytest

from snugfast.core.errors import BadInput, ImpossibleInput, NotKnown
from snugfast.physics.powertrain.runs import Stopped
from snugfast.usecases.gearing.mount_reach import Reach
from snugfast.usecases.gearing.questions import ask_bigger_tyre, ask_fan_stopped, ask_learner, ask_passes
from snugfast.usecases.gearing.said import GearingSaid
from snugfast.usecases.gearing.study import GearingStudy, gearing_study
from snugfast.usecases.gearing.wear import wear_words
from snugfast.usecases.journal.cars import starter
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.how_to_run import HowToRun
from tests.usecases.bench import with_truck, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    with workshop_in_memory() as (made, _):
        with_truck(made)
        yield made


@pytest.fixture(scope="module")
def study(workshop: Workshop) -> GearingStudy:
    """Dirt laps, which is what such a truck is taken to do, on seven pinions."""
    return gearing_study(workshop, GearingSaid("Bramble", pinions="8, 13-18", ambient="22 °C"))


# The ladder.


def test_the_ladder_is_sorted_by_final_drive_with_todays_rung_marked(study: GearingStudy) -> None:
    drives = [rung.final_drive for rung in study.rungs]
    assert drives == sorted(drives, reverse=True)
    today = [rung for rung in study.rungs if rung.is_today]
    assert [pair.words for pair in today[0].pairs] == ["15 on 54"]
    assert len(today) == 1
    assert study.chosen == today[0]


def test_pairs_of_one_ratio_stand_on_one_rung(workshop: Workshop) -> None:
    made = gearing_study(workshop, GearingSaid("Bramble", pinions="10,15,20", spurs="36,54,72"))
    ratios = [rung.final_drive for rung in made.rungs]
    assert len(ratios) == len(set(ratios))
    today = next(rung for rung in made.rungs if rung.is_today)
    assert [(pair.pinion_teeth, pair.spur_teeth) for pair in today.pairs] == [(10, 36), (15, 54), (20, 72)]


def test_the_mount_reaches_as_far_as_its_slots(study: GearingStudy) -> None:
    """Law: half a module a tooth, 0.8 × 3 / 2 = 1.2 mm. The slot is 8 mm, so 4 mm either way is sure."""
    by_teeth = {rung.pairs[0].pinion_teeth: rung.pairs[0] for rung in study.rungs}
    assert by_teeth[18].moves_mm == pytest.approx(1.2)
    assert by_teeth[18].reach is Reach.YES
    assert by_teeth[8].reach is Reach.NO_SUCH_PINION  # its root circle, 4.4 mm, is inside the 5 mm bore
    assert not next(rung for rung in study.rungs if rung.pairs[0].pinion_teeth == 8).mountable


def test_a_taller_rung_is_faster_and_rolls_further_for_a_turn(study: GearingStudy) -> None:
    for shorter, taller in itertools.pairwise(study.rungs):
        assert taller.rollout_mm > shorter.rollout_mm
        assert taller.top_speed_km_h > shorter.top_speed_km_h
        assert taller.rms_motor_A > shorter.rms_motor_A


def test_every_rung_says_what_ends_it_and_when(study: GearingStudy) -> None:
    for rung in study.rungs:
        assert rung.ends_by
        assert rung.run_min > 0.0


def test_the_curves_end_where_the_ladder_says(workshop: Workshop) -> None:
    said = GearingSaid("Bramble", style="tarmac_laps", pinions="15,17")
    made = gearing_study(workshop, said, rung="17")
    assert made.chosen is not None and made.curves is not None
    assert made.chosen.pairs[0].pinion_teeth == 17
    assert made.curves.drive[-1].minute == pytest.approx(made.chosen.run_min, abs=0.5)
    assert made.curves.drive[-1].can_degC == pytest.approx(made.limits.can_degC, abs=4.0)
    assert max(row.speed_km_h for row in made.curves.sprint) == pytest.approx(
        made.chosen.top_speed_km_h, rel=0.01
    )


def test_every_rung_says_what_it_ages_beside_today(study: GearingStudy, workshop: Workshop) -> None:
    """Law: nothing on today's rung, the taller the dearer; nothing for tyres that are not in the car."""
    dearer = [rung.wear.dearer.value for rung in study.rungs if rung.wear is not None]
    assert len(dearer) == len(study.rungs)
    today = next(rung for rung in study.rungs if rung.is_today)
    assert today.wear is not None
    assert today.wear.dearer.value == pytest.approx(0.0)
    assert wear_words(today.wear) == ""
    tallest = study.rungs[-1]
    assert tallest.wear is not None
    assert tallest.wear.dearer.value > 0.0
    assert "the motor can" in wear_words(tallest.wear)
    assert "warmer" in wear_words(tallest.wear)
    bigger = gearing_study(workshop, GearingSaid("Bramble", pinions="15", tyre="135 mm"))
    assert bigger.rungs[0].wear is None


def test_a_study_says_where_its_figures_come_from_and_what_to_beware_of(study: GearingStudy) -> None:
    assert {"twin-estimates", "can-heat-computed", "pack-practice"} <= {one.key for one in study.sources}
    assert any("balloon" in caution.text for caution in study.cautions)
    assert any("keep people behind" in caution.text for caution in study.cautions)
    assert any("burns skin" in text for text in study.heat_cautions)


def test_a_stopped_study_gives_the_rungs_that_were_done(workshop: Workshop) -> None:
    """Sixty-odd ratios go in groups of thirty-two; asked to stop in the second, the first is told."""
    told: list[float] = []
    how = HowToRun(progress=told.append, should_stop=lambda: bool(told) and told[-1] > 0.5)
    said = GearingSaid("Bramble", style="speed_passes", pinions="10-24", spurs="50-54")
    made = gearing_study(workshop, said, how=how)
    assert made.stopped.startswith(f"Stopped: {len(made.rungs)} of ")
    assert len(made.rungs) == 32
    with pytest.raises(Stopped):
        gearing_study(workshop, said, how=HowToRun(should_stop=lambda: True))


# Trade facts (see the head of this file).


def test_todays_gear_stands_ordinary_driving(study: GearingStudy) -> None:
    today = study.chosen
    assert today is not None and today.settled is not None
    assert today.settled.can_degC < study.limits.can_degC


def test_a_tall_pinion_burns_something_out_in_ordinary_driving(workshop: Workshop) -> None:
    made = gearing_study(workshop, GearingSaid("Bramble", style="tarmac_laps", pinions="24"), rung="24")
    assert made.chosen is not None
    assert made.chosen.is_tall
    assert made.chosen.settled is None
    assert made.chosen.run_min < 5.0
    assert "motor reaches its limit" in made.chosen.ends_by


def test_a_tall_pinion_stands_a_few_passes_then_a_pause(workshop: Workshop) -> None:
    today, tall = ask_passes(workshop, GearingSaid("Bramble", pinions="26")).rows
    assert today.ends_by == ""
    assert 2 <= tall.passes <= 12
    assert tall.top_speed_km_h > 1.4 * today.top_speed_km_h
    assert tall.pause_min is not None and 1.0 < tall.pause_min < 15.0


def test_bigger_tyres_want_a_couple_of_teeth_fewer(workshop: Workshop) -> None:
    """135 mm for 118 mm on 15 teeth: 13.1 by rollout (published relation: 15 × 118 / 135), fewer by heat."""
    answer = ask_bigger_tyre(workshop, GearingSaid("Bramble", ambient="22"), "135 mm")
    assert answer.same_rollout.value == pytest.approx(15 * 118 / 135)
    assert answer.same_heat is not None and answer.unchanged_can is not None
    assert 10.0 < answer.same_heat.value < answer.same_rollout.value
    assert answer.unchanged_can.value > answer.today_can.value + 5.0
    assert "smaller pinion" in answer.why


def test_a_stopped_fan_brings_the_controller_near_or_over_its_limit(workshop: Workshop) -> None:
    """On a hot day. The lighter starter truck crosses 90 °C in some styles only, the others come near it."""
    answer = ask_fan_stopped(workshop, GearingSaid("Bramble", ambient="35 °C"))
    assert any(row.stopped_min is not None and row.stopped_min < 30.0 for row in answer.rows)
    for row in answer.rows:
        assert row.running_min is None
        assert row.stopped_top_degC > row.running_top_degC + 20.0


def test_a_learner_stays_below_the_speed(workshop: Workshop) -> None:
    answer = ask_learner(workshop, GearingSaid("Bramble"), "15 km/h")
    assert answer.throttle is not None and 0.1 < answer.throttle.value < 0.5
    assert answer.reached_km_h == pytest.approx(15.0, abs=0.5)
    assert "no limit is needed" in ask_learner(workshop, GearingSaid("Bramble"), "200 km/h").sentence


# What is refused.


@pytest.mark.parametrize(
    "said",
    [
        {"pinions": "20-12"},
        {"pinions": "2"},
        {"pinions": "abc"},
        {"style": "flying"},
        {"ground": "moon"},
        {"tyre": "135 °C"},
        {"tyre": "2 m"},
        {"ambient": "90"},
        {"to": "0"},
        {"internal": "0"},
        {"pack": "nobody"},
        {"pinions": "10-200", "spurs": "10-200"},
    ],
)
def test_what_cannot_be_read_is_refused_with_a_way_out(workshop: Workshop, said: dict[str, str]) -> None:
    with pytest.raises((BadInput, ImpossibleInput)) as refused:
        gearing_study(workshop, GearingSaid("Bramble", **said))
    assert refused.value.way_out


def test_a_rung_that_is_not_there_is_refused(workshop: Workshop) -> None:
    with pytest.raises(NotKnown, match="No pair of this table"):
        gearing_study(workshop, GearingSaid("Bramble", style="speed_passes", pinions="15"), rung="19")


def test_a_car_without_a_fan_has_none_to_stop() -> None:
    from snugfast.usecases.journal.cars import draft_car
    from snugfast.usecases.journal.keeping import keep

    with workshop_in_memory() as (made, _):
        keep(made, [draft_car(made, "Ridge", starter(made, "crawler-1-10-4wd-3s-brushed"))])
        with pytest.raises(BadInput, match="has no fan"):
            ask_fan_stopped(made, GearingSaid("Ridge"))


def test_nothing_in_a_rung_is_not_a_number(study: GearingStudy) -> None:
    for rung in study.rungs:
        for value in (rung.top_speed_km_h, rung.run_min, rung.lowest_V, rung.peak.can_degC):
            assert not math.isnan(value)
