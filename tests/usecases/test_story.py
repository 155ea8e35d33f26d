"""The telling of the journal into beliefs, held against laws that any honest telling must keep."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from snugfast.records.entries import Checked, Entry, Ran
from snugfast.records.standing import standing
from snugfast.upkeep.beliefs import EXTRA, BeliefBank
from snugfast.upkeep.mode_law import Start
from snugfast.usecases.beliefs.exposure import law_of
from snugfast.usecases.beliefs.stories import beliefs_about
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.story_form import story_bytes, story_from
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_back, draft_fitted, draft_moved
from snugfast.usecases.journal.keeping import keep, undo
from snugfast.usecases.journal.run_log import CatchUpSaid, draft_broke, draft_catch_up
from snugfast.usecases.shared.applicability import car_modes
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called, pack_called
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import TRUCK, Clock, facts, ran, with_truck, workshop_in_memory

Bench = tuple[Workshop, Clock]


@pytest.fixture
def bench() -> Iterator[Bench]:
    """A workshop with one truck."""
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        yield workshop, clock


def story_of(workshop: Workshop, name: str = "Bramble") -> Story:
    """The story of a car, or of a pack when no car has that name."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        car = ledger.car_named(name)
        member = car.id if car else pack_called(ledger, name).id
        return beliefs_about(workshop, reads, ledger, member)


def presence(workshop: Workshop, mode: str, name: str = "Bramble", place: str | None = None) -> float:
    """P(defect now) of one mode."""
    story = story_of(workshop, name)
    (member,) = [m for m in (*story.cars, *story.packs) if _called(workshop, m) == name]
    scope = story.scope(member)
    rows = [
        int(scope.rows[n])
        for n, (m, p) in enumerate(zip(scope.modes, scope.places, strict=True))
        if m.key == mode and (place is None or (p is not None and p.key == place))
    ]
    return float(story.bank[rows[:1]].presence[0])


def _called(workshop: Workshop, member: object) -> str:
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    return {**ledger.cars, **ledger.packs}[member].name  # type: ignore[index]


def found(workshop: Workshop, *words: str, check: str = "wheel_nuts", car: str = "Bramble") -> None:
    """Keep one answer."""
    keep(workshop, draft_found(workshop, FoundSaid(car, check, words)).entries)


def test_a_run_is_the_beliefs_own_run_with_ground_and_wet_in_the_exposure(bench: Bench) -> None:
    """Against: the same operations called on a bank by hand."""
    workshop, _ = bench
    ran(workshop, ground="gravel", wet="mud", minutes="17")
    mode = facts().modes["wheel_bearing_worn"]
    fitted = next((r.factor for r in mode.raises if r.event.value == "fitted"), 1.0)
    exposure = 17.0 * mode.ground_factor.get("gravel", 1.0) * mode.wet_factor.get("mud", 1.0)
    bank = BeliefBank()
    (place,) = [p for m, p in car_modes(facts(), facts().starters[TRUCK]) if m.key == mode.key][:1]
    rows = bank.add([law_of(mode)], [Start()], [max(1, len(place.spots))])
    born = workshop.facts.presence.get(mode.key)
    by_hand = (
        bank[rows].disturbed(chance=born.new if born else 0.0).raised(factor=fitted).ran(exposure=exposure)
    )
    assert presence(workshop, mode.key) == pytest.approx(float(by_hand.presence[0]), rel=1e-12)


def test_looking_lowers_a_belief_and_a_tick_lowers_it_less(bench: Bench) -> None:
    """Law: sound < ticked < not looked at."""
    workshop, clock = bench
    for _ in range(4):
        ran(workshop, hits="a few")
    before = presence(workshop, "wheel_nut_loose")
    found(workshop, "ticked")
    ticked = presence(workshop, "wheel_nut_loose")
    clock.on(minutes=1)
    found(workshop, "sound")
    sound = presence(workshop, "wheel_nut_loose")
    assert sound < ticked < before


def test_what_was_found_and_put_right_is_as_good_as_gone(bench: Bench) -> None:
    """Law: at that spot the chance that it did not help is left, elsewhere what a look missed."""
    workshop, _ = bench
    ran(workshop)
    before = presence(workshop, "wheel_nut_loose")
    found(workshop, "loose @ front left: fixed")
    missed = 1.0 - next(c.detects for c in facts().checks["wheel_nuts"].covers if c.mode == "wheel_nut_loose")
    failed_to = 1.0 - workshop.assume("fit_success")
    # What was found here taught that such nuts come loose, so the others are doubted more than before.
    assert failed_to < presence(workshop, "wheel_nut_loose") < failed_to + 4.0 * missed * before


