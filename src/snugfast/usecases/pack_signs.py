"""What pack care finds, as evidence for the sheet: looks and rest readings answer checks of the tables."""

from __future__ import annotations

from uuid import UUID

from snugfast.physics.resistance_trend import weak_cells
from snugfast.records.entries import Answer, Checked, Done, PackHarm, PackLooked, PackMeasured
from snugfast.records.pack_marks import DAMAGED, HOT_PLUG, LOOK, RESISTANCES, VENTED, VOLTAGES
from snugfast.usecases.pack_judging import SIGNS
from snugfast.usecases.pack_tables import pack_tables

NO_CAR = UUID(int=0)  # a pack in the hand belongs to no car
IMBALANCE, APART = "pack_imbalance", "apart"
ONE_CELL_HIGH = Answer("one cell high", "pack_aged", done=Done.LEFT)


def as_check(seen: PackLooked | PackMeasured) -> Checked | None:
    """The answer to a check that a look or rest readings amount to; None when they are no answer.

    One reading of resistances is an answer only when a cell stands out of its pack; how far all of them have
    climbed, it does not say. Harm is said of a lithium and of a nickel pack alike: whichever of the two modes
    the pack has is meant.
    """
    match seen:
        case PackLooked(pack=pack, found=found):
            answers = tuple(
                Answer(harm.value, mode, done=Done.LEFT)
                for harm in found
                if harm in SIGNS
                for mode in ((HOT_PLUG,) if harm is PackHarm.DAMAGED_PLUG else (DAMAGED, VENTED))
            )
            return Checked(NO_CAR, LOOK, pack, answers)
        case PackMeasured(pack=pack, rest_V=volts, rested_min=rested) if len(volts) > 1:
            tables = pack_tables()
            if rested is None or rested * 60.0 < tables.value("rest", "provisional_s"):
                return None
            apart = max(volts) - min(volts) > tables.limits.cell.spread_watch_V
            found_apart = (Answer(APART, IMBALANCE, done=Done.LEFT),) if apart else ()
            return Checked(NO_CAR, VOLTAGES, pack, found_apart)
        case PackMeasured(pack=pack, resistances_ohm=ohms) if len(ohms) > 2:
            weak = weak_cells(ohms, wear=pack_tables().limits.wear)
            return Checked(NO_CAR, RESISTANCES, pack, (ONE_CELL_HIGH,)) if weak else None
        case _:
            return None
