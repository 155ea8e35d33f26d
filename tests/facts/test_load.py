"""The loader refuses wrong tables whole, and tells every fault with its file and row.

Authority: laws of this project.
"""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

import snugfast.facts
from snugfast.core.errors import NotKnown, WrongData
from snugfast.facts.load import _Loader, load_facts, read_table
from snugfast.facts.model import Build, Place
from snugfast.facts.texts import filled, placeholders, unresolved

OWN_MODE = """
[my_wing_cracked]
name = 'Wing cracked'
what_happens = 'It cracks at its mount.'
role = 'body'
clock = 'hard hits'
between_defects = 50
spread = 1.5
delay = 10
delay_log_sd = 0.5
sudden = 0.3
arrival = 'steady'
cure = 'Tape it.'
cure_min = 2
cure_parts = {}
failure = 'It flies off.'
failure_min = 3
failure_parts = { body = 0.1 }
lost_running_min = 3
source = 'mine'
"""

OWN_CHECK = """
[my_wing]
name = 'Bend the wing'
moment = 'cold bench'
roles = ['body']
minutes = 0.2
covers = { my_wing_cracked = 0.9 }
answers = { 'cracked' = 'my_wing_cracked' }
steps = ['Bend it.']
good = 'Springy.'
bad = 'A white line.'
source = 'mine'
"""


def put(folder: Path, **files: str) -> Path:
    for name, text in files.items():
        path = folder / name.replace("__", "/")
        path = path.with_name(path.name + ".toml")
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return folder


def faults(folder: Path) -> list[str]:
    with pytest.raises(WrongData) as wrong:
        load_facts(folder)
    return [finding.sentence for finding in wrong.value.findings]


def test_an_owner_can_add_modes_and_checks(tmp_path: Path) -> None:
    facts = load_facts(put(tmp_path, modes__mine=OWN_MODE, checks__mine=OWN_CHECK))
    assert facts.modes["my_wing_cracked"].pedigree.source == "mine"
    assert facts.checks["my_wing"].covers[0].mode == "my_wing_cracked"


def test_an_empty_folder_changes_nothing(tmp_path: Path) -> None:
    assert load_facts(tmp_path) == load_facts()


def test_everything_wrong_in_several_files_is_told_at_once(tmp_path: Path) -> None:
    bad_mode = (
        OWN_MODE.replace("role = 'body'", "role = 'bodie'")
        .replace("spread = 1.5\n", "")
        .replace("delay = 10", "delay = -10")
        .replace("sudden = 0.3", "sudden = 1.3")
        .replace("'hard hits'", "'hard hit'")
        .replace("'mine'", "'mien'")
        + "mood = 'good'\n"
    )
    bad_check = (
        OWN_CHECK.replace("my_wing_cracked = 0.9", "my_wing_craked = 1.9")
        .replace("'Bend it.'", "'Bend it with {wheel_nut.wrench_mm} and {body.colour}.'")
        .replace(
            "minutes = 0.2", "minutes = '0,2'\naccess = 'body_of'\ncautions = ['power-of']\nwait_min = 3"
        )
    )
    told = faults(put(tmp_path, modes__mine=bad_mode, checks__mine=bad_check))
    expected = [
        "modes/mine.toml, my_wing_cracked: no role is called “bodie”; did you mean “body”?",
        "modes/mine.toml, my_wing_cracked: “spread” is missing; add spread = …",
        "modes/mine.toml, my_wing_cracked: “delay” is -10 and must be above 0",
        "modes/mine.toml, my_wing_cracked: “sudden” is 1.3 and must be from 0 to 1",
        "modes/mine.toml, my_wing_cracked: “clock” cannot be “hard hit”; did you mean “hard hits”?",
        "modes/mine.toml, my_wing_cracked: no source is called “mien”; did you mean “mine”?",
        "modes/mine.toml, my_wing_cracked: there is no key “mood” here",
        "checks/mine.toml, my_wing: no mode is called “my_wing_craked”; did you mean “my_wing_cracked”?",
        "checks/mine.toml, my_wing: “covers.my_wing_craked” is 1.9 and must be above 0, up to 1",
        "checks/mine.toml, my_wing: the text names “wheel_nut”, which is not among the roles",
        "checks/mine.toml, my_wing: no size is called “colour”",
        "checks/mine.toml, my_wing: “minutes” should be a number, not “0,2”; write 0.2",
        "checks/mine.toml, my_wing: no access work is called “body_of”; did you mean “body_off”?",
        "checks/mine.toml, my_wing: no caution is called “power-of”; did you mean “power-off”?",
        "checks/mine.toml, my_wing: a wait has minutes and says what for",
    ]
    missing = [part for part in expected if not any(sentence.startswith(part) for sentence in told)]
    assert not missing, "\n".join(told)
    assert len(told) == len(expected), "\n".join(told)


