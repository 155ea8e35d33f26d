"""The pack tables read whole: sources known, order kept, cautions there (law: each number has one)."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import astuple
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from tests.physics.pack_tables import PACKS, ageing_views, product_limits, toml

FACTS = PACKS.parent
SOURCES = {
    key
    for file in (FACTS / "sources").glob("*.toml")
    for key in tomllib.loads(file.read_text(encoding="utf-8"))
}
CAUTIONS: dict[str, dict[str, Any]] = tomllib.loads(
    (FACTS / "cautions/packs.toml").read_text(encoding="utf-8")
)


def named_sources(table: Any) -> Iterator[str]:
    if isinstance(table, dict):
        if isinstance(table.get("source"), str):
            yield table["source"]
        for part in table.values():
            yield from named_sources(part)
    elif isinstance(table, list):
        for part in table:
            yield from named_sources(part)


@pytest.mark.parametrize("file", sorted(PACKS.glob("*.toml")), ids=lambda path: path.stem)
def test_every_pack_table_names_known_sources(file: Path) -> None:
    named = list(named_sources(tomllib.loads(file.read_text(encoding="utf-8"))))
    assert named
    assert set(named) <= SOURCES


def test_every_limit_and_drain_carries_a_source() -> None:
    for table in (toml("limits.toml")["lithium_polymer"], toml("reading.toml")):
        for part in (table, *(part for part in table.values() if isinstance(part, dict))):
            for name, row in part.items():
                if isinstance(row, dict) and "value" in row:
                    assert row["source"] in SOURCES, name


def test_the_volts_of_a_cell_stand_in_the_order_they_are_met() -> None:
    cell = product_limits().cell
    ladder = (
        cell.ever_ruined_V,
        cell.ruined_V,
        cell.empty_V,
        cell.cut_off_low_V,
        cell.danger_V,
        cell.act_by_V,
        cell.storage_low_V,
        cell.storage_V,
        cell.storage_high_V,
        cell.long_life_V,
        cell.full_V,
        cell.over_charged_V,
        cell.not_this_chemistry_V,
    )
    assert all(low < high for low, high in pairwise(ladder))


def test_warmth_limits_rise_and_wear_limits_harden() -> None:
    limits = product_limits()
    assert list(astuple(limits.warmth)) == sorted(astuple(limits.warmth))
    wear = limits.wear
    assert wear.watch_resistance_ratio < wear.gentle_resistance_ratio < wear.done_resistance_ratio
    assert wear.watch_capacity > wear.gentle_capacity > wear.done_capacity


def test_the_year_table_keeps_less_with_charge_and_warmth() -> None:
    kept = ageing_views().by_year_table.kept
    assert all(cold >= warm for rows in pairwise(kept) for cold, warm in zip(*rows, strict=True))
    assert all(half > full for half, full in kept)


def test_chemistries_without_a_model_hold_notes_and_known_cautions_only() -> None:
    for name, table in toml("limits.toml").items():
        if table["model"] == "none":
            assert set(table) == {"model", "note", "cautions"}, name
            assert set(table["cautions"]) <= set(CAUTIONS)


@pytest.mark.parametrize("key", CAUTIONS)
def test_every_caution_is_whole_and_sourced(key: str) -> None:
    caution = CAUTIONS[key]
    assert caution["text"].endswith(".")
    assert caution["source"] in SOURCES
    assert isinstance(caution["adults_only"], bool)


def test_every_conflict_shows_two_sides_and_says_what_is_taken() -> None:
    for name, conflict in toml("conflicts.toml").items():
        assert conflict["question"].endswith("?"), name
        assert len({view["source"] for view in conflict["views"]}) >= 2, name
        assert conflict["taken"].endswith("."), name
