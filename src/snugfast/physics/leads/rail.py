"""The supply of receiver and servo: how far its voltage falls when a servo stalls, and what a capacitor buys.

A stalled servo is a resistor. The supply is a voltage behind a small resistance until it reaches its limit;
from there it gives its limit current, and the rail is what the loads make of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.marks import formula
from snugfast.physics.validation import require_not_negative, require_positive


@dataclass(frozen=True, slots=True)
class Supply:
    """A receiver supply: its voltage with no load, resistance up to the receiver, and largest current."""

    open_V: float
    output_ohm: float
    limit_A: float

    def __post_init__(self) -> None:
        require_positive(open_V=self.open_V, limit_A=self.limit_A)
        require_not_negative(output_ohm=self.output_ohm)


@dataclass(frozen=True, slots=True)
class Load:
    """What hangs on the rail: servos as one resistance, the voltage their motors make, and steady current."""

    servos_ohm: float
    back_V: float = 0.0
    steady_A: float = 0.0

    def __post_init__(self) -> None:
        require_positive(servos_ohm=self.servos_ohm)
        require_not_negative(back_V=self.back_V, steady_A=self.steady_A)


@formula(source="openstax-university-physics-2", where="ch. 9.4, Ohm's law, of a motor that stands")
def stalled_resistance(*, volts_V: float, stall_A: float) -> float:
    """What a stalled servo is to its supply, V/I. Ohms. `stall_A` was read at `volts_V`."""
    require_positive(volts_V=volts_V, stall_A=stall_A)
    return volts_V / stall_A


@formula(source="openstax-university-physics-2", where="ch. 10.1 terminal voltage and 10.3 loop rule")
def rail_volts(*, supply: Supply, load: Load) -> float:
    """What is left for the receiver, in volts, never below 0.

    Below its limit the supply gives V₀ − I·R into the servos' resistance; `back_V` is added to what drives
    the current, as in a servo that is reversed while it still turns. Beyond the limit the loads decide:
    V = I_limit·R less that voltage.
    """
    free_V = (supply.open_V - supply.output_ohm * (load.steady_A + load.back_V / load.servos_ohm)) / (
        1.0 + supply.output_ohm / load.servos_ohm
    )
    return max(min(free_V, limited_volts(supply=supply, load=load)), 0.0)


@formula(source="openstax-university-physics-2", where="ch. 9.4, Ohm's law, with the current that is left")
def limited_volts(*, supply: Supply, load: Load) -> float:
    """What the servos' resistance makes of the supply's largest current, less the steady loads. Volts."""
    return (supply.limit_A - load.steady_A) * load.servos_ohm - load.back_V


@formula(source="dc-motor-note", where="V = I·R + E, with E against the new voltage where it is reversed")
def servo_current(*, volts_V: float, servos_ohm: float, back_V: float = 0.0) -> float:
    """What servos draw, (V + E)/R: stalled with E = 0, reversed at full speed with E near V. Amperes."""
    require_positive(volts_V=volts_V, servos_ohm=servos_ohm)
    return (volts_V + back_V) / servos_ohm


@formula(source="openstax-university-physics-2", where="ch. 10.5, a capacitor that discharges, towards V_end")
def ride_through(*, capacitance_F: float, ohm: float, from_V: float, to_V: float, end_V: float) -> float:
    """How long a capacitor keeps the rail above `to_V`, R·C·ln((V − V_end)/(V_to − V_end)). Seconds.

    `end_V` is where the rail would settle without it; it may be below zero where a motor drives the current
    too. Infinite where the rail settles above `to_V` anyway, 0 where it begins below.
    """
    require_positive(capacitance_F=capacitance_F, ohm=ohm)
    if end_V >= to_V:
        return math.inf
    if from_V <= to_V:
        return 0.0
    return ohm * capacitance_F * math.log((from_V - end_V) / (to_V - end_V))


@formula(source="openstax-university-physics-2", where="ch. 10.5, the same solved for C")
def capacitance_for(*, seconds: float, ohm: float, from_V: float, to_V: float, end_V: float) -> float:
    """The capacitor that bridges so many seconds, farads; infinite where none can, 0 where none is needed."""
    require_positive(seconds=seconds, ohm=ohm)
    if end_V >= to_V:
        return 0.0
    if from_V <= to_V:
        return math.inf
    return seconds / (ohm * math.log((from_V - end_V) / (to_V - end_V)))


@formula(source="openstax-university-physics-2", where="ch. 9.5, P = I·V, of what a linear supply drops")
def linear_supply_heat(*, pack_V: float, rail_V: float, current_A: float) -> float:
    """What a linear supply turns into heat, (V_pack − V)·I. Watts; 0 where the pack is lower."""
    require_not_negative(current_A=current_A)
    return max(pack_V - rail_V, 0.0) * current_A