def test_a_key_met_twice_names_both_places(tmp_path: Path) -> None:
    told = faults(put(tmp_path, modes__mine=OWN_MODE.replace("my_wing_cracked", "wheel_nut_loose")))
    (sentence,) = told
    assert sentence.startswith("modes/mine.toml, wheel_nut_loose: “wheel_nut_loose” is already in ")
    assert sentence.endswith("modes/wheels.toml, wheel_nut_loose; rename one of them")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("arrival = 'steady'", "arrival = 'wear-out'", "a wear-out mode has a wear_shape"),
        ("arrival = 'steady'", "arrival = 'raised by an event'", "names no event"),
        ("cure_min = 2", "cure_min = 2\nraises = [{ event = 'fitted', factor = 1, decay = 2 }]", "above 1"),
        ("cure_min = 2", "cure_min = 2\nraises = [{ event = 'fited', factor = 2, decay = 2 }]", "“fitted”"),
        ("cure_min = 2", "cure_min = 2\nwet_factor = { dmap = 2 }", "did you mean “damp”?"),
        ("cure_min = 2", "cure_min = 2\nsafety = { belief = 0.1 }", "“safety.failing” must be there"),
        ("cure_min = 2", "cure_min = 2\ntraits = { slipper = 'yes|maybe' }", "“maybe”"),
        ("cure_min = 2", "cure_min = true", "“cure_min” should be a number, not True"),
        ("name = 'Wing cracked'", "name = 3", "“name” should be a text"),
    ],
)
def test_one_wrong_thing_is_one_sentence(tmp_path: Path, old: str, new: str, told: str) -> None:
    sentences = faults(put(tmp_path, modes__mine=OWN_MODE.replace(old, new)))
    assert len(sentences) == 1
    assert told in sentences[0]


@pytest.mark.parametrize(
    "step", ["Bend {body.section_mm", "Bend body.section_mm}", "Bend {{body.section_mm}}"]
)
def test_braces_that_do_not_pair_are_told(tmp_path: Path, step: str) -> None:
    own = put(tmp_path, modes__mine=OWN_MODE, checks__mine=OWN_CHECK.replace("Bend it", step))
    assert any("do not pair" in sentence for sentence in faults(own))


def test_access_that_opens_itself_is_told(tmp_path: Path) -> None:
    ring = """
        [lid]
        name = 'Lid'
        parent = '{parent}'
        minutes = 1
        roles = ['body']
        steps = ['Lift it.']
        source = 'mine'
    """
    told = faults(
        put(
            tmp_path,
            access=ring.replace("{parent}", "tray")
            + ring.replace("[lid]", "[tray]").replace("{parent}", "lid"),
        )
    )
    assert all("open before itself" in sentence for sentence in told) and len(told) == 2


SLIP = "minutes = 1\nminutes = 2\n"  # a key said twice


def test_one_slip_in_a_file_is_told_once_however_many_rows_name_what_it_holds(tmp_path: Path) -> None:
    ours = tmp_path / "facts"
    shutil.copytree(Path(snugfast.facts.__path__[0]), ours)
    for name in ("modes/suspension.toml", "sources/upkeep.toml", "checks/wheels.toml", "roots.toml"):
        file = ours / name
        before = file.read_text("utf-8") if file.is_file() else pytest.fail(name)
        file.write_text(before + "\n" + SLIP, "utf-8")
        with pytest.raises(WrongData) as wrong:
            _Loader(ours, None).facts()
        (finding,) = wrong.value.findings
        assert finding.where == name and "not TOML" in finding.problem
        file.write_text(before, "utf-8")


def test_one_slip_in_a_file_of_an_owner_is_told_once(tmp_path: Path) -> None:
    """The check names a mode of the file with the slip; nobody can say whether that is there."""
    told = faults(put(tmp_path, modes__mine=OWN_MODE + SLIP + SLIP, checks__mine=OWN_CHECK))
    (sentence,) = told
    assert sentence.startswith("modes/mine.toml: this is not TOML: Cannot overwrite a value")


