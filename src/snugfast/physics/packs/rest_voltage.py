"""Rest voltage and charge of one cell, both ways.

The curve is a table handed in. Its slope with temperature is the entropy term of the same cell.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import ImpossibleInput

REFERENCE_K = 298.15


@dataclass(frozen=True, slots=True)
class RestVoltageCurve:
    """What a rested cell reads at a charge, and what charge a reading means.

    `charge` runs from 0 to 1 of the present capacity, `rest_V` beside it at 298.15 K. `slope_V_per_K` stands
    beside `slope_charge`. Straight lines between the points. Raises ImpossibleInput when the table does not
    rise.
    """

    charge: tuple[float, ...]
    rest_V: tuple[float, ...]
    slope_charge: tuple[float, ...] = (0.0, 1.0)
    slope_V_per_K: tuple[float, ...] = (0.0, 0.0)

    def __post_init__(self) -> None:
        _check_table(self.charge, self.rest_V)
        _check_table(self.slope_charge, self.slope_V_per_K)
        _check_rising(self.rest_V, "rest voltages")

    def voltage_at(self, charge: float, temperature_K: float = REFERENCE_K) -> float:
        """Rest voltage of a cell in V. Raises ImpossibleInput for a charge outside 0 to 1."""
        _check_charge(charge)
        return float(np.interp(charge, self.charge, self.rest_V)) + self.entropy_slope(charge) * (
            temperature_K - REFERENCE_K
        )

    def voltages_at(self, charge: NDArray[np.float64]) -> NDArray[np.float64]:
        """Rest voltages in V at 298.15 K, shaped like `charge`; the ends are held outside 0 to 1."""
        return np.interp(charge, self.charge, self.rest_V)

    def entropy_slope(self, charge: float) -> float:
        """How the rest voltage changes with warmth at this charge, V/K."""
        return float(np.interp(charge, self.slope_charge, self.slope_V_per_K))

    def ends_V(self, temperature_K: float = REFERENCE_K) -> tuple[float, float]:
        """Rest voltage of an empty and of a full cell, V."""
        return self.voltage_at(0.0, temperature_K), self.voltage_at(1.0, temperature_K)

    def charge_at(self, rest_V: float, temperature_K: float = REFERENCE_K) -> float:
        """Charge, 0 to 1, of a rested cell that reads this many volts.

        Raises ImpossibleInput beyond the ends of the table, where volts say nothing about charge.
        """
        volts = self._volts_at_warmth(temperature_K)
        if not volts[0] <= rest_V <= volts[-1]:
            raise ImpossibleInput(
                f"{rest_V:.3f} V lies outside {volts[0]:.3f} to {volts[-1]:.3f} V, which the table covers.",
                "Judge the pack instead: below the table it is over-discharged, above it over-charged.",
            )
        return float(np.interp(rest_V, volts, self.charge))

    def charge_per_volt(self, rest_V: float) -> float:
        """How much charge one volt of error moves the answer, 1/V, at 298.15 K; the ends are held."""
        upper = min(max(bisect_right(self.rest_V, rest_V), 1), len(self.rest_V) - 1)
        run = self.charge[upper] - self.charge[upper - 1]
        return run / (self.rest_V[upper] - self.rest_V[upper - 1])

    def volts_under_curve(self, charge: float) -> float:
        """Rest voltage summed from empty to this charge, V: times the capacity in coulombs it is joules."""
        _check_charge(charge)
        inside = [z for z in self.charge if z < charge]
        points = np.array([*inside, charge])
        return float(np.trapezoid(self.voltages_at(points), points))

    def _volts_at_warmth(self, temperature_K: float) -> NDArray[np.float64]:
        slopes = np.interp(self.charge, self.slope_charge, self.slope_V_per_K)
        volts = np.asarray(self.rest_V) + slopes * (temperature_K - REFERENCE_K)
        _check_rising(tuple(volts), f"rest voltages at {temperature_K:.0f} K")
        return volts


def _check_charge(charge: float) -> None:
    if not 0.0 <= charge <= 1.0:
        raise ImpossibleInput(f"A charge of {charge:g} cannot be.", "Charge runs from 0 (empty) to 1 (full).")


def _check_table(charge: tuple[float, ...], beside: tuple[float, ...]) -> None:
    if len(charge) != len(beside) or len(charge) < 2:
        raise ImpossibleInput("A curve has as many charges as values, and at least two.", "Mend the table.")
    if charge[0] != 0.0 or charge[-1] != 1.0:
        raise ImpossibleInput("A curve runs from charge 0 to charge 1.", "Mend the table.")
    _check_rising(charge, "charges")


def _check_rising(values: tuple[float, ...], what: str) -> None:
    if any(later <= earlier for earlier, later in pairwise(values)):
        raise ImpossibleInput(
            f"The {what} of a curve must rise from each point to the next.", "Mend the table."
        )
