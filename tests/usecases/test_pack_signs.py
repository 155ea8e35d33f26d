"""What pack care finds moves what the sheet believes of the pack.

Authority: laws (a clean look makes damage less likely, a find makes it certain; cells apart make imbalance
likely).
"""

from __future__ import annotations

import pytest

from snugfast.facts.load import load_facts
from snugfast.records import pack_marks
from snugfast.usecases.beliefs.stories import beliefs_about
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.story_form import story_bytes, story_from
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.packs.signs import APART, CLIMBED, IMBALANCE, ONE_CELL_HIGH
from snugfast.usecases.packs.state import pack_now
from snugfast.usecases.shared.ledger import ledger_now
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check


def belief(packs: Bench, mode: str, name: str = PACK) -> float:
    pack = pack_now(packs.workshop, name).record.id
    with packs.workshop.store.reading() as reads:
        story = beliefs_about(packs.workshop, reads, ledger_now(reads), pack)
    scope = story.scope(pack)
    (row,) = (int(scope.rows[n]) for n, one in enumerate(scope.modes) if one.key == mode)
    return float(story.bank[[row]].presence[0])


def test_the_checks_and_words_it_answers_stand_in_the_tables() -> None:
    facts = load_facts()
    assert {pack_marks.LOOK, pack_marks.VOLTAGES, pack_marks.RESISTANCES} <= set(facts.checks)
    words = {answer.word: answer.mode for answer in facts.checks[pack_marks.VOLTAGES].answers}
    assert words[APART] == IMBALANCE


def test_a_look_moves_the_belief_of_damage_both_ways(packs: Bench) -> None:
    for _ in range(4):
        packs.ran(hits="3")
    before = belief(packs, "pack_damaged")
    packs.looked()
    assert belief(packs, "pack_damaged") < before / 3
    packs.looked("swollen")
    assert belief(packs, "pack_damaged") > 0.9


def test_rest_readings_move_the_belief_of_imbalance_both_ways(packs: Bench) -> None:
    for _ in range(6):
        packs.ran()
    before = belief(packs, "pack_imbalance")
    packs.clock.on(days=1)
    packs.measured("3.80 3.80 3.81")
    assert belief(packs, "pack_imbalance") < before / 3
    packs.measured("3.80 3.80 3.86")
    assert belief(packs, "pack_imbalance") > 0.5


@pytest.mark.parametrize("logged", [False, True])
def test_a_look_before_a_charge_answers_the_gate_of_the_sheet(packs: Bench, logged: bool) -> None:
    packs.ran()
    packs.clock.on(days=1)
    if logged:
        packs.looked()
    sheet = bench_sheet(packs.workshop, Asked(("Bramble",), minutes=20.0))
    gates = [check.check for check in sheet.checks if check.gate]
    assert ("pack_look" in gates) is not logged


def test_a_cell_that_resists_half_as_much_again_as_its_pack_is_a_pack_that_is_done(packs: Bench) -> None:
    """The line is the tables' own (common practice: half above the middle cell).

    By Bayes a find with detection 0.88 and a false alarm in 500 makes small odds 440 times as large.
    """
    packs.ran()
    before = belief(packs, "pack_aged")
    packs.measured(resistances="3.0 3.1 4.4", instrument="meter", warmth="22")
    assert belief(packs, "pack_aged") == pytest.approx(before, abs=1e-9)
    packs.measured(resistances="3.0 3.1 4.8", instrument="meter", warmth="22")
    assert belief(packs, "pack_aged") == pytest.approx(440 * before, rel=0.01)
    words = {answer.word: answer.mode for answer in load_facts().checks[pack_marks.RESISTANCES].answers}
    assert words[ONE_CELL_HIGH.word] == ONE_CELL_HIGH.mode


def climbing(packs: Bench, *milliohms: str) -> None:
    for ohm in milliohms:
        packs.clock.on(days=4)
        packs.ran()
        packs.measured(resistances=f"{ohm} {ohm} {ohm}", instrument="meter", warmth="25")


def test_a_climb_past_the_line_of_hard_driving_is_an_answer_and_one_below_watching_is_sound(
    packs: Bench,
) -> None:
    """The lines are the tables' own: 150 % of new is watched, 200 % is done for hard driving."""
    climbing(packs, "3.0", "3.0", "3.0")
    before = belief(packs, "pack_aged")
    climbing(packs, "3.1")
    assert belief(packs, "pack_aged") < before
    climbing(packs, "4.8", "4.8")
    watched = belief(packs, "pack_aged")
    climbing(packs, "6.2")
    assert belief(packs, "pack_aged") < 10 * watched  # the middle of the last three is still 4.8
    climbing(packs, "6.2")
    assert belief(packs, "pack_aged") > 100 * watched
    words = {answer.word: answer.mode for answer in load_facts().checks[pack_marks.RESISTANCES].answers}
    assert words[CLIMBED.word] == CLIMBED.mode


def test_a_story_put_away_as_bytes_goes_on_climbing_where_it_was(packs: Bench) -> None:
    """*law*: told in one go, and told in two with the bytes in between, comes out equal to the last bit."""
    climbing(packs, "3.0", "3.1", "3.0", "6.1", "6.2")
    pack = pack_now(packs.workshop, PACK).record.id
    with packs.workshop.store.reading() as reads:
        entries = reads.entries_of([pack])
    whole = Story(packs.workshop.facts, packs.workshop.build, [pack])
    first = Story(packs.workshop.facts, packs.workshop.build, [pack])
    for n, entry in enumerate(entries):
        whole.take(entry)
        if n == len(entries) - 3:
            first = story_from(story_bytes(first), packs.workshop.facts, packs.workshop.build, [pack])
        first.take(entry)
    assert first.climbs == whole.climbs and len(whole.climbs) == 1
    rows = whole.scope(pack).rows
    assert first.bank[rows].presence.tolist() == whole.bank[rows].presence.tolist()
