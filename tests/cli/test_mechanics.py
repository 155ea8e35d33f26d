"""The commands of mechanics as they are typed: words for people, JSON for programs, refusals."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.typed import Said, Typed


def plain(said: Said) -> Any:
    assert said.code == 0, said.err
    return json.loads(said.out)


def test_the_mesh_is_told_and_drawn(thread: Typed, tmp_path: Path) -> None:
    file = tmp_path / "mesh.svg"
    said = thread("mesh", "Bramble", "--shift", "0.3mm", "--svg", str(file))
    assert said.code == 0, said.err
    for words in ("Now", "As it should be", "contact ratio", "strips first", "Beware", "(memory)"):
        assert words in said.out
    assert file.read_text("utf-8").startswith("<svg")
    guide = plain(thread("mesh", "Bramble", "--json"))
    assert guide["wanted"]["contact_ratio"]["origins"][0]["source"] == "gear-parameters-notes"
    assert {source["seen"] for source in guide["sources"]} >= {"primary", "memory"}


def test_a_drawing_that_cannot_be_written_is_refused(thread: Typed, tmp_path: Path) -> None:
    said = thread("mesh", "Bramble", "--svg", str(tmp_path / "nowhere" / "mesh.svg"))
    assert said.code == 2 and "folder" in said.err


def test_a_joint_names_what_gives_first(thread: Typed) -> None:
    said = thread("joint", "Bramble", "motor_screws", "--class", "8.8")
    assert "the screw gives first" in said.out and "hex driver 2.5 mm" in said.out
    assert plain(thread("joint", "Bramble", "pinion_screw", "--json"))["hold"]["verdict"] == "holds"
    assert "wheel_nuts" in thread("joint", "Bramble").out


def test_bearings_and_kit_are_lists(thread: Typed) -> None:
    assert "8 × 5 × 11 × 4" in thread("bearings").out
    assert "[ ] hex driver 2 mm" in thread("kit").out
    assert plain(thread("kit", "--json"))["hex_keys"][0][0] == 2.0
    assert plain(thread("bearings", "--json"))["order"]


def test_spins_are_kept_and_compared(thread: Typed) -> None:
    spin = ("drag", "Bramble", "--corner", "fl", "--runs-free")
    first = thread(*spin, "--times", "8.1,8.2,8.0")
    assert "Nothing was saved" in first.err
    assert "Nothing was timed" in thread("drag", "Bramble").out
    assert thread(*spin, "--times", "8.1,8.2,8.0", "--yes").code == 0
    later = thread(*spin, "--times", "4.0,4.1,4.1", "--yes")
    assert "more friction than its own baseline" in later.out, later.err
    assert "free spin front left: 8.1 s" in thread("drag", "Bramble").out
    assert "free spin at front left" in thread("journal").out


@pytest.mark.parametrize(
    ("words", "helps"),
    [
        (("mesh", "Bramble", "--pinion", "4"), "Did you mean 14"),
        (("mesh", "Bramble", "--pitch", "48"), "48 DP"),
        (("joint", "Bramble", "wheel_nut5"), "Did you mean"),
        (("joint", "Bramble", "motor_screws", "--head", "0.22"), "0.22 in"),
        (("drag", "Bramble", "--corner", "fl", "--times", "5"), "--runs-free"),
        (("bearings", "Nobody"), "Bramble"),
    ],
)
def test_what_cannot_be_is_refused_with_a_suggestion(
    thread: Typed, words: tuple[str, ...], helps: str
) -> None:
    said = thread(*words)
    assert said.code == 2
    assert helps in said.err
