"""What the thread says on the command line: words a person can act on, and nothing taken silently."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.test_thread import marks
from tests.cli.typed import Typed


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("ran", "Bramble", "12", "--hits", "-3"), "-3 cannot be"),
        (("ran", "Bramble", "12", "--hits", "-3 hits"), "-3 cannot be"),
        (("ran", "Bramble", "12", "--put-back", "-20 mAh"), "put back: “-20 mAh” cannot be; write"),
        (("ran", "Bramble", "12", "--put-back", "0 Ah"), "put back: “0 Ah” cannot be; write"),
        (("ran", "Bramble", "12", "--put-back", "60000"), "put back: “60000” is more than can be; write"),
        (("ran", "Bramble", "12", "--min", "13"), "both “12” and “13” were said"),
        (("ran", "Bramble", "12", "gravle"), "“gravle” is no pack, no ground"),
        (("ran", "Bramble", "12", "gravle"), "Did you mean gravel"),
        (("ran", "Bramble", "--pack", "Ember 1", "12"), "No such option '--pack'"),
        (("ran", "Bramble", "12", "3"), "Hits are “3 hits”"),
        (("outing", "Bramble", "--pack", "Ember 1", "12"), "No such option '--pack'"),
        (("ran", "Bramble", "12", "--when", "2026-02-30"), "calendar; write 14:30"),
        (("ran", "Bramble", "12", "--broke", "wheel nut: exploded"), "“exploded” is not"),
        (("caught-up", "Bramble", "-2", "--since", "today"), "-2 cannot be"),
        (("caught-up", "Bramble", "six", "--since", "2020-01-01"), "has been here only since"),
        (("found", "Bramble", "wheel_nuts", "sound", "--min", "-1"), "-1 cannot be"),
        (("found", "Bramble", "wheel_nuts", "ticked", "loose"), "nobody looked"),
        (("found", "Bramble", "steering_sweep", "failed"), "“Servo gear teeth worn”"),
        (("car", "rebuild", "Bramble", "nowhere.toml"), "cannot be read: no such file"),
    ],
)
def test_more_that_cannot_be_is_refused_and_nothing_is_written(
    thread: Typed, words: tuple[str, ...], says: str
) -> None:
    before = marks(thread)
    said = thread(*words, "--yes")
    assert said.code == 2
    assert says in said.err
    assert marks(thread) == before


@pytest.mark.parametrize("command", ["ran", "outing"])
@pytest.mark.parametrize(
    ("words", "told"),
    [
        ("Bramble Ember 1 12 min gravel mud 3 hits", "12 min with Ember 1 on gravel, mud, 3 hard hits."),
        (
            "bramble ember 1 15m concrete wet 2 hard hits",
            "15 min with Ember 1 on tarmac, fresh water, 2 hard hits.",
        ),
        (
            "Bramble 12 car park salt water lots",
            "12 min on tarmac, salt water, many hard hits",
        ),
        ("Bramble 12 3 crashes", "12 min, dry, 3 hard hits."),
    ],
)
def test_a_run_is_typed_as_one_would_say_it(thread: Typed, command: str, words: str, told: str) -> None:
    """Words of the trade's manner (`concrete`, `15m`, “3 hits”), without a quotation mark."""
    yes = ("--yes",) if command == "ran" else ()
    assert told in thread(command, *words.split(), *yes).out


def test_one_of_several_is_understood_as_the_place_they_stand_in(thread: Typed) -> None:
    several = thread("fitted", "Bramble", "outer wheel bearings", "--yes")
    assert several.code == 0
    assert (
        thread("fitted", "Bramble", "outer wheel bearing", "--yes").out.split("fitted")[0]
        == several.out.split("fitted")[0]
    )


def test_a_run_on_the_day_before_the_car_came_is_refused(thread: Typed) -> None:
    thread("car", "add", "Thistle", "--from", "truck-1-10-4wd-3s", "--when", "2026-05-01", "--yes")
    assert thread("ran", "Thistle", "12", "--when", "2026-04-30", "--yes").code == 2
    assert thread("ran", "Thistle", "12", "--when", "2026-05-01", "--yes").code == 0
    assert thread("caught-up", "Thistle", "two", "--since", "May 2026", "--yes").code == 0


