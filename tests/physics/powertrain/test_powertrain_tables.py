"""The twin's tables read whole: shape, sources known, the rules they state."""

from __future__ import annotations

import itertools
import tomllib
from typing import Any

import pytest

from snugfast.facts.tables import parse_table
from tests.physics.truck_twin import FACTS, toml

FOLDER = FACTS / "powertrain"
TABLES = sorted(path.stem for path in FOLDER.glob("*.csv"))


def known_sources() -> set[str]:
    return {
        key
        for path in (FACTS / "sources").glob("*.toml")
        for key in tomllib.loads(path.read_text(encoding="utf-8"))
    }


def table(name: str) -> Any:
    return parse_table(
        (FOLDER / f"{name}.csv").read_text(encoding="utf-8"),
        (FOLDER / f"{name}.toml").read_text(encoding="utf-8"),
        name,
    )


def named_sources(value: object) -> set[str]:
    if isinstance(value, dict):
        own = {value["source"]} if isinstance(value.get("source"), str) else set()
        return own.union(*(named_sources(inner) for inner in value.values())) if value else own
    return set()


@pytest.mark.slow
@pytest.mark.parametrize("name", TABLES)
def test_every_table_reads_and_its_source_is_known(name: str) -> None:
    read = table(name)
    assert read.rows
    assert read.pedigree.source in known_sources()
    for row in read.rows:
        for column in ("rolling_source", "grip_source"):
            assert row.get(column, "twin-estimates") in known_sources()


@pytest.mark.parametrize(
    "name", ["driving_styles", "materials", "heat_limits", "motor_classes", "prior_spreads"]
)
def test_every_source_of_the_other_files_is_known(name: str) -> None:
    named = named_sources(toml(name))
    assert named
    assert named <= known_sources()


@pytest.mark.parametrize("name", TABLES)
def test_bands_run_upwards(name: str) -> None:
    """The rule every table states: low is at most likely is at most high."""
    for row in table(name).rows:
        for column in row:
            if "_likely" in column:
                low, high = (row[column.replace("_likely", end)] for end in ("_low", "_high"))
                assert low <= row[column] <= high


def test_longer_cans_are_heavier_and_cool_better() -> None:
    rows = table("can_sizes").rows
    for row in rows:
        assert row["still_K_W"] > row["wind_5_K_W"] > row["wind_10_K_W"]
    for short, long in itertools.pairwise(rows):
        assert long["mass_kg"] > short["mass_kg"]
        assert long["still_K_W"] < short["still_K_W"]
        assert long["size_likely"] > short["size_likely"]


def test_ground_stays_within_what_the_rules_say() -> None:
    for row in table("ground").rows:
        assert row["rolling_low"] > 0.0
        assert row["rolling_high"] <= 0.4
        assert row["grip_low"] > 0.1
        assert row["grip_high"] <= 1.8


def test_larger_controllers_lose_less_and_cool_better() -> None:
    rows = table("controllers").rows
    for row in rows:
        assert row["motor_A"] >= row["battery_A"]
    for small, large in itertools.pairwise(rows):
        assert large["resistance_ohm"] < small["resistance_ohm"]
        assert large["capacity_J_K"] > small["capacity_J_K"]
        assert large["still_W_K"] > small["still_W_K"]


def test_hot_parts_carry_their_caution() -> None:
    """A limit that can burn someone says so where it stands."""
    limits = toml("heat_limits")
    assert "burns skin" in limits["can"]["caution"]
    assert "not charged" in limits["pack"]["caution"]
