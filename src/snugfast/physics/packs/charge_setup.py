"""What is plugged together for a charge, and everything that must be right before it begins."""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.core.findings import Finding
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.physics.packs.listed_refusal import ListedRefusal


@dataclass(frozen=True, slots=True)
class Setup:
    """What is about to be plugged together, as answered by the person who does it."""

    pack_chemistry: Chemistry
    pack_cells: int
    charger_chemistry: Chemistry
    charger_cells: int
    attended: bool
    surface_burns: bool
    through_balance_plug: bool


class ChargeRefused(ListedRefusal):
    """The charge must not begin."""


def setup_refusals(setup: Setup) -> tuple[Finding, ...]:
    """Everything that must be put right before this charge may begin; empty when nothing is wrong."""
    found = []
    if setup.charger_cells != setup.pack_cells:
        found.append(
            Finding(
                "cells",
                f"The pack has {setup.pack_cells} cells in series and the charger is set to "
                f"{setup.charger_cells}.",
                "Read the pack's label and set the charger to it.",
            )
        )
    if setup.charger_chemistry is not setup.pack_chemistry:
        found.append(
            Finding(
                "chemistry",
                f"The pack is {setup.pack_chemistry.short} and the charger is set to "
                f"{setup.charger_chemistry.short}.",
                "Set the charger to what the label says; the wrong setting can start a fire.",
            )
        )
    if not setup.through_balance_plug and setup.pack_cells > 1 and _is_lithium(setup.pack_chemistry):
        found.append(
            Finding(
                "balance plug", "The balance plug is not connected.", "Connect it and choose balance charge."
            )
        )
    if not setup.attended:
        found.append(
            Finding("attended", "Nobody will stay with the charge.", "Charge when an adult can stay with it.")
        )
    if setup.surface_burns:
        found.append(
            Finding("surface", "The surface can burn.", "Move to bare concrete, tile, or a tray made for it.")
        )
    return tuple(found)


def require_setup(setup: Setup) -> None:
    """Raise ChargeRefused with everything that is wrong, or return when nothing is."""
    found = setup_refusals(setup)
    if found:
        raise ChargeRefused(found)


def _is_lithium(chemistry: Chemistry) -> bool:
    return chemistry is not Chemistry.NICKEL_METAL_HYDRIDE
