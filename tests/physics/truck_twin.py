"""A 1/10 truck made of the product's own tables, for the tests of the gearing study."""

from __future__ import annotations

import csv
import tomllib
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

import snugfast.facts
from snugfast.physics.powertrain import cells_circuit, controller, heat, powertrain, road, tyres
from snugfast.physics.powertrain.driving_styles import Style, style_from
from snugfast.physics.powertrain.motor_estimates import CanSize, heat_of_can, motor_from_label
from snugfast.physics.powertrain.runs import Limits
from snugfast.physics.study.gearing import Question

FACTS = Path(snugfast.facts.__file__).parent
INTERNAL_RATIO = 4.0
WHEEL_KG = 0.16


def rows(name: str) -> dict[str, dict[str, str]]:
    with (FACTS / "powertrain" / f"{name}.csv").open(encoding="utf-8") as lines:
        return {row["key"]: row for row in csv.DictReader(lines)}


def toml(name: str) -> dict[str, Any]:
    return tomllib.loads((FACTS / "powertrain" / f"{name}.toml").read_text(encoding="utf-8"))


MOUNT = toml("materials")["mount"]["cooling_factor"]["value"]


def numbers(path: Path) -> np.ndarray:
    return np.loadtxt(path, delimiter=",", skiprows=1)


def style(key: str) -> Style:
    return style_from(key, toml("driving_styles")[key])


def ground(key: str) -> road.Ground:
    row = rows("ground")[key]
    return road.Ground(
        rolling=float(row["rolling_likely"]),
        grip=float(row["grip_likely"]),
        unsteady=float(row["unsteady_likely"]),
    )


def can(key: str, guess: str = "likely") -> CanSize:
    row = rows("can_sizes")[key]
    return CanSize(
        winding_J_K=float(row["winding_J_K"]),
        can_J_K=float(row["can_J_K"]),
        still_K_W=float(row["still_K_W"]),
        wind_5_K_W=float(row["wind_5_K_W"]),
        winding_to_can_K_W=float(row["winding_to_can_K_W"]),
        rotor_kgm2=float(row["rotor_kgm2"]),
        size_Nm_sqrtW=float(row[f"size_{guess}"]),
        idle_Nm=float(row[f"idle_{guess}_Nm"]),
    )


@cache
def curve() -> cells_circuit.Curve:
    volts = numbers(FACTS / "packs" / "rest_voltage_cobalt_pouch.csv")
    slopes = numbers(FACTS / "packs" / "rest_voltage_slope_cobalt_pouch.csv")
    return cells_circuit.curve_through(
        volts[:, 0], volts[:, 1], np.interp(volts[:, 0], slopes[:, 0], slopes[:, 1])
    )


def pack(cells: int = 3, capacity_Ah: float = 5.0) -> cells_circuit.Pack:
    cell_ohm = 0.012 / capacity_Ah
    slow_ohm = 0.45 * cell_ohm * cells
    return cells_circuit.Pack(
        curve=curve(),
        series_cells=cells,
        capacity_Ah=capacity_Ah,
        resistance_ohm=cells * cell_ohm + 0.004,
        slow_resistance_ohm=slow_ohm,
        slow_capacitance_F=15.0 / slow_ohm,
        heat_capacity_J_K=1000.0 * 0.026 * capacity_Ah * cells,
        cooling_W_K=0.25,
    )


def truck(pinion: int = 15, spur: int = 54, kv: float = 3200.0, tyre_mm: float = 115.0) -> powertrain.Car:
    """Four-wheel drive, 3.6 kg ready to run, 36 × 60 can, three cells."""
    body, bridge = rows("bodies")["truck_1_10"], rows("controllers")["medium"]
    size = can("36x60")
    return powertrain.Car(
        mass_kg=3.6,
        drag_area_m2=float(body["drag_area_likely_m2"]),
        driven_share=1.0,
        final_drive=spur / pinion * INTERNAL_RATIO,
        gear_efficiency=float(body["gear_likely"]),
        wheel_inertia_kgm2=wheel_inertia(WHEEL_KG, tyre_mm / 1000.0),
        tyre=tyres.Tyre(tyre_mm / 2000.0, growth_s2_m2=2.2e-4, growth_bound=0.10),
        motor=motor_from_label(size, kv_rpm_V=kv),
        motor_heat=heat_of_can(size, ram_share=float(body["can_ram"]), mount_factor=MOUNT),
        controller=controller.Controller(
            resistance_ohm=float(bridge["resistance_ohm"]),
            part_throttle_V=float(bridge["part_throttle_V"]),
            motor_limit_A=float(bridge["motor_A"]),
            battery_limit_A=float(bridge["battery_A"]),
            brake_limit_A=float(bridge["brake_A"]),
            given_back=float(bridge["given_back_likely"]),
        ),
        controller_heat=heat.ControllerHeat(
            float(bridge["capacity_J_K"]),
            heat.Cooling(
                float(bridge["still_W_K"]),
                float(bridge["flow_W_K"]),
                0.56,
                ram_share=float(body["controller_ram"]),
                fan_air_m_s=float(bridge["fan_air_m_s"]),
            ),
        ),
        pack=pack(),
    )


def wheel_inertia(wheel_kg: float, diameter_m: float) -> float:
    """Four wheels, most of the mass near the rim: 0.7 of a hoop."""
    return 4 * 0.7 * wheel_kg * (diameter_m / 2) ** 2


def on_tyres(car: powertrain.Car, diameter_mm: float, wheel_kg: float) -> powertrain.Car:
    """The car on other wheels: radius, mass, inertia, and a body that stands higher in the air."""
    old_m = 2 * car.tyre.radius_m
    return replace(
        car,
        mass_kg=car.mass_kg + 4 * (wheel_kg - WHEEL_KG),
        wheel_inertia_kgm2=wheel_inertia(wheel_kg, diameter_mm / 1000),
        tyre=replace(car.tyre, radius_m=diameter_mm / 2000),
        drag_area_m2=car.drag_area_m2 + 0.5 * (diameter_mm / 1000 - old_m) * 0.20,
    )


def limits() -> Limits:
    table = toml("heat_limits")
    return Limits(
        reserve_share=table["charge"]["reserve"]["value"],
        cutoff_V_per_cell=table["charge"]["cut_off_V_per_cell"]["value"],
        winding_degC=table["winding"]["limit_degC"]["value"],
        can_degC=table["can"]["limit_degC"]["value"],
        controller_degC=table["controller"]["limit_degC"]["value"],
        pack_degC=table["pack"]["limit_degC"]["value"],
    )


def question(car: powertrain.Car | None = None, style_key: str = "dirt_laps", **more: Any) -> Question:
    driven = style(style_key)
    ground_key = more.pop("ground_key", driven.grounds[0])
    return Question(
        car=car or truck(),
        place=powertrain.Place(ground(ground_key), road.Air(22.0)),
        style=driven,
        limits=limits(),
        **more,
    )
