"""Whether a car takes a pack, by what its build says: cells in series, chemistry, how many at a time.

Few cells make a car slow, many burn it; a chemistry it is not made for is drained or charged past its limits.
What a build does not say is not held against a pack.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from uuid import UUID

from snugfast.core.findings import Finding
from snugfast.core.ways_out import Action, WayOut
from snugfast.facts.model import Build
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.records.ledger import Ledger, PackRecord
from snugfast.usecases.shared.chemistry import chemistry_of

NICKEL = Chemistry.NICKEL_METAL_HYDRIDE
NICKEL_V, LITHIUM_V = 1.2, 3.7  # of a cell by its label
SLOWEST = 0.5  # of the cells it is made for; with fewer a car hardly moves, so it was another pack


def packs_at_a_time(build: Build) -> int:
    """How many packs go in the car together."""
    return 2 if build.traits.get("packs") == "two in series" else 1


def why_not(build: Build, pack: PackRecord) -> str:
    """Why this build cannot take the pack, in words after its name; "" when nothing says so."""
    chemistry = chemistry_of(pack.chemistry)
    made_for_nickel = build.traits.get("pack_kind") == NICKEL.value
    if chemistry is NICKEL and build.traits.get("pack_kind") and not made_for_nickel:
        return "is NiMH and the car is made for lithium packs"
    cells = _cells_of(build)
    if not cells or chemistry is None:
        return ""
    least, most = min(cells), max(cells)
    if made_for_nickel:
        most += 1
        if chemistry is not NICKEL:
            least = most = round(min(cells) * NICKEL_V / LITHIUM_V)
    if most >= pack.cells >= least * SLOWEST:
        return ""
    many = "cell" if pack.cells == 1 else "cells"
    return f"has {pack.cells} {many} in series and the car takes {_range(least, most)}"


def refusals(
    build: Build, car_name: str, packs: Sequence[PackRecord], *, together: bool = True
) -> Iterator[Finding]:
    """Everything that speaks against these packs having been in this car, together in one run or not."""
    for pack in packs:
        why = why_not(build, pack)
        if why:
            yield Finding(
                "packs",
                f"{pack.name} {why}",
                WayOut(
                    f"name the pack that was in {car_name}; if it does take this one, correct its build",
                    Action.CHANGE_BUILD,
                    car_name,
                ),
            )
    most = packs_at_a_time(build)
    if together and len(packs) > most:
        how_many = "one pack" if most == 1 else f"{most} packs"
        yield Finding(
            "packs",
            f"{car_name} takes {how_many} at a time, and {len(packs)} were named",
            "log a run for each",
        )


def that_fit(build: Build, ledger: Ledger, packs: Sequence[UUID]) -> list[UUID]:
    """Those of some packs that the build can take, in the same order."""
    known: Mapping[UUID, PackRecord] = ledger.packs
    return [pack for pack in packs if not why_not(build, known[pack])]


def _cells_of(build: Build) -> list[int]:
    """The cells of one pack, as the places of pack and speed controller say them."""
    counts = []
    for role, share in (("pack", 1), ("controller", packs_at_a_time(build))):
        for place in build.of_role(role):
            said = place.sizes.get("cells_count")
            if isinstance(said, int | float) and said >= 1:
                counts.append(max(int(said) // share, 1))
    return counts


def _range(least: int, most: int) -> str:
    return f"{most}" if least == most else f"{least} to {most}"