def test_what_was_found_and_left_is_certain(bench: Bench) -> None:
    """Law: a defect that was seen and left is there."""
    workshop, _ = bench
    ran(workshop)
    found(workshop, "loose @ front left: left as it is")
    assert presence(workshop, "wheel_nut_loose") == pytest.approx(1.0)


def test_a_failure_teaches_that_this_car_fails_more_often(bench: Bench) -> None:
    """Law: the learned rate rises with a failure and falls with running without one."""
    workshop, clock = bench

    def rate() -> float:
        story = story_of(workshop)
        (car,) = story.cars
        scope = story.scope(car)
        n = next(n for n, mode in enumerate(scope.modes) if mode.key == "wheel_nut_loose")
        return float(story.bank[scope.rows[[n]]].rate_multiplier[0])

    start = rate()
    for _ in range(6):
        ran(workshop)
    quiet = rate()
    clock.on(minutes=30)
    ran(workshop, broke=("wheel nut @ front left",))
    assert quiet < start < rate()


def test_a_break_of_unknown_cause_raises_the_rates_of_what_it_may_have_been(bench: Bench) -> None:
    """Law: the sum of all learned rates rises, and no single mode takes all the blame."""
    workshop, _ = bench
    ran(workshop)

    def multipliers() -> np.ndarray:
        story = story_of(workshop)
        (car,) = story.cars
        return np.asarray(story.bank[story.scope(car).rows].rate_multiplier)

    before = multipliers()
    ran(workshop, broke=("unknown",))
    with_break = multipliers()
    keep(workshop, [_replaced_without_break(workshop)])
    without = multipliers()
    assert (with_break > without - 1e-12).all()
    assert (with_break > without).mean() > 0.9  # the rest are too rare to have been it
    assert with_break.sum() > before.sum()
    assert (with_break - without).max() < 0.5 * (with_break - without).sum()


def _replaced_without_break(workshop: Workshop) -> Entry:
    with workshop.store.reading() as reads:
        last = reads.entries_after(reads.position() - 1)[0].entry
    assert isinstance(last.fact, Ran)
    return workshop.entry(
        replace(last.fact, broke=()), happened_at=last.happened_at, precision=last.precision, replaces=last
    )


def test_running_remembered_in_bulk_counts_like_the_runs_it_stands_for() -> None:
    """Law: six dry packs without a word are six dry runs without a word (modes worn by running)."""
    beliefs = []
    for in_bulk in (False, True):
        with workshop_in_memory() as (workshop, clock):
            with_truck(workshop)
            clock.on(days=30)
            if in_bulk:
                said = CatchUpSaid("Bramble", "six", since="2026-05-03", minutes_each="12")
                keep(workshop, draft_catch_up(workshop, said).entries)
            else:
                for _ in range(6):
                    ran(workshop, packs=())
            beliefs.append(presence(workshop, "wheel_nut_loose"))
    assert beliefs[0] == pytest.approx(beliefs[1], rel=1e-9)


@pytest.mark.slow
def test_a_part_takes_its_story_to_another_car(bench: Bench) -> None:
    """Law: clocks belong to what wears; the place it left gets a fresh one."""
    workshop, clock = bench
    with_truck(workshop, "Thistle")
    for _ in range(8):
        ran(workshop, hits="many")
    worn = presence(workshop, "pinion_worn")
    clock.on(minutes=5)
    keep(workshop, draft_moved(workshop, "Bramble", "pinion", "Thistle").entries)
    assert presence(workshop, "pinion_worn", "Thistle") == pytest.approx(worn, rel=1e-12)
    assert presence(workshop, "pinion_worn", "Bramble") < worn


def test_a_pack_takes_its_story_from_car_to_car(bench: Bench) -> None:
    """Law: it makes no difference to the pack which car it ran in."""
    workshop, _ = bench
    with_truck(workshop, "Thistle")
    ran(workshop, "Bramble", packs=("Bramble pack",))
    ran(workshop, "Thistle", packs=("Thistle pack",))
    ran(workshop, "Thistle", packs=("Bramble pack",))
    ran(workshop, "Bramble", packs=("Thistle pack",))
    keys = [mode.key for mode in story_of(workshop, "Bramble pack").scope(_pack(workshop)).modes]
    assert keys
    for key in keys:
        one, other = (presence(workshop, key, f"{name} pack") for name in ("Bramble", "Thistle"))
        assert one == pytest.approx(other, rel=1e-9)


