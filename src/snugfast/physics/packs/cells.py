"""One cell under load: rest voltage, a resistance that acts at once, and one that comes with time.

The plain cell: exact for a steady current, on the rest voltage as its table has it, straight from point to
point. It is what the golden discharges are held against, and `cells_circuit` against it. The twin's circuit
is the same with a smooth curve on even strips, which its compiled kernel needs; the two curves differ by up
to 1.6 mV at the knee and 0.4 mV above a tenth charged, so neither can stand in for the other unseen.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.packs.rest_voltage import REFERENCE_K, RestVoltageCurve

GAS_J_PER_MOL_K = 8.314462618


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell as an equivalent circuit: curve, capacity in coulombs, two resistances, one time constant.

    Raises ImpossibleInput for a capacity, resistance or time that is not above zero.
    """

    curve: RestVoltageCurve
    capacity_C: float
    ohmic_ohm: float
    slow_ohm: float
    slow_s: float

    def __post_init__(self) -> None:
        if min(self.capacity_C, self.ohmic_ohm, self.slow_s) <= 0 or self.slow_ohm < 0:
            raise ImpossibleInput(
                "A cell has a capacity, a resistance and a time constant above zero.",
                "Look at the units of what was entered.",
            )

    @property
    def resistance_ohm(self) -> float:
        """Both resistances together, as a long steady current sees them."""
        return self.ohmic_ohm + self.slow_ohm

    def at_temperature(self, temperature_K: float, *, activation_J_per_mol: float) -> Cell:
        """The same cell warmer or colder: both resistances follow the temperature, in the same measure."""
        factor = resistance_factor(temperature_K=temperature_K, activation_J_per_mol=activation_J_per_mol)
        return replace(self, ohmic_ohm=self.ohmic_ohm * factor, slow_ohm=self.slow_ohm * factor)


@dataclass(frozen=True, slots=True)
class CellState:
    """Charge, 0 to 1, and the voltage that stands over the slow resistance, V."""

    charge: float
    slow_V: float = 0.0


@dataclass(frozen=True, slots=True)
class Stop:
    """Where a steady discharge ended: after how long, at what charge, and what was drawn by then."""

    time_s: float
    state: CellState
    drawn_C: float
    reached_voltage: bool


@formula(
    source="simses-tables",
    where="Arrhenius law fitted to resistance by temperature, 16 to 22 kJ/mol",
    temperature_K=Span(248.15, 313.15),
    activation_J_per_mol=Span(15000.0, 30000.0),
)
def resistance_factor(*, temperature_K: float, activation_J_per_mol: float) -> float:
    """How many times its resistance at 25 °C a cell has at this temperature.

    A cold cell sags: this is why a pack feels weak in winter and why two readings are compared only at
    25 °C. exp[(E/R)(1/T − 1/298.15)], without unit. Raises ImpossibleInput at or below 0 K.
    """
    if temperature_K <= 0:
        raise ImpossibleInput(f"{temperature_K:g} K is no temperature.", "Give it in kelvin, above zero.")
    return math.exp(activation_J_per_mol / GAS_J_PER_MOL_K * (1 / temperature_K - 1 / REFERENCE_K))


def terminal_voltage(
    cell: Cell, state: CellState, *, current_A: float, temperature_K: float = REFERENCE_K
) -> float:
    """Volts at the tabs of one cell; a current above zero discharges it."""
    rest_V = cell.curve.voltage_at(state.charge, temperature_K)
    return rest_V - current_A * cell.ohmic_ohm - state.slow_V


def after_current(cell: Cell, state: CellState, *, current_A: float, for_s: float) -> CellState:
    """The state after a steady current has flowed for a while; exact, so any step length will do.

    Raises ImpossibleInput when the cell would be emptied or filled past its end, or time ran backwards.
    """
    if for_s < 0:
        raise ImpossibleInput("Time cannot run backwards.", "Give a duration of zero or more.")
    then = _moved(cell, state, current_A, for_s)
    if not 0.0 <= then.charge <= 1.0:
        raise ImpossibleInput(
            f"This would take the charge from {state.charge:.3f} to {then.charge:.3f}, outside 0 to 1.",
            "Take a shorter time or a smaller current.",
        )
    return then


def discharge_until(
    cell: Cell, state: CellState, *, current_A: float, stop_V: float, temperature_K: float = REFERENCE_K
) -> Stop:
    """How long a steady current lasts until the tabs fall to a voltage, or until nothing is left.

    The voltage only falls on the way (from rest), so there is one crossing, found by bracketing.
    Raises ImpossibleInput for a current that does not discharge.
    """
    if current_A <= 0:
        raise ImpossibleInput("A discharge needs a current above zero.", "Give the current drawn.")
    empty_s = state.charge * cell.capacity_C / current_A

    def state_at(time_s: float) -> CellState:
        then = _moved(cell, state, current_A, time_s)
        return replace(then, charge=max(then.charge, 0.0))

    def above_stop(time_s: float) -> float:
        volts = terminal_voltage(cell, state_at(time_s), current_A=current_A, temperature_K=temperature_K)
        return volts - stop_V

    from scipy.optimize import brentq  # slow to import, and most that ask for a cell do without it

    if above_stop(0.0) <= 0:
        return Stop(0.0, state, 0.0, reached_voltage=True)
    reached = above_stop(empty_s) < 0
    time_s = float(brentq(above_stop, 0.0, empty_s, xtol=1e-9)) if reached else empty_s
    return Stop(time_s, state_at(time_s), current_A * time_s, reached_voltage=reached)


def _moved(cell: Cell, state: CellState, current_A: float, for_s: float) -> CellState:
    decay = math.exp(-for_s / cell.slow_s)
    slow_V = state.slow_V * decay + current_A * cell.slow_ohm * (1 - decay)
    return CellState(state.charge - current_A * for_s / cell.capacity_C, slow_V)
