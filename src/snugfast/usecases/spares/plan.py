"""The plan of a day out: packs for the cars that go, what to charge, the sheet before, spares and tools.

Nothing is said of it in the journal: it is worked out from what stands, and afterwards the outing is logged.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import ceil
from uuid import UUID

from snugfast.core.figures import Figure, Origin
from snugfast.records.ledger import Ledger
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.bench.sheet_asked import minutes_of_an_evening
from snugfast.usecases.packs.shelf import ShelfRow, Sign, shelf_of
from snugfast.usecases.packs.state import packs_now
from snugfast.usecases.shared.cautions import Caution, cautions_of
from snugfast.usecases.shared.citing import Cited, cited
from snugfast.usecases.shared.takes_pack import packs_at_a_time, that_fit
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.spares.carry import CarryList, CarrySaid, carry_list, day_said
from snugfast.usecases.spares.demand import Going, cars_going

FULL_ENOUGH = 0.95  # of a full charge; nobody charges what is fuller the evening before
USUAL_C = 1.0  # charge rate where nothing else is known: as most labels ask
TAPER = 1.2  # how much longer than at full current the end of a charge takes
GUESSED = Origin("elicited-2026", "one full charge at the rate of most labels, and its slow end")
CAUTIONS = ("pack-attended", "pack-look-first")


@dataclass(frozen=True, slots=True)
class PlanSaid:
    """Which cars go and for how long, every field a text; empty means not said."""

    cars: tuple[str, ...] = ()
    packs: str = ""  # for each car
    minutes: str = ""  # of running for each car
    wet: str = ""
    ground: str = ""
    sheet: str = ""  # bench minutes before


@dataclass(frozen=True, slots=True)
class CarPlan:
    """One car: how many packs it runs, which of those here are for it, and how many are lacking."""

    car: str
    runs: int
    minutes_each: float
    packs: tuple[str, ...]
    lacking: int


@dataclass(frozen=True, slots=True)
class ToCharge:
    """One pack to charge before: how full it is likely to be, and about how long that takes."""

    pack: str
    about: str
    charge: Figure | None
    minutes: Figure


@dataclass(frozen=True, slots=True)
class DayPlan:
    """One page for a day out."""

    cars: tuple[CarPlan, ...]
    charge: tuple[ToCharge, ...]
    charge_min: Figure  # with all channels of the chargers at work
    channels: int
    see_to: tuple[str, ...]  # packs that want a look or something done first, and those not to take at all
    sheet_min: float
    unguarded: tuple[str, ...]
    wet: tuple[str, ...]
    spares: CarryList
    cautions: tuple[Caution, ...]
    sources: tuple[Cited, ...] = ()


def day_plan(workshop: Workshop, said: PlanSaid) -> DayPlan:
    """The plan. Raises NotKnown for a car that is not here, BadInput for words that mean nothing here."""
    carry = CarrySaid(said.cars, money="0", packs=said.packs, wet=said.wet, ground=said.ground)
    day = day_said(workshop, carry)
    ledger, going = cars_going(workshop, said.cars, day)
    shelf = shelf_of(workshop, packs_now(workshop))
    rows = {row.pack: row for row in shelf.rows}
    minutes = minutes_of_an_evening(said.minutes) if said.minutes.strip() else 0.0
    cars, taken, unfit = _cars(ledger, going, rows, minutes)
    charge = tuple(_to_charge(ledger, rows[pack]) for pack in taken if _wants_charge(rows[pack]))
    channels = sum(charger.channels for charger in ledger.chargers.values() if charger.left_at is None)
    sheet = bench_sheet(
        workshop,
        Asked(
            cars=said.cars,
            minutes=minutes_of_an_evening(said.sheet) if said.sheet.strip() else 20.0,
            packs=day.packs,
            wet=day.wet,
            ground=day.ground,
        ),
    )
    plan = DayPlan(
        cars=cars,
        charge=charge,
        charge_min=_together(charge, channels),
        channels=channels,
        see_to=tuple(f"{row.name}: {row.sign.word}" for row in unfit),
        sheet_min=sheet.minutes,
        unguarded=tuple(sheet.unguarded),
        wet=tuple(sentence for one in sheet.readiness for sentence in one.sentences),
        spares=carry_list(workshop, carry),
        cautions=cautions_of(workshop.facts, CAUTIONS) if charge else (),
    )
    return replace(plan, sources=cited(workshop.facts, (plan.charge_min,)))


def _cars(
    ledger: Ledger, going: Sequence[Going], rows: dict[UUID, ShelfRow], minutes: float
) -> tuple[tuple[CarPlan, ...], list[UUID], list[ShelfRow]]:
    """Packs go to the cars in turn, the car with the fewest that fit first; the fuller packs first.

    One that has to be looked at first is planned with after the others, and named; one that is out is not.
    """
    fitting = {one.car.id: _candidates(ledger, one, list(rows)) for one in going}
    used: set[UUID] = set()
    taken: list[UUID] = []
    unfit: dict[UUID, ShelfRow] = {}
    plans: dict[UUID, CarPlan] = {}
    for one in sorted(going, key=lambda one: (len(fitting[one.car.id]), one.car.name)):
        each = one.ahead.running_min / one.ahead.packs if one.ahead.packs else 0.0
        runs = ceil(minutes / each) if minutes and each else max(1, round(one.ahead.packs))
        own = set(one.car.packs)
        ready = []
        for pack in fitting[one.car.id]:
            if rows[pack].sign in (Sign.OUT, Sign.RETIRE):
                unfit[pack] = rows[pack]
            elif pack not in used:
                ready.append(pack)
        ready.sort(
            key=lambda pack: (
                pack not in own,
                rows[pack].sign is Sign.CHECK,
                -_charge(rows[pack]),
                rows[pack].name,
            )
        )
        mine = ready[: runs * packs_at_a_time(one.build)]
        unfit.update({pack: rows[pack] for pack in mine if rows[pack].sign in (Sign.CHECK, Sign.ACT)})
        used.update(mine)
        taken += mine
        lacking = max(0, runs - len(mine) // packs_at_a_time(one.build))
        plans[one.car.id] = CarPlan(one.car.name, runs, each, tuple(rows[p].name for p in mine), lacking)
    return tuple(plans[one.car.id] for one in going), taken, list(unfit.values())


def _candidates(ledger: Ledger, going: Going, packs: Sequence[UUID]) -> list[UUID]:
    """The packs that a car has run with, and those that nothing has run with; all that fit where it has none.

    A pack of another car may have the right cells and still not go in, or give too little current.
    """
    fit = that_fit(going.build, ledger, packs)
    own = set(going.car.packs)
    return [pack for pack in fit if pack in own or not ledger.packs[pack].runs] if own & set(fit) else fit


def _charge(row: ShelfRow) -> float:
    return row.charge.value if row.charge else 0.0


def _wants_charge(row: ShelfRow) -> bool:
    return _charge(row) < FULL_ENOUGH


def _to_charge(ledger: Ledger, row: ShelfRow) -> ToCharge:
    """About how long: the charge that is lacking at 1C, or at the most that a charger here gives."""
    capacity_Ah = ledger.packs[row.pack].capacity_Ah
    given = [charger.most_A for charger in ledger.chargers.values() if charger.left_at is None]
    current_A = min([USUAL_C * capacity_Ah, *([max(given)] if given else [])])
    minutes = 60.0 * (1.0 - _charge(row)) * capacity_Ah / current_A * TAPER
    return ToCharge(row.name, row.about, row.charge, Figure(minutes, "min", origins=(GUESSED,)))


def _together(charge: Sequence[ToCharge], channels: int) -> Figure:
    """With every channel at work: the longest pack first on the channel that is free first."""
    free = [0.0] * max(1, channels)
    for one in sorted(charge, key=lambda one: -one.minutes.value):
        free[free.index(min(free))] += one.minutes.value
    return Figure(max(free), "min", origins=(GUESSED,))
