"""What cannot be true of a pack or a charger: counts, volts, amounts, a way back that was not walked."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from snugfast.core.findings import Finding
from snugfast.records.entries import (
    ChargerAdded,
    Entry,
    PackCharged,
    PackCleared,
    PackHurt,
    PackMeasured,
    Precision,
)
from snugfast.records.ledger import PackRecord
from snugfast.records.pack_marks import NEEDS_HELP, NO_WAY_BACK, SOONEST_BACK

MOST_CELL_V = 6.0  # no cell of any hobby pack reaches it
MOST_CELL_OHM = 1.0
MOST_PACK_Ah = 50.0
LONGEST_CHARGE_MIN = 24 * 60.0


def measured_rules(read: PackMeasured) -> Iterator[Finding]:
    """What is wrong with readings of the cells of a pack."""
    if not read.rest_V and not read.resistances_ohm:
        yield Finding("cells", "nothing was read", "give the volts or the resistances of all cells")
    yield from _cells("volts", read.rest_V, MOST_CELL_V, "V")
    yield from _cells("resistances", read.resistances_ohm, MOST_CELL_OHM, "Ω")
    if any(ohm == 0.0 for ohm in read.resistances_ohm):
        yield Finding("resistances", "a cell cannot resist nothing", "give it in milliohms, like 3.1")
    if read.resistances_ohm and not read.instrument.strip():
        yield Finding(
            "instrument",
            "what the resistance was read with is missing",
            "name it: one is compared only with itself",
        )
    if read.rested_min is not None and (not math.isfinite(read.rested_min) or read.rested_min < 0.0):
        yield Finding("rested", f"{read.rested_min:g} min cannot be", "give the minutes since it was used")
    yield from _warmth(read.temperature_degC)


def charge_rules(charged: PackCharged) -> Iterator[Finding]:
    """What is wrong with a charge."""
    yield from _cells("volts", charged.cells_V, MOST_CELL_V, "V")
    if charged.put_in_Ah is not None and not abs(charged.put_in_Ah) <= MOST_PACK_Ah:
        yield Finding("put in", f"{charged.put_in_Ah:g} Ah is more than can be", "write it like 4200 mAh")
    for where, value, most in (
        ("minutes", charged.minutes, LONGEST_CHARGE_MIN),
        ("amperes", charged.current_A, 200.0),
    ):
        if value is not None and not 0.0 < value <= most:
            yield Finding(where, f"{value:g} cannot be", f"give a number above 0, up to {most:g}")


def hurt_rules(hurt: PackHurt) -> Iterator[Finding]:
    """What is wrong with harm as it was told."""
    if not hurt.harms and hurt.hottest_degC is None:
        yield Finding("what", "what happened to it is missing", "name what happened, or how hot it was")
    yield from _warmth(hurt.hottest_degC)


def cleared_rules(entry: Entry, cleared: PackCleared, pack: PackRecord | None) -> Iterator[Finding]:
    """What stands against bringing a pack back: no way back, too soon, nobody's word, or nothing to clear."""
    if pack is None:
        return
    standing = pack.marks.harms
    if not cleared.harms and pack.marks.hottest_degC is None:
        yield Finding("what", f"nothing stands against {pack.name}", "log a look instead")
    for harm in cleared.harms:
        if harm not in standing:
            yield Finding("what", f"“{harm.value}” does not stand against {pack.name}", "leave it out")
        elif harm in NO_WAY_BACK:
            yield Finding(
                "what",
                f"there is no way back from “{harm.value}”",
                "quarantine it and hand it in; if it was a slip of the pen, take that entry back",
            )
    if any(harm in NEEDS_HELP for harm in cleared.harms) and not cleared.by.strip():
        yield Finding(
            "by", "only the maker's own instructions or qualified help bring it back", "say whose they were"
        )
    yield from _too_soon(entry, cleared, pack)


def charger_rules(added: ChargerAdded) -> Iterator[Finding]:
    """What is wrong with a charger as it was told."""
    if not 1 <= added.channels <= 8:
        yield Finding("channels", f"{added.channels} channels cannot be", "give 1 to 8")
    for where, value, most in (
        ("amps", added.most_A, 200.0),
        ("watts", added.most_W, 10_000.0),
        ("supply", added.supply_W, 10_000.0),
    ):
        if value is not None and not 0.0 < value <= most:
            yield Finding(where, f"{value:g} cannot be", f"give a number above 0, up to {most:g}")


def _too_soon(entry: Entry, cleared: PackCleared, pack: PackRecord) -> Iterator[Finding]:
    """A way back begins with a night: it is looked over cold, at the soonest the next day."""
    marks = pack.marks
    since = [at for harm, at in marks.harms.items() if harm in cleared.harms]
    if not cleared.harms and marks.hottest_at is not None:
        since.append(marks.hottest_at)
    days = entry.precision is not Precision.MINUTE
    for at in since:
        waited = entry.happened_at - at
        if waited < SOONEST_BACK and not (days and entry.happened_at.date() > at.date()):
            yield Finding(
                "when",
                f"it happened only on {at:%Y-%m-%d %H:%M} UTC",
                "look it over when it is cold, at the soonest the next day",
            )
            return


def cells_of_pack(where: str, values: Sequence[float], pack: PackRecord | None) -> Iterator[Finding]:
    """What is wrong when the readings are not one of each cell of their pack."""
    if values and pack is not None and len(values) != pack.cells:
        yield Finding(
            where,
            f"{len(values)} {'reading' if len(values) == 1 else 'readings'} for {pack.cells} cells",
            "read every cell once, in the order of the balance plug",
        )


def _cells(where: str, values: Sequence[float], most: float, unit: str) -> Iterator[Finding]:
    for place, value in enumerate(values, 1):
        if not (math.isfinite(value) and 0.0 <= value <= most):
            yield Finding(where, f"cell {place} cannot read {value:g} {unit}", "measure it again")


def _warmth(temperature_degC: float | None) -> Iterator[Finding]:
    if temperature_degC is not None and not -40.0 <= temperature_degC <= 250.0:
        yield Finding("warmth", f"{temperature_degC:g} °C cannot be", "give it like 20 °C")
