"""Logging what packs go through: looks, harm and the way back, charges, readings, how they are put away."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.units import Kind
from snugfast.physics.packs.cell_readings import checked_cell_volts, elapsed_s, millivolts
from snugfast.physics.packs.charge_left import require_rest
from snugfast.physics.packs.limits import CellLimits
from snugfast.records.entries import (
    Finish,
    PackCharged,
    PackCleared,
    PackHurt,
    PackLooked,
    PackMeasured,
    PackStands,
    SettingChanged,
    Stands,
)
from snugfast.records.ledger import PackRecord
from snugfast.records.pack_marks import can_be_cleared
from snugfast.usecases.packs.reading import Said
from snugfast.usecases.packs.state import DRAIN_SETTING, read_drain
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.packs.warm_place import FIND_A_COOL_PLACE, too_warm_a_place
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.takes_pack import refusals
from snugfast.usecases.shared.workshop import Workshop

UNREADABLE = "This cannot be read"
MOST_PUT_IN = 1.5  # of the label: a nickel pack takes half as much again, nothing takes more
LONG_AT_REST_MIN = 24 * 60.0  # when nobody used it as far as the journal goes back


@dataclass(frozen=True, slots=True)
class MeasuredSaid:
    """Cells read one by one, as typed: “3.80 3.81 3.79”, “90 min”, “2.9 3.1 3.0” in milliohms."""

    pack: str
    volts: str = ""
    rested: str = ""
    resistances: str = ""
    instrument: str = ""
    warmth: str = ""
    when: str = ""
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class ChargedSaid:
    """A charge that ended, as typed. Resistances are those the charger showed."""

    pack: str
    finish: str = "full"
    put_in: str = ""
    amps: str = ""
    minutes: str = ""
    began: str = ""
    charger: str = ""
    volts: str = ""
    resistances: str = ""
    warmth: str = ""
    when: str = ""
    id: UUID | None = None


def draft_looked(
    workshop: Workshop,
    pack: str,
    found: Sequence[str],
    *,
    words: str = "",
    when: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entry of a look at a pack. What was found must be said, “nothing” too."""
    reading = Said(workshop)
    record, moment = reading.pack(pack), reading.moment(when)
    harms = reading.harms(found, "found")
    if harms is None:
        reading.wrong("found", "what was found is missing", "say it, or “nothing”")
    reading.refuse(UNREADABLE)
    assert record is not None and harms is not None
    entry = workshop.entry(
        PackLooked(record.id, harms, words.strip()),
        happened_at=moment.at,
        precision=moment.precision,
        id=id,
    )
    return Draft.telling(workshop, reading.ledger, [entry])