def test_an_answer_is_understood_without_quotes_and_at_an_end_of_the_car(thread: Typed) -> None:
    assert (
        "plug browned" in thread("found", "Bramble", "pack_look", "plug", "browned", "--pack", "Ember 1").out
    )
    assert "loose, front left" in thread("found", "Bramble", "wheel_nuts", "loose", "@", "front", "left").out
    said = thread("found", "Bramble", "diff_feel", "rumbles @ rear").out
    assert "rumbles at the rear diff bearings, not fixed yet" in said
    assert (
        "suspension arm cracked, left, replaced"
        in thread("broke", "Bramble", "arm @ front left: renewed").out
    )


def test_a_break_of_unknown_cause_is_told_with_its_own_words(thread: Typed) -> None:
    said = thread("ran", "Bramble", "12", "--broke", "unknown: stopped in the grass", "--yes")
    assert "broke, cause unknown: stopped in the grass." in said.out
    again = thread("correct", marks(thread)[0], "--min", "14")
    assert "broke, cause unknown: stopped in the grass." in again.out


def test_money_and_counts_are_told_as_a_person_counts(thread: Typed) -> None:
    assert "bench minute 0.15 EUR" in thread("journal").out
    thread("car", "add", "Thistle", "--from", "truck-1-10-4wd-3s", "--when", "2026-05-01", "--yes")
    said = thread("caught-up", "Thistle", "one", "--since", "2026-06-01", "--hits", "1")
    assert "ran 1 pack since 2026-06-01" in said.out
    assert "1 hard hit." in said.out


def test_what_is_taken_back_is_not_taken_back_again(thread: Typed) -> None:
    thread("ran", "Bramble", "12", "--yes")
    mark = marks(thread)[0]
    assert thread("withdraw", mark).code == 0
    before = marks(thread)
    refused = thread("withdraw", mark)
    assert refused.code == 2
    assert "taken back already" in refused.err
    assert marks(thread) == before


def test_a_correction_that_leaves_the_time_alone_keeps_it(thread: Typed) -> None:
    """Two runs of one day stay in the order they were driven in."""
    thread("ran", "Bramble", "11", "--yes")
    thread("ran", "Bramble", "12", "--yes")
    first = next(line[:6] for line in thread("journal").out.splitlines() if "ran 11 min" in line)
    thread("correct", first, "--min", "10", "--yes")
    told = [line for line in thread("journal").out.splitlines() if "[corrected]" not in line]
    assert [line.split(" ran ")[1][:6] for line in told if " ran " in line] == ["12 min", "10 min"]


def test_a_sheet_without_a_car_says_what_to_type(type_: Typed, tmp_path: Path) -> None:
    type_("begin", "--by", "Ada", "--zone", "UTC")
    said = type_("sheet")
    assert said.code == 0
    assert "snugfast car add" in said.out


def test_an_edited_build_says_what_it_changes_and_one_that_changes_nothing_is_refused(
    thread: Typed, tmp_path: Path
) -> None:
    file = tmp_path / "bramble.toml"
    thread("car", "build", "Bramble", "--out", str(file))
    before = marks(thread)
    assert thread("car", "rebuild", "Bramble", str(file), "--yes").code == 2
    assert marks(thread) == before
    file.write_text(file.read_text("utf-8").replace('part = "pinion, 15', 'part = "pinion, 17', 1), "utf-8")
    said = thread("car", "rebuild", "Bramble", str(file)).out
    changed = [line for line in said.splitlines() if line.startswith("  ")]
    assert len(changed) == 1
    assert "pinion, 17 teeth" in changed[0]
    assert "was pinion, 15 teeth" in changed[0]


def test_a_run_is_corrected_twice_by_its_first_mark(thread: Typed) -> None:
    thread("ran", "Bramble:Ember 1", "12", "--when", "2026-06-01 14:00", "--yes")
    thread("car", "add", "Thistle", "--from", "truck-1-10-4wd-3s", "--when", "2026-05-01", "--yes")
    thread("ran", "Thistle", "12", "--when", "2026-06-01 14:00", "--yes")
    mark = marks(thread)[0]
    run = next(line for line in thread("journal").out.splitlines() if "Thistle ran" in line)[:6]
    assert thread("correct", run, "--min", "14", "--yes").code == 0, mark
    assert thread("correct", run, "--min", "15", "--yes").code == 0
    told = [line for line in thread("journal").out.splitlines() if "Thistle ran" in line]
    assert [line.endswith("[corrected]") for line in told].count(False) == 1
    assert "ran 15 min" in next(line for line in told if not line.endswith("[corrected]"))


