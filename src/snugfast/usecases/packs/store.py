"""What to do with a pack until the next outing, by published figures and by common practice, side by side."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from snugfast.core.errors import BadInput
from snugfast.core.figures import Figure, Origin
from snugfast.core.units import ZERO_CELSIUS_K, Kind
from snugfast.physics.packs.cell_readings import elapsed_s
from snugfast.physics.packs.chemistry import NoTable
from snugfast.physics.packs.storing import Advice, Deed, Stored, Way, storage_advice
from snugfast.physics.packs.verdict import require_cleared
from snugfast.records.ledger import ChargerRecord, Ledger
from snugfast.usecases.packs.reading import Said
from snugfast.usecases.packs.state import PackSeen, pack_now
from snugfast.usecases.packs.tables import pack_tables
from snugfast.usecases.packs.views import Matter, matters
from snugfast.usecases.packs.warm_place import FIND_A_COOL_PLACE, too_warm_a_place
from snugfast.usecases.shared.cautions import Caution, cautioned, cautions_of
from snugfast.usecases.shared.chemistry import chemistry_of
from snugfast.usecases.shared.workshop import Workshop

USUAL_A = 1.0  # what a common charger moves when its storage function takes charge out
STORING = ("pack-storage", "pack-look-first", "pack-attended", "pack-discharge-bench", "pack-fire")
WHERE_VIEWS_DIFFER = ("full_or_low", "self_discharge", "a_year_full")


@dataclass(frozen=True, slots=True)
class StoreAsked:
    """Until when the pack stands, as typed, and what there is to move charge with."""

    pack: str
    until: str
    amps: str = ""
    charger: str = ""
    shelf: str = ""


@dataclass(frozen=True, slots=True)
class OpinionShown:
    """What one ageing model says standing costs, as shares of the capacity."""

    name: str
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class WayShown:
    """One way of leaving it. `move`, in Ah, is above zero when charge goes in; `lasts` is the early end."""

    deed: Deed
    charge: Figure
    move: Figure
    minutes: Figure
    cost: Figure
    opinions: tuple[OpinionShown, ...]
    cautions: tuple[str, ...]
    energy: Figure
    lasts: Figure


@dataclass(frozen=True, slots=True)
class AdviceShown:
    """What one side says to do, and why."""

    deed: Deed
    why: str
    way: WayShown


@dataclass(frozen=True, slots=True)
class StoreAdvice:
    """Both views, whether they differ, and every way compared."""

    pack: UUID
    pack_name: str
    until: datetime
    stand: Figure
    has_storage_function: bool
    move_A: float
    published: AdviceShown
    practice: AdviceShown
    differ: bool
    ways: tuple[WayShown, ...]
    disagreements: tuple[Matter, ...]
    cautions: tuple[Caution, ...]


@cautioned
def store_advice(workshop: Workshop, asked: StoreAsked) -> StoreAdvice:
    """What to do with a pack until it is driven again.

    Raises RefusedAction when something stands against the pack, NoTable for a chemistry without a table,
    BadInput when nothing says how full it is, WrongData for what cannot be read.
    """
    reading = Said(workshop)
    record, charger = reading.pack(asked.pack), reading.charger(asked.charger)
    until = reading.ahead(asked.until, "until")
    amps = reading.amount(asked.amps, Kind.CURRENT, "A", "amperes")
    shelf = reading.amount(asked.shelf, Kind.TEMPERATURE, "°C", "shelf")
    if until is None and not reading.findings:
        reading.wrong("until", "until when is missing", "give the day of the next outing, or “12 days”")
    if amps is not None and amps <= 0.0:
        reading.wrong("amperes", f"{amps:g} A moves nothing", "give a current above zero")
    reading.refuse("This cannot be read")
    assert record is not None and until is not None
    seen = pack_now(workshop, record.id)
    now = workshop.now()
    stand_s = elapsed_s(earlier=now, later=until, what="The next outing")
    has_storage = charger.stores if charger else _any_stores(reading.ledger)
    move_A = amps or (min(USUAL_A, charger.most_A) if charger else USUAL_A)
    return _advice(workshop, seen, until, stand_s, has_storage, move_A, shelf)


def _any_stores(ledger: Ledger) -> bool:
    here: list[ChargerRecord] = [one for one in ledger.chargers.values() if one.left_at is None]
    return any(charger.stores for charger in here)


def _advice(
    workshop: Workshop,
    seen: PackSeen,
    until: datetime,
    stand_s: float,
    has_storage: bool,
    move_A: float,
    shelf_degC: float | None,
) -> StoreAdvice:
    tables, record, past = pack_tables(), seen.record, seen.past
    marks = record.marks
    require_cleared(seen.judged.standing)
    chemistry = chemistry_of(record.chemistry)
    if chemistry is not tables.limits.cell.chemistry:
        raise NoTable(chemistry or next(iter(tables.notes)))
    if past.lowest is None:
        raise BadInput(
            f"Nothing says how full {record.name} is.",
            "Read its cells after an hour at rest, or log its next charge.",
        )
    booked = tables.value("shelf", "temperature_degC") if marks.shelf_degC is None else marks.shelf_degC
    shelf = booked if shelf_degC is None else shelf_degC
    if too_warm := too_warm_a_place(shelf):
        raise BadInput(too_warm, FIND_A_COOL_PLACE)
    advice = storage_advice(
        verdict=seen.judged.standing,
        pack=Stored(
            chemistry=chemistry,
            charge=past.lowest.charge,
            capacity_C=past.capacity_C.likely,
            cells=record.cells,
            stand_s=stand_s,
            temperature_K=shelf + ZERO_CELSIUS_K,
            self_discharge=tables.self_discharge,
            move_A=move_A,
            has_storage_function=has_storage,
        ),
        views=tables.views,
        curve=tables.curve,
        limits=tables.limits.cell,
    )
    return StoreAdvice(
        pack=record.id,
        pack_name=record.name,
        until=until,
        stand=Figure(stand_s, "s"),
        has_storage_function=has_storage,
        move_A=move_A,
        published=_shown(advice.published),
        practice=_shown(advice.practice),
        differ=advice.differ,
        ways=tuple(_way(way) for way in advice.ways),
        disagreements=matters(workshop.facts, WHERE_VIEWS_DIFFER),
        cautions=cautions_of(workshop.facts, STORING),
    )


def _shown(advice: Advice) -> AdviceShown:
    return AdviceShown(advice.way.deed, advice.why, _way(advice.way))


def _way(way: Way) -> WayShown:
    tables = pack_tables()
    ageing = (
        Origin("schmalstieg-2014", "capacity lost by standing"),
        Origin("blast-lite-pouch", "capacity lost by standing"),
    )
    own = (Origin("pack-estimates", "self-discharge, pessimistic end"),)
    return WayShown(
        deed=way.deed,
        charge=Figure(way.charge, "1", origins=(tables.limit_origin("storage_V"),)),
        move=Figure(way.move_C / 3600.0, "Ah"),
        minutes=Figure(way.move_s, "s"),
        cost=Figure((way.cost.low + way.cost.high) / 2, "1", way.cost.low, way.cost.high, ageing),
        opinions=tuple(OpinionShown(one.name, one.low, one.high) for one in way.cost.opinions),
        cautions=way.cost.cautions,
        energy=Figure(way.energy_J / 3600.0, "Wh"),
        lasts=Figure(way.lasts_s, "s", origins=own),
    )
