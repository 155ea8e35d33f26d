"""What it all costs: paid by month and kind, and what running used up by car, hour and outing.

Money is whole minor units of one currency. Amounts in another currency are listed by themselves and never
added. Every sum is the sum of the lines that are handed over with it.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from enum import Enum
from uuid import UUID

from snugfast.core.figures import Figure, Origin
from snugfast.core.zones import local_day
from snugfast.facts.model import Facts, Mode
from snugfast.records.box import taken_by
from snugfast.records.entries import (
    BoxArrived,
    BoxOrdered,
    Broke,
    CaughtUp,
    ChargerAdded,
    Checked,
    Done,
    Entry,
    Failed,
    Hunted,
    Money,
    PackAdded,
    PackLeft,
    PartFitted,
    Ran,
    SheetDone,
    TreatmentDone,
)
from snugfast.records.ledger import Ledger
from snugfast.records.moments import read_moment
from snugfast.records.standing import standing
from snugfast.usecases.beliefs.stakes import Values, costs_of_mode, role_prices
from snugfast.usecases.shared.citing import Cited, cited
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.telling import mark_of
from snugfast.usecases.shared.typed_words import read_budget
from snugfast.usecases.shared.workshop import Workshop

OWN = Origin("mine", "what you entered as paid")
GUESSED = Origin(
    "elicited-2026", "how long a pack lasts, and how many of the defects found would have failed"
)
LONGEST_SHEET_MIN = 240.0  # a sheet left open over night is no bench time


class For(Enum):
    """What money went for."""

    TYRES = "tyres"
    PARTS = "parts fitted"
    UPKEEP = "upkeep at checks"
    BREAKAGE = "breakage"
    PACKS = "packs"
    CHARGERS = "chargers"
    BOX = "into the box"


class Used(Enum):
    """What running used up."""

    TYRES = "tyres"
    PARTS = "parts fitted"
    UPKEEP = "upkeep at checks"
    BREAKAGE = "breakage"
    FROM_BOX = "from the box"
    PACKS = "packs by wear"
    BENCH = "bench time"


@dataclass(frozen=True, slots=True)
class Paid:
    """One payment of the journal."""

    mark: str
    day: str
    what: For
    words: str
    car: str
    minor: int
    currency: str

    @property
    def month(self) -> str:
        """Like 2026-05."""
        return self.day[:7]


@dataclass(frozen=True, slots=True)
class UsedUp:
    """One thing that was used up, by a car where that is known."""

    day: str
    what: Used
    car: str
    minor: int

    @property
    def month(self) -> str:
        """Like 2026-05."""
        return self.day[:7]


@dataclass(frozen=True, slots=True)
class MonthPaid:
    """What a month cost, by kind; the kinds add up to the sum."""

    month: str
    by_kind: tuple[tuple[str, int], ...]
    minor: int


@dataclass(frozen=True, slots=True)
class CarCost:
    """What one car used up. None stands for sums that no running was logged for."""

    car: str
    by_kind: tuple[tuple[str, int], ...]
    minor: int
    without_bench: int
    hours: float
    outings: int
    per_hour: Figure | None
    per_outing: Figure | None


@dataclass(frozen=True, slots=True)
class Avoided:
    """What was found in time, and what broke all the same. The band: a third of it, or all, had failed."""

    found: int
    saved: Figure
    broke: int
    broke_cost: Figure


@dataclass(frozen=True, slots=True)
class MoneyTold:
    """Money of the time asked for, in one currency."""

    currency: str
    since: str
    until: str
    paid: tuple[Paid, ...]
    used: tuple[UsedUp, ...]
    months: tuple[MonthPaid, ...]
    paid_minor: int
    by_kind: tuple[tuple[str, int], ...]
    cars: tuple[CarCost, ...]
    together: CarCost
    avoided: Avoided
    budget_minor: int | None
    left_minor: int | None
    elsewhere: tuple[Money, ...]  # sums in other currencies, never added
    sources: tuple[Cited, ...] = ()


def money_told(workshop: Workshop, since: str = "", until: str = "", budget: str = "") -> MoneyTold:
    """What was paid and used up, from one day to another where these were said.

    Raises BadInput for words that are no days or no money.
    """
    now, zone = workshop.now(), workshop.zone
    first = read_moment(since, now=now, zone=zone).at if since.strip() else None
    last = read_moment(until, now=now, zone=zone).at if until.strip() else None
    days = tuple(local_day(at, zone) if at else "" for at in (first, last))
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
        entries = standing(row.entry for row in reads.entries_after(0)).entries
    values = Values.of(ledger.settings, workshop.facts)
    reading = _Reading(workshop, ledger, values)
    everything = [line for entry in entries for line in reading.paid(entry)]
    used = [line for line in reading.used(entries) if _within(line.day, *days)]
    here = [line for line in everything if _within(line.day, *days)]
    paid = tuple(line for line in here if line.currency == values.currency)
    others: Counter[str] = Counter()
    for line in here:
        if line.currency != values.currency:
            others[line.currency] += line.minor
    planned = read_budget(budget, ledger)
    asked = None if planned is None else round(planned * 100.0)
    total = sum(line.minor for line in paid)
    running = reading.running(entries, *days)
    told = MoneyTold(
        currency=values.currency,
        since=days[0],
        until=days[1],
        paid=paid,
        used=tuple(used),
        months=_months(paid),
        paid_minor=total,
        by_kind=_by(paid),
        cars=tuple(
            _car(name, [line for line in used if line.car == name], running[name], values.currency)
            for name in sorted({*running, *(line.car for line in used if line.car)} - {""}, key=str.casefold)
        ),
        together=_car("all cars", used, running[""], values.currency),
        avoided=reading.avoided(entries, *days),
        budget_minor=asked,
        left_minor=asked - total if asked is not None else None,
        elsewhere=tuple(Money(minor, currency) for currency, minor in sorted(others.items())),
    )
    return replace(
        told,
        sources=cited(
            workshop.facts, (told.together, told.avoided, Figure(total / 100.0, "", origins=(OWN,)))
        ),
    )


@dataclass(frozen=True, slots=True)
class _Ran:
    """Running of a car in the time asked for."""

    hours: float = 0.0
    outings: int = 0


class _Reading:
    """Reads the journal as money."""

    def __init__(self, workshop: Workshop, ledger: Ledger, values: Values) -> None:
        self.workshop = workshop
        self.facts: Facts = workshop.facts
        self.ledger = ledger
        self.values = values
        self.names = {car.id: car.name for car in ledger.cars.values()}

    def paid(self, entry: Entry) -> Iterator[Paid]:
        """The payments that one entry tells of."""
        match entry.fact:
            case PackAdded(name=name, price=Money() as price):
                yield self._paid(entry, For.PACKS, name, None, price)
            case ChargerAdded(name=name, price=Money() as price):
                yield self._paid(entry, For.CHARGERS, name, None, price)
            case PartFitted(car=car, name=name, spent=Money() as spent) as fitted:
                yield self._paid(entry, self._kind(fitted), name, car, spent)
            case Checked(car=car, check=check, spent=Money() as spent):
                known = self.facts.checks.get(check)
                yield self._paid(entry, For.UPKEEP, known.name if known else check, car, spent)
            case Failed(car=car, broke=Broke(spent=Money() as spent) as broke):
                yield self._paid(entry, For.BREAKAGE, self._mode(broke), car, spent)
            case Hunted(car=car, broke=Broke(spent=Money() as spent) as broke):
                yield self._paid(entry, For.BREAKAGE, self._mode(broke), car, spent)
            case Ran(car=car, broke=several):
                for broke in several:
                    if broke.spent is not None:
                        yield self._paid(entry, For.BREAKAGE, self._mode(broke), car, broke.spent)
            case (
                BoxOrdered(item=item, spent=Money() as spent) | BoxArrived(item=item, spent=Money() as spent)
            ):
                yield self._paid(entry, For.BOX, self._item(item), None, spent)
            case _:
                return

    def used(self, entries: Sequence[Entry]) -> Iterator[UsedUp]:
        """What was used up: what was paid for a car, what left the box, packs by wear, bench time."""
        prices = self._box_prices(entries)
        packs = _PackWear(entries, self.values.currency, self.workshop.assume("pack_life_runs"))
        for entry in entries:
            day = self.local_day(entry)
            for line in self.paid(entry):
                if line.car and line.currency == self.values.currency:
                    yield UsedUp(day, Used(line.what.value), line.car, line.minor)
            car = self.names.get(getattr(entry.fact, "car", None), "")  # type: ignore[arg-type]
            taken = round(sum(one.count * prices.get(one.item, 0.0) for one in taken_by(entry.fact)))
            if taken:
                yield UsedUp(day, Used.FROM_BOX, car, taken)
            worn = packs.worn(entry)
            if worn:
                yield UsedUp(day, Used.PACKS, car, worn)
        for day, car, minutes in self._bench(entries):
            minor = round(minutes * self.values.bench_minute)
            if minor:
                yield UsedUp(day, Used.BENCH, car, minor)

    def running(self, entries: Iterable[Entry], since: str, until: str) -> Mapping[str, _Ran]:
        """Hours and outings of each car; "" is all cars, an outing being a day that any of them ran."""
        minutes: dict[str, float] = defaultdict(float)
        days: dict[str, set[str]] = defaultdict(set)
        for entry in entries:
            if isinstance(entry.fact, Ran | CaughtUp) and _within(self.local_day(entry), since, until):
                name = self.names.get(entry.fact.car, "")
                for one in dict.fromkeys((name, "")):
                    minutes[one] += entry.fact.running_min
                    if isinstance(entry.fact, Ran):
                        days[one].add(self.local_day(entry))
        found: dict[str, _Ran] = defaultdict(_Ran)
        found.update({name: _Ran(total / 60.0, len(days[name])) for name, total in minutes.items()})
        return found

    def avoided(self, entries: Iterable[Entry], since: str, until: str) -> Avoided:
        """What failing would have cost beyond the cure of what was found, and what failures did cost."""
        found, spared, broken, lost = 0, 0.0, 0, 0.0
        for entry in entries:
            if not _within(self.local_day(entry), since, until):
                continue
            for car, mode, is_break in _events(entry, self.facts):
                restore, failure = self._costs(car, mode)
                if is_break:
                    broken, lost = broken + 1, lost + failure
                else:
                    found, spared = found + 1, spared + max(0.0, failure - restore)
        unit, third = self.values.currency, self.workshop.assume("found_would_fail_least")
        middle = spared * (1.0 + third) / 2.0
        saved = Figure(middle / 100.0, unit, origins=(GUESSED,))
        return Avoided(
            found,
            saved.with_band(third * spared / 100.0, spared / 100.0),
            broken,
            Figure(lost / 100.0, unit, origins=(GUESSED,)),
        )

    def _costs(self, car: UUID, mode: Mode) -> tuple[float, float]:
        record = self.ledger.cars.get(car)
        build = self.workshop.build(record.build) if record else None
        prices = role_prices(build) if build and build.currency == self.values.currency else {}
        return costs_of_mode(mode, prices, self.values)

    def _bench(self, entries: Sequence[Entry]) -> Iterator[tuple[str, str, float]]:
        """(day, car, minutes) at the bench: minutes that were said, and the rest of a sheet’s own time."""
        said: list[tuple[datetime, UUID, float]] = []
        for entry in entries:
            match entry.fact:
                case (
                    Checked(car=car, minutes=float() as minutes)
                    | TreatmentDone(car=car, minutes=float() as minutes)
                ):
                    pass
                case Failed(car=car, broke=Broke(minutes=float() as minutes)):
                    pass
                case Hunted(car=car, broke=Broke(minutes=float() as minutes)):
                    pass
                case _:
                    continue
            said.append((entry.happened_at, car, minutes))
            yield self.local_day(entry), self.names.get(car, ""), minutes
        for entry in entries:
            if isinstance(entry.fact, SheetDone):
                sheet = entry.fact
                spent_min = (entry.happened_at - sheet.began_at).total_seconds() / 60.0
                inside = sum(
                    minutes
                    for at, car, minutes in said
                    if car in sheet.cars and sheet.began_at <= at <= entry.happened_at
                )
                rest = max(0.0, min(spent_min, LONGEST_SHEET_MIN) - inside) / max(1, len(sheet.cars))
                for car in sheet.cars:
                    yield self.local_day(entry), self.names.get(car, ""), rest

    def _box_prices(self, entries: Iterable[Entry]) -> Mapping[UUID, float]:
        """What one piece of each part of the box cost: as paid on average, else as entered; minor units."""
        minor: Counter[UUID] = Counter()
        pieces: Counter[UUID] = Counter()
        for entry in entries:
            match entry.fact:
                case (
                    BoxOrdered(item=item, count=count, spent=Money() as spent)
                    | BoxArrived(item=item, count=count, spent=Money() as spent)
                ) if spent.currency == self.values.currency:
                    minor[item] += spent.minor
                    pieces[item] += count
                case _:
                    continue
        entered = {
            item.id: float(item.price.minor)
            for item in self.ledger.stock.items.values()
            if item.price and item.price.currency == self.values.currency
        }
        return {**entered, **{item: minor[item] / pieces[item] for item in minor if pieces[item]}}

    def _paid(self, entry: Entry, what: For, words: str, car: UUID | None, money: Money) -> Paid:
        name = self.names.get(car, "") if car else ""
        return Paid(mark_of(entry.id), self.local_day(entry), what, words, name, money.minor, money.currency)

    def _kind(self, fitted: PartFitted) -> For:
        record = self.ledger.cars.get(fitted.car)
        places = record.build.get("place", ()) if record else ()
        role = next((place["role"] for place in places if place["key"] == fitted.place), "")
        return For.TYRES if role in ("tyre", "insert") else For.PARTS

    def _mode(self, broke: Broke) -> str:
        mode = self.facts.modes.get(broke.mode or "")
        return mode.name if mode else broke.words or "cause unknown"

    def _item(self, item: UUID) -> str:
        known = self.ledger.stock.items.get(item)
        return known.name if known else "a part"

    def local_day(self, entry: Entry) -> str:
        return local_day(entry.happened_at, entry.zone)


class _PackWear:
    """What each run wears off the price of its packs: even shares over the runs a pack lasts, never more.

    A pack that leaves before is worn off with what is left of its price.
    """

    def __init__(self, entries: Iterable[Entry], currency: str, life_runs: float) -> None:
        self.price = {
            entry.fact.pack: entry.fact.price.minor
            for entry in entries
            if isinstance(entry.fact, PackAdded)
            and entry.fact.price is not None
            and entry.fact.price.currency == currency
        }
        self.life_runs = life_runs
        self.runs: Counter[UUID] = Counter()
        self.gone: Counter[UUID] = Counter()

    def worn(self, entry: Entry) -> int:
        """Minor units that this entry wears off; whole, and the price in all."""
        match entry.fact:
            case Ran(packs=packs):
                worn = 0
                for pack in packs:
                    self.runs[pack] += 1
                    worn += self._to(pack, min(1.0, self.runs[pack] / self.life_runs))
                return worn
            case PackLeft(pack=pack):
                return self._to(pack, 1.0)
            case _:
                return 0

    def _to(self, pack: UUID, share: float) -> int:
        upto = round(self.price.get(pack, 0) * share)
        step = max(0, upto - self.gone[pack])
        self.gone[pack] += step
        return step


def _events(entry: Entry, facts: Facts) -> Iterator[tuple[UUID, Mode, bool]]:
    """(car, way to fail, whether it failed) of what was found in time and cured, and of what broke."""
    match entry.fact:
        case Checked(car=car, answers=answers, looked=True, pack=None):
            for answer in answers:
                if answer.mode and answer.mode in facts.modes and answer.done is not Done.LEFT:
                    yield car, facts.modes[answer.mode], False
        case Failed(car=car, broke=broke) | Hunted(car=car, broke=Broke() as broke):
            if broke.mode and broke.mode in facts.modes:
                yield car, facts.modes[broke.mode], True
        case Ran(car=car, broke=several):
            for broke in several:
                if broke.mode and broke.mode in facts.modes:
                    yield car, facts.modes[broke.mode], True
        case _:
            return


def _months(paid: Iterable[Paid]) -> tuple[MonthPaid, ...]:
    by_month: dict[str, list[Paid]] = defaultdict(list)
    for line in paid:
        by_month[line.month].append(line)
    return tuple(
        MonthPaid(month, _by(lines), sum(line.minor for line in lines))
        for month, lines in sorted(by_month.items())
    )


def _by(lines: Iterable[Paid] | Iterable[UsedUp]) -> tuple[tuple[str, int], ...]:
    sums: Counter[str] = Counter()
    for line in lines:
        sums[line.what.value] += line.minor
    return tuple(sums.most_common())


def _car(name: str, used: Sequence[UsedUp], ran: _Ran, unit: str) -> CarCost:
    total = sum(line.minor for line in used)
    origins = (OWN, GUESSED)
    return CarCost(
        car=name,
        by_kind=_by(used),
        minor=total,
        without_bench=sum(line.minor for line in used if line.what is not Used.BENCH),
        hours=ran.hours,
        outings=ran.outings,
        per_hour=Figure(total / 100.0 / ran.hours, unit, origins=origins) if ran.hours else None,
        per_outing=Figure(total / 100.0 / ran.outings, unit, origins=origins) if ran.outings else None,
    )


def _within(day: str, since: str, until: str) -> bool:
    return (not since or day >= since) and (not until or day <= until)
