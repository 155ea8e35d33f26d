"""Wires: their resistance, the heat in them, and how warm they get, steady and in pulses.

A wire is a body with one temperature, cooled through its insulation into air. Its resistance rises with
its temperature, so the heat feeds itself; past a current it runs away. Short wires are cooled by what they
are soldered to and warmed by connectors: take any temperature here to ±40 %.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from snugfast.core.errors import ImpossibleInput
from snugfast.core.marks import Span, formula
from snugfast.physics.validation import require_not_negative, require_positive

COPPER_ohm_m = 1e-6 / 58.0  # 100 % conductivity at 20 °C
COPPER_PER_K = 0.00393
COPPER_kg_m3, COPPER_J_kgK = 8960.0, 385.0


@formula(source="astm-b258", where="d = 0.127 mm · 92^((36 − n)/39)", number=Span(-3.0, 40.0))
def gauge_area(*, number: float) -> float:
    """The copper of an AWG number, in m². Three numbers up halve it; numbers and mm² never agree."""
    diameter_m = 0.127e-3 * math.pow(92.0, (36.0 - number) / 39.0)
    return math.pi / 4.0 * diameter_m**2


@formula(source="openstax-university-physics-2", where="ch. 9.3, R = ρ·L/A, per metre")
def ohm_per_metre(*, area_m2: float, strands: float = 1.0) -> float:
    """Copper's resistance at 20 °C in Ω/m; `strands` is how much more a fine-stranded wire has."""
    require_positive(area_m2=area_m2, strands=strands)
    return COPPER_ohm_m / area_m2 * strands


@formula(source="copper-coefficient", where="0.00393 per kelvin from 20 °C", degC=Span(-50.0, 200.0))
def warm_ratio(*, degC: float) -> float:
    """How much more copper resists at a temperature than at 20 °C."""
    return 1.0 + COPPER_PER_K * (degC - 20.0)


@formula(source="cengel-heat-transfer", where="ex. 3.9: insulation and surface in series, per metre")
def thermal_resistance(*, area_m2: float, outer_m: float, cover_W_mK: float, surface_W_m2K: float) -> float:
    """From copper to air, ln(r_o/r_i)/(2πk) + 1/(2π·r_o·h). K·m/W."""
    require_positive(area_m2=area_m2, outer_m=outer_m, cover_W_mK=cover_W_mK, surface_W_m2K=surface_W_m2K)
    inner_m = math.sqrt(area_m2 / math.pi)
    if outer_m / 2.0 <= inner_m:
        raise ImpossibleInput(
            f"A wire of {area_m2 * 1e6:.2g} mm² copper is thicker than {outer_m * 1e3:g} mm.",
            "Measure the outside of the insulation, and read the copper's mm² off it.",
        )
    through = math.log(outer_m / 2.0 / inner_m) / (2.0 * math.pi * cover_W_mK)
    return through + 1.0 / (math.pi * outer_m * surface_W_m2K)


@dataclass(frozen=True, slots=True)
class Wire:
    """A wire per metre: resistance at 20 °C, thermal resistance to air, heat capacity."""

    ohm_m: float
    thermal_Km_W: float
    capacity_J_mK: float

    def __post_init__(self) -> None:
        require_positive(ohm_m=self.ohm_m, thermal_Km_W=self.thermal_Km_W, capacity_J_mK=self.capacity_J_mK)

    @property
    def settles_s(self) -> float:
        """Its time constant at small currents."""
        return self.thermal_Km_W * self.capacity_J_mK


@formula(
    source="openstax-university-physics-2", where="vol. 1 ch. 1.4, Q = m·c·ΔT, copper and cover together"
)
def wire_capacity(*, area_m2: float, outer_m: float, cover_kg_m3: float, cover_J_kgK: float) -> float:
    """What a metre of wire takes to be one kelvin warmer. J/(m·K)."""
    cover_m2 = math.pi / 4.0 * outer_m**2 - area_m2
    return area_m2 * COPPER_kg_m3 * COPPER_J_kgK + cover_m2 * cover_kg_m3 * cover_J_kgK


@formula(source="cengel-heat-transfer", where="ex. 3.9, with a resistance that rises with its temperature")
def steady_rise(wire: Wire, *, current_A: float, air_degC: float) -> float:
    """How far above the air it settles, P·R_th/(1 − a), a = I²·R₂₀·α·R_th. Kelvin; infinite past a = 1."""
    require_not_negative(current_A=current_A)
    feeds = current_A**2 * wire.ohm_m * COPPER_PER_K * wire.thermal_Km_W
    if feeds >= 1.0:
        return math.inf
    heat_W_m = current_A**2 * wire.ohm_m * warm_ratio(degC=air_degC)
    return heat_W_m * wire.thermal_Km_W / (1.0 - feeds)


@formula(source="cengel-heat-transfer", where="the same heat balance of one body over time")
def warmed(wire: Wire, *, from_degC: float, current_A: float, air_degC: float, seconds: float) -> float:
    """The temperature of a wire after a while at one current. °C."""
    require_not_negative(current_A=current_A, seconds=seconds)
    rate_s = (1.0 - current_A**2 * wire.ohm_m * COPPER_PER_K * wire.thermal_Km_W) / wire.settles_s
    heating_K_s = current_A**2 * wire.ohm_m * warm_ratio(degC=air_degC) / wire.capacity_J_mK
    decay = math.exp(-rate_s * seconds)
    gained = heating_K_s * (seconds if rate_s == 0.0 else -math.expm1(-rate_s * seconds) / rate_s)
    return air_degC + (from_degC - air_degC) * decay + gained


@formula(
    source="openstax-university-physics-2", where="ch. 9.5 P = I²·R into vol. 1 ch. 1.4, no time to cool"
)
def pulse_rate(wire: Wire, *, current_A: float) -> float:
    """How fast a wire warms in a pulse, from 20 °C. Kelvin per second."""
    return current_A**2 * wire.ohm_m / wire.capacity_J_mK


@formula(source="openstax-university-physics-2", where="the steady rise solved for the current")
def current_for_rise(wire: Wire, *, rise_K: float, air_degC: float) -> float:
    """The steady current that warms a wire by so much. Amperes."""
    require_positive(rise_K=rise_K)
    per_A2 = wire.ohm_m * wire.thermal_Km_W
    return math.sqrt(rise_K / (per_A2 * (warm_ratio(degC=air_degC) + COPPER_PER_K * rise_K)))


def followed(wire: Wire, currents_A: Iterable[float], *, every_s: float, air_degC: float) -> list[float]:
    """The temperatures of a wire that begins at the air's, driven by currents that each last `every_s`."""
    now, found = air_degC, []
    for current_A in currents_A:
        now = warmed(wire, from_degC=now, current_A=abs(current_A), air_degC=air_degC, seconds=every_s)
        found.append(now)
    return found
