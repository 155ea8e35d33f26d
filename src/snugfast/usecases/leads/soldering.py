"""Soldering a connector to this car's wires: the steps, and whether the iron is strong enough."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_quantity
from snugfast.physics.leads.solder import carried_away, joint_heat, seconds_to_melt
from snugfast.physics.leads.wires import gauge_area
from snugfast.usecases.leads.tables import SAID_HERE, size_of
from snugfast.usecases.leads.wire_words import area_in_words, read_wire, wire_name
from snugfast.usecases.shared.cautions import Caution, cautioned
from snugfast.usecases.shared.citing import Cited, cited, rests_on
from snugfast.usecases.shared.guides import Guide, guide
from snugfast.usecases.shared.lookup import car_and_build
from snugfast.usecases.shared.workshop import Workshop

USUAL_IRON_W = 60.0
GETS_THROUGH = 0.5  # share of an iron's power that gets into the joint
TIP_degC = "350–400"
RISE_K = 200.0
STRIPPED_m, CUP_kg, SOLDER_kg, BARE_m = 0.015, 3e-3, 0.5e-3, 0.020
USUAL_mm2 = 3.3
TOO_LONG_s = 15.0
ESTIMATE = Origin("elicited-electrics", "half of an iron's power gets into the joint; cup 3 g, solder 0.5 g")
MELTS = Origin("solder-pages", "melting points")
STANDS = Origin("ecss-soldering", "joints in service")


@dataclass(frozen=True, slots=True)
class SolderSaid:
    """Which car, and the iron, as typed; empty means not said."""

    car: str
    wire: str = ""
    iron: str = ""  # 60 W


@dataclass(frozen=True, slots=True)
class Soldering:
    """The job on one car."""

    car: str
    wire: str
    iron: Figure
    heat: Figure
    away: Figure
    seconds: Figure  # infinite where the iron is too weak
    sentence: str
    job: Guide
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...]


@cautioned
def soldering_of(workshop: Workshop, said: SolderSaid) -> Soldering:
    """How to solder a connector to the wires of a car. Raises BadInput for an iron that is none."""
    car, build = car_and_build(workshop, said.car)
    of_build = size_of(build, "power_lead", "area_mm2")
    words = (area_in_words(place.part) for place in build.of_role("power_lead"))
    known = of_build[1] if of_build else next((area for area in words if area is not None), USUAL_mm2)
    area_mm2 = read_wire(said.wire, "wire") if said.wire else known
    iron_W = USUAL_IRON_W
    if said.iron:
        iron_W = read_quantity(said.iron, Kind.POWER, default_unit="W", where="iron")
        if not 5.0 <= iron_W <= 500.0:
            raise BadInput(f"An iron of {said.iron.strip()} is none for this.", "They have 25 to 150 W.")
    heat_J = joint_heat(
        area_m2=area_mm2 * 1e-6, stripped_m=STRIPPED_m, cup_kg=CUP_kg, solder_kg=SOLDER_kg, rise_K=RISE_K
    )
    away_W = carried_away(area_m2=area_mm2 * 1e-6, length_m=BARE_m, rise_K=RISE_K)
    # On the way up the wire carries half of that on average.
    seconds = seconds_to_melt(heat_J=heat_J, iron_W=GETS_THROUGH * iron_W, away_W=away_W / 2.0)
    strong = math.isfinite(seconds) and seconds <= TOO_LONG_s
    origins = (*rests_on(joint_heat, carried_away, gauge_area), ESTIMATE, MELTS, STANDS)
    found = Soldering(
        car=car.name,
        wire=wire_name(area_mm2),
        iron=Figure(iron_W, "W", origins=(SAID_HERE,) if said.iron else (ESTIMATE,)),
        heat=Figure(heat_J, "J", origins=origins),
        away=Figure(away_W, "W", origins=origins),
        seconds=Figure(seconds, "s", origins=origins),
        sentence=_sentence(wire_name(area_mm2), iron_W, seconds, strong),
        job=guide(
            workshop.facts,
            "electrics",
            "solder_plug",
            sizes={
                "strip_mm": "5 to 7",
                "tip_degC": TIP_degC,
                "iron_W": f"{iron_W:.0f}",
                "seconds": f"{seconds:.0f}" if math.isfinite(seconds) else "more than 60",
            },
        ),
        cautions=(),
        sources=(),
    )
    return replace(found, sources=cited(workshop.facts, found))


def _sentence(wire: str, iron_W: float, seconds: float, strong: bool) -> str:
    if strong:
        return f"A {iron_W:.0f} W iron melts a joint on {wire} in about {seconds:.0f} s: strong enough."
    if math.isinf(seconds):
        return f"A {iron_W:.0f} W iron never melts a joint on {wire}: the wire carries its heat away."
    return (
        f"A {iron_W:.0f} W iron takes about {seconds:.0f} s on {wire}: too weak, the insulation melts first."
    )
