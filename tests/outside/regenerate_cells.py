"""Make the rest-voltage tables and the steady discharge again with another program, PyBaMM.

PyBaMM is heavy and pins its own solvers, so it never enters the project's environment. Use a throwaway one:

    python3.11 -m venv build/outside
    build/outside/bin/pip install "pybamm==26.10.1.1"
    build/outside/bin/python tests/outside/regenerate_cells.py            # compare with the kept files
    build/outside/bin/python tests/outside/regenerate_cells.py --write    # write them anew

It compares with tests/golden/packs and with the shipped table, prints the largest difference of each, and
ends with status 1 when one is larger than the last printed digit allows.
"""

from __future__ import annotations

import argparse
import csv
import sys
from pathlib import Path

import numpy as np
import pybamm

ROOT = Path(__file__).resolve().parents[2]
GOLDEN = ROOT / "tests/golden/packs"
SHIPPED = ROOT / "src/snugfast/facts/packs/rest_voltage_cobalt_pouch.csv"
WARMTH_K = 298.15
CURVES = {
    "ocv_lco_pouch_ai2020.csv": ("Ai2020", None),
    "ocv_lco_pouch_ai2020_fine.csv": ("Ai2020", None),
    "ocv_lco_pouch_marquis2019.csv": ("Marquis2019", None),
    "ocv_nmc532_pouch_mohtat2020.csv": ("Mohtat2020", 3.0),
    "ocv_nmc811_cyl_chen2020_3v0.csv": ("Chen2020", 3.0),
}


def rest_volts(set_name: str, lowest_V: float | None, charges: np.ndarray) -> np.ndarray:
    """Open-circuit volts of a published cell at charges of 0 to 1, between its limits or from `lowest_V`."""
    values = pybamm.ParameterValues(set_name)
    if lowest_V is not None:
        values["Lower voltage cut-off [V]"] = lowest_V
        values["Open-circuit voltage at 0% SOC [V]"] = lowest_V
    cell = pybamm.LithiumIonParameters()
    x0, x100, y100, y0 = pybamm.lithium_ion.get_min_max_stoichiometries(values)
    volts = []
    for charge in charges:
        x = pybamm.Scalar(x0 + charge * (x100 - x0))
        y = pybamm.Scalar(y0 - charge * (y0 - y100))
        difference = cell.p.prim.U(y, WARMTH_K) - cell.n.prim.U(x, WARMTH_K)
        volts.append(float(np.asarray(values.evaluate(difference)).ravel()[0]))
    return np.array(volts)


def split(path: Path) -> tuple[list[str], list[dict[str, str]]]:
    """The comment lines of a golden file, and its rows."""
    lines = path.read_text(encoding="utf-8").splitlines()
    notes = [line for line in lines if line.startswith("#")]
    return notes, list(csv.DictReader(line for line in lines if not line.startswith("#")))


def write(path: Path, notes: list[str], rows: list[dict[str, str]]) -> None:
    """A golden file as it was, with its rows anew."""
    body = [",".join(rows[0]), *(",".join(row.values()) for row in rows)]
    path.write_text("\n".join([*notes, *body]) + "\n", encoding="utf-8")


def renew(path: Path, set_name: str, lowest_V: float | None, keep: bool) -> float:
    """The largest difference in V between a kept table and the program's answer; written anew unless kept."""
    notes, rows = split(path)
    charge, volts, scale = ("charge", "rest_V", 1.0) if path == SHIPPED else ("soc_percent", "ocv_V", 100.0)
    found = rest_volts(set_name, lowest_V, np.array([float(row[charge]) for row in rows]) / scale)
    worst = float(np.max(np.abs(found - [float(row[volts]) for row in rows])))
    if not keep:
        write(path, notes, [row | {volts: f"{value:.4f}"} for row, value in zip(rows, found, strict=True)])
    return worst


def steady_discharge(amps: float, times_s: list[float]) -> np.ndarray:
    """Volts of the equivalent circuit of the golden discharge, from PyBaMM's Thevenin model."""
    _, table = split(GOLDEN / "ocv_lco_pouch_ai2020.csv")
    charges = np.array([float(row["soc_percent"]) / 100 for row in table])
    volts = np.array([float(row["ocv_V"]) for row in table])
    values = pybamm.ParameterValues("ECM_Example")
    values.update(
        {
            "Initial SoC": 0.95,
            "Cell capacity [A.h]": 5.0,
            "Nominal cell capacity [A.h]": 5.0,
            "Current function [A]": amps,
            "Initial temperature [K]": WARMTH_K,
            "Ambient temperature [K]": WARMTH_K,
            "Cell thermal mass [J/K]": 1e12,
            "Jig thermal mass [J/K]": 1e12,
            "Upper voltage cut-off [V]": 4.5,
            "Lower voltage cut-off [V]": 3.0,
            "Open-circuit voltage [V]": lambda charge: pybamm.Interpolant(charges, volts, charge),
            "R0 [Ohm]": 0.004,
            "R1 [Ohm]": 0.002,
            "C1 [F]": 5000.0,
            "Element-1 initial overpotential [V]": 0.0,
            "Entropic change [V/K]": 0.0,
        }
    )
    simulation = pybamm.Simulation(pybamm.equivalent_circuit.Thevenin(), parameter_values=values)
    solution = simulation.solve(np.array([0.0, *times_s]))
    return np.asarray(solution["Voltage [V]"](times_s))


def main() -> int:
    """Compare, or write; the status says whether all agreed."""
    ask = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    ask.add_argument("--write", action="store_true", help="write the tables anew")
    keep = not ask.parse_args().write
    worst: dict[str, tuple[float, float]] = {}
    for name, (set_name, low) in CURVES.items():
        worst[name] = renew(GOLDEN / name, set_name, low, keep), 1e-4
    worst[SHIPPED.name] = renew(SHIPPED, "Ai2020", None, keep), 1e-4
    _, rows = split(GOLDEN / "ecm_const_current_check.csv")
    for amps in (5.0, 25.0):
        mine = [row for row in rows if float(row["current_A"]) == amps and row["v_pybamm_V"] != "nan"]
        times_s = [float(row["time_s"]) for row in mine]
        gap = steady_discharge(amps, times_s) - [float(row["v_pybamm_V"]) for row in mine]
        worst[f"steady discharge at {amps:g} A"] = float(np.max(np.abs(gap))), 1e-5
    for name, (difference, allowed) in worst.items():
        print(f"{name}: {difference:.2e} V{'' if difference <= allowed else '  DIFFERS'}")
    return int(any(difference > allowed for difference, allowed in worst.values()))


if __name__ == "__main__":
    sys.exit(main())
