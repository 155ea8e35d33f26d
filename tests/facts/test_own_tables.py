"""What an owner adds beside ours: marked as theirs, and every mistake told at once.

Authority: laws of this project.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from snugfast.facts.load import build_toml, load_facts
from snugfast.facts.model import Facts
from snugfast.facts.own_rows import MINE
from tests.facts.test_load import OWN_CHECK, OWN_MODE, faults, put

BARE_MODE = OWN_MODE.replace("source = 'mine'\n", "")
BARE_CHECK = OWN_CHECK.replace("source = 'mine'\n", "")


def own_facts(folder: Path, **files: str) -> Facts:
    return load_facts(put(folder, **files))


def test_a_row_of_an_owner_is_marked_mine_and_says_its_file(tmp_path: Path) -> None:
    facts = own_facts(tmp_path, modes__wings=BARE_MODE, checks__wings=BARE_CHECK)
    mode, check = facts.modes["my_wing_cracked"], facts.checks["my_wing"]
    assert mode.pedigree.source == check.pedigree.source == MINE
    assert (mode.pedigree.where, check.pedigree.where) == ("modes/wings.toml", "checks/wings.toml")
    assert MINE in facts.sources


def test_ours_are_not_marked_mine() -> None:
    facts = load_facts()
    marks = {row.pedigree.source for row in facts.modes.values()}
    marks |= {row.pedigree.source for row in facts.checks.values()}
    marks |= {row.pedigree.source for row in facts.access.values()}
    marks |= {row.pedigree.source for row in facts.cautions.values()}
    assert MINE not in marks


def test_a_row_of_an_owner_cannot_pass_for_one_of_ours(tmp_path: Path) -> None:
    told = faults(put(tmp_path, modes__wings=BARE_MODE + "source = 'common-practice'\n"))
    (sentence,) = told
    assert sentence.startswith("modes/wings.toml, my_wing_cracked: the source “common-practice” is ours")
    assert sentence.endswith("leave “source” out")


def test_an_owner_may_describe_a_source_and_name_it(tmp_path: Path) -> None:
    facts = own_facts(
        tmp_path,
        sources="[club-notes]\ntitle = 'Notes of our club'\nseen = 'practice'\n",
        modes__wings=BARE_MODE + "source = 'club-notes'\nwhere = 'page 3'\n",
    )
    pedigree = facts.modes["my_wing_cracked"].pedigree
    assert (pedigree.source, pedigree.where) == ("club-notes", "page 3")


def test_a_row_like_one_of_ours_is_still_the_owners(tmp_path: Path) -> None:
    facts = own_facts(
        tmp_path, checks__mine="[my_nuts]\nlike = 'wheel_nuts'\nname = 'My nuts'\nminutes = 0.9\n"
    )
    ours, mine = facts.checks["wheel_nuts"], facts.checks["my_nuts"]
    assert (mine.name, mine.minutes, mine.steps) == ("My nuts", 0.9, ours.steps)
    assert mine.pedigree.source == MINE


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ("like = 'wheel_nutts'", "no row here is called “wheel_nutts”; did you mean “wheel_nuts”?"),
        ("like = 3", "no row here is called 3"),
        ("like = 'other'", "“other” is itself like another row; write like = 'wheel_nuts' and the rest"),
    ],
)
def test_a_row_like_nothing_is_told(tmp_path: Path, row: str, told: str) -> None:
    other = "[other]\nlike = 'wheel_nuts'\nname = 'Other'\n"
    sentences = faults(put(tmp_path, checks__mine=f"{other}[mine]\n{row}\nname = 'Mine'\n"))
    assert any(sentence.startswith(f"checks/mine.toml, mine: {told}") for sentence in sentences), sentences


def test_an_owner_may_take_longer_than_we_think(tmp_path: Path) -> None:
    ours = load_facts()
    facts = own_facts(tmp_path, minutes="wheel_nuts = 1.25\nbody_off = 2\n")
    assert (facts.checks["wheel_nuts"].minutes, facts.access["body_off"].minutes) == (1.25, 2.0)
    assert facts.checks["wheel_nuts"].pedigree.where == "minutes: mine"
    assert facts.checks["wheel_nuts"].pedigree.source == ours.checks["wheel_nuts"].pedigree.source
    assert facts.checks["heat_after_run"] == ours.checks["heat_after_run"]


def test_wrong_minutes_are_told_at_once(tmp_path: Path) -> None:
    told = faults(put(tmp_path, minutes="wheel_nutts = 1\nwheel_nuts = '0,5'\nbody_off = 0\n"))
    unknown, comma, nothing = told
    assert unknown.startswith("minutes.toml, wheel_nutts: no check or access work is called “wheel_nutts”")
    assert unknown.endswith("did you mean “wheel_nuts”?")
    assert comma.startswith("minutes.toml, wheel_nuts: minutes should be a number, not “0,5”; write 0.5")
    assert nothing == "minutes.toml, body_off: minutes are 0 and must be above 0"


def test_a_file_nobody_would_read_is_told(tmp_path: Path) -> None:
    put(tmp_path, mode__wings=BARE_MODE, cheks="", notes__about="")
    (tmp_path / "read me.txt").write_text("mine", "utf-8")
    (tmp_path / "pictures").mkdir()
    assert faults(tmp_path) == [
        "cheks.toml: no table has this name, and it would not be read; did you mean “checks”?",
        "mode: no table has this name, and it would not be read; did you mean “modes”?",
        "notes: no table has this name, and it would not be read; did you mean “minutes”?",
    ]


def test_one_file_and_a_folder_of_one_kind_are_both_read(tmp_path: Path) -> None:
    facts = own_facts(
        tmp_path, modes=BARE_MODE, modes__more=BARE_MODE.replace("my_wing_cracked", "my_wing_bent")
    )
    assert {"my_wing_cracked", "my_wing_bent"} <= set(facts.modes)


def test_a_starter_build_of_an_owner_stands_beside_ours_and_is_read_at_once(tmp_path: Path) -> None:
    ours = load_facts().starters
    key = next(iter(ours))
    text = build_toml(ours[key]).replace(key, "my-truck")
    facts = own_facts(tmp_path, starters__mine=text)
    assert set(facts.starters) == {*ours, "my-truck"} and len(facts.starters) == len(ours) + 1
    assert facts.starters["my-truck"].places == ours[key].places
    put(tmp_path, starters__mine=text.replace('role = "pinion"', 'role = "pinyon"'))
    assert any("did you mean “pinion”?" in sentence for sentence in faults(tmp_path))


def test_a_starter_of_an_owner_may_not_take_the_name_of_ours(tmp_path: Path) -> None:
    ours = load_facts().starters
    told = faults(put(tmp_path, starters__mine=build_toml(ours[next(iter(ours))])))
    assert len(told) == 1 and "is there twice" in told[0]
