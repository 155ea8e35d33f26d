"""The page that tells owners how to add rows is right: its examples are read as they stand.

Authority: laws of this project.
"""

from __future__ import annotations

import re
from pathlib import Path

from snugfast.facts.load import load_facts
from snugfast.facts.model import Seen
from snugfast.facts.own_rows import MINE

PAGE = (Path(__file__).parents[2] / "docs" / "knowledge.md").read_text("utf-8")


def test_its_examples_are_read_and_marked_mine(tmp_path: Path) -> None:
    blocks = re.findall(r"```toml\n(?:# tables/(\S+)\n)?(.*?)```", PAGE, re.DOTALL)
    assert [name for name, _ in blocks] == ["modes/wing.toml", "checks/wing.toml", ""]
    for name, text in blocks:
        path = tmp_path / (name or "minutes.toml")
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    facts = load_facts(tmp_path)
    assert facts.modes["tail_light_lost"].pedigree.source == MINE
    assert facts.checks["tail_light"].pedigree.where == "checks/wing.toml"
    assert (facts.checks["wheel_nuts"].minutes, facts.access["body_off"].minutes) == (0.8, 0.4)


def test_it_names_every_word_for_how_a_source_was_seen() -> None:
    assert set(re.findall(r"^\| `(\w+)` \| (?!a )", PAGE, re.MULTILINE)) >= {seen.value for seen in Seen}


def test_the_tables_it_names_are_there() -> None:
    facts = Path(__file__).parents[2] / "src" / "snugfast" / "facts"
    named = re.findall(r"`([a-z_]+(?:/|\.toml|\.csv))`", PAGE)
    assert len(named) >= 10
    missing = [name for name in named if not (facts / name).exists() and name != "minutes.toml"]
    assert not missing
