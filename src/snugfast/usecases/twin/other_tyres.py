"""A car on tyres of another size."""

from __future__ import annotations

from dataclasses import replace

from snugfast.core.errors import BadInput
from snugfast.physics.powertrain import powertrain
from snugfast.usecases.twin.of_car import Twin
from snugfast.usecases.twin.tables import number, taken
from snugfast.usecases.twin.wheels import wheel_inertia, wheel_kg


def on_tyres(twin: Twin, tyre_m: float, car: powertrain.Car) -> powertrain.Car:
    """A twin's car on tyres of another size: radius, mass, inertia, a body that stands higher in the air."""
    if not 0.3 <= tyre_m / twin.tyre_m <= 3.0:
        raise BadInput(
            f"Tyres of {tyre_m * 1e3:g} mm do not belong on a car with tyres of {twin.tyre_m * 1e3:g} mm.",
            "Give the outside in mm, as measured on the car.",
        )
    before, after = (wheel_kg(twin.kind, size).value for size in (twin.tyre_m, tyre_m))
    lift_m = taken("wheel", "lift_share").value * (tyre_m - twin.tyre_m)
    return replace(
        car,
        mass_kg=car.mass_kg + 4.0 * (after - before),
        wheel_inertia_kgm2=wheel_inertia(after, tyre_m),
        tyre=replace(car.tyre, radius_m=tyre_m / 2.0),
        drag_area_m2=max(car.drag_area_m2 + lift_m * number(twin.kind.cells, "width_m"), 1e-4),
    )
