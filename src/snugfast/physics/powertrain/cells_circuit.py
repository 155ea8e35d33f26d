"""The pack as the power train sees it: an open voltage, a resistance, one slow voltage, and heat.

The voltage curve is handed in; where it comes from is another room's matter.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import formula

STRIPS = 200


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """Open voltage of one cell against charge, as cubic strips on an even grid, and its change per kelvin.

    `strips` has shape (STRIPS, 6): the four coefficients of the cubic in the place within the strip (0 to 1),
    lowest power first, in V; then the change per kelvin at the strip's start and its rise over the strip.
    """

    strips: NDArray[np.float64]

    def voltage_V(self, charge_share: float) -> float:
        """Open voltage of one cell; charge outside 0 to 1 reads the end of the curve."""
        i, x = self._place(charge_share)
        c0, c1, c2, c3 = (float(c) for c in self.strips[i, :4])
        return c0 + x * (c1 + x * (c2 + x * c3))

    def per_kelvin_V(self, charge_share: float) -> float:
        """How much the open voltage of one cell changes per kelvin, in V/K."""
        i, x = self._place(charge_share)
        return float(self.strips[i, 4] + x * self.strips[i, 5])

    def _place(self, charge_share: float) -> tuple[int, float]:
        along = min(max(charge_share, 0.0), 1.0) * STRIPS
        i = min(int(along), STRIPS - 1)
        return i, along - i


def curve_through(
    charge_share: NDArray[np.float64],
    voltage_V: NDArray[np.float64],
    per_kelvin_V: NDArray[np.float64] | None = None,
) -> Curve:
    """A smooth rising curve through a table of open voltages (and of their change per kelvin).

    Monotone cubic through the points, then even strips that keep its values and slopes at their ends.
    Raises ImpossibleInput when the charge does not run from 0 to 1 or the voltage falls as the charge rises.
    """
    charge = np.asarray(charge_share, dtype=np.float64)
    volts = np.asarray(voltage_V, dtype=np.float64)
    if charge[0] != 0.0 or charge[-1] != 1.0 or np.any(np.diff(charge) <= 0.0):
        raise ImpossibleInput(
            "A cell curve has to run from empty to full.", "Give charge from 0 to 1, rising."
        )
    if np.any(np.diff(volts) < 0.0):
        raise ImpossibleInput(
            "This cell would fall in voltage while it is charged.", "Check the curve's rows."
        )
    smooth = PchipInterpolator(charge, volts)
    knots = np.linspace(0.0, 1.0, STRIPS + 1)
    v, slope = smooth(knots), smooth.derivative()(knots) / STRIPS
    dv = np.diff(v)
    strips = np.zeros((STRIPS, 6))
    strips[:, 0] = v[:-1]
    strips[:, 1] = slope[:-1]
    strips[:, 2] = 3.0 * dv - 2.0 * slope[:-1] - slope[1:]
    strips[:, 3] = slope[:-1] + slope[1:] - 2.0 * dv
    if per_kelvin_V is not None:
        per_kelvin = np.interp(knots, charge, per_kelvin_V)
        strips[:, 4] = per_kelvin[:-1]
        strips[:, 5] = np.diff(per_kelvin)
    strips.setflags(write=False)
    return Curve(strips)


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack as the twin needs it; resistances are the whole pack's at 25 °C, leads included.

    `activation_J_mol` says how fast resistance falls with warmth; zero means not at all.
    """

    curve: Curve
    series_cells: int
    capacity_Ah: float
    resistance_ohm: float
    slow_resistance_ohm: float
    slow_capacitance_F: float
    heat_capacity_J_K: float
    cooling_W_K: float
    activation_J_mol: float = 20_000.0
    current_limit_A: float = math.inf

    def __post_init__(self) -> None:
        if self.series_cells < 1 or self.capacity_Ah <= 0.0:
            raise ImpossibleInput("A pack has at least one cell and some capacity.", "Check cells and Ah.")
        if self.slow_resistance_ohm <= 0.0 or self.slow_capacitance_F <= 0.0 or self.heat_capacity_J_K <= 0.0:
            raise ImpossibleInput(
                "A pack's slow resistance, slow capacitance and heat capacity have to be above zero.",
                "Use the estimates for its size when they are not known.",
            )
        if self.resistance_ohm <= 0.0:
            raise ImpossibleInput("A pack cannot be without resistance.", "Measure it again.")


@formula(source="thevenin-cell", where="equivalent circuit with one resistor-capacitor pair")
def slow_voltage_rate(*, current_A: float, slow_V: float, slow_ohm: float, capacitance_F: float) -> float:
    """How fast the slow voltage builds up under load and relaxes after it, in V/s."""
    return (current_A - slow_V / slow_ohm) / capacitance_F
