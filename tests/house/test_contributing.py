"""What CONTRIBUTING.md tells a newcomer to write is read by the loader as it stands there."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from snugfast.core.errors import WrongData
from snugfast.facts.load import load_facts
from tests.house.tree import ROOT

PAGE = ROOT / "CONTRIBUTING.md"
TRIED = re.compile(r"<!-- tried: (\S+) -->\n```toml\n(.*?)```", re.DOTALL)


def write_examples(folder: Path) -> None:
    for name, text in TRIED.findall(PAGE.read_text("utf-8")):
        file = folder / name
        file.parent.mkdir(parents=True, exist_ok=True)
        own = re.sub(r"^source = .*\n", "", text, flags=re.MULTILINE)  # as an owner writes it
        file.write_text(own, "utf-8")


def test_the_way_to_fail_and_its_check_can_be_added_as_they_stand(tmp_path: Path) -> None:
    write_examples(tmp_path)
    facts = load_facts(tmp_path)
    assert "fan_guard_loose" in facts.modes
    assert [cover.mode for cover in facts.checks["fan_guard"].covers] == ["fan_guard_loose"]


def test_a_key_left_out_is_named_by_the_loader(tmp_path: Path) -> None:
    """As the page promises."""
    write_examples(tmp_path)
    modes = tmp_path / "modes" / "mine.toml"
    modes.write_text(modes.read_text("utf-8").replace("between_defects = 3000\n", ""), "utf-8")
    with pytest.raises(WrongData, match="between_defects"):
        load_facts(tmp_path)


def test_every_file_the_pages_for_newcomers_name_is_there() -> None:
    pages = [PAGE, ROOT / "docs/architecture.md"]
    named = {
        path
        for page in pages
        for path in re.findall(
            r"`((?:src|docs|tests|cli|web|facts|records|usecases)/[\w./-]+)`", page.read_text("utf-8")
        )
    }
    made = {"docs/commands.md"}  # by `make docs`
    lost = sorted(
        path
        for path in named - made
        if not any((top / path).exists() for top in (ROOT, ROOT / "src/snugfast"))
    )
    assert not lost