def test_every_file_with_a_slip_is_told_at_once(tmp_path: Path) -> None:
    told = faults(put(tmp_path, modes__a="[a\n", checks__b="b = \n", starters__c="=", minutes="x = {"))
    assert sorted(sentence.partition(":")[0] for sentence in told) == [
        "checks/b.toml",
        "minutes.toml",
        "modes/a.toml",
        "starters/c.toml",
    ]


# Tables of numbers

ABOUT = """
source = 'common-practice'
checked = 'by eye'
rules = ['x rises']
[columns]
x = { kind = 'number', unit = 'mm', means = 'a length' }
note = { kind = 'text', means = 'a word' }
"""


def table(tmp_path: Path, csv_text: str, about: str = ABOUT) -> Path:
    (tmp_path / "t.toml").write_text(about, "utf-8")
    path = tmp_path / "t.csv"
    path.write_text(csv_text, "utf-8")
    return path


def test_a_blank_cell_is_unknown(tmp_path: Path) -> None:
    read = read_table(table(tmp_path, "x,note\n1.5,a\n,\n"))
    assert read.rows == ({"x": 1.5, "note": "a"}, {"x": None, "note": None})
    assert read.columns[0].unit == "mm" and read.pedigree.source == "common-practice"
    assert read.numbers("x") == (1.5, None) and read.texts("note") == ("a", None)


def test_a_table_tells_all_its_faults(tmp_path: Path) -> None:
    with pytest.raises(WrongData) as wrong:
        read_table(
            table(tmp_path, 'x,nota\n"1,5",a\n2\ninf,b\n', ABOUT + "y = { kind = 'digits', means = '' }\n")
        )
    told = [finding.sentence for finding in wrong.value.findings]
    for part in (
        "t.csv: the column “nota” is not described; did you mean “note”?",
        "t.csv: the column “note” is missing",
        "t.csv, line 2: “1,5” in “x” is not a number; write 1.5",
        "t.csv, line 3: this line has not 2 cells",
        "t.csv, line 4: “inf” in “x” is not a number",
        "t.toml, column y: “kind” cannot be “digits”",
    ):
        assert any(sentence.startswith(part) for sentence in told), (part, told)


@pytest.mark.parametrize("text", ['x,note\n1,"a" b\n', '"x"y,note\n1,a\n', 'x,note\n1,"a\n'])
def test_what_is_no_csv_is_told_with_its_line(tmp_path: Path, text: str) -> None:
    with pytest.raises(WrongData) as wrong:
        read_table(table(tmp_path, text))
    assert any("not CSV" in one.problem and "t.csv, line" in one.where for one in wrong.value.findings)


def test_a_table_without_its_description_is_refused(tmp_path: Path) -> None:
    with pytest.raises(NotKnown, match=r"t\.toml"):
        (tmp_path / "t.csv").write_text("x\n1\n", "utf-8")
        read_table(tmp_path / "t.csv")


# Sizes in texts


def two_bearings() -> Build:
    facts = load_facts()
    build = facts.starters["truck-1-10-4wd-3s"]
    inner, outer = build.of_role("wheel_bearing")
    return replace(build, places=(inner, outer))


def test_a_size_alike_everywhere_is_written_once() -> None:
    assert filled("width {wheel_bearing.width_mm} mm", two_bearings()) == "width 4 mm"


def test_a_size_that_differs_is_written_with_its_places() -> None:
    assert filled("bore {wheel_bearing.bore_mm} mm", two_bearings()) == (
        "bore 10 mm (inner wheel bearings) and 5 mm (outer wheel bearings)"
    )


def test_sizes_that_belong_together_are_kept_together() -> None:
    assert filled("a {wheel_bearing.bore_mm×outer_mm×width_mm} mm bearing", two_bearings()) == (
        "a 10 × 15 × 4 mm (inner wheel bearings) and 5 × 11 × 4 mm (outer wheel bearings) bearing"
    )
    assert placeholders("{a.b×c}") == (("a", "b"), ("a", "c"))


def test_a_size_nobody_knows_is_left_blank() -> None:
    build = two_bearings()
    assert filled("a {spur.pitch} spur", build) == "a ___ spur"
    assert unresolved("{spur.pitch} {wheel_bearing.seal}", build) == ("spur.pitch",)
    assert placeholders("{a.b} and {c}") == (("a", "b"), ("c", ""))


def test_a_place_is_found_by_key_or_not_at_all() -> None:
    build = two_bearings()
    found = build.place("wheel_bearings_outer")
    assert isinstance(found, Place) and build.place("wings") is None
