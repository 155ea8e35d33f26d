"""The car, the curve and the runs of the golden files, for the tests of the power train.

Golden: written by a separate program with SciPy's DOP853 at a relative tolerance of 1e-11, stopping at every
border between limits. Its pack is isothermal and its curve is the smooth one of Chen and Rincón-Mora (2006).
"""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

from snugfast.physics.powertrain import cells_circuit, controller, heat, motor, road, tyres
from snugfast.physics.powertrain.driving_styles import Does, Phase
from snugfast.physics.powertrain.powertrain import Action, Car, Demand, Place, State

GOLDEN = Path(__file__).parent.parent / "golden"


def golden_json(name: str) -> Any:
    return json.loads((GOLDEN / f"powertrain_{name}.json").read_text())


def golden_rows(name: str) -> list[dict[str, float]]:
    with (GOLDEN / f"powertrain_{name}.csv").open() as lines:
        return [{k: float(v) for k, v in row.items() if k != "branch"} for row in csv.DictReader(lines)]


@cache
def golden_curve() -> cells_circuit.Curve:
    z = np.linspace(0.0, 1.0, 2001)
    volts = -1.031 * np.exp(-35.0 * z) + 3.685 + 0.2156 * z - 0.1178 * z**2 + 0.3201 * z**3
    return cells_circuit.curve_through(z, volts)


def golden_car(**overrides: Any) -> tuple[Car, Place]:
    p = {**golden_json("golden")["parameters"], **overrides}
    car = Car(
        mass_kg=p["m"],
        drag_area_m2=p["CdA"],
        driven_share=p["nfac"],
        final_drive=p["FDR"],
        gear_efficiency=p["eta"],
        wheel_inertia_kgm2=p["Jw"],
        tyre=tyres.Tyre(p["r0"], p["kg"], p["dmax"]),
        motor=motor.Motor(
            kv_rpm_V=p["Kv"],
            resistance_ohm=p["Rm20"],
            idle_current_A=p["I0"],
            idle_test_V=p["V0"],
            rotor_inertia_kgm2=p["Jm"],
            hysteresis_share=p["h0"],
            copper_per_K=p["aCu"],
            magnet_per_K=p["aB"],
            magnet_follows_winding=p["kmag"],
        ),
        motor_heat=heat.MotorHeat(
            winding_J_K=p["Cw"],
            can_J_K=p["Cc"],
            winding_to_can_K_W=p["Rwc"],
            iron_in_winding=p["fw"],
            cooling=heat.Cooling(p["Gc0"], p["Gc1"], p["nc"], p["kair"], p["vfan"], p["vn"]),
        ),
        controller=controller.Controller(
            resistance_ohm=p["Re25"],
            resistance_per_K=p["aE"],
            part_throttle_V=p["Vpt"],
            supply_current_A=p["Iq"],
            supply_heat_share=p["chi"],
            motor_limit_A=p["Imax"],
            battery_limit_A=p["Ibmax"],
            brake_limit_A=p["Ibrk"],
            given_back=float(p["regen"]),
        ),
        controller_heat=heat.ControllerHeat(
            p["Ce"], heat.Cooling(p["Ge0"], p["Ge1"], p["ne"], p["kaire"], p["vfane"], p["vn"])
        ),
        pack=cells_circuit.Pack(
            curve=golden_curve(),
            series_cells=p["Ns"],
            capacity_Ah=p["Q"],
            resistance_ohm=p["R0"],
            slow_resistance_ohm=p["R1"],
            slow_capacitance_F=p["C1"],
            heat_capacity_J_K=300.0,
            cooling_W_K=0.2,
            activation_J_mol=0.0,
        ),
    )
    place = Place(
        ground=road.Ground(p["crr0"], p["mu"], p["crr1"]),
        air=road.Air(p["Ta"], p["rho"], p["wind"]),
        gravity_m_s2=p["g"],
    )
    return car, place


def golden_state(numbers: list[float]) -> State:
    return State(*numbers, pack_degC=25.0)


def golden_demand(given: dict[str, Any]) -> Demand:
    return Demand(
        action=Action.BRAKE if given["mode"] == "brake" else Action.DRIVE,
        throttle=given["u"],
        brake=given["b"],
        grade=given["grade"],
        fan=float(given["fan"]),
    )


def golden_segments(name: str) -> list[tuple[float, Demand]]:
    given = golden_json("golden")["cases"][name]["segments"]
    if name != "cycle":
        return [(one["T"], golden_demand(one)) for one in given]
    lap = [(one["T"], golden_demand(one)) for one in given[:4]]
    return [(t, replace(d, fan=0.0 if n < 12 else 1.0)) for n in range(24) for t, d in lap]


def golden_case(name: str) -> tuple[Car, Place, State, list[tuple[float, Demand]]]:
    case = golden_json("golden")["cases"][name]
    car, place = golden_car(**case["overrides"])
    return car, place, golden_state(case["x0"]), golden_segments(name)


def phase_of(demand: Demand, seconds: float) -> Phase:
    if demand.action is Action.BRAKE:
        return Phase(Does.BRAKE, brake=demand.brake, grade=demand.grade, at_most_s=seconds)
    if demand.action is Action.HOLD_SPEED:
        return Phase(
            Does.HOLD,
            throttle=demand.throttle,
            brake=demand.brake,
            speed_m_s=demand.aim_m_s,
            grade=demand.grade,
            at_most_s=seconds,
        )
    return Phase(
        Does.FULL,
        throttle=demand.throttle,
        grade=demand.grade,
        wheel_spin=demand.wheel_spin,
        at_most_s=seconds,
    )


def flat_curve(volts: float) -> cells_circuit.Curve:
    return cells_circuit.curve_through(np.array([0.0, 1.0]), np.array([volts, volts]))


def bare_car(**overrides: Any) -> tuple[Car, Place]:
    """A car without any loss or limit that is not asked for, on a stiff 12 V pack: the closed forms' car."""
    nothing = {
        "CdA": 0.0, "crr0": 0.0, "kg": 0.0, "eta": 1.0, "I0": 0.0, "Vpt": 0.0, "Iq": 0.0, "chi": 0.0,
        "R0": 1e-12, "R1": 1e-12, "C1": 1e15, "aCu": 0.0, "aB": 0.0, "aE": 0.0, "mu": 1e6, "Imax": 1e9,
        "Ibmax": 1e9, "Jw": 0.0, "Jm": 0.0, "m": 2.08,
    }  # fmt: skip
    car, place = golden_car(**{**nothing, **overrides})
    return replace(car, pack=replace(car.pack, curve=flat_curve(4.0))), place
