"""What the beliefs make of like parts, of what was left, of days and of moves: the points found wrong.

Authority: laws, and by hand where a number stands; each product figure it replaces is named.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from itertools import product

import numpy as np
import pytest

from snugfast.facts.builds import build_document
from snugfast.facts.load import read_build
from snugfast.facts.model import Clock, Covers, Facts
from snugfast.records.entries import (
    Answer,
    Broke,
    BuildChanged,
    CameBack,
    CarAdded,
    Checked,
    Done,
    Failed,
    History,
    PartFitted,
    PartMoved,
    Ran,
    Wet,
)
from snugfast.usecases.beliefs.stakes import at_risk
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.upcoming import Ahead
from snugfast.usecases.shared.typed_words import which_place
from tests.usecases.bench import MORNING, TRUCK, facts
from tests.usecases.test_lateness import CAR, ONE_HOUR, SALT, Told, truck, wet_truck

NUT, BEARING, ARM = "wheel_nut_loose", "wheel_bearing_worn", "arm_cracked"
FIT, UNSAID = (facts().assumptions[key].value for key in ("fit_success", "unsaid_mending_chance"))
LOOSE_AT = "front left"


def at(story: Story, mode: str, place: str | None = None) -> int:
    return story.scope(CAR).where(
        lambda m, p: m.key == mode and (place is None or (p is not None and p.key == place))
    )[0]


def presence(told: Told, mode: str, hours: float, place: str | None = None) -> float:
    return told.presence(mode, hours, place)


def season(runs: int = 6) -> Iterator[tuple[Told, float]]:
    told = truck()
    for n in range(runs):
        told.take(10.0 + 24.0 * n, Ran(CAR, (), 15.0, hard_hits=2.0))
    yield told, 10.0 + 24.0 * runs


# Left, and looked at weakly.


def test_an_arm_left_cracked_is_still_there_after_a_weak_look_says_ok() -> None:
    """Worked: 100 % → 1.6 % it was; Bayes with a chance of an unsaid repair says some 88 %."""
    sees = 0.2
    look = replace(facts().checks["suspension_drop"], covers=(Covers(ARM, sees),), harm=0.0, access="")
    told = truck(replace(facts(), checks={look.key: look}))
    place = told.story.scope(CAR).places[at(told.story, ARM)].key  # type: ignore[union-attr]
    told.take(5, Checked(CAR, look.key, answers=(Answer("cracked", ARM, place, LOOSE_AT, Done.LEFT),)))
    assert presence(told, ARM, 5, place) == pytest.approx(1.0)
    told.take(30, Checked(CAR, look.key))
    kept = 1.0 - UNSAID * FIT
    quiet = (1.0 - look.false_alarm) ** 0.25
    by_hand = kept * (1.0 - sees) / (kept * (1.0 - sees) + (1.0 - kept) * quiet)
    assert presence(told, ARM, 30, place) == pytest.approx(by_hand, abs=0.02)
    assert presence(told, ARM, 30, place) > 0.7


def found_and_left(spots: tuple[str, ...]) -> list[float]:
    """Chance that a nut is bad after each look of an evening that found one and left it (*against*).

    Every state of the four nuts, and every nut that each look can have meant; 15 % are wrong from the box.
    """
    each = 1.0 - 0.85**0.25
    states = {
        (nuts, (False,) * 4): float(np.prod([each if bad else 1.0 - each for bad in nuts]))
        for nuts in product((False, True), repeat=4)
    }
    chances = []
    for spot in spots:
        after: dict[tuple[tuple[bool, ...], tuple[bool, ...]], float] = defaultdict(float)
        for (nuts, left), chance in mended_unsaid(states).items():
            for who in [0] if spot else range(4):
                likely = chance
                for nut, bad in enumerate(nuts):
                    seen = 0.6 if bad else 1.0 - 0.98**0.25
                    likely *= seen if nut == who else 1.0 - seen
                after[nuts, tuple(known or nut == who for nut, known in enumerate(left))] += likely
        total = sum(after.values())
        states = {state: chance / total for state, chance in after.items()}
        chances.append(sum(chance for (nuts, _), chance in states.items() if any(nuts)))
    return chances


def mended_unsaid(
    states: dict[tuple[tuple[bool, ...], tuple[bool, ...]], float],
) -> dict[tuple[tuple[bool, ...], tuple[bool, ...]], float]:
    """Each nut known to be left was fixed since with a small chance."""
    for nut in range(4):
        after: dict[tuple[tuple[bool, ...], tuple[bool, ...]], float] = defaultdict(float)
        for (nuts, left), chance in states.items():
            fixed = UNSAID * FIT if left[nut] and nuts[nut] else 0.0
            after[nuts, left] += chance * (1.0 - fixed)
            after[(*nuts[:nut], False, *nuts[nut + 1 :]), left] += chance * fixed
        states = after
    return states


@pytest.mark.parametrize("spots", [("", ""), ("", LOOSE_AT), ("", "", ""), ("", "", LOOSE_AT)])
def test_found_again_where_nobody_names_the_corner(spots: tuple[str, ...]) -> None:
    """.9605 told of the second find where .9795 is right: what is found again is most likely the same nut."""
    look = replace(
        facts().checks["wheel_nuts"], covers=(Covers(NUT, 0.6),), false_alarm=0.02, harm=0.0, access=""
    )
    box = {NUT: replace(facts().presence[NUT], new=0.15)}
    told = truck(replace(facts(), checks={look.key: look}, presence=box))
    for evening, (spot, by_hand) in enumerate(zip(spots, found_and_left(spots), strict=True)):
        hour = 5 + 24.0 * evening
        answer = Answer("loose", NUT, "wheel_nuts", spot, Done.LEFT)
        told.take(hour, Checked(CAR, look.key, answers=(answer,)))
        assert 1.0 - presence(told, NUT, hour) == pytest.approx(1.0 - by_hand, rel=0.02), evening


def test_a_sharp_look_on_several_evenings_ends_the_doubt() -> None:
    told = truck()
    told.take(
        5, Checked(CAR, "wheel_nuts", answers=(Answer("loose", NUT, "wheel_nuts", LOOSE_AT, Done.LEFT),))
    )
    seen = []
    for evening in range(1, 5):
        told.take(5 + 24.0 * evening, Checked(CAR, "wheel_nuts"))
        seen.append(presence(told, NUT, 5 + 24.0 * evening))
    assert seen == sorted(seen, reverse=True)
    assert seen[-1] < 0.01


# Like parts.


@pytest.mark.parametrize("mode", [BEARING, "tyre_worn"])
def test_one_of_four_renewed_leaves_the_age_of_the_others(mode: str) -> None:
    """Tyres .006 where .188 is right: three old parts have three quarters of the doubt, not none."""
    (story, hour) = next(season(12))
    place = story.story.scope(CAR).places[at(story.story, mode)]
    assert place is not None
    whole, one, none = (next(season(12))[0] for _ in range(3))
    one.take(hour, PartFitted(CAR, place.key, CAR, "new", spots=(place.spots[0],)))
    whole.take(hour, PartFitted(CAR, place.key, CAR, "new"))
    for told in (whole, one, none):
        for n in range(6):
            told.take(hour + 5 + n, Ran(CAR, (), 15.0))
    new, three, old = (presence(told, mode, hour + 20, place.key) for told in (whole, one, none))
    assert new < three < old
    assert three > 0.6 * old


def test_a_lost_nut_makes_the_others_likelier_loose() -> None:
    """After a lost nut 2 % it was that another is bad; a failure does not clear its like parts."""
    ((told, hour),) = season()
    ((quiet, _),) = season()
    broke = Broke(NUT, "wheel_nuts", LOOSE_AT, done=Done.RENEWED)
    told.take(hour, Ran(CAR, (), 15.0, broke=(broke,)))
    quiet.take(hour, Ran(CAR, (), 15.0))
    assert presence(told, NUT, hour) > presence(quiet, NUT, hour) > 1.0 - FIT


def test_failed_at_a_spot_and_left_then_renewed_there_is_mended() -> None:
    """.75 where .02 is right."""
    told = truck()
    told.take(5, Ran(CAR, (), 5.0, broke=(Broke(NUT, "wheel_nuts", LOOSE_AT, done=Done.LEFT),)))
    assert presence(told, NUT, 5) == pytest.approx(1.0)
    told.take(7, PartFitted(CAR, "wheel_nuts", CAR, "nut", spots=(LOOSE_AT,)))
    assert presence(told, NUT, 7) < 0.08


# Water.


def test_renewed_while_wet_then_wet_again_rusts_again() -> None:
    """.0065 where .736 is right: what was dry stands in the water of the next wet run."""
    told = wet_truck(Wet.SALT_WATER)
    place = "wheel_bearings_inner"
    told.take(3, PartFitted(CAR, place, CAR, "bearings"))
    told.take(5, Ran(CAR, (), 12.0, wet=Wet.SALT_WATER))
    fresh = presence(told, BEARING, 5, place)
    late = 5 + SALT.deadline_h + 24 * 5
    assert presence(told, BEARING, late, place) > fresh + 0.5
    assert presence(told, BEARING, 5 + SALT.deadline_h - 0.01, place) == pytest.approx(fresh)


def test_renewed_after_the_wet_run_that_broke_it_is_dry() -> None:
    told = truck()
    broke = tuple(
        Broke(BEARING, "wheel_bearings_inner", spot, done=Done.RENEWED)
        for spot in ("front left", "front right", "rear left", "rear right")
    )
    told.take(1, Ran(CAR, (), 12.0, wet=Wet.SALT_WATER, broke=broke))
    soon = presence(told, BEARING, 2, "wheel_bearings_inner")
    assert presence(told, BEARING, 300, "wheel_bearings_inner") == pytest.approx(soon)


def test_a_treatment_that_stays_undone_counts_in_what_lies_ahead() -> None:
    """.003 where .60 is right: nine late days in salt plant a defect before the next bench."""
    told = wet_truck(Wet.SALT_WATER)
    dry = truck(replace(facts(), treatments={}))
    dry.take(1, Ran(CAR, (), 12.0, wet=Wet.SALT_WATER))
    n = at(told.story, BEARING, "wheel_bearings_inner")
    outing = Ahead(4.0, 48.0, 4.0, 0.0, 9.0)
    ahead, plain = (at_risk(one.story, CAR, CAR, outing, MORNING + 2 * ONE_HOUR)[n] for one in (told, dry))
    assert ahead.presence > plain.presence + 0.4


# Breaks of unknown cause, days, and what was left broken.


def test_an_unknown_break_left_as_it_is_leaves_one_more_defect() -> None:
    """The sum of presences was .995 where 1.996 is right: what was found in the run is still there."""
    sums = {}
    for done in (Done.LEFT, Done.PUT_RIGHT):
        ((told, hour),) = season(1)
        told.take(hour, Ran(CAR, (), 15.0, broke=(Broke(None, done=done),)))
        beliefs, _ = told.story.as_of(CAR, MORNING + hour * ONE_HOUR)
        each = beliefs.counts * beliefs.part_presence
        sums[done] = float(each.sum())
    assert sums[Done.LEFT] - sums[Done.PUT_RIGHT] == pytest.approx(FIT, rel=0.02)


def by_days() -> Facts:
    """Tables in which a plug of the receiver works loose by the calendar."""
    known = facts()
    days = replace(
        known.modes["receiver_plug_loose"], clock=Clock.DAYS, between_defects=60.0, delay=10.0, raises=()
    )
    return replace(known, modes={NUT: known.modes[NUT], days.key: days}, presence={}, duty={})


def blamed(tables: Facts, wait_h: float) -> float:
    """How far the rate of what wears by days is raised by an unknown break after so long a wait."""
    told = truck(tables)
    told.take(1, Ran(CAR, (), 12.0))
    n = at(told.story, "receiver_plug_loose")
    told.take(1 + wait_h / 2, Checked(CAR, "wheel_nuts"))
    before = told.story.as_of(CAR, MORNING + (1 + wait_h) * ONE_HOUR)[0].rate_multiplier[n]
    told.take(1 + wait_h, Ran(CAR, (), 12.0, broke=(Broke(None),)))
    after = told.story.bank[told.story.scope(CAR).rows].rate_multiplier[n]
    return float(after / before)


def test_what_wears_by_days_has_its_share_of_an_unknown_break() -> None:
    """4e-11 where .62 is right: it may have gone while the car stood."""
    assert blamed(by_days(), 24.0 * 20) > 1.1
    assert blamed(by_days(), 24.0 * 20) > blamed(by_days(), 24.0)


def test_blame_at_rest_does_not_depend_on_the_unit_of_a_clock() -> None:
    """Law: told by minutes, or by hits of which a pack has a tenth as many, a mode is as much to blame."""
    known, seen = by_days(), []
    for clock, unit in ((Clock.RUNNING_MIN, 12.0), (Clock.HARD_HITS, 1.2)):
        told_by = replace(
            known.modes[NUT],
            key="either",
            clock=clock,
            between_defects=20.0 * unit,
            delay=2.0 * unit,
            raises=(),
        )
        told = truck(replace(known, modes={NUT: known.modes[NUT], "either": told_by}))
        n = at(told.story, "either")
        told.take(5, Failed(CAR, Broke(None)))
        seen.append(float(told.story.bank[told.story.scope(CAR).rows].rate_multiplier[n]))
    assert seen[0] > 1.05
    assert seen[1] == pytest.approx(seen[0], rel=1e-9)


def test_a_part_that_failed_and_was_left_teaches_no_delay() -> None:
    told = truck()
    place = told.story.scope(CAR).places[at(told.story, ARM)]
    assert place is not None
    told.take(5, Ran(CAR, (), 15.0, broke=(Broke(ARM, place.key, place.spots[0], done=Done.LEFT),)))
    rows = told.story.scope(CAR).rows
    broken = [n for n in range(len(rows)) if told.story.bank[rows[[n]]].presence[0] > 0.999]
    before = told.story.bank[rows[broken]].delay_multiplier
    for n in range(8):
        told.take(30 + 24 * n, Ran(CAR, (), 15.0, hard_hits=3.0))
    assert broken
    assert told.story.bank[rows[broken]].delay_multiplier == pytest.approx(before, rel=0.05)


# Moves, builds, loans, cars with an unknown past.


def test_moved_there_and_back_every_part_keeps_what_it_has_been_through() -> None:
    """Law: the taker's own part goes back to its place with its story; so does the giver's stand-in."""
    other = CAR.__class__(int=CAR.int + 1)
    tables = facts()
    story = Story(tables, lambda document: read_build(document, "build", tables), [CAR, other])
    told = Told(story)
    for car in (CAR, other):
        told.take(0, CarAdded(car, "one", build_document(tables.starters[TRUCK])))
    for n in range(8):
        told.take(5 + n, Ran(CAR, (), 15.0))
        told.take(5.5 + n, Ran(other, (), 30.0))
    parts = {car: story.cars[car].parts["motor"] for car in (CAR, other)}
    worn = story.bank[story.scope(other).rows].presence.copy()
    told.take(20, PartMoved(CAR, "motor", other, "motor"))
    stand_in = story.cars[CAR].parts["motor"]
    told.take(21, PartMoved(other, "motor", CAR, "motor"))
    assert {car: story.cars[car].parts["motor"] for car in (CAR, other)} == parts
    after = story.bank[story.scope(other).rows].presence
    assert after == pytest.approx(worn, rel=1e-9)
    told.take(22, PartMoved(CAR, "motor", other, "motor"))
    assert story.cars[CAR].parts["motor"] == stand_in


def test_editing_a_trait_makes_no_old_part_new() -> None:
    """Law: a mode that the build has only now is as old as the part it belongs to."""
    told = truck()
    for n in range(20):
        told.take(5 + n, Ran(CAR, (), 15.0))
    document = dict(told.story.cars[CAR].document)
    document["traits"] = {
        **document["traits"],
        "hex_material": "metal" if document["traits"].get("hex_material") == "plastic" else "plastic",
    }
    before = {mode.key for mode in told.story.scope(CAR).modes}
    told.take(30, BuildChanged(CAR, document))
    added = [n for n, mode in enumerate(told.story.scope(CAR).modes) if mode.key not in before]
    assert added
    rows = told.story.scope(CAR).rows[added]
    assert (told.story.bank[rows].age > 100.0).all()
    assert (told.story.bank[rows].presence > 0.0).all()


def test_a_loan_teaches_no_rate() -> None:
    """Decision 0004: silence of somebody who mends says nothing; the doubt grows all the same."""
    told = truck()
    told.take(5, Ran(CAR, (), 12.0))
    n = at(told.story, BEARING)
    rows = told.story.scope(CAR).rows
    before = told.story.bank[rows].rate_multiplier[n], told.story.bank[rows].presence[n]
    told.take(100, CameBack(CAR, 20.0, 30.0))
    after = told.story.bank[rows].rate_multiplier[n], told.story.bank[rows].presence[n]
    assert after[0] == before[0]
    assert after[1] > before[1]


def test_a_car_with_an_unknown_past_has_wider_rates() -> None:
    """Law: the spread is divided by what the table says, so one failure moves the rate further."""
    moved = []
    for history in (History.NEW, History.SECOND_HAND):
        told = Told(Story(facts(), lambda document: read_build(document, "build", facts()), [CAR]))
        told.take(0, CarAdded(CAR, "one", build_document(facts().starters[TRUCK]), history))
        n = at(told.story, ARM)
        rows = told.story.scope(CAR).rows
        for k in range(3):
            told.take(
                5 + k,
                Ran(
                    CAR,
                    (),
                    12.0,
                    hard_hits=1.0,
                    broke=(Broke(ARM, told.story.scope(CAR).places[n].key, LOOSE_AT),),
                ),
            )  # type: ignore[union-attr]
        moved.append(float(told.story.bank[rows].rate_multiplier[n]))
    assert moved[1] > 1.1 * moved[0]


def test_days_pass_in_the_mind_only() -> None:
    """Law: asking what is believed later does not move the story."""
    told = wet_truck(Wet.SALT_WATER)
    first = presence(told, BEARING, 500)
    assert presence(told, BEARING, 100) < first
    assert presence(told, BEARING, 500) == first
    assert told.story.cars[CAR].day == MORNING + timedelta(hours=1)


@pytest.mark.parametrize("typed", ["inner front left", "Inner wheel bearings, front left"])
def test_a_place_and_its_corner_are_understood_together(typed: str) -> None:
    """It asked back for the place that had just been typed in full."""
    build = facts().starters[TRUCK]
    places = tuple(place for place in build.places if place.role == "wheel_bearing")
    place, spot = which_place(facts().modes[BEARING], places, typed)
    assert (place.key, spot) == ("wheel_bearings_inner", LOOSE_AT)
