"""A set screw on a shaft: what it holds, with a band, against the most torque its joint sees."""

from __future__ import annotations

import math
from dataclasses import dataclass

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import Kind, read_number, read_quantity
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.physics.joints.set_screws import (
    HoldingRow,
    HoldVerdict,
    ShaftSeat,
    holding_torque,
    holding_when_seated,
    judge_set_screws,
    pair_factor,
)
from snugfast.physics.validation import INCH_m, check_length
from snugfast.usecases.mechanics.bench_estimates import SAID, estimate, mass_of
from snugfast.usecases.mechanics.drive_ratios import diff_ratio, mesh_ratio, tyre_radius
from snugfast.usecases.mechanics.joint_parts import SHAFTS, JointParts, SetScrewSaid
from snugfast.usecases.mechanics.rotor_stop import rotor_stop
from snugfast.usecases.mechanics.set_screw_seating import seating
from snugfast.usecases.mechanics.tables import from_table, text, the_number, the_row
from snugfast.usecases.shared.citing import rests_on

GRAVITY_m_s2 = 9.80665
THICKEST_SHAFT_m = 20e-3
TRACTION = Origin(
    "elicited-mechanics", "peak torque: all the grip of all tyres at once, carried through this joint"
)
FLAT_SENTENCE = (
    "A flat adds about 6 % of grip around the shaft, and drives even when the grip is lost: always use it."
)


@dataclass(frozen=True, slots=True)
class SetScrewJoint:
    """What the set screws of one joint hold, against what it sees."""

    screws: int
    seat: ShaftSeat
    shaft: Figure
    seating: Figure
    holding: Figure  # along the shaft
    torque: Figure  # around it
    industrial: Figure  # the same, divided as industry divides live loads: a note
    peak: Figure
    peak_from: str
    verdict: HoldVerdict
    sentence: str
    flat: str


def set_screw_joint(build: Build, parts: JointParts, said: SetScrewSaid) -> SetScrewJoint | None:
    """The hold of the set screw at a place; None where it stops a pin and grips no shaft.

    Raises NotKnown when the tables have no such thread or the build no such shaft.
    """
    role = parts.place.role
    if not parts.grips_a_shaft:
        return None
    shaft_m, shaft_from = _shaft(build, role, said)
    metric = the_row("set_screw_metric", size=parts.thread)
    holding = the_row("set_screw_holding", size=metric["holding_row"])
    seated = seating(parts)
    if seated is None:
        raise NotKnown(f"No seating torque is known for a {parts.thread} set screw.", "")
    seat = _seat(build, role, said)
    angle_rad = _angle(said)
    peak, peak_from = _peak(build, role, said)
    held = judge_set_screws(
        row=HoldingRow(the_number(holding, "seating_Nm"), the_number(holding, "holding_N")),
        seating_Nm=seated.value,
        shaft_diameter_m=shaft_m,
        peak_torque_Nm=peak.high or peak.value,
        seat=seat,
        angle_between_rad=angle_rad,
    )
    row = f"row {text(holding, 'size')}, the one for {parts.thread}"
    table = from_table("set_screw_holding", holding)
    origins = (Origin(table.source, f"{table.where}, {row}"), from_table("set_screw_metric", metric))
    around = (*origins, *rests_on(holding_when_seated, holding_torque))
    if angle_rad is not None:
        around = (*around, *rests_on(pair_factor))
    mild, strict = held.industrial_Nm[1], held.industrial_Nm[0]
    return SetScrewJoint(
        screws=1 if angle_rad is None else 2,
        seat=seat,
        shaft=Figure(shaft_m, "m", origins=(shaft_from,)),
        seating=seated,
        holding=Figure(held.axial_N, "N", origins=(*origins, *rests_on(holding_when_seated))),
        torque=Figure(held.torque_Nm, "N·m", low=held.low_Nm, high=held.high_Nm, origins=around),
        industrial=Figure(
            strict, "N·m", low=strict, high=mild, origins=(Origin("set-screw-chart", "notes"),)
        ),
        peak=peak,
        peak_from=peak_from,
        verdict=held.verdict,
        sentence=held.sentence,
        flat=FLAT_SENTENCE,
    )


