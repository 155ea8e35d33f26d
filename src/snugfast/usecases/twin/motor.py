"""The motor of a twin, from the size of its can and what its label says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure
from snugfast.physics.powertrain import heat
from snugfast.physics.powertrain.motor import Motor
from snugfast.physics.powertrain.motor_estimates import heat_of_can, motor_from_label
from snugfast.physics.study.knobs import Knob
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.build_read import BuildRead
from snugfast.usecases.twin.tables import log_spread, number, taken

HIGHEST_SCALED_CAN_mm = 80.0


def motor_of(read: BuildRead, cells: int) -> tuple[Motor, heat.MotorHeat, Mapping[Knob, float]]:
    """The motor and its heat, and how far off each knob may be (the logarithm's standard deviation).

    Raises NotKnown for a size that is missing and BadInput for a can outside what can be guessed at.
    """
    can_mm = read.needed("motor", "can_mm", "how wide the motor can is")
    length_mm = read.needed("motor", "length_mm", "how long the motor can is")
    if not 15.0 <= can_mm <= HIGHEST_SCALED_CAN_mm or not 0.5 <= length_mm / can_mm <= 4.0:
        raise BadInput(
            f"A motor can of {can_mm:g} × {length_mm:g} mm is outside what the car model can guess at.",
            "Measure diameter and length of the can, without shaft and wires, in mm.",
        )
    can = tables.can_like(can_mm * 1e-3, length_mm * 1e-3)
    if can.scaled_from:
        read.notes.append(
            f"No table has a can of {can_mm:g} × {length_mm:g} mm: the numbers are scaled from "
            f"{can.scaled_from.replace('x', ' × ')} mm, so trust the differences more than the values."
        )
    brushed = read.build.traits.get("motor", "").startswith("brushed")
    sort = tables.document("motor_classes")["brushed" if brushed else "brushless"]
    kv = _rpm_per_volt(read, brushed, cells)
    guess = replace(
        can.likely,
        size_Nm_sqrtW=can.likely.size_Nm_sqrtW * sort["size_factor"],
        idle_Nm=can.likely.idle_Nm * sort["idle_factor"],
    )
    motor = motor_from_label(guess, kv_rpm_V=kv.value, brush_drop_V=sort["brush_drop_V"])
    materials = tables.document("materials")
    motor = replace(
        motor,
        copper_per_K=materials["copper"]["per_K"]["value"],
        magnet_per_K=materials["magnet"]["per_K"]["value"],
        magnet_follows_winding=materials["magnet"]["follows_winding"]["value"],
    )
    _motor_numbers(read, motor, can, sort)
    mount = materials["mount"]["cooling_factor"]["value"]
    body = heat_of_can(
        guess,
        ram_share=number(read.kind.body, "can_ram"),
        mount_factor=mount,
        iron_in_winding=materials["iron_share_in_winding"]["value"],
    )
    spreads = tables.prior_spreads()
    spreads[Knob.IDLE] = log_spread(can.idle)
    spreads[Knob.RPM_PER_VOLT] = max(spreads[Knob.RPM_PER_VOLT], log_spread(kv))
    return motor, body, spreads


def _motor_numbers(read: BuildRead, motor: Motor, can: tables.CanGuess, sort: Mapping[str, float]) -> None:
    constant = motor.constant_Vs
    size, idle = can.size, can.idle
    assert size.low is not None and size.high is not None and idle.low is not None and idle.high is not None
    factor = sort["size_factor"]
    read.note(
        "winding resistance",
        Figure(
            motor.resistance_ohm,
            "Ω",
            low=(constant / (size.high * factor)) ** 2,
            high=(constant / (size.low * factor)) ** 2,
            origins=size.origins,
        ),
        "guessed from can and rpm per volt",
        True,
    )
    read.note(
        "idle current",
        Figure(
            motor.idle_current_A,
            "A",
            low=idle.low * sort["idle_factor"] / constant,
            high=idle.high * sort["idle_factor"] / constant,
            origins=idle.origins,
        ),
        "guessed from can and rpm per volt",
        True,
    )


def _rpm_per_volt(read: BuildRead, brushed: bool, cells: int) -> Figure:
    said = read.size("motor", "kv_rpm_V")
    if said is not None:
        return read.said("rpm per volt (kV)", said, "rpm/V")
    guess = _from_turns(read) if brushed else _usual(cells)
    read.note("rpm per volt (kV)", guess, "guessed: the build does not say it", True)
    read.notes.append("Rpm per volt is a guess; read it off the motor and add kv_rpm_V to its sizes.")
    return guess


def _from_turns(read: BuildRead) -> Figure:
    turns = read.size("motor", "turns_count")
    product = taken("motor", "rpm_per_volt_times_turns", "rpm/V")
    count = turns or taken("motor", "turns_closed_can").value
    return _over(product, count)


def _usual(cells: int) -> Figure:
    nominal_V = 3.7 * cells
    return _over(taken("motor", "usual_rpm", "rpm/V"), nominal_V)


def _over(figure: Figure, divisor: float) -> Figure:
    assert figure.low is not None and figure.high is not None
    return replace(figure, value=figure.value / divisor, low=figure.low / divisor, high=figure.high / divisor)