def draft_hurt(
    workshop: Workshop,
    pack: str,
    what: Sequence[str],
    *,
    hottest: str = "",
    car: str = "",
    words: str = "",
    when: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entry of harm: a crash, water, heat, cells driven too low or charged too high."""
    reading = Said(workshop)
    record, moment, in_car = reading.pack(pack), reading.moment(when), reading.car(car)
    harms = reading.harms(what, "what happened") or ()
    hot = reading.amount(hottest, Kind.TEMPERATURE, "°C", "warmth")
    if not harms and hot is None and not reading.findings:
        reading.wrong("what", "what happened to it is missing", "name it, or how hot it was")
    reading.refuse(UNREADABLE)
    assert record is not None
    fact = PackHurt(record.id, harms, hot, in_car.id if in_car else record.marks.in_car, words.strip())
    entry = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=id)
    return Draft.telling(workshop, reading.ledger, [entry])


def draft_cleared(
    workshop: Workshop,
    pack: str,
    *,
    by: str = "",
    what: Sequence[str] = (),
    when: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entry of a way back that was walked to its end; of all harm that has one, when none is named."""
    reading = Said(workshop)
    record, moment = reading.pack(pack), reading.moment(when)
    named = reading.harms(what, "what")
    reading.refuse(UNREADABLE)
    assert record is not None
    marks = record.marks
    harms = named or tuple(sorted(can_be_cleared(marks), key=lambda harm: harm.value))
    if not harms and marks.harms:
        raise BadInput(
            f"There is no way back for {record.name}: {', '.join(harm.value for harm in marks.harms)}.",
            "Quarantine it and hand it in; if it was a slip of the pen, take that entry back.",
        )
    entry = workshop.entry(
        PackCleared(record.id, harms, by.strip()),
        happened_at=moment.at,
        precision=moment.precision,
        id=id,
    )
    return Draft.telling(workshop, reading.ledger, [entry])


def draft_measured(workshop: Workshop, said: MeasuredSaid) -> Draft:
    """The entry of cells read one by one.

    Raises WrongData for what cannot be read, BadInput for volts that do not belong to this pack, or that
    were read too soon after use.
    """
    reading = Said(workshop)
    record, moment = reading.pack(said.pack), reading.moment(said.when)
    warmth = reading.amount(said.warmth, Kind.TEMPERATURE, "°C", "warmth")
    volts = reading.several(said.volts, Kind.VOLTAGE, "V", "volts")
    ohms = reading.several(said.resistances, Kind.RESISTANCE, "Ω", "resistances", "mΩ")
    rested = reading.amount(said.rested, Kind.DURATION, "min", "rested")
    if ohms and warmth is None:
        reading.wrong(
            "warmth", "resistance is compared at one warmth", "say how warm the pack was, like 20 °C"
        )
    reading.refuse(UNREADABLE)
    assert record is not None
    if volts:
        rested = _rested(record, moment.at) if rested is None else rested
        _refuse_volts(record, volts, rested, warmth)
    fact = PackMeasured(record.id, volts, rested, ohms, said.instrument.strip(), warmth)
    entry = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=said.id)
    return Draft.telling(workshop, reading.ledger, [entry])


def draft_charged(workshop: Workshop, said: ChargedSaid) -> Draft:
    """The entries of a charge that ended, and of the resistances the charger showed.

    Raises WrongData for what cannot be read, BadInput when it began after it ended.
    """
    reading = Said(workshop)
    record, charger, moment = (
        reading.pack(said.pack),
        reading.charger(said.charger),
        reading.moment(said.when),
    )
    warmth = reading.amount(said.warmth, Kind.TEMPERATURE, "°C", "warmth")
    volts = reading.several(said.volts, Kind.VOLTAGE, "V", "volts")
    ohms = reading.several(said.resistances, Kind.RESISTANCE, "Ω", "resistances", "mΩ")
    minutes = reading.amount(said.minutes, Kind.DURATION, "min", "minutes")
    if said.began.strip():
        began = reading.moment(said.began).at
        took = reading.attempt(lambda: elapsed_s(earlier=began, later=moment.at, what="The charge"), 60.0)
        minutes = round(took / 60.0, 1)
    if ohms and warmth is None:
        reading.wrong(
            "warmth", "resistance is compared at one warmth", "say how warm the pack was, like 20 °C"
        )
    finish = reading.choice(said.finish, Finish, "charged to", Finish.FULL)
    put_in = reading.amount(said.put_in, Kind.CHARGE, "Ah", "put in", "mAh")
    amps = reading.amount(said.amps, Kind.CURRENT, "A", "amperes")
    _refuse_too_much(reading, record, put_in)
    reading.refuse(UNREADABLE)
    assert record is not None
    if volts:
        _refuse_volts(record, volts, None, warmth)
    charged = PackCharged(
        pack=record.id,
        finish=finish,
        put_in_Ah=put_in,
        current_A=amps,
        minutes=minutes,
        charger=charger.id if charger else None,
        cells_V=volts,
    )
    entries = [workshop.entry(charged, happened_at=moment.at, precision=moment.precision, id=said.id)]
    if ohms:
        instrument = f"charger {charger.name}" if charger else "charger"
        read = PackMeasured(record.id, (), None, ohms, instrument, warmth)
        entries.append(workshop.entry(read, happened_at=moment.at, precision=moment.precision))
    return Draft.telling(workshop, reading.ledger, entries)


