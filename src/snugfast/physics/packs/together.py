"""Packs side by side, on one charger or in one car: which may be joined, and why others may not.

Joined packs drive current into one another until their volts agree, and share whatever goes wrong.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from snugfast.core.findings import Finding
from snugfast.physics.packs.cell_readings import checked_cell_volts
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.limits import CellLimits
from snugfast.physics.packs.verdict import Verdict, Withheld


@dataclass(frozen=True, slots=True)
class PackToJoin:
    """A pack to be joined with others: its name, its type as bought, and rest readings of its cells in V."""

    name: str
    type_name: str
    chemistry: Chemistry
    cells: int
    capacity_C: float
    rest_V: tuple[float, ...]
    verdict: Verdict


def parallel_refusals(packs: Sequence[PackToJoin], limits: CellLimits) -> tuple[Finding, ...]:
    """Everything that speaks against joining these packs side by side; empty when they agree.

    Count, chemistry, type, capacity and rest volts cell by cell must agree, and no pack may be withheld.
    Raises BadInput when readings do not fit their pack, NoTable when
    there are no limits for its chemistry.
    """
    return (*_alone(packs), *_withheld(packs), *_unlike(packs), *_apart(packs, limits))


def series_refusals(packs: Sequence[PackToJoin]) -> tuple[Finding, ...]:
    """Everything that speaks against joining these packs end to end: they must be of one type.

    The smaller or emptier pack of an unlike pair is driven empty first, where no cut-off sees it.
    """
    return (*_alone(packs), *_withheld(packs), *_unlike(packs))


def _alone(packs: Sequence[PackToJoin]) -> Iterator[Finding]:
    if len(packs) < 2:
        yield Finding("packs", "There is only one pack to join.", "Choose at least two.")


def _withheld(packs: Sequence[PackToJoin]) -> Iterator[Finding]:
    for pack in packs:
        if isinstance(pack.verdict, Withheld):
            yield Finding(pack.name, pack.verdict.reasons[0].says, pack.verdict.reasons[0].way_back)


def _unlike(packs: Sequence[PackToJoin]) -> Iterator[Finding]:
    if len({pack.cells for pack in packs}) > 1:
        yield Finding("cells", "The packs have different cell counts.", "Join only packs of one count.")
    if len({pack.chemistry for pack in packs}) > 1:
        yield Finding(
            "chemistry", "The packs are of different chemistry.", "Join only packs of one chemistry."
        )
    if len({(pack.type_name, pack.capacity_C) for pack in packs}) > 1:
        yield Finding(
            "type", "The packs are of different types or capacities.", "Join only packs bought as the same."
        )


def _apart(packs: Sequence[PackToJoin], limits: CellLimits) -> Iterator[Finding]:
    if len({pack.chemistry for pack in packs}) > 1:
        return  # said already, and volts of two chemistries cannot be compared
    for pack in packs:
        limits.require(pack.chemistry)
    volts = [checked_cell_volts(cell_V=pack.rest_V, cells=pack.cells, limits=limits) for pack in packs]
    widest_V = max((max(cell) - min(cell) for cell in zip(*volts, strict=False)), default=0.0)
    if widest_V > limits.parallel_gap_V:
        yield Finding(
            "volts",
            f"Cells that would be connected stand {widest_V * 1000:.0f} mV apart; "
            f"at most {limits.parallel_gap_V * 1000:.0f} mV is let pass.",
            "Charge them one after the other.",
        )
