"""The thread on the command line, told as an owner types it; and what is refused, with exit code 2."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.typed import Typed
from tests.facts.test_load import OWN_MODE, put


def marks(type_: Typed) -> list[str]:
    """The marks of the journal, newest first."""
    return [line["mark"] for line in json.loads(type_("journal", "--json").out)]


def test_nothing_is_kept_without_a_word_of_consent(thread: Typed) -> None:
    before = marks(thread)
    said = thread("ran", "Bramble:Ember 1", "12", "gravel", "mud", "many")
    assert "Bramble ran 12 min with Ember 1 on gravel, mud, many hard hits (counted as 8)" in said.out
    assert (said.code, "Nothing was saved" in said.err) == (1, True)
    assert marks(thread) == before


def test_the_whole_loop_sheet_found_sheet(thread: Typed) -> None:
    """The next sheet changes accordingly and says what moved."""
    for _ in range(3):
        assert thread("ran", "Bramble:Ember 1", "14", "gravel", "many", "--yes").code == 0
    first = json.loads(thread("sheet", "Bramble", "--minutes", "15", "--json").out)
    checks = [step for step in first["steps"] if "check" in step]
    lines = [line for one in first["rounds"] for line in one["lines"]]
    assert [line["number"] for line in lines] == list(range(1, len(lines) + 1))
    assert [one["key"] for line in lines for one in line["checks"]] == [step["key"] for step in checks]
    met = [one["key"] for one in first["rounds"]]
    assert met == [
        key for key in ("rest", "feel", "hand", "underneath", "body_off", "deeper", "power") if key in met
    ]
    assert (met[0], met[-1]) == ("rest", "power"), "the pack is looked at first; power comes last"
    assert all(one["must"] for one in lines[0]["checks"]), "what is never left out stands first"
    nuts = next(step for step in checks if step["check"] == "wheel_nuts")
    assert nuts["why"][0]["belief"]["value"] > 0.0
    assert any("7 mm" in text for text in (*nuts["steps"], *nuts["tools"]))
    assert thread("found", "Bramble", "wheel_nuts", "loose @ front left", "--yes").code == 0
    left = json.loads(thread("sheet", "Bramble", "--minutes", "15", "--json").out)
    certain = next(line for line in left["moved"] if line["name"] == "Wheel nut loose")
    assert certain["after"] == pytest.approx(1.0, abs=1e-6), "found, and not fixed yet"
    assert [(job["mode"], job["spot"]) for job in left["fix_first"]] == [("wheel_nut_loose", "front left")]
    assert thread("found", "1", "fixed", "--yes").code == 0
    second = json.loads(thread("sheet", "Bramble", "--minutes", "15", "--json").out)
    assert not any(step.get("check") == "wheel_nuts" for step in second["steps"])
    left_out = {line["name"]: line["reason"] for line in second["left_out"]}
    assert left_out["Check the wheel nuts are tight"] == "answered at this bench"
    moved = next(line for line in second["moved"] if "wheel nut" in line["name"].casefold())
    assert moved["how"] == "loose"
    assert moved["after"] < moved["before"]
    assert second["fix_first"] == []
    printed = thread("sheet", "Bramble", "--full").out
    assert "What the last bench day moved" in printed
    assert "___" not in printed


def test_undo_withdraws_and_redo_brings_back(thread: Typed) -> None:
    thread("ran", "Bramble", "12", "--yes")
    assert "Undone" in thread("undo").out
    assert "[withdrawn]" in thread("journal").out
    assert "Redone" in thread("redo").out
    run = next(line for line in thread("journal").out.splitlines() if "ran 12 min" in line)
    assert "[withdrawn]" not in run


def test_the_journal_narrows_down_and_shows_what_became_of_an_entry(thread: Typed) -> None:
    thread("ran", "Bramble", "12", "--yes")
    thread("undo")
    thread("redo")
    (run,) = json.loads(thread("journal", "--kind", "runs", "--json").out)
    shown = thread("journal", "--show", run["mark"]).out.splitlines()
    assert ["first said" in shown[-3], "taken back" in shown[-2], "brought back" in shown[-1]] == [True] * 3
    assert all("Ada" in line for line in shown[-3:])
    assert "Nothing fits that" in thread("journal", "--until", "2020-01-01").out
    refused = thread("journal", "--kind", "submarines")
    assert (refused.code, "There are: runs" in refused.err) == (2, True)


def test_undoing_what_others_rest_on_says_so_and_waits(thread: Typed) -> None:
    thread("ran", "Bramble", "12", "--yes")
    joined = next(
        line["mark"]
        for line in json.loads(thread("journal", "--json").out)
        if "Bramble joined" in line["text"]
    )
    said = thread("withdraw", joined)
    assert said.code == 1
    assert "later entr" in said.out
    assert "Nothing was saved or changed" in said.err
    assert thread("withdraw", joined, "--yes").code == 0
    assert "There is no car called" in thread("sheet", "Bramble").err


def test_a_correction_replaces_and_the_first_version_stays(thread: Typed) -> None:
    thread("ran", "Bramble:Ember 1", "12", "gravel", "--hits", "2", "--yes")
    said = thread("correct", marks(thread)[0], "--min", "14", "--yes")
    assert said.code == 0, said.err
    lines = json.loads(thread("journal", "--json").out)[:2]
    states = {line["text"].split(": ", 1)[1][:18]: line["state"] for line in lines}
    assert states == {"Bramble ran 14 min": "", "Bramble ran 12 min": "corrected"}
    assert all("2 hard hits" in line["text"] for line in lines)


def test_running_remembered_in_bulk(thread: Typed) -> None:
    added = thread("car", "add", "Thistle", "--from", "truck-1-10-4wd-3s", "--when", "2026-04-01", "--yes")
    assert added.code == 0
    said = thread("caught-up", "Thistle", "about six", "--since", "2026-05-01", "--wet-packs", "one", "--yes")
    assert said.code == 0, said.err
    assert "about 6 packs since 2026-05-01, about 72 min in all, 1 of them in fresh water" in said.out


def test_a_build_goes_out_to_a_file_and_comes_back_edited(thread: Typed, tmp_path: Path) -> None:
    file = tmp_path / "bramble.toml"
    thread("car", "build", "Bramble", "--out", str(file))
    text = file.read_text("utf-8")
    file.write_text(text.replace("Wheel nuts", "Wheel nuts, new kind", 1), "utf-8")
    assert thread("car", "rebuild", "Bramble", str(file), "--yes").code == 0
    assert "Wheel nuts, new kind" in thread("car", "build", "Bramble").out
    file.write_text(
        text.replace("price_minor = 60", "price_minor = -60", 1).replace("[traits]", "[trates]"), "utf-8"
    )
    refused = thread("car", "rebuild", "Bramble", str(file), "--yes")
    assert refused.code == 2
    assert "trates" in refused.err
    assert "-60" in refused.err


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("ran", "Bramble", "-5"), "-5 cannot be"),
        (("ran", "Bramble", "1,5"), "has a comma where a full stop belongs"),
        (("ran", "Brumble", "12"), "There is no car called “Brumble”"),
        (("ran", "Bramble:Ember 9", "12"), "There is no pack called “Ember 9”"),
        (("ran", "Bramble", "12", "--when", "2099-01-01"), "has not come yet"),
        (("ran", "Bramble", "12", "--when", "2020-01-01"), "has been here only since"),
        (("ran", "Bramble", "12", "--broke", "flux capacitor"), "Nothing here is called"),
        (("ran", "Bramble", "12", "--reading", "hot"), "is not a reading"),
        (("ran", "Bramble", "12", "--ground", "lava"), "is not one of the words for it"),
        (("ran", "Bramble"), "how long it ran is missing"),
        (("found", "Bramble", "wheel_nuts", "wobbly"), "is no answer to"),
        (("found", "Bramble", "wheel_knuts"), "Did you mean wheel nuts"),
        (("found", "Bramble", "pack_look", "sound"), "is done on a pack"),
        (("sheet", "Bramble", "--minutes", "-3"), "-3 cannot be"),
        (("sheet", "Bramble", "--until", "Christmas"), "is not one of the words for it"),
        (("car", "add", "Bramble", "--from", "truck-1-10-4wd-3s"), "already a car called"),
        (("car", "add", "Nettle", "--from", "truk-1-10-4wd-3s"), "Did you mean"),
        (("packs", "add", "Ember 2", "--cells", "40", "--capacity", "5 Ah"), "40 cells is no pack"),
        (("packs", "add", "Ember 2", "--cells", "3", "--capacity", "5 Ahh"), "is not in"),
        (("fitted", "Bramble", "left wing"), "There is no place called"),
        (("correct", "zzz"), "is not the mark of an entry"),
        (("settings", "--currency", "money"), "is not a currency"),
        (("pedigree", "wheel_nut_lose"), "wheel nut loose"),
        (("shet",), "There is no command “shet”"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_and_nothing_is_written(
    thread: Typed, words: tuple[str, ...], says: str
) -> None:
    before = marks(thread)
    yes = ("--yes",) if words[0] in ("ran", "found", "car", "packs", "fitted", "correct", "settings") else ()
    said = thread(*words, *yes)
    assert said.code == 2
    assert says in said.err
    assert "Traceback" not in said.err
    assert marks(thread) == before


def test_a_pack_cannot_be_in_two_cars_at_once(thread: Typed) -> None:
    added = thread("car", "add", "Thistle", "--from", "truck-1-10-4wd-3s", "--when", "2026-04-01", "--yes")
    assert added.code == 0
    for name in ("Nettle",):
        thread("car", "add", name, "--from", "truck-1-10-4wd-3s", "--when", "2026-04-01", "--yes")
    thread("packs", "add", "Ash", "--cells", "3", "--capacity", "5 Ah", "--when", "2026-04-01", "--yes")
    thread("ran", "Thistle:Ash", "20", "--when", "2026-05-03 14:30", "--yes")
    before = marks(thread)
    said = thread("ran", "Nettle:Ash", "12", "--when", "2026-05-03 14:20", "--yes")
    assert said.code == 2
    assert "Ash was in Thistle until 14:30" in said.err
    assert marks(thread) == before
    assert thread("ran", "Nettle:Ash", "12", "--when", "2026-05-03 14:50", "--yes").code == 0


def test_without_a_workshop_every_command_says_how_to_make_one(type_: Typed) -> None:
    said = type_("sheet")
    assert said.code == 2
    assert "There is no workshop at" in said.err
    assert "snugfast begin" in said.err


def test_read_only_writes_nothing(thread: Typed) -> None:
    before = marks(thread)
    said = thread("--read-only", "ran", "Bramble", "12", "--yes")
    assert said.code == 2
    assert "for reading only" in said.err
    assert thread("--read-only", "sheet", "--short").code == 0
    assert marks(thread) == before


def test_where_a_number_comes_from(thread: Typed) -> None:
    said = thread("pedigree", "wheel_nut_loose")
    assert "elicited" in said.out
    assert "between defects" in said.out


def test_a_row_of_the_owners_own_tables_is_found_with_its_source(thread: Typed, tmp_path: Path) -> None:
    put(tmp_path / "tables", modes__wings=OWN_MODE)
    said = thread("pedigree", "my_wing_cracked")
    assert said.code == 0, said.err
    assert "modes/wings.toml" in said.out
    (tmp_path / "workshop.sqlite").unlink()
    assert thread("pedigree", "my_wing_cracked").code == 2
    assert thread("pedigree", "wheel_nut_loose").code == 0, "the shipped tables need no workshop"


def test_the_self_check_says_of_each_thing_how_it_is(thread: Typed) -> None:
    said = thread("self-check", "--warm")
    assert said.code == 0, said.out
    twin = next(line for line in said.out.splitlines() if line.startswith("twin"))
    assert "a first question took" in twin
