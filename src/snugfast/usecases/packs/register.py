"""Packs and chargers joining, and what is booked about a pack beyond its name: label, plug, size, weight."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from snugfast.core.errors import BadInput, NotKnown
from snugfast.core.units import Kind, read_number
from snugfast.core.ways_out import Action, WayOut
from snugfast.records.entries import ChargerAdded, ChargerLeft, Entry, PackAdded, PackLeft
from snugfast.records.ledger import PackRecord
from snugfast.records.standing import standing
from snugfast.usecases.packs.reading import Said
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.typed_words import read_money
from snugfast.usecases.shared.workshop import Workshop


@dataclass(frozen=True, slots=True)
class PackSaid:
    """A pack as typed. Empty means not said."""

    name: str
    cells: str
    capacity: str
    chemistry: str = "lithium-polymer"
    when: str = ""
    type_name: str = ""  # as bought, so that two alike are known to be alike
    label: str = ""  # “50C” or “125 A”
    charge_label: str = ""  # “2C” or “10 A”
    plug: str = ""  # by its shape
    pin_mm: str = ""
    size_mm: str = ""  # length × width × height
    mass_g: str = ""
    price: str = ""


@dataclass(frozen=True, slots=True)
class PackDetails:
    """What is booked about a pack beyond count and capacity. None or empty: not known."""

    type_name: str = ""
    label_multiple_per_h: float | None = None
    label_charge_A: float | None = None
    plug: str = ""
    pin_mm: float | None = None
    size_mm: tuple[float, float, float] | None = None
    mass_g: float | None = None

    @classmethod
    def of(cls, pack: PackRecord) -> PackDetails:
        """Read back from what the journal keeps; anything strange there counts as not known."""
        kept: Mapping[str, Any] = pack.details
        size = kept.get("size_mm")
        return cls(
            type_name=str(kept.get("type_name") or ""),
            label_multiple_per_h=_number(kept.get("label_multiple_per_h")),
            label_charge_A=_number(kept.get("label_charge_A")),
            plug=str(kept.get("plug") or ""),
            pin_mm=_number(kept.get("pin_mm")),
            size_mm=_three(size) if isinstance(size, list | tuple) else None,
            mass_g=_number(kept.get("mass_g")),
        )


@dataclass(frozen=True, slots=True)
class ChargerSaid:
    """A charger as typed; amperes and watts of one channel."""

    name: str
    amps: str
    watts: str
    channels: str = "1"
    supply: str = ""
    balances: str = "yes"
    stores: str = "yes"
    price: str = ""
    when: str = ""
    id: UUID | None = None


def draft_pack(
    workshop: Workshop, said: PackSaid, *, id: UUID | None = None, replaces: Entry | None = None
) -> Entry:
    """The entry of a pack joining, or of a correction to it.

    Raises WrongData with everything that cannot be read.
    """
    reading = Said(workshop)
    moment = reading.moment(said.when)
    capacity_Ah = reading.amount(said.capacity, Kind.CHARGE, "Ah", "capacity", "mAh")
    if capacity_Ah is None and not reading.findings:
        reading.wrong("capacity", "it is missing", "write it like 5000 mAh")
    was = replaces.fact if replaces is not None else None
    fact = PackAdded(
        pack=was.pack if isinstance(was, PackAdded) else id or workshop.new_id(),
        name=said.name.strip(),
        chemistry=reading.chemistry(said.chemistry).value,
        cells=reading.whole(said.cells, "cells", 0),
        capacity_Ah=capacity_Ah or 0.0,
        price=reading.attempt(lambda: read_money(said.price, reading.ledger), None)
        if said.price.strip()
        else None,
        details=_details(reading, said, capacity_Ah),
    )
    reading.refuse("This pack cannot be read")
    happened = replaces.happened_at if replaces is not None and not said.when.strip() else moment.at
    precision = replaces.precision if replaces is not None and not said.when.strip() else moment.precision
    return workshop.entry(fact, happened_at=happened, precision=precision, id=id, replaces=replaces)


def pack_entry(workshop: Workshop, pack: PackRecord) -> Entry:
    """The standing entry by which a pack joined."""
    with workshop.store.reading() as reads:
        stands = standing(reads.entries_of([pack.id])).entries
    for entry in stands:
        if isinstance(entry.fact, PackAdded) and entry.fact.pack == pack.id:
            return entry
    raise NotKnown(
        f"The journal does not say how {pack.name} joined.", WayOut("Look in the journal", Action.SEE_JOURNAL)
    )


def said_of(entry: Entry) -> PackSaid:
    """How a pack joined, in the words it could have been typed with, to start a correction from."""
    fact = entry.fact
    assert isinstance(fact, PackAdded)
    kept = fact.details
    size = kept.get("size_mm")
    return PackSaid(
        name=fact.name,
        cells=str(fact.cells),
        capacity=f"{fact.capacity_Ah * 1000:g} mAh",
        chemistry=fact.chemistry,
        type_name=str(kept.get("type_name") or ""),
        label=_multiple_words(kept.get("label_multiple_per_h")),
        charge_label=f"{kept['label_charge_A']:g} A" if kept.get("label_charge_A") else "",
        plug=str(kept.get("plug") or ""),
        pin_mm=f"{kept['pin_mm']:g}" if kept.get("pin_mm") else "",
        size_mm=" x ".join(f"{side:g}" for side in size) if size else "",
        mass_g=f"{kept['mass_g']:g}" if kept.get("mass_g") else "",
        price=f"{fact.price.minor / 100:.2f} {fact.price.currency}" if fact.price else "",
    )


def draft_pack_left(workshop: Workshop, name: str, why: str = "", when: str = "") -> Draft:
    """The entry of a pack leaving: retired, sold, handed to a collection point."""
    reading = Said(workshop)
    pack, moment = reading.pack(name), reading.moment(when)
    reading.refuse("This cannot be read")
    assert pack is not None
    entry = workshop.entry(PackLeft(pack.id, why.strip()), happened_at=moment.at, precision=moment.precision)
    return Draft.telling(workshop, reading.ledger, [entry])


def draft_charger(workshop: Workshop, said: ChargerSaid) -> Draft:
    """The entry of a charger joining. Raises WrongData with everything that cannot be read."""
    reading = Said(workshop)
    moment = reading.moment(said.when)
    amps = reading.amount(said.amps, Kind.CURRENT, "A", "amps")
    watts = reading.amount(said.watts, Kind.POWER, "W", "watts")
    balances, stores = reading.yes(said.balances, "balance"), reading.yes(said.stores, "storage function")
    for where, value in (("amps", amps), ("watts", watts)):
        if value is None and not reading.findings:
            reading.wrong(where, "they are missing", "read them off the charger, per channel")
    fact = ChargerAdded(
        charger=said.id or workshop.new_id(),
        name=said.name.strip(),
        channels=reading.whole(said.channels, "channels", 1),
        most_A=amps or 0.0,
        most_W=watts or 0.0,
        supply_W=reading.amount(said.supply, Kind.POWER, "W", "supply"),
        balances=balances is not False,
        stores=stores is not False,
        price=reading.attempt(lambda: read_money(said.price, reading.ledger), None)
        if said.price.strip()
        else None,
    )
    reading.refuse("This charger cannot be read")
    entry = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=said.id)
    return Draft.telling(workshop, reading.ledger, [entry])


def draft_charger_left(workshop: Workshop, name: str, why: str = "") -> Draft:
    """The entry of a charger leaving."""
    reading = Said(workshop)
    charger = reading.charger(name)
    reading.refuse("This cannot be read")
    if charger is None:
        raise NotKnown("No charger is named.", WayOut("Look at the list", Action.SEE_CHARGERS))
    return Draft.telling(workshop, reading.ledger, [workshop.entry(ChargerLeft(charger.id, why.strip()))])


def _details(reading: Said, said: PackSaid, capacity_Ah: float | None) -> dict[str, Any]:
    size = reading.attempt(lambda: _size(said.size_mm), None) if said.size_mm.strip() else None
    charge_multiple = _multiple(reading, said.charge_label, capacity_Ah, "charge rate")
    found = {
        "type_name": said.type_name.strip(),
        "label_multiple_per_h": _multiple(reading, said.label, capacity_Ah, "label"),
        "label_charge_A": charge_multiple * capacity_Ah if charge_multiple and capacity_Ah else None,
        "plug": said.plug.strip(),
        "pin_mm": reading.amount(said.pin_mm, Kind.LENGTH, "mm", "pin"),
        "size_mm": size,
        "mass_g": reading.amount(said.mass_g, Kind.MASS, "g", "weight"),
    }
    return {name: value for name, value in found.items() if value}


def _multiple(reading: Said, text: str, capacity_Ah: float | None, where: str) -> float | None:
    """“50C” or “125 A” as a multiple of the capacity per hour."""
    clean = text.strip()
    if not clean:
        return None
    if clean[-1:] in "Cc":
        return reading.attempt(lambda: _positive(read_number(clean[:-1], where=where), where), None)
    amps = reading.amount(clean, Kind.CURRENT, "A", where)
    return None if amps is None or not capacity_Ah else amps / capacity_Ah


def _positive(value: float, where: str) -> float:
    if value <= 0.0:
        raise BadInput(f"{where}: {value:g} cannot be.", "Read it off the label, like 50C or 125 A.")
    return value


def _size(text: str) -> list[float]:
    parts = [part for part in re.split(r"[x×*\s]+", text.strip().removesuffix("mm").strip()) if part]
    if len(parts) != 3:
        raise BadInput(f"size: “{text}” is not three sides.", "Write it like 139 x 47 x 25, in millimetres.")
    return [_positive(read_number(part, where="size"), "size") for part in parts]


def _multiple_words(value: Any) -> str:
    return f"{value:g}C" if value else ""


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _three(size: list[Any] | tuple[Any, ...]) -> tuple[float, float, float] | None:
    sides = [number for side in size if (number := _number(side))]
    return (sides[0], sides[1], sides[2]) if len(sides) == 3 else None
