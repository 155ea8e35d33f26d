"""What has a date: packs to store or recharge, work after wet, parts that will be worn, the next sheet.

What was published is remembered beside the journal, so that a calendar can be told what changed and what no
longer holds. Dropped, nothing is lost but the cancellations: changes are numbered by the clock, which goes
on.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from hashlib import sha256
from math import log
from urllib.parse import quote
from uuid import UUID

from snugfast.core.ids import derived
from snugfast.core.vocabulary import in_sentence
from snugfast.core.zones import local_time
from snugfast.facts.model import Arrival
from snugfast.records.store.troubles import StoreTrouble
from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.bench.outlook import Outlook, outlooks
from snugfast.usecases.packs.state import PackSeen, packs_now
from snugfast.usecases.packs.today import STORING
from snugfast.usecases.shared.cautions import cautions_of
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop

PUBLISHED = "dates published"
FORM = "1"
FAMILY = UUID("6f1d7a52-0c1e-5d0b-9a55-2b9f0f2c7a11")  # ours, to derive identities of dates from
EPOCH = datetime(2026, 1, 1, tzinfo=UTC)
WORN_AT = 0.5  # elicited: a part is taken to be worn when that is as likely as not
WORN_WITHIN = timedelta(days=120)  # beyond it a date says nothing
PACKS_WITHIN = timedelta(days=120)
CANCELLED_FOR = timedelta(days=30)
EARLIER_BY = timedelta(days=1)  # the sheet comes the evening before the outing


@dataclass(frozen=True, slots=True)
class DueDate:
    """One date. `minutes` tells work with a moment from a thing of the whole day (None)."""

    uid: UUID
    at: datetime
    title: str
    text: str
    path: str  # of its page
    minutes: float | None = None
    sequence: int = 0
    changed_at: datetime = EPOCH
    cancelled: bool = False

    @property
    def mark(self) -> str:
        """Changes with anything a calendar shows. A day is a day: hours do not count where none are shown."""
        when = self.at.isoformat() if self.minutes is not None else f"{self.at:%Y-%m-%d}"
        return sha256(json.dumps((when, self.title, self.text, self.minutes)).encode()).hexdigest()[:16]


def due_dates(workshop: Workshop) -> tuple[DueDate, ...]:
    """All that has a date now, the earliest first; not yet compared with what was published."""
    packs = packs_now(workshop)
    dates = [date for seen in packs.packs for date in _pack(workshop, seen, packs.at)]
    seen = outlooks(workshop, lambda ledger: [car for car in cars_here(ledger) if car.laid_up_at is None])
    for outlook in seen.cars:
        dates += _wet(outlook)
        dates += _worn(workshop, outlook)
        dates += _next_sheet(workshop, outlook)
    return tuple(sorted(dates, key=lambda date: (date.at, date.title)))


def published(workshop: Workshop) -> tuple[DueDate, ...]:
    """The dates as a calendar gets them: numbered changes, and what no longer holds as cancelled."""
    now = workshop.now()
    number = int((now - EPOCH).total_seconds() // 60)
    before = _before(workshop)
    dates = []
    for date in due_dates(workshop):
        held = before.pop(date.uid, None)
        if held is not None and held.mark == date.mark and not held.cancelled:
            dates.append(replace(date, sequence=held.sequence, changed_at=held.changed_at))
        else:
            least = held.sequence + 1 if held else 0
            dates.append(replace(date, sequence=max(number, least), changed_at=now))
    for held in before.values():
        if held.cancelled and now - held.changed_at < CANCELLED_FOR:
            dates.append(held)
        elif not held.cancelled:
            gone = replace(held, cancelled=True, sequence=max(number, held.sequence + 1), changed_at=now)
            dates.append(gone)
    _remember(workshop, dates)
    return tuple(dates)


def _pack(workshop: Workshop, seen: PackSeen, now: datetime) -> Iterator[DueDate]:
    """By when a pack has to be stored or recharged, as it was said to stand."""
    case = seen.state.case
    if case is None or case.by is None or case.by > now + PACKS_WITHIN:
        return
    told = " ".join(one.short for one in cautions_of(workshop.facts, STORING))
    yield DueDate(
        derived(FAMILY, f"pack {seen.state.id}"),
        max(case.by, now),
        f"{seen.state.name}: store or recharge",
        f"By this day, if nothing else happens to it. {told}",
        f"/packs/{seen.state.id}",
    )


def _wet(outlook: Outlook) -> Iterator[DueDate]:
    for due in outlook.treatments:
        assert due.due is not None  # wet work has a deadline
        told = " ".join(one.short or one.text for one in due.cautions)
        yield DueDate(
            derived(FAMILY, f"wet {due.car} {due.treatment} {due.due.isoformat()}"),
            due.due - timedelta(minutes=due.minutes),
            f"{due.car_name}: {due.name}",
            f"{due.when[:1].upper()}{due.when[1:]}. When it is late: {due.when_late} {told}".strip(),
            f"/sheet?car={quote(due.car_name)}&minutes=20&make=1",
            minutes=due.minutes,
        )


def _worn(workshop: Workshop, outlook: Outlook) -> Iterator[DueDate]:
    """When a part that wears out will be worn as likely as not, at the rate of the outings to come."""
    for risk in outlook.risks:
        days = _days_until_worn(risk, outlook.ahead.days)
        if days is None or timedelta(days=days) > WORN_WITHIN:
            continue
        where = f" ({risk.place.name})" if risk.place else ""
        spot = f"{risk.pack or risk.car} {risk.mode.key} {risk.mark}"
        yield DueDate(
            derived(FAMILY, f"worn {spot}"),
            _last_run(outlook, workshop.now()) + timedelta(days=days),
            f"{outlook.car.name}: {in_sentence(risk.mode.name)}{where}, check and replace",
            f"As likely as not by this day, if you go on driving as you do. {risk.mode.cure}",
            f"/cars/{outlook.car.id}",
        )


def _days_until_worn(risk: AtRisk, days_ahead: float) -> float | None:
    """Days until the chance of a defect reaches `WORN_AT`: 1 − (1 − p₀)·exp(−rate·exposure). None: never."""
    per_day = risk.rate * risk.exposure / days_ahead if days_ahead > 0.0 else 0.0
    wears = risk.mode.arrival is Arrival.WEAR_OUT
    if not wears or per_day <= 0.0 or risk.presence >= WORN_AT:
        return None  # what is worn already stands on the sheet
    return log((1.0 - risk.presence) / (1.0 - WORN_AT)) / per_day


def _next_sheet(workshop: Workshop, outlook: Outlook) -> Iterator[DueDate]:
    """The evening before the next outing, if the car goes out as it did; nothing once that was long ago."""
    habits, now = outlook.car.habits, workshop.now()
    if habits.last_run_at is None or outlook.ahead.days <= 0.0:
        return
    rhythm = timedelta(days=outlook.ahead.days)
    outing = habits.last_run_at + rhythm
    if now > outing + rhythm:
        return
    chance = f"{outlook.stop_chance.value * 100:.0f} %"
    yield DueDate(
        derived(FAMILY, f"sheet {outlook.car.id}"),
        max(outing - EARLIER_BY, habits.last_run_at),
        f"{outlook.car.name}: bench sheet before the next outing",
        "If it goes out as often as it did."
        + (f" Chance of a breakdown next time out: {chance}." if outlook.stop_chance.value >= 0.01 else ""),
        f"/sheet?car={quote(outlook.car.name)}&minutes=20&make=1",
    )


def _last_run(outlook: Outlook, now: datetime) -> datetime:
    """Wear counts from the last run: standing on the shelf does not move the date from day to day."""
    return outlook.car.habits.last_run_at or now


def day_of(date: DueDate, zone: str) -> str:
    """The day, or the moment, of a date where it happens."""
    here = local_time(date.at, zone)
    return f"{here:%Y-%m-%d %H:%M}" if date.minutes is not None else f"{here:%Y-%m-%d}"


def _before(workshop: Workshop) -> dict[UUID, DueDate]:
    with workshop.store.reading() as reads:
        kept = reads.projection(PUBLISHED, FAMILY)
    if kept is None or kept.fingerprint != FORM:
        return {}
    return {date.uid: date for date in map(_read, json.loads(kept.payload))}


def _remember(workshop: Workshop, dates: list[DueDate]) -> None:
    if workshop.read_only:
        return
    payload = json.dumps([_plain(date) for date in dates], ensure_ascii=False).encode()
    with suppress(StoreTrouble), workshop.store.work() as work:
        position = work.reads.position()
        work.projections.put(PUBLISHED, FAMILY, position=position, fingerprint=FORM, payload=payload)
        work.commit()


def _plain(date: DueDate) -> Mapping[str, object]:
    return {
        "uid": str(date.uid),
        "at": date.at.isoformat(),
        "title": date.title,
        "text": date.text,
        "path": date.path,
        "minutes": date.minutes,
        "sequence": date.sequence,
        "changed_at": date.changed_at.isoformat(),
        "cancelled": date.cancelled,
    }


def _read(held: Mapping[str, object]) -> DueDate:
    minutes = held["minutes"]
    return DueDate(
        UUID(str(held["uid"])),
        datetime.fromisoformat(str(held["at"])),
        str(held["title"]),
        str(held["text"]),
        str(held["path"]),
        float(str(minutes)) if minutes is not None else None,
        int(str(held["sequence"])),
        datetime.fromisoformat(str(held["changed_at"])),
        bool(held["cancelled"]),
    )
