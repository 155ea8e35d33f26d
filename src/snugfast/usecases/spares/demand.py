"""How many of each part will be wanted: from the beliefs about every way each car that goes can fail.

A failure wants the parts of its row. Its count is Poisson at a rate nobody knows for sure; what the beliefs
leave open of the rate is added to its variance. Parts of one kind are added up over cars and places.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from uuid import UUID

from snugfast.facts.model import Build, Facts, Mode, Place
from snugfast.records.box import BoxItem
from snugfast.records.entries import Ground, Wet
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.upkeep.spares import NONE, Demand
from snugfast.usecases.beliefs.stakes import AtRisk, Values, at_risk
from snugfast.usecases.beliefs.stories import remember, stories_of
from snugfast.usecases.beliefs.upcoming import Ahead, Until, look_ahead
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called, cars_here
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.stock.kinds import Kind, kind_of_item, kind_of_place, scale_factor

MINOR = 100.0


@dataclass(frozen=True, slots=True)
class Day:
    """The day ahead as far as it was said; `packs` and `outings` are how much each car is driven."""

    packs: float | None = None
    wet: Wet | None = None
    ground: Ground | None = None
    air_degC: float | None = None
    outings: float = 1.0


@dataclass(frozen=True, slots=True)
class Going:
    """A car that goes: what it meets, and every way it can fail."""

    car: CarRecord
    build: Build
    ahead: Ahead
    risks: tuple[AtRisk, ...]


@dataclass(frozen=True, slots=True)
class Wanted:
    """One part of one car’s failure: where, by which way to fail, and how many."""

    car: str
    place: Place
    mode: Mode
    demand: Demand
    loss: float  # of one missing piece, minor units


@dataclass(slots=True)
class KindWanted:
    """All that is wanted of one kind of part, and what the box has of it."""

    kind: Kind
    role: str
    name: str
    demand: Demand = NONE
    loss: float = 0.0  # of one missing piece, minor units, averaged by demand
    price: float | None = None  # of one piece, minor units; None where only another currency gives one
    mass_g: float = 0.0
    volume_ml: float = 0.0
    item: BoxItem | None = None
    wanted: list[Wanted] = field(default_factory=list)

    @property
    def have(self) -> int:
        return self.item.count if self.item else 0


def cars_going(workshop: Workshop, names: Sequence[str], day: Day) -> tuple[Ledger, tuple[Going, ...]]:
    """The cars named, or all that are not put away, with what the day holds for each.

    Raises NotKnown for a car that is not here.
    """
    with workshop.store.reading() as reads:
        position = reads.position()
        ledger = ledger_now(reads)
        cars = (
            list({car.id: car for car in (car_called(ledger, name) for name in names)}.values())
            if names
            else [car for car in cars_here(ledger) if car.laid_up_at is None]
        )
        told = stories_of(workshop, reads, ledger, [car.id for car in cars])
    remember(workshop, position, told.told)
    now = workshop.now()
    going = []
    for car in cars:
        once = look_ahead(
            workshop.facts,
            car.habits,
            until=Until.OUTING,
            now=now,
            packs=day.packs,
            wet=day.wet,
            ground=day.ground,
            air_degC=day.air_degC,
        )
        ahead = times(once, day.outings)
        risks = tuple(at_risk(told.of[car.id], car.id, car.id, ahead, now))
        going.append(Going(car, workshop.build(car.build), once, risks))
    return ledger, tuple(going)


def times(ahead: Ahead, outings: float) -> Ahead:
    """What lies ahead in so many outings like this one."""
    return replace(
        ahead,
        packs=ahead.packs * outings,
        running_min=ahead.running_min * outings,
        hard_hits=ahead.hard_hits * outings,
        wet_runs=ahead.wet_runs * outings,
        days=ahead.days * outings,
    )


def wanted_of(
    facts: Facts, going: Going, values: Values, *, trip: float = 0.0, cures: bool = False
) -> Iterable[Wanted]:
    """What the failures ahead of one car want. With `cures` also what is found in time and put right.

    A piece that is missing costs the rest of the outing: half of the running on average, less what running
    the mend would take, and `trip` besides, where the car then stands. All the parts of a failure are needed
    to go on, so each missing one is charged its share.
    """
    rest_min = going.ahead.running_min / 2.0
    share_of_day = facts.assumptions["running_share_of_day"].value
    for risk in going.risks:
        used = {role: share for role, share in risk.mode.failure_parts.items() if going.build.of_role(role)}
        if not used or risk.place is None:
            continue
        lost_min = max(0.0, rest_min - share_of_day * risk.mode.failure_min)
        loss = risk.mode.stops * (lost_min * values.running_minute + trip) / sum(used.values())
        for role, share in used.items():
            if not facts.spare_parts[role].carried:
                continue
            demand = _of_count(risk.failures, risk.failures_spread, share)
            if cures:
                found = max(0.0, risk.presence + risk.rate * risk.exposure * (1.0 - risk.sudden_share))
                in_time = max(0.0, found - (risk.failures - risk.sudden_chance))
                demand = demand + _of_count(in_time, 0.0, risk.mode.cure_parts.get(role, 0.0))
            place = _place(going.build, role, risk.place)
            yield Wanted(going.car.name, place, risk.mode, demand, loss)


def by_kind(
    workshop: Workshop, ledger: Ledger, going: Sequence[Going], values: Values, **said: float
) -> tuple[KindWanted, ...]:
    """Everything wanted, added up by kind of part, with what the box has and what one piece costs."""
    facts = workshop.facts
    items = _items(facts, ledger)
    kinds: dict[Kind, KindWanted] = {}
    for one in going:
        scale = scale_factor(one.build)
        known: dict[str, Kind] = {}
        for wanted in wanted_of(
            facts, one, values, trip=said.get("trip", 0.0), cures=bool(said.get("cures", 0.0))
        ):
            place = wanted.place
            if place.key not in known:
                known[place.key] = kind_of_place(facts, one.build, place)
            kind = known[place.key]
            row = facts.spare_parts[place.role]
            item = items.get(kind)
            sum_up = kinds.get(kind)
            if sum_up is None:
                sum_up = kinds[kind] = KindWanted(
                    kind, place.role, item.name if item else place.part, item=item
                )
                sum_up.price = _price(item, one.build, place, values.currency)
            mean = sum_up.demand.mean + wanted.demand.mean
            if mean > 0.0:
                sum_up.loss = (sum_up.loss * sum_up.demand.mean + wanted.loss * wanted.demand.mean) / mean
            sum_up.demand = sum_up.demand + wanted.demand
            sum_up.mass_g = max(sum_up.mass_g, row.mass_g * scale)
            sum_up.volume_ml = max(sum_up.volume_ml, row.volume_ml * scale)
            sum_up.wanted.append(wanted)
    return tuple(kinds.values())


def first_places(kind: KindWanted, most: int = 3) -> tuple[str, ...]:
    """Where it is likeliest to be wanted, and how it fails there."""
    ranked = sorted(kind.wanted, key=lambda one: -one.demand.mean)
    told = dict.fromkeys(f"{one.car}: {one.mode.name}" for one in ranked if one.demand.mean > 0.0)
    return tuple(told)[:most]


def _of_count(mean: float, spread: float, share: float) -> Demand:
    """Pieces wanted when each of a Poisson count of failures takes `share` pieces on average.

    A failure takes the whole pieces below the share, and one more with the chance that is left; `spread` is
    the variance of the mean itself.
    """
    if mean <= 0.0 or share <= 0.0:
        return NONE
    whole = float(int(share))
    left = share - whole
    square = whole * whole + 2.0 * whole * left + left
    pieces = mean * share
    return Demand(pieces, max(pieces, mean * square + share * share * spread))


def _place(build: Build, role: str, failed: Place) -> Place:
    """The place of that role that goes with the one that failed: itself, or one with the same first word."""
    if failed.role == role:
        return failed
    here = build.of_role(role)
    end = failed.name.split(" ")[0].casefold()
    return next((place for place in here if place.name.split(" ")[0].casefold() == end), here[0])


def _items(facts: Facts, ledger: Ledger) -> Mapping[Kind, BoxItem]:
    found: dict[Kind, BoxItem] = {}
    for item in ledger.stock.kept():
        kind = kind_of_item(facts, item)
        if kind is not None and (kind not in found or found[kind].count < item.count):
            found[kind] = item
    return found


def _price(item: BoxItem | None, build: Build, place: Place, currency: str) -> float | None:
    if item is not None and item.price is not None and item.price.currency == currency:
        return float(item.price.minor)
    return float(place.price_minor) if build.currency == currency else None


def car_ids(going: Iterable[Going]) -> frozenset[UUID]:
    """The cars that go."""
    return frozenset(one.car.id for one in going)
