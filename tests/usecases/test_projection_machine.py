"""Two benches log, correct, take back, part and meet; what is worked out always equals a fresh replay.

Authority: a law (projections dropped and worked out again come out equal, to the last bit), told by a
hypothesis state machine through the use-cases. The fresh replay does not read what is kept: it takes every
entry of the journal, lets `standing` judge them all at once, and folds and tells from the first.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from uuid import UUID

import pytest
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, rule, run_state_machine_as_test

from snugfast.core.errors import BadInput, RefusedAction
from snugfast.core.ids import compose
from snugfast.records.entries import Entry, Ran, subjects
from snugfast.records.ledger import Ledger, fold
from snugfast.records.ledger_form import ledger_bytes
from snugfast.records.standing import standing
from snugfast.records.store import Store
from snugfast.usecases.beliefs import stories as what_stands
from snugfast.usecases.beliefs.stories import beliefs_about, remember
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.story_form import story_bytes
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_fitted, draft_moved
from snugfast.usecases.journal.keeping import keep, redo, undo, withdraw
from snugfast.usecases.journal.run_log import CatchUpSaid, RunSaid, draft_catch_up, draft_runs
from snugfast.usecases.safekeeping.hand_over import Everything, hand_over, take_in
from snugfast.usecases.shared import ledger as ledger_kept
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import family
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, facts, ran, with_truck

CARS = ("Bramble", "Thistle")
CHECKS = ("pinion_screw", "mesh_feel", "diff_seep")
Worked = tuple[bytes, dict[UUID, bytes]]

sides = st.integers(0, 1)
cars = st.sampled_from(CARS)
late = st.integers(0, 20)


class TwoBenches(RuleBasedStateMachine):
    """The shed's own store, and a laptop in the field that began as a copy of it."""

    def __init__(self) -> None:
        super().__init__()
        self.sheets_kept = [True, True]
        self.touched = {0, 1}  # since what is worked out was last held against a fresh replay
        self.clocks = [Clock(), Clock()]
        self.clocks[1].on(microseconds=500)  # so that no two entries ever happen at one moment
        self.stores = [Store.create("sqlite://", clock=clock) for clock in self.clocks]
        self.benches = [
            Workshop(store, facts(), clock, compose(1 + side, bytes(10)))
            for side, (store, clock) in enumerate(zip(self.stores, self.clocks, strict=True))
        ]
        for car in CARS:
            with_truck(self.benches[0], car)
        take_in(self.benches[1], hand_over(self.benches[0]))
        for clock in self.clocks:
            clock.on(days=30)
        for bench, car in zip(self.benches, CARS, strict=True):
            ran(bench, car)

    def teardown(self) -> None:
        for store in self.stores:
            store.close()

    @rule(side=sides, hours=st.integers(-300, 300))
    def the_clock_goes_on_or_back(self, side: int, hours: int) -> None:
        self.clocks[side].on(hours=hours)

    @rule(
        side=sides, car=cars, late=late, minutes=st.integers(3, 40), hits=st.sampled_from(["", "3", "many"])
    )
    def run(self, side: int, car: str, late: int, minutes: int, hits: str) -> None:
        said = RunSaid(car, (f"{car} pack",), str(minutes), when=self.ago(side, late), hits=hits, wet="mud")
        self.attempt(side, lambda bench: keep(bench, draft_runs(bench, (said,)).entries))

    @rule(side=sides, car=cars, late=late)
    def catch_up(self, side: int, car: str, late: int) -> None:
        said = CatchUpSaid(car, "4", since=self.ago(side, late + 5), until=self.ago(side, late))
        self.attempt(side, lambda bench: keep(bench, draft_catch_up(bench, said).entries))

    @rule(
        side=sides,
        car=cars,
        late=late,
        check=st.sampled_from(CHECKS),
        words=st.sampled_from(["sound", "ticked"]),
    )
    def look(self, side: int, car: str, late: int, check: str, words: str) -> None:
        said = FoundSaid(car, check, (words,), when=self.ago(side, late))
        self.attempt(side, lambda bench: keep(bench, draft_found(bench, said).entries))

    @rule(
        side=sides,
        car=cars,
        late=late,
        what=st.sampled_from(["motor", "pinion, 13 teeth", "pinion, 19 teeth"]),
    )
    def fit_a_part(self, side: int, car: str, late: int, what: str) -> None:
        """A new motor, or a pinion that changes the build and with it what the twin says of the car."""
        place, when = what.partition(",")[0], self.ago(side, late)
        self.attempt(
            side, lambda bench: keep(bench, draft_fitted(bench, car, place, part=what, when=when).entries)
        )

    @rule(side=sides, other_way=st.booleans())
    def move_the_motor(self, side: int, other_way: bool) -> None:
        giver, taker = CARS[::-1] if other_way else CARS
        self.attempt(side, lambda bench: keep(bench, draft_moved(bench, giver, "motor", taker).entries))

    @rule(side=sides, which=st.integers(0, 99), car=cars, minutes=st.integers(3, 40))
    def correct(self, side: int, which: int, car: str, minutes: int) -> None:
        """A run had another length, or was another car's."""
        runs = [entry for entry in self.journal(side) if isinstance(entry.fact, Ran)]
        if runs:
            was = runs[-1 - which % len(runs)]
            said = RunSaid(car, (f"{car} pack",), str(minutes), when=f"{was.happened_at:%Y-%m-%d %H:%M}")
            self.attempt(side, lambda bench: keep(bench, draft_runs(bench, (said,), replaces=was).entries))

    @rule(side=sides, which=st.integers(0, 99))
    def take_back(self, side: int, which: int) -> None:
        """Anything: a run, a withdrawal, a car with all that rests on it."""
        entries = self.journal(side)
        target = entries[-1 - which % len(entries)].id
        self.attempt(side, lambda bench: withdraw(bench, target))

    @rule(side=sides, again=st.booleans())
    def undo(self, side: int, again: bool) -> None:
        self.attempt(side, undo)
        if again:
            self.attempt(side, redo)

    @rule(side=sides, kept=st.booleans())
    def sheets_are_asked_for_or_not(self, side: int, kept: bool) -> None:
        """What a sheet works out is kept; it changes nothing but how far the next question has to go."""
        self.sheets_kept[side] = kept

    @rule(side=sides)
    def rebuild(self, side: int) -> None:
        self.touched.add(side)
        with self.stores[side].work() as work:
            work.projections.drop_all()
            work.commit()

    @rule(side=sides, shuffle=st.randoms(use_true_random=False), count=st.integers(1, 12))
    def a_few_arrive_in_any_order(self, side: int, shuffle: object, count: int) -> None:
        """What was written elsewhere comes in pieces: a withdrawal perhaps before what it takes back."""
        everything = hand_over(self.benches[1 - side])
        entries = list(everything.entries)
        shuffle.shuffle(entries)  # type: ignore[attr-defined]
        self.arrive(side, replace(everything, entries=tuple(entries[:count])))

    @rule()
    def meet(self) -> None:
        """Each takes in the other; after that both have worked out the same."""
        for side in (0, 1):
            self.arrive(side, hand_over(self.benches[1 - side]))
        one, other = (self.worked_out(side) for side in (0, 1))
        assert one == other

    @invariant()
    def what_is_worked_out_equals_a_fresh_replay(self) -> None:
        for side in self.touched:
            assert self.worked_out(side) == self.fresh(side)
        self.touched = set()

    def ago(self, side: int, late: int) -> str:
        """Some hours ago, to the minute; empty for now."""
        at = self.clocks[side].now - timedelta(hours=7 * late, minutes=late)
        return f"{at:%Y-%m-%d %H:%M}" if late else ""

    def attempt(self, side: int, act: Callable[[Workshop], object]) -> None:
        """What is refused, because it contradicts or the car is gone, keeps nothing."""
        self.touched.add(side)
        before = self.journal(side)
        try:
            act(self.benches[side])
        except (BadInput, RefusedAction):
            assert self.journal(side) == before

    def arrive(self, side: int, everything: Everything) -> None:
        self.touched.add(side)
        before = len(self.journal(side))
        told = take_in(self.benches[side], everything)
        assert len(self.journal(side)) == before + told.new

    def journal(self, side: int) -> tuple[Entry, ...]:
        with self.stores[side].reading() as reads:
            return tuple(row.entry for row in reads.entries_after(0))

    def worked_out(self, side: int) -> Worked:
        bench = self.benches[side]
        with bench.store.reading() as reads:
            ledger, position = ledger_now(reads), reads.position()
            stories = {one: beliefs_about(bench, reads, ledger, one) for one in families(ledger)}
        if self.sheets_kept[side]:
            remember(bench, position, stories.values())
        return as_bytes(ledger, stories)

    def fresh(self, side: int) -> Worked:
        bench = self.benches[side]
        stand = standing(self.journal(side)).entries
        ledger = fold(stand)
        stories = {one: self.told_anew(bench, ledger, one, stand) for one in families(ledger)}
        return as_bytes(ledger, stories)

    @staticmethod
    def told_anew(bench: Workshop, ledger: Ledger, member: UUID, stand: tuple[Entry, ...]) -> Story:
        members = family(ledger, member)
        story = Story(bench.facts, bench.build, members)
        for entry in stand:
            if subjects(entry.fact) & members:
                story.take(entry)
        return story


def families(ledger: Ledger) -> set[UUID]:
    """One of each family of cars, and every pack."""
    return {min(family(ledger, member)) for member in (*ledger.cars, *ledger.packs)}


def as_bytes(ledger: Ledger, stories: dict[UUID, Story]) -> Worked:
    return ledger_bytes(ledger), {member: story_bytes(story) for member, story in stories.items()}


@pytest.fixture(autouse=True)
def kept_often(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ledgers and stories are kept after so few entries that short stories go every way there is."""
    monkeypatch.setattr(ledger_kept, "FOLDED_ANEW_AFTER", 2)
    monkeypatch.setattr(ledger_kept, "EARLIER_BY", 1)
    monkeypatch.setattr(what_stands, "EARLIER_BY", 1)


@pytest.mark.slow
def test_two_benches_that_part_and_meet() -> None:
    run_state_machine_as_test(
        TwoBenches, settings=settings(max_examples=3, stateful_step_count=16, deadline=None)
    )


@pytest.mark.soak
def test_many_stories_of_two_benches() -> None:
    run_state_machine_as_test(
        TwoBenches, settings=settings(max_examples=20, stateful_step_count=40, deadline=None)
    )