def _shaft(build: Build, role: str, said: SetScrewSaid) -> tuple[float, Origin]:
    if said.shaft.strip():
        shaft_m = read_quantity(said.shaft, Kind.LENGTH, default_unit="mm", where="shaft")
        check_length("shaft", shaft_m)
        if shaft_m > THICKEST_SHAFT_m:
            raise BadInput(
                f"A shaft of {shaft_m * 1e3:g} mm is too thick for a car.",
                f"If it was read in millimetres write {shaft_m / INCH_m:g} mm.",
            )
        return shaft_m, SAID
    for part, size in SHAFTS[role]:
        for place in build.of_role(part):
            value = place.sizes.get(size)
            if isinstance(value, float):
                return value * 1e-3, Origin(place.pedigree.source, f"{place.name} of the build")
    raise NotKnown(
        "The build does not say how thick the shaft is.",
        WayOut("Give its diameter, or add it to the build", Action.GIVE_SHAFT),
    )


def _seat(build: Build, role: str, said: SetScrewSaid) -> ShaftSeat:
    """What the point stands on: said, or for the pinion a trait of the build; else taken as round."""
    words = said.flat.strip().casefold()
    if words in ("yes", "true", "flat"):
        return ShaftSeat.FLAT
    if words in ("no", "false", "round"):
        return ShaftSeat.ROUND
    if words:
        raise BadInput(f"“{said.flat}” does not say whether there is a flat.", "Write yes or no.")
    flat = role == "pinion_screw" and build.traits.get("pinion_seat") == "flat"
    return ShaftSeat.FLAT if flat else ShaftSeat.ROUND


def _angle(said: SetScrewSaid) -> float | None:
    if not said.two.strip():
        return None
    degrees = read_number(said.two.strip().rstrip("° "), where="angle between the screws")
    if not 0.0 < degrees <= 180.0:
        raise BadInput(
            f"Two screws cannot stand {degrees:g}° apart.", "Give 1 to 180; usual are 60, 90, 120."
        )
    return math.radians(degrees)


def _peak(build: Build, role: str, said: SetScrewSaid) -> tuple[Figure, str]:
    """The most torque of the joint: said, or what the tyres can pass on before they slip."""
    if said.peak_torque.strip():
        peak_Nm = read_quantity(said.peak_torque, Kind.TORQUE, default_unit="Nm", where="peak torque")
        if peak_Nm <= 0.0:
            raise BadInput("A peak torque of nothing moves no car.", "Give it like 0.6Nm.")
        return Figure(peak_Nm, "N·m", origins=(SAID,)), "as you said"
    mass, grip = mass_of(build, said.mass), estimate("grip")
    radius_m = _known(tyre_radius(build), "how large the tyres are", Action.GIVE_PEAK_TORQUE)
    ratio = _ratio(build, role, said)
    wheel_Nm = tuple(
        m * g * GRAVITY_m_s2 * radius_m / ratio
        for m, g in (
            (mass.low or mass.value, grip.low or grip.value),
            (mass.value, grip.value),
            (mass.high or mass.value, grip.high or grip.value),
        )
    )
    low, usual, high = wheel_Nm
    figure = Figure(usual, "N·m", low=low, high=high, origins=(TRACTION, *mass.origins, *grip.origins))
    words = (
        f"from the grip of the tyres: {mass.value:g} kg, tyre radius {radius_m * 1e3:g} mm, "
        f"{ratio:.3g} turns here for one of the wheels"
    )
    stop = rotor_stop(build) if role == "pinion_screw" else None
    if stop is not None and stop.value > figure.value:
        return stop, "from the rotor stopped dead: a stone in the gears, a hard landing on power"
    return figure, words


def _ratio(build: Build, role: str, said: SetScrewSaid) -> float:
    """Turns of the joint's shaft for one turn of the wheels."""
    mesh = _known(mesh_ratio(build), "the teeth of pinion and spur gear", Action.GIVE_PEAK_TORQUE)
    if said.final_ratio.strip():
        final = read_number(said.final_ratio.strip().removesuffix(":1"), where="final ratio")
        if not 1.0 <= final <= 200.0:
            raise BadInput(
                f"A final ratio of {final:g} cannot be.", "Give motor turns for one of the wheels."
            )
        return final if role == "pinion_screw" else final / mesh
    behind = _known(diff_ratio(build), "the teeth of ring gear and diff input gear", Action.GIVE_FINAL_RATIO)
    return mesh * behind if role == "pinion_screw" else behind


def _known(value: float | None, what: str, give: Action) -> float:
    if value is None:
        raise NotKnown(f"The build does not say {what}.", WayOut("Give it, or add it to the build", give))
    return value