def test_what_was_found_and_left_and_then_is_sound_is_no_longer_certain(thread: Typed) -> None:
    """Worked: mended without a word by 0.1 × 0.98 = 0.098, or missed by this look by 1 − 0.97 = 0.03.

    0.902 × 0.03 / (0.902 × 0.03 + 0.098) = 0.216; the three other nuts, found sound, add next to nothing.
    """

    def nut() -> dict[str, Any]:
        moved = json.loads(thread("sheet", "--json").out)["moved"]
        line: dict[str, Any] = next(line for line in moved if line["name"] == "Wheel nut loose")
        return line

    thread("ran", "Bramble", "12", "--yes")
    thread("found", "Bramble", "wheel_nuts", "loose @ front left: left as it is", "--yes")
    left = nut()
    assert left["how"] == "loose"
    assert left["after"] == pytest.approx(1.0, abs=1e-6)
    thread("found", "Bramble", "wheel_nuts", "sound", "--yes")
    sound = nut()
    assert sound["how"] == "sound"
    assert sound["before"] == left["before"], "as the bench day began"
    assert sound["after"] == pytest.approx(0.216, abs=0.002)


def test_what_was_brought_back_is_not_brought_back_twice(thread: Typed) -> None:
    thread("ran", "Bramble", "12", "--yes")
    thread("undo")
    assert thread("redo").code == 0
    before = marks(thread)
    refused = thread("redo")
    assert refused.code == 2
    assert "nothing to redo" in refused.err
    assert marks(thread) == before


def test_the_sizes_of_a_place_are_told_with_their_units(thread: Typed) -> None:
    said = thread("car", "places", "Bramble").out
    (nuts,) = [line for line in said.splitlines() if line.strip().startswith("wheel_nuts")]
    assert "width across flats 7 mm" in nuts
    assert "thread M4," in nuts, "a thread has its unit in its name"
    assert "capacity 5000 mAh" in said
    brought = thread("fitted", "Bramble", "tyres", "--size", "outer_mm=120").out
    assert "outside diameter 120 mm" in brought


@pytest.mark.parametrize(
    "answer", ["loose @ front left and rear right", "loose @ front left, rear right", "loose @ fl & rr"]
)
def test_two_spots_in_one_answer_are_two_findings(thread: Typed, answer: str) -> None:
    said = thread("found", "Bramble", "wheel_nuts", f"{answer}: renewed", "--yes")
    assert said.code == 0, said.err
    told = thread("journal", "--last", "1").out
    assert "loose, front left, replaced and loose, rear right, replaced" in told


def test_two_ends_of_the_car_in_one_answer_are_two_findings(thread: Typed) -> None:
    said = thread("found", "Bramble", "diff_feel", "rumbles @ front and rear").out
    assert "rumbles at the front diff bearings, not fixed yet" in said
    assert "rumbles at the rear diff bearings, not fixed yet" in said


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("sound", "loose"), "“loose” was said too.\nLeave “OK” out: what is not named counts as OK"),
        (("loose @ front left", "sound"), "“loose @ front left” was said too"),
        (("sound @ front left",), "said of the whole check, and “front left” was said too"),
        (("sound: renewed",), "snugfast fitted"),
        (("loose @ front left rear right",), "names more than one spot.\nSay each by itself"),
        (("loose @ front left and rear middle",), "no spot called “rear middle”.\nWrite front left"),
    ],
)
def test_nothing_of_an_answer_is_dropped_without_a_word(
    thread: Typed, words: tuple[str, ...], says: str
) -> None:
    before = marks(thread)
    said = thread("found", "Bramble", "wheel_nuts", *words, "--yes")
    assert (said.code, marks(thread)) == (2, before)
    assert says in said.err


def test_a_break_at_two_spots_is_asked_for_one_by_one(thread: Typed) -> None:
    said = thread("broke", "Bramble", "wheel nut @ front left and rear right", "--yes")
    assert said.code == 2
    assert "names more than one spot.\nSay each by itself" in said.err