def draft_stands(
    workshop: Workshop,
    pack: str,
    how: str,
    *,
    car: str = "",
    shelf: str = "",
    when: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entry of a pack put away: unplugged, plugged in with the switch off, or left switched on."""
    reading = Said(workshop)
    record, moment, in_car = reading.pack(pack), reading.moment(when), reading.car(car)
    stands = reading.choice(how, Stands, "how it stands", Stands.UNPLUGGED)
    warmth = reading.amount(shelf, Kind.TEMPERATURE, "°C", "shelf")
    reading.refuse(UNREADABLE)
    assert record is not None
    where = in_car.id if in_car else record.marks.in_car
    named = in_car or reading.ledger.cars.get(where) if where else None
    if named is not None and stands is not Stands.UNPLUGGED:
        reading.findings += refusals(workshop.build(named.build), named.name, [record])
        reading.refuse(UNREADABLE)
    if stands is Stands.UNPLUGGED:
        where = None
    elif where is None:
        raise BadInput(f"In which car is {record.name} plugged in?", "Name the car.")
    entry = workshop.entry(
        PackStands(record.id, stands, where, warmth),
        happened_at=moment.at,
        precision=moment.precision,
        id=id,
    )
    draft = Draft.telling(workshop, reading.ledger, [entry])
    too_warm = too_warm_a_place(warmth)
    return replace(draft, echo=(*draft.echo, f"{too_warm} {FIND_A_COOL_PLACE}")) if too_warm else draft


def draft_drain(workshop: Workshop, car: str, current: str) -> Draft:
    """The entry of what a car was measured to draw with its switch off."""
    reading = Said(workshop)
    record = reading.car(car)
    drain_A = reading.attempt(lambda: read_drain(current), 0.0)
    reading.refuse(UNREADABLE)
    if record is None:
        raise BadInput("No car is named.", "Name the car that was measured.")
    entry = workshop.entry(SettingChanged(record.id, DRAIN_SETTING, f"{drain_A * 1000:g} mA"))
    return Draft.telling(workshop, reading.ledger, [entry])


def _meanwhile(volts: tuple[float, ...], limits: CellLimits) -> str:
    """What holds meanwhile of cells read too soon that may be past a limit."""
    spread_mV = millivolts(max(volts)) - millivolts(min(volts))
    low, high = millivolts(min(volts)), millivolts(max(volts))
    if low < millivolts(limits.empty_V) or spread_mV > millivolts(limits.spread_damaged_V):
        return " Until then do not charge it and do not drive it: a cell reads far too low."
    if high > millivolts(limits.over_charged_V):
        return " Until then keep it outside: a cell reads too high."
    return ""


def _refuse_too_much(reading: Said, record: PackRecord | None, put_in_Ah: float | None) -> None:
    """More than a pack can hold went somewhere else: into heat, another pack, or a slip of the pen."""
    if record is None or put_in_Ah is None or put_in_Ah <= MOST_PUT_IN * record.capacity_Ah:
        return
    reading.wrong(
        "put in",
        f"{put_in_Ah * 1000:.0f} mAh is more than {record.name} holds ({record.capacity_Ah * 1000:.0f} mAh)",
        "read it again; if the charger did put that in, do not charge this pack again and look it over",
    )


def _rested(record: PackRecord, at: datetime) -> float:
    """How long the pack has rested, as far as the journal knows when it was last used, in minutes."""
    if record.marks.used_at is None:
        return LONG_AT_REST_MIN
    return round((at - record.marks.used_at).total_seconds() / 60.0, 1)


def _refuse_volts(
    record: PackRecord, volts: tuple[float, ...], rested_min: float | None, warmth: float | None
) -> None:
    """Refuse volts that are another chemistry's, or not as many as the cells, or read too soon."""
    tables, chemistry = pack_tables(), chemistry_of(record.chemistry)
    limits = tables.cells.get(chemistry) if chemistry else None
    if limits is None:
        return  # there are no limits to hold them against; the records refuse a wrong count
    checked_cell_volts(cell_V=volts, cells=record.cells, limits=limits)
    if rested_min is not None:
        if rested_min < 0.0:
            raise BadInput(
                f"{record.name} was used after these volts were read.", "Give the time they were read at."
            )
        try:
            require_rest(rested_s=rested_min * 60.0, care=tables.unknown_care)
        except BadInput as too_soon:
            raise BadInput(f"{too_soon.sentence}{_meanwhile(volts, limits)}", too_soon.way_out) from None
