"""The demo goes where it is told to, and never over somebody's own workshop."""

from __future__ import annotations

import shutil
from pathlib import Path

from tests.cli.typed import Typed
from tests.stories.shed import demo


def test_the_demo_is_made_where_the_workshop_is_said_to_be(type_: Typed) -> None:
    """One that is there already is opened, so that no season need be told here."""
    shutil.copytree(demo().truth_file.parent, "shed")
    said = type_("--workshop", "shed", "demo", "--short")
    assert said.code == 0, said.err
    assert "snugfast --workshop shed sheet" in said.out
    assert not Path("demo").exists()


def test_two_places_for_the_demo_are_asked_back(type_: Typed) -> None:
    said = type_("--workshop", "shed", "demo", "--folder", "barn")
    assert said.code == 2
    assert "--workshop says shed and --folder says barn" in said.err
    assert not Path("shed").exists() and not Path("barn").exists()


def test_a_database_is_no_place_for_the_demo(type_: Typed) -> None:
    said = type_("--workshop", "postgresql://nobody@localhost/none", "demo")
    assert said.code == 2 and "Name a folder" in said.err


def test_making_the_demo_again_leaves_a_workshop_of_ones_own_alone(type_: Typed) -> None:
    assert type_("--workshop", "shed", "begin", "--by", "Ada", "--zone", "UTC", "--yes").code == 0
    before = Path("shed/workshop.sqlite").read_bytes()
    said = type_("--workshop", "shed", "demo", "--again")
    assert said.code == 2 and "is not the demo" in said.err
    assert Path("shed/workshop.sqlite").read_bytes() == before
