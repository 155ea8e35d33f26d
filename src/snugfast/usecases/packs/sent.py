"""Sending a lithium pack: how full it may be as cargo by air, and what has to come out of this one first."""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.figures import Figure, Origin
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.usecases.packs.tables import CURVE, pack_tables

AH_C = 3600.0


@dataclass(frozen=True, slots=True)
class Sent:
    """The rule, and the pack against it.

    `most` is a share of the capacity, `take_out` in Ah from the upper end of what it may hold, `rest_V` what
    a cell shows at rest when it is just as full as allowed. None where nothing is known or shown of the pack.
    """

    rule: str
    most: Figure | None = None
    holds: Figure | None = None
    take_out: Figure | None = None
    rest_V: Figure | None = None

    @property
    def says(self) -> str:
        """The rule and what follows for this pack."""
        return f"{self.rule}{self._first()}; ask the carrier"

    def _first(self) -> str:
        if self.holds is None or self.take_out is None or self.rest_V is None:
            return ""
        upper = f"{100 * _upper(self.holds):.0f} %"
        if self.take_out.value <= 0.0:
            return f"; it holds at most {upper}"
        mAh, volts = f"{1000 * self.take_out.value:.0f} mAh", f"{self.rest_V.value:.2f} V"
        return f"; it may hold {upper}, so {mAh} come out first, down to {volts} a cell at rest"


def sent(
    chemistry: Chemistry | None,
    *,
    damaged: bool,
    charge: Figure | None = None,
    capacity_C: Band | None = None,
) -> Sent | None:
    """What holds for a pack as cargo. None for chemistries the rule does not speak of.

    `charge` is the share it holds, None where that is not known or may not be shown.
    """
    if chemistry is Chemistry.NICKEL_METAL_HYDRIDE:
        return None
    if damaged:
        return Sent("a damaged pack is not sent by air and not by post")
    cargo = pack_tables().cargo
    most = Figure(cargo.most_charge, "1", origins=tuple(Origin(source) for source in cargo.sources))
    if charge is None or capacity_C is None:
        return Sent(cargo.says, most)
    over_Ah = max(_upper(charge) - cargo.most_charge, 0.0) * capacity_C.likely / AH_C
    rest_V = Figure(pack_tables().curve.voltage_at(cargo.most_charge), "V", origins=(CURVE,))
    return Sent(cargo.says, most, charge, Figure(over_Ah, "Ah", origins=charge.origins), rest_V)


def _upper(charge: Figure) -> float:
    return charge.value if charge.high is None else charge.high