def _pack(workshop: Workshop) -> object:
    with workshop.store.reading() as reads:
        return pack_called(ledger_now(reads), "Bramble pack").id


def test_a_new_part_starts_afresh_but_keeps_what_was_learned_of_the_rate(bench: Bench) -> None:
    """Law: presence falls to nothing; the rate learned on this car stays learned."""
    workshop, clock = bench
    for _ in range(5):
        ran(workshop, broke=("wheel nut @ front left",))
    clock.on(minutes=5)
    keep(workshop, draft_fitted(workshop, "Bramble", "wheel nuts").entries)
    assert presence(workshop, "wheel_nut_loose") == 0.0
    story = story_of(workshop)
    (car,) = story.cars
    scope = story.scope(car)
    n = next(n for n, mode in enumerate(scope.modes) if mode.key == "wheel_nut_loose")
    assert story.bank[scope.rows[[n]]].rate_multiplier[0] > 1.5


def test_one_new_part_of_four_takes_a_quarter_of_the_belief(bench: Bench) -> None:
    """Law: a defect sits at each of four spots alike, so one new nut ends it in about one case of four."""
    workshop, clock = bench
    for _ in range(5):
        ran(workshop)
    before = presence(workshop, "wheel_nut_loose")
    clock.on(minutes=5)
    keep(workshop, draft_fitted(workshop, "Bramble", "wheel nuts", spots=("front left",)).entries)
    assert presence(workshop, "wheel_nut_loose") == pytest.approx(0.75 * before, rel=0.05)


def test_a_new_part_where_a_defect_was_left_ends_it_and_elsewhere_it_may_not(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop)
    found(workshop, "loose @ front left: left as it is")
    after = {}
    for spot in ("front left", "rear right"):
        clock.on(minutes=5)
        keep(workshop, draft_fitted(workshop, "Bramble", "wheel nuts", spots=(spot,)).entries)
        after[spot] = presence(workshop, "wheel_nut_loose")
        undo(workshop)
    assert after["front left"] == pytest.approx(1.0 - workshop.assume("fit_success"), abs=0.01)
    assert after["rear right"] == pytest.approx(1.0)


def test_with_two_defects_left_one_new_part_does_not_end_both(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop)
    for spot in ("front left", "rear right"):
        clock.on(minutes=5)
        found(workshop, f"loose @ {spot}: left as it is")
    clock.on(minutes=5)
    keep(workshop, draft_fitted(workshop, "Bramble", "wheel nuts", spots=("front left",)).entries)
    assert presence(workshop, "wheel_nut_loose") == pytest.approx(1.0)


def test_of_two_answers_in_one_breath_what_was_left_is_still_there(bench: Bench) -> None:
    """Law: putting one nut right does not put right the other, whichever is said first."""
    workshop, _ = bench
    ran(workshop)
    put_right, left = "loose @ front left", "loose @ rear right: left as it is"
    for words in ((put_right, left), (left, put_right)):
        found(workshop, *words)
        assert presence(workshop, "wheel_nut_loose") == pytest.approx(1.0)
        undo(workshop)


def test_two_defects_left_in_one_breath_are_not_ended_by_one_part(bench: Bench) -> None:
    workshop, clock = bench
    ran(workshop)
    found(workshop, "loose @ front left: left as it is", "loose @ rear right: left as it is")
    clock.on(minutes=5)
    keep(workshop, draft_fitted(workshop, "Bramble", "wheel nuts", spots=("rear right",)).entries)
    assert presence(workshop, "wheel_nut_loose") == pytest.approx(1.0)


@pytest.mark.slow
def test_a_car_back_from_a_loan_is_believed_to_have_run(bench: Bench) -> None:
    """Law: more packs elsewhere, more that may be wrong; the rate has learned nothing from silence."""
    workshop, clock = bench
    for _ in range(20):
        ran(workshop)
    found(workshop, "sound")
    clock.on(days=20)
    seen = []
    for packs in (("1", "2"), ("10", "20")):
        keep(workshop, [draft_back(workshop, "Bramble", *packs)])
        seen.append(presence(workshop, "wheel_nut_loose"))
        undo(workshop)
    assert presence(workshop, "wheel_nut_loose") < seen[0] < seen[1]


