"""What calls for somebody. Authority: definitions (what is unsafe is a must that was skipped, a defect that
can hurt, or one likelier there than not; a sheet that waits is a sheet that is due)."""

from __future__ import annotations

from snugfast.records.entries import Done
from snugfast.usecases.bench.needs import Need, Sort, needs_now
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.packs.today import packs_today
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import with_truck, workshop_in_memory
from tests.usecases.pack_bench import PACK, Bench


def needs(workshop: Workshop) -> tuple[Need, ...]:
    return needs_now(workshop, outlooks(workshop, cars_here).cars, packs_today(workshop))


def answered(workshop: Workshop, check: str, word: str) -> None:
    keep(workshop, draft_found(workshop, FoundSaid("Bramble", check, (word,))).entries)


def test_an_outing_asks_for_a_sheet_and_a_skipped_must_is_unsafe() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=2)
        keep(workshop, draft_runs(workshop, (RunSaid("Bramble", minutes="15", hits="8"),)).entries)
        said = needs(workshop)
        assert all(need.rank > 1 for need in said), said
        (due,) = [need for need in said if need.sort is Sort.SHEET]
        assert due.what == "Bramble: sheet due, 20 min" and due.why

        clock.on(hours=1)
        answered(workshop, "fail_safe", "ticked")
        skipped = [need for need in needs(workshop) if need.sort is Sort.UNSAFE]
        assert len(skipped) == 1 and skipped[0].rank == 1
        assert skipped[0].what == "Bramble isn’t safe to run: a must was skipped"
        assert skipped[0].why == "Failsafe: transmitter off, motor must stop."

        clock.on(minutes=1)
        answered(workshop, "fail_safe", "sound")
        assert not any(need.sort is Sort.UNSAFE for need in needs(workshop))


def test_a_known_defect_that_can_hurt_is_said_once_and_as_what_it_is() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(hours=2)
        answered(workshop, "wheel_nuts", f"loose @ front left: {Done.LEFT.value}")
        (need,) = [need for need in needs(workshop) if need.rank == 1]
        assert need.sort is Sort.BROKEN and need.why == "Don’t drive before it is fixed."


def test_what_several_packs_ask_for_in_the_same_words_is_said_once(packs: Bench) -> None:
    """And it keeps the rank of the most pressing; another pack's own need stands by itself."""
    packs.add_pack("Ember 2")
    for name in (PACK, "Ember 2"):
        packs.ran(name)
        packs.stands("unplugged", pack=name)
    alone = needs_now(packs.workshop, (), packs_today(packs.workshop))
    together = [need for need in alone if need.sort is Sort.PACKS]
    assert len(together) == 1 and together[0].what.startswith(f"{PACK}, Ember 2: ")
    packs.measured("3.10 3.80 3.80", pack="Ember 2", rested="90")
    apart = needs_now(packs.workshop, (), packs_today(packs.workshop))
    assert not [need for need in apart if need.sort is Sort.PACKS]
    assert {PACK, "Ember 2"} == {need.name for need in apart}
