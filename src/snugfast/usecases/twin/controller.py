"""The controller of a twin, from its rated current."""

from __future__ import annotations

from collections.abc import Mapping

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.powertrain import controller, heat
from snugfast.physics.powertrain.motor_estimates import FLOW_EXPONENT
from snugfast.physics.study.knobs import Knob
from snugfast.usecases.twin import tables
from snugfast.usecases.twin.build_read import BuildRead
from snugfast.usecases.twin.tables import banded, number, origin_of, taken


def controller_of(
    read: BuildRead, cells: int, chemistry: Chemistry
) -> tuple[controller.Controller, heat.ControllerHeat, Mapping[Knob, float]]:
    """The controller and its heat, from its rated current, and how far off what no label says may be.

    Raises NotKnown when the build does not say that, and BadInput for more cells than it is made for.
    """
    rated_A = read.needed("controller", "current_A", "what current the ESC is made for")
    read.said("rated current of the ESC", rated_A, "A")
    made_for = read.size("controller", "cells_count")
    if made_for is not None and cells > made_for and chemistry is not Chemistry.NICKEL_METAL_HYDRIDE:
        raise BadInput(
            f"The ESC is made for {made_for:g} cells at most; this is {cells} cells.",
            "Choose another pack: more cells than it is made for destroy an ESC at once.",
        )
    size = tables.controller_row(rated_A)
    scale = rated_A / number(size, "battery_A")
    bigger = max(scale, 1.0)  # a larger one than the largest row has more switches side by side and more fins
    origin = origin_of("controllers", f"size {size['key']}")
    part_V = number(size, "part_throttle_V")
    resistance = Figure(number(size, "resistance_ohm") / bigger, "Ω", origins=(origin,))
    how = f"guessed from its rating: {size['name']}"
    read.note("resistance of the ESC", resistance, how, True)
    back = banded(size, "given_back", "1", origin)
    read.note("share of the braking given back to the pack", back, "guessed: no label says it", True)
    fan_m_s = _fan(read, number(size, "fan_air_m_s"))
    bridge = controller.Controller(
        resistance_ohm=resistance.value,
        given_back=back.value,
        part_throttle_V=part_V,
        motor_limit_A=number(size, "motor_A") * scale,
        battery_limit_A=rated_A,
        brake_limit_A=number(size, "brake_A") * scale,
        drag_brake=1.0 if read.kind.style == "rocks" else 0.0,
        cutoff_V_per_cell=tables.cell_kind(chemistry).cutoff_V,
    )
    cooling = heat.Cooling(
        base_W_K=number(size, "still_W_K") * bigger ** (2.0 / 3.0),
        flow_W_K=number(size, "flow_W_K") * bigger ** (2.0 / 3.0),
        exponent=FLOW_EXPONENT,
        ram_share=number(read.kind.body, "controller_ram"),
        fan_air_m_s=fan_m_s,
    )
    spreads = {Knob.GIVEN_BACK: tables.odds_spread(back)}
    return bridge, heat.ControllerHeat(number(size, "capacity_J_K") * bigger, cooling), spreads


def _fan(read: BuildRead, of_row_m_s: float) -> float:
    if read.build.traits.get("fan", "none") == "none":
        return 0.0
    return of_row_m_s or taken("controller_fit", "fan_air_m_s").value