@pytest.mark.slow
def test_a_second_hand_car_starts_with_doubts_and_wider_rates() -> None:
    """Law: nobody knows when it was last looked at."""
    from snugfast.usecases.journal.cars import draft_car, starter

    with workshop_in_memory() as (workshop, _):
        build = starter(workshop, "truck-1-10-4wd-3s")
        keep(workshop, [draft_car(workshop, "Box", build)])
        keep(workshop, [draft_car(workshop, "Barn", build, history="second-hand")])
        for mode in ("wheel_nut_loose", "wheel_bearing_worn", "diff_low_oil"):
            from_box = workshop.facts.presence[mode].new if mode in workshop.facts.presence else 0.0
            assert presence(workshop, mode, "Box") == pytest.approx(from_box)
            assert presence(workshop, mode, "Barn") > presence(workshop, mode, "Box")
        assert presence(workshop, "mesh_shifted", "Box") == pytest.approx(0.05)


def test_days_wear_what_wears_by_days_without_a_run(bench: Bench) -> None:
    """Law: the calendar runs on between entries."""
    workshop, clock = bench
    story = story_of(workshop)
    (car,) = story.cars
    soon, late = (story.as_of(car, clock.now + timedelta(days=days))[0] for days in (1, 200))
    scope = story.scope(car)
    by_days = [n for n, mode in enumerate(scope.modes) if mode.clock.value == "days" and not mode.raises]
    assert by_days
    assert (late.presence[by_days] > soon.presence[by_days]).all()


def test_a_break_off_the_track_is_learned_too(bench: Bench) -> None:
    """Law: found broken and renewed, the defect is gone at that corner; the others are doubted a little."""
    workshop, clock = bench
    ran(workshop)
    clock.on(minutes=5)
    before = presence(workshop, "wheel_nut_loose")
    keep(workshop, draft_broke(workshop, "Bramble", "wheel nut @ front left: renewed").entries)
    failed_to = 1.0 - workshop.assume("fit_success")
    assert failed_to < presence(workshop, "wheel_nut_loose") < failed_to + 3.0 * before


def test_told_anew_or_taken_further_the_story_is_equal_to_the_last_bit(bench: Bench) -> None:
    """Law: a projection dropped and rebuilt comes out equal; bytes and back change nothing."""
    workshop, clock = bench
    for n in range(6):
        ran(workshop, wet="mud" if n % 3 == 0 else "dry", hits="a few")
        clock.on(minutes=20)
        found(workshop, "loose @ rear left" if n == 4 else "sound")
        clock.on(days=3)
    with workshop.store.reading() as reads:
        car = car_called(ledger_now(reads), "Bramble").id
        entries = standing(reads.entries_of([car])).entries
    whole = Story(facts(), workshop.build, [car])
    for entry in entries:
        whole.take(entry)
    pieces = Story(facts(), workshop.build, [car])
    for entry in entries:
        pieces.take(entry)
        pieces = story_from(story_bytes(pieces), facts(), workshop.build, [car])
    assert pieces.bank == whole.bank
    assert pieces.marks == whole.marks
    assert (pieces.since_look == whole.since_look).all()
    assert story_bytes(pieces) == story_bytes(whole)


@pytest.mark.slow
def test_opening_a_cover_shakes_what_it_holds_once_an_evening(bench: Bench) -> None:
    """Law: a second check behind the same cover that evening raises no rate again; the next evening does."""
    workshop, clock = bench
    behind = [
        check for check in facts().checks.values() if check.access == "gear_cover_off" and not check.harm
    ]
    assert len(behind) >= 2
    cover = facts().access["gear_cover_off"]
    story = story_of(workshop)
    (car,) = story.cars
    scope = story.scope(car)
    held = scope.rows[
        scope.where(
            lambda mode, place: (
                mode.role in cover.roles and any(r.event.value == "work there" for r in mode.raises)
            )
        )
    ]
    assert len(held)

    def raised_after(minutes: float, check: str) -> np.ndarray:
        story.take(workshop.entry(Checked(car, check), happened_at=clock.now + timedelta(minutes=minutes)))
        return story.bank[held].clocks[:, EXTRA].copy()

    def after_a_run() -> np.ndarray:
        story.take(workshop.entry(Ran(car, (), 12.0), happened_at=clock.now + timedelta(minutes=5)))
        return story.bank[held].clocks[:, EXTRA].copy()

    before = story.bank[held].clocks[:, EXTRA].copy()
    first = raised_after(1, behind[0].key)
    faded = after_a_run()
    second = raised_after(9, behind[1].key)
    next_day = raised_after(24 * 60, behind[0].key)
    assert (first > before).all()
    assert (faded < first).all()
    assert (second == faded).all()
    assert (next_day > second).all()
