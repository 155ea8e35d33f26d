"""How tight a set screw is seated: one answer for every page, below what charts say for hardened screws."""

from __future__ import annotations

import math

from snugfast.core.figures import Figure
from snugfast.physics.joints.set_screws import seating_limit
from snugfast.usecases.mechanics.joint_parts import JointParts
from snugfast.usecases.mechanics.tables import from_table, number, row_of
from snugfast.usecases.shared.citing import rests_on


def chart_seating(parts: JointParts) -> Figure | None:
    """What the chart says for a hardened (or stainless) set screw of this size; None for a size it lacks."""
    row = row_of("seating_torques", size=parts.thread)
    stainless = "stainless" in parts.place.material
    chart_Nm = number(row, "set_stainless_Nm" if stainless else "set_alloy_Nm")
    return (
        None if chart_Nm is None else Figure(chart_Nm, "N·m", origins=(from_table("seating_torques", row),))
    )


def seating(parts: JointParts) -> Figure | None:
    """The torque to seat it with, and in `low` what still seats it; None for a size no chart has."""
    chart = chart_seating(parts)
    if chart is None:
        return None
    soft = row_of("set_screw_seating", size=parts.thread)
    key = row_of("hex_key_torques", key_mm=parts.key_mm) if parts.key_mm else None
    most_Nm = seating_limit(
        chart_Nm=chart.value,
        key_yield_Nm=number(key, "yield_torque_Nm") or math.inf,
        soft_screw_Nm=number(soft, "most_Nm") or math.inf,
    )
    tables = [
        from_table(name, row)
        for name, row in (("set_screw_seating", soft), ("hex_key_torques", key))
        if row is not None
    ]
    return Figure(
        most_Nm,
        "N·m",
        low=min(number(soft, "least_Nm") or most_Nm, most_Nm),
        high=most_Nm,
        origins=(*chart.origins, *tables, *rests_on(seating_limit)),
    )
