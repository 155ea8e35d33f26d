"""What is typed as people at a track say it is understood.

Authority: common practice: the words of the trade; old words of ours stay readable.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.core.errors import BadInput
from snugfast.records.entries import Answer, Checked, Done, Ground, Ran, Wet
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.shared.typed_words import read_broke, read_hits, read_minutes
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import TRUCK, facts, with_truck, workshop_in_memory


@pytest.fixture(name="truck", scope="module")
def _truck() -> Iterator[Workshop]:
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        yield workshop


def answers(workshop: Workshop, check: str, *words: str) -> tuple[Answer, ...]:
    (entry,) = draft_found(workshop, FoundSaid("Bramble", check, words)).entries
    assert isinstance(entry.fact, Checked)
    return entry.fact.answers


@pytest.mark.parametrize("word", ["ok", "OK", "good", "all good", "tight", "sound"])
def test_ok_says_that_nothing_was_found(truck: Workshop, word: str) -> None:
    assert answers(truck, "wheel_nuts", word) == ()


@pytest.mark.parametrize(
    "said", ["loose front left", "loose @ front left", "loose @ FL", "Loose  Front Left: fixed"]
)
def test_a_spot_needs_no_sign_before_it(truck: Workshop, said: str) -> None:
    (one,) = answers(truck, "wheel_nuts", said)
    done = Done.PUT_RIGHT if said.endswith("fixed") else Done.LEFT  # nothing is fixed unless somebody said so
    assert (one.mode, one.spot, one.done) == ("wheel_nut_loose", "front left", done)


@pytest.mark.parametrize(
    ("check", "old", "mode"),
    [
        ("wheel_nuts", "turns by fingers @ front left", "wheel_nut_loose"),
        ("chassis_heads", "proud", "chassis_screw_proud"),
        ("tyre_beads", "lifted", "tyre_lifts"),
        ("servo_wiggle", "saver gives too soon", "servo_saver_slack"),
        ("suspension_drop", "one side lower", "chassis_bent"),
    ],
)
def test_old_answer_words_stay_readable(truck: Workshop, check: str, old: str, mode: str) -> None:
    assert [one.mode for one in answers(truck, check, old)] == [mode]


@pytest.mark.parametrize("word", ["puffed", "puffy", "bloated", "swelled"])
def test_a_puffed_pack_is_a_swollen_one(truck: Workshop, word: str) -> None:
    said = FoundSaid("Bramble", "pack_look", (word,), pack="Bramble pack")
    (entry,) = draft_found(truck, said).entries
    assert isinstance(entry.fact, Checked)
    assert [(one.word, one.mode) for one in entry.fact.answers] == [("swollen", "pack_damaged")]


@pytest.mark.parametrize(
    ("word", "done"),
    [
        ("fixed", Done.PUT_RIGHT),
        ("replaced", Done.RENEWED),
        ("not fixed yet", Done.LEFT),
        ("renewed", Done.RENEWED),
    ],
)
def test_what_was_done_is_said_in_plain_words(truck: Workshop, word: str, done: Done) -> None:
    assert [one.done for one in answers(truck, "strap_pull", f"cut: {word}")] == [done]


def test_an_unknown_answer_offers_the_nearest(truck: Workshop) -> None:
    with pytest.raises(BadInput) as refused:
        answers(truck, "wheel_nuts", "losse")
    assert "Did you mean" in refused.value.way_out and "loose" in refused.value.way_out


@pytest.mark.parametrize(
    ("words", "mode", "spot"),
    [
        ("wheel came off front left", "wheel_nut_loose", "front left"),
        ("lost a wheel nut", "wheel_nut_loose", ""),
        ("spur stripped", "spur_worn", ""),
        ("wheel nut loose rear right: replaced", "wheel_nut_loose", "rear right"),
        ("ESC fan stopped", "fan_stopped", ""),
        ("servo stripped", "servo_gear_worn", ""),
    ],
)
def test_what_broke_is_said_as_at_the_track(truck: Workshop, words: str, mode: str, spot: str) -> None:
    broke = read_broke(words, facts(), facts().starters[TRUCK])
    assert (broke.mode, broke.spot) == (mode, spot)


@pytest.mark.parametrize(
    ("typed", "minutes"), [("15m", 15.0), ("15 min", 15.0), ("about 12m", 12.0), ("15", 15.0)]
)
def test_minutes_are_minutes(typed: str, minutes: float) -> None:
    assert read_minutes(typed)[0] == pytest.approx(minutes)


@pytest.mark.parametrize(("typed", "hits"), [("2 hits", 2.0), ("1 hard hit", 1.0), ("no", 0.0), ("4", 4.0)])
def test_hits_may_be_called_hits(typed: str, hits: float) -> None:
    assert read_hits(typed, facts())[0] == hits


@pytest.mark.parametrize("typed", ["-3", "−3", "-3 hits"])
def test_the_sign_of_hits_is_no_hyphen(typed: str) -> None:
    """Law: what is refused further in must arrive there with its sign."""
    assert read_hits(typed, facts())[0] == -3.0


def test_ground_and_wet_are_said_as_people_say_them(truck: Workshop) -> None:
    said = RunSaid("Bramble", (), "15m", ground="concrete", hits="2 hits", wet="wet")
    (entry,) = draft_runs(truck, (said,)).entries
    assert isinstance(entry.fact, Ran)
    assert (entry.fact.ground, entry.fact.wet, entry.fact.running_min) == (
        Ground.TARMAC,
        Wet.FRESH_WATER,
        15.0,
    )
