"""Every table of mechanics read whole: columns described, sources known, and the rules it states."""

from __future__ import annotations

import csv
import math
import tomllib
from itertools import pairwise

import pytest

from snugfast.physics.joints.thread_torque import stress_area
from tests.physics.mechanics_tables import MECHANICS, REFERENCE, pedigree, rows

TABLES = sorted(path.stem for folder in (MECHANICS, REFERENCE) for path in folder.glob("*.csv"))
SOURCES = tomllib.loads((MECHANICS.parent / "sources/mechanics.toml").read_text("utf-8"))
SEEN = {"primary", "secondary", "memory", "practice", "elicited", "computed"}


def numbers(name: str, column: str) -> list[float]:
    """The known numbers of one column, in row order."""
    return [float(row[column]) for row in rows(name) if row[column]]


def rises(values: list[float]) -> bool:
    return all(low < high for low, high in pairwise(values))


@pytest.mark.parametrize("name", TABLES)
def test_every_column_is_described_and_every_source_known(name: str) -> None:
    about = pedigree(name)
    assert about["source"] in SOURCES
    assert about["place"]
    assert about["checked"]
    assert about["rules"]
    for row in rows(name):
        assert list(row) == list(about["columns"])
        for column, cell in row.items():
            if about["columns"][column]["kind"] == "number" and cell:
                assert math.isfinite(float(cell))
        assert row.get("row_source") in (None, "") or row["row_source"] in SOURCES
        assert row.get("seen", "primary") in SEEN


def test_rows_stand_once() -> None:
    for name in TABLES:
        lines = [tuple(row.values()) for row in rows(name)]
        assert len(set(lines)) == len(lines), name


@pytest.mark.parametrize(
    ("name", "column"),
    [
        ("lewis_form_factors", "teeth"),
        ("lewis_form_factors", "form_factor"),
        ("metric_threads", "stress_area_mm2"),
        ("hex_key_torques", "yield_torque_Nm"),
        ("stainless_breaking_torques", "class_70_Nm"),
        ("seating_torques", "cap_Nm"),
        ("set_screw_holding", "holding_N"),
        ("bearing_thrust_factors", "limit"),
        ("bearing_reliability", "reliability"),
    ],
)
def test_columns_that_rise_do(name: str, column: str) -> None:
    assert rises(numbers(name, column))


def test_columns_that_fall_do() -> None:
    for name, column in (
        ("bearing_thrust_factors", "axial_factor"),
        ("bearing_reliability", "a1_2007"),
        ("bearing_reliability", "a1_1990"),
    ):
        assert rises(numbers(name, column)[::-1]), (name, column)


def test_bands_run_upwards() -> None:
    for row in rows("friction"):
        assert float(row["low"]) <= float(row["usual"]) <= float(row["high"])
    for row in rows("hub_cooling"):
        assert float(row["low_K_W"]) < float(row["usual_K_W"]) < float(row["high_K_W"])
    for row in rows("metric_threads"):
        diameter, *holes = (
            float(row[f"{name}_mm"]) for name in ("diameter", "hole_close", "hole_normal", "hole_loose")
        )
        assert rises([diameter, *holes])


def test_a_plastic_has_no_stripping_figure_and_bears_a_third_of_its_strength() -> None:
    """Law: no strip torque is published for small screws in plastic, so none may be worked out."""
    for row in rows("part_materials"):
        metal = row["material"].startswith("aluminium")
        assert row["thread_figure"] == ("yes" if metal else "no")
        if not metal:
            assert float(row["lasting_pressure_MPa"]) <= float(row["tensile_MPa"]) / 3


def test_stainless_breaks_above_what_it_is_tightened_to() -> None:
    """Law: breaking torque of class 70 lies above a screw pulled to 90 % of yield (0.2·F·d at most)."""
    threads = {row["size"]: row for row in rows("metric_threads")}
    for row in rows("stainless_breaking_torques"):
        thread = threads[row["size"]]
        diameter_m = float(thread["diameter_mm"]) * 1e-3
        area_m2 = stress_area(diameter_m=diameter_m, pitch_m=float(thread["pitch_mm"]) * 1e-3)
        assert float(row["class_70_Nm"]) > 0.2 * 0.75 * 450e6 * area_m2 * diameter_m
        assert rises([float(row[f"class_{grade}_Nm"]) for grade in (50, 70, 80)])


def test_unfilled_plastic_gears_are_not_allowed_their_strength() -> None:
    for row in rows("gear_plastic_strengths"):
        if row["flexural_MPa"]:
            assert float(row["safe_bending_MPa"]) < float(row["flexural_MPa"]) / 2


def test_loads_at_breaking_lie_above_proof_loads() -> None:
    for row in rows("screw_loads"):
        assert float(row["ultimate_N"]) > float(row["proof_N"])
    for row in rows("strength_classes"):
        assert float(row["tensile_MPa"]) > float(row["yield_MPa"])
        assert not row["proof_MPa"] or float(row["proof_MPa"]) < float(row["yield_MPa"])


def test_a_lock_nut_drags_less_each_time() -> None:
    for row in rows("insert_nut_drag"):
        assert rises(
            [float(row[f"{name}_Nm"]) for name in ("fifth_off_least", "first_off_least", "first_on_most")]
        )


def test_bearings_are_no_wider_open_than_shielded() -> None:
    for row in rows("bearing_sizes"):
        assert float(row["bore_mm"]) < float(row["outer_mm"])
        assert not row["open_width_mm"] or float(row["open_width_mm"]) <= float(row["shielded_width_mm"])


def test_what_is_guessed_by_scale_and_what_by_kind_can_both_be_so() -> None:
    """The bench guesses a car's mass from its scale alone, the twin from scale and kind, so its band is the
    narrower; as far as both speak of a scale, their bands meet.
    """
    by_scale = {row["key"].removeprefix("mass "): row for row in rows("bench_estimates")}
    kinds = list(csv.DictReader((MECHANICS.parent / "powertrain/car_kinds.csv").open(encoding="utf-8")))
    assert kinds
    for kind in kinds:
        wide = by_scale[kind["scale"]]
        assert float(kind["mass_low_kg"]) <= float(wide["high"]), kind["key"]
        assert float(wide["low"]) <= float(kind["mass_high_kg"]), kind["key"]
