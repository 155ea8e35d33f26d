"""Wires and connectors as people write them: “12AWG”, “3.3 mm2”, “two flat blades”."""

from __future__ import annotations

import re
from difflib import get_close_matches

import numpy as np

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure
from snugfast.core.units import read_number
from snugfast.physics.leads.wires import gauge_area
from snugfast.usecases.leads.tables import electrics, origin, row
from snugfast.usecases.mechanics.tables import Cells, text, the_number

GAUGE = re.compile(r"(?:awg\s*(\d+)|(\d+)\s*awg)", re.IGNORECASE)
AREA = re.compile(r"(\d+(?:\.\d+)?)\s*mm(?:²|2|\^2)", re.IGNORECASE)
LEAST_mm2, MOST_mm2 = 0.1, 16.0


def read_wire(words: str, where: str) -> float:
    """The copper of a wire in mm². Raises BadInput for a bare number, which may be a gauge or an area."""
    clean = words.strip()
    if gauge := GAUGE.fullmatch(clean):
        area_mm2 = gauge_area(number=float(gauge.group(1) or gauge.group(2))) * 1e6
    elif area := AREA.fullmatch(clean):
        area_mm2 = read_number(area.group(1), where=where)
    else:
        raise BadInput(
            f"{where}: “{clean}” says neither gauge nor mm².",
            "Write it like 12AWG or 3.3 mm2: it is on the wire.",
        )
    if not LEAST_mm2 <= area_mm2 <= MOST_mm2:
        raise BadInput(
            f"{where}: a wire of {area_mm2:.3g} mm² is none of a car's.",
            f"They have {LEAST_mm2:g} to {MOST_mm2:g} mm², 26AWG to 5AWG.",
        )
    return area_mm2


def area_in_words(words: str) -> float | None:
    """The copper that a part's own words tell: “silicone wire, 3.3 mm² copper”."""
    if area := AREA.search(words):
        return float(area.group(1))
    if gauge := GAUGE.search(words):
        return gauge_area(number=float(gauge.group(1) or gauge.group(2))) * 1e6
    return None


def outside_mm(area_mm2: float) -> float:
    """The outside of a silicone wire with so much copper, between the rows of the table."""
    rows = electrics("wires").rows
    return float(
        np.interp(
            area_mm2,
            [the_number(one, "area_mm2") for one in rows],
            [the_number(one, "outer_mm") for one in rows],
        )
    )


def wire_name(area_mm2: float) -> str:
    """“3.3 mm² (12 AWG)”; the gauge only where one is near."""
    near = min(electrics("wires").rows, key=lambda one: abs(the_number(one, "area_mm2") - area_mm2))
    shown = f"{area_mm2:.1f} mm²" if area_mm2 >= 1.0 else f"{area_mm2:.2f} mm²"
    agrees = abs(the_number(near, "area_mm2") / area_mm2 - 1.0) < 0.05
    return f"{shown} ({text(near, 'name')})" if agrees else shown


def read_connector(words: str) -> Cells:
    """The row of a connector by its shape. Raises BadInput with the shapes there are."""
    clean = " ".join(words.replace("mm", " mm").split()).casefold()
    rows = electrics("connectors").rows
    for one in rows:
        if text(one, "key").casefold() == clean:
            return one
    names = [text(one, "key") for one in rows]
    near = get_close_matches(clean, names, n=3, cutoff=0.4) or names
    raise BadInput(f"No connector here is “{words.strip()}”.", f"Did you mean {', or '.join(near)}?")


def connector_known(words: str) -> Cells | None:
    """The row of a connector that a build names, or None."""
    try:
        return read_connector(words)
    except BadInput:
        return None


def pole_ohm(cells: Cells) -> Figure:
    """What a pole of a new one resists."""
    low, usual, high = (the_number(cells, f"{end}_mohm") * 1e-3 for end in ("low", "usual", "high"))
    return Figure(usual, "Ω", low=low, high=high, origins=(origin("connectors", cells),))


def wiring_band(key: str, unit: str) -> Figure:
    """A row of what stands in for measurements of wires."""
    cells = row("wiring", key=key)
    low, usual, high = (the_number(cells, end) for end in ("low", "usual", "high"))
    return Figure(usual, unit, low=low, high=high, origins=(origin("wiring", cells),))
