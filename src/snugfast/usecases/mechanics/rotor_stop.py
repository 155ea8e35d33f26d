"""What a pinion bears when something stops the rotor dead: a stone in the gears, a hard landing on power."""

from __future__ import annotations

import math
from dataclasses import replace

from snugfast.core.figures import Figure, Origin
from snugfast.facts.model import Build
from snugfast.physics.joints.set_screws import rotor_stop_torque
from snugfast.usecases.mechanics.bench_estimates import estimate
from snugfast.usecases.mechanics.tables import Cells, table_of, the_number
from snugfast.usecases.shared.citing import figure


def rotor_stop(build: Build) -> Figure | None:
    """The torque with its band; None where the build does not say how large the motor is.

    The three guesses (rotor, speed, time) are taken to be off independently, so the ends of the band are
    nearer than the worst of all three at once. Beyond the pinion the shafts wind up and spread the blow.
    """
    inertia = rotor_inertia(build)
    if inertia is None:
        return None
    speed, time = estimate("motor speed"), estimate("rotor stops in")
    usual = figure(
        rotor_stop_torque,
        "N·m",
        rotor_kgm2=inertia.value,
        speed_rad_s=speed.value,
        stops_in_s=time.value,
    )
    up = math.hypot(_log(speed.high, speed.value), _log(time.value, time.low))
    down = math.hypot(_log(speed.value, speed.low), _log(time.high, time.value))
    more = (*inertia.origins, *speed.origins, *time.origins)
    with_band = usual.with_band(usual.value * math.exp(-down), usual.value * math.exp(up))
    return replace(with_band, origins=(*usual.origins, *more))


def rotor_inertia(build: Build) -> Figure | None:
    """Inertia of the rotor in kg·m²: that of the nearest can, with the fourth power of its diameter."""
    motor = next(iter(build.of_role("motor")), None)
    sizes = motor.sizes if motor else {}
    can_mm, length_mm = sizes.get("can_mm"), sizes.get("length_mm")
    if not isinstance(can_mm, float) or not isinstance(length_mm, float):
        return None
    cans = table_of("powertrain", "can_sizes")

    def off(row: Cells) -> float:
        return abs(_log(the_number(row, "diameter_m") * 1e3, can_mm)) + abs(
            _log(the_number(row, "length_m") * 1e3, length_mm)
        )

    near = min(cans.rows, key=off)
    wide = can_mm * 1e-3 / the_number(near, "diameter_m")
    long = length_mm * 1e-3 / the_number(near, "length_m")
    origin = Origin(cans.pedigree.source, f"rotor of can {near['key']}")
    return Figure(the_number(near, "rotor_kgm2") * wide**4 * long, "kg·m²", origins=(origin,))


def _log(more: float | None, less: float | None) -> float:
    return math.log((more or 1.0) / (less or 1.0))
