"""Packs side by side or end to end: whether they may be joined, from what the journal knows of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.findings import Finding
from snugfast.core.ways_out import Action, WayOut
from snugfast.physics.packs.chemistry import Chemistry, NoTable
from snugfast.physics.packs.together import PackToJoin, parallel_refusals, series_refusals
from snugfast.records.ledger import PackRecord
from snugfast.usecases.packs.judging import judged, looked_since_use
from snugfast.usecases.packs.reading import Said
from snugfast.usecases.packs.register import PackDetails
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.workshop import Workshop

FRESH = timedelta(hours=24)  # a rest reading older than that says too little about two packs at once


@dataclass(frozen=True, slots=True)
class Joining:
    """Whether some packs may be joined, and everything that speaks against it."""

    packs: tuple[str, ...]
    how: str
    refusals: tuple[Finding, ...]
    cautions: tuple[Caution, ...]

    @property
    def may_join(self) -> bool:
        """Whether nothing speaks against it."""
        return not self.refusals


def joining(workshop: Workshop, names: Sequence[str], *, how: str = "parallel") -> Joining:
    """Whether these packs may be joined: “parallel” (side by side) or “series” (end to end)."""
    if how not in ("parallel", "series"):
        raise BadInput(f"“{how}” is no way to join packs.", "Write parallel or series.")
    reading = Said(workshop)
    records = [reading.pack(name) for name in names]
    reading.refuse("This cannot be read")
    packs = [record for record in records if record is not None]
    found = join_refusals(workshop, packs, how=how)
    keys = ("pack-parallel", "pack-plugs", "pack-look-first")
    return Joining(tuple(pack.name for pack in packs), how, found, cautions_of(workshop.facts, keys))


def join_refusals(
    workshop: Workshop,
    packs: Sequence[PackRecord],
    *,
    how: str = "parallel",
    volts: Mapping[UUID, tuple[float, ...]] | None = None,
    in_hand: UUID | None = None,
) -> tuple[Finding, ...]:
    """Everything that speaks against joining these packs.

    `volts` are readings of this moment; `in_hand` is the pack that is being looked at right now.
    """
    now, read = workshop.now(), volts or {}
    joins, found = [], []
    for pack in packs:
        details = PackDetails.of(pack)
        fresh = pack.marks.rest_at is not None and now - pack.marks.rest_at <= FRESH
        rest_V = read.get(pack.id) or (pack.marks.rest_V if fresh else ())
        if pack.id != in_hand and not looked_since_use(pack.marks):
            found.append(
                Finding(
                    pack.name,
                    "Nobody has looked at it since it was last driven.",
                    WayOut("Look, feel, smell, and log it", Action.LOOK_OVER_PACK, pack.name),
                )
            )
        if not details.type_name:
            found.append(
                Finding(
                    pack.name,
                    "Nobody booked which type it is.",
                    WayOut("Add its type as bought", Action.CHANGE_PACK, pack.name),
                )
            )
        if not rest_V and how == "parallel":
            found.append(
                Finding(
                    pack.name,
                    "Its cells were not read within a day at rest.",
                    WayOut("Measure them", Action.MEASURE_PACK, pack.name),
                )
            )
        joins.append(
            PackToJoin(
                name=pack.name,
                type_name=details.type_name,
                chemistry=chemistry_of(pack.chemistry) or Chemistry.HIGH_VOLTAGE_LITHIUM,
                cells=pack.cells,
                capacity_C=pack.capacity_Ah * 3600.0,
                rest_V=rest_V,
                verdict=judged(pack, None, now).standing,
            )
        )
    if how == "series":
        return (*found, *series_refusals(joins))
    if not all(join.rest_V for join in joins):
        # Without volts everything else can still be said.
        return (*found, *series_refusals(joins))
    try:
        tables = pack_tables()
        limits = tables.cells.get(joins[0].chemistry, tables.limits.cell) if joins else tables.limits.cell
        return (*found, *parallel_refusals(joins, limits))
    except NoTable as none:
        return (*found, Finding("chemistry", none.sentence, none.way_out))
