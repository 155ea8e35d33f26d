"""What pack care finds, as evidence for the sheet: looks and rest readings answer checks of the tables."""

from __future__ import annotations

from uuid import UUID

from snugfast.core.vocabulary import MODE_PACK_AGED, MODE_PACK_IMBALANCE
from snugfast.physics.packs.cell_readings import millivolts
from snugfast.physics.packs.resistance_trend import weak_cells
from snugfast.records.entries import Answer, Checked, Done, PackHarm, PackLooked, PackMeasured
from snugfast.records.pack_marks import DAMAGED, HOT_PLUG, LOOK, RESISTANCES, SHORTING, VENTED, VOLTAGES
from snugfast.usecases.packs.climb import Climb
from snugfast.usecases.packs.judging import SIGNS
from snugfast.usecases.packs.tables import pack_tables

NO_CAR = UUID(int=0)  # a pack in the hand belongs to no car
IMBALANCE, APART = MODE_PACK_IMBALANCE, "apart"
BURNS = frozenset((PackHarm.SMELL, PackHarm.HISSING, PackHarm.HEATING_BY_ITSELF))  # signs of a short inside
CLIMBED = Answer("climbed", MODE_PACK_AGED, done=Done.LEFT)
ONE_CELL_HIGH = Answer("one cell high", MODE_PACK_AGED, done=Done.LEFT)


def as_checks(seen: PackLooked | PackMeasured, climb: Climb | None = None) -> tuple[Checked, ...]:
    """The answers to checks that a look or readings amount to; empty when they are no answer.

    `climb` is how the resistances of this pack have climbed by this instrument, this reading included. Harm
    is said of a lithium and of a nickel pack alike: whichever of the two modes the pack has is meant.
    """
    found = (_look(seen),) if isinstance(seen, PackLooked) else (_volts(seen), _resistances(seen, climb))
    return tuple(answer for answer in found if answer is not None)


def _look(seen: PackLooked) -> Checked:
    answers = tuple(
        Answer(harm.value, mode, done=Done.LEFT)
        for harm in seen.found
        if harm in SIGNS
        for mode in _modes_of(harm)
    )
    return Checked(NO_CAR, LOOK, seen.pack, answers)


def _modes_of(harm: PackHarm) -> tuple[str, ...]:
    if harm is PackHarm.DAMAGED_PLUG:
        return (HOT_PLUG,)
    return (SHORTING if harm in BURNS else DAMAGED, VENTED)


def _volts(seen: PackMeasured) -> Checked | None:
    """Volts after a rest that counts say whether a cell is apart from the others."""
    tables, volts = pack_tables(), seen.rest_V
    rested = seen.rested_min is not None and seen.rested_min * 60.0 >= tables.value("rest", "provisional_s")
    if len(volts) < 2 or not rested:
        return None
    spread_mV = millivolts(max(volts)) - millivolts(min(volts))
    apart = spread_mV > millivolts(tables.limits.cell.spread_watch_V)
    return Checked(NO_CAR, VOLTAGES, seen.pack, (Answer(APART, IMBALANCE, done=Done.LEFT),) if apart else ())


def _resistances(seen: PackMeasured, climb: Climb | None) -> Checked | None:
    """A cell that stands out, or a climb past hard driving; one short of watching is sound."""
    wear, ohms = pack_tables().limits.wear, seen.resistances_ohm
    ratio = climb.ratio if climb is not None and ohms else None
    if len(ohms) > 2 and weak_cells(ohms, wear=wear):
        return Checked(NO_CAR, RESISTANCES, seen.pack, (ONE_CELL_HIGH,))
    if ratio is None or wear.watch_resistance_ratio <= ratio < wear.gentle_resistance_ratio:
        return None
    climbed = ratio >= wear.gentle_resistance_ratio
    return Checked(NO_CAR, RESISTANCES, seen.pack, (CLIMBED,) if climbed else ())
