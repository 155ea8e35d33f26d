"""How the people of the demo write their season down: through the same use-cases as everybody.

They do not use our sheet. They look at what they are used to looking at, miss some of it, now and then tick
a check without looking, forget a run and add it later. The scribe knows the truth only to find out what they
see.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from random import Random
from uuid import UUID

from snugfast.app.demo.cast import NOTICED, PACKS, CastCar, CastPack
from snugfast.app.demo.hidden import Hidden, HiddenRow
from snugfast.app.demo.season import Drive
from snugfast.core.ids import compose
from snugfast.core.zones import local_time, zone_called
from snugfast.facts.model import Arrival, Build, Check, Event, Mode, Place
from snugfast.records.entries import Entry, Ground, PackLeft, Ran, TreatmentDone, Wet, WorkDone
from snugfast.usecases.journal.bench_answers import FoundSaid, draft_found
from snugfast.usecases.journal.cars import draft_fitted
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_broke
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.applicability import car_checks, car_modes, of_pack, opening, pack_modes
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_and_build, car_called, pack_called
from snugfast.usecases.shared.typed_words import find_place
from snugfast.usecases.shared.workshop import Workshop

FIRST_RUN = time(13, 30)
HOME = time(16, 45)
BENCH = time(19, 0)
BETWEEN_RUNS = timedelta(minutes=38)
UNKNOWN_CAUSES = 3
"""So many breaks of the season nobody could explain."""


@dataclass(slots=True)
class SeasonClock:
    """The only clock of the demo; the story moves it."""

    at: datetime

    def __call__(self) -> datetime:
        return self.at


@dataclass(slots=True)
class SeededWorkshop(Workshop):
    """A workshop whose identities follow from a seed, so that the same season is the same journal."""

    noise: Random = field(default_factory=Random)
    minted: int = 0

    def new_id(self) -> UUID:
        """The next identity; later ones sort later, within one moment too."""
        self.minted += 1
        noise = self.minted.to_bytes(2, "big") + self.noise.randbytes(8)
        return compose(int(self.now().timestamp() * 1000), noise)


class Scribe:
    """Writes one season into one workshop."""

    def __init__(self, workshop: SeededWorkshop, clock: SeasonClock, hidden: Hidden, seed: int) -> None:
        self.workshop = workshop
        self.facts = workshop.facts
        self.clock = clock
        self.hidden = hidden
        self.chance = Random(f"{seed}/people")
        self.people: dict[str, UUID] = {}
        self.unknown_left = UNKNOWN_CAUSES
        self.day_of: dict[str, datetime] = {}
        self.turn: dict[str, int] = {}
        self.builds: dict[str, Build] = {}
        self.cars: dict[str, UUID] = {}
        self.packs = list(PACKS)
        self.to_fit: list[tuple[str, Place]] = []
        self.packs_done_for: list[CastPack] = []

    def build(self, car: str) -> Build:
        """The build of a car as it stands; read again after it was edited."""
        if car not in self.builds:
            self.builds[car] = car_and_build(self.workshop, car)[1]
        return self.builds[car]

    # Time and people.

    def at(self, day: date, clock_time: time) -> None:
        """Move the clock to a time of day where the workshop is."""
        local = datetime.combine(day, clock_time, tzinfo=zone_called(self.workshop.zone))
        self.clock.at = local.astimezone(self.clock.at.tzinfo)

    def later(self, minutes: float) -> None:
        """Move the clock on."""
        self.clock.at += timedelta(minutes=minutes)

    def by(self, nickname: str) -> None:
        """Who writes from now on."""
        self.workshop.author = self.people[nickname]

    def keep(self, entries: Iterable[Entry]) -> Sequence[Entry]:
        """Keep what was drafted."""
        kept = tuple(entries)
        keep(self.workshop, kept)
        return kept

    # Joining.

    def car_joined(self, car: CastCar) -> None:
        """The truth of a car that has just been kept begins."""
        build = self.build(car.name)
        second_hand = car.history != "new"
        self.hidden.join(car.name, car_modes(self.facts, build), second_hand=second_hand)
        self.hidden.came(car.name, second_hand=second_hand)
        self.day_of[car.name] = self.clock.at
        with self.workshop.store.reading() as reads:
            self.cars[car.name] = car_called(ledger_now(reads), car.name).id

    def pack_drafted(self, pack: CastPack) -> Entry:
        """A pack joins."""
        modes = ((mode, None) for mode in pack_modes(self.facts, pack.chemistry))
        self.hidden.join(pack.name, modes, second_hand=False)
        said = PackSaid(pack.name, str(pack.cells), f"{pack.capacity_mAh} mAh", pack.chemistry)
        return draft_pack(self.workshop, said)

    def packs_replaced(self) -> list[Entry]:
        """Packs that are done for leave, and new ones come."""
        entries: list[Entry] = []
        for pack in dict.fromkeys(self.packs_done_for):
            self.packs.remove(pack)
            entries.append(self.pack_left(pack.name, "done for, handed in at the battery recycling point"))
            kind = pack.name.split()[0]
            number = sum(name.startswith(f"{kind} ") for name in self.hidden.rows) + 1
            new = replace(pack, name=f"{kind} {number}")
            self.packs.append(new)
            entries.append(self.pack_drafted(new))
        self.packs_done_for.clear()
        return entries

    def pack_left(self, name: str, why: str) -> Entry:
        """A pack leaves."""
        with self.workshop.store.reading() as reads:
            pack = pack_called(ledger_now(reads), name)
        return self.workshop.entry(PackLeft(pack.id, why))

    # Lying about.

    def days_pass(self, car: str) -> list[Entry]:
        """What went wrong by itself since the last time, found when the car is wanted."""
        days = (self.clock.at - self.day_of[car]) / timedelta(days=1)
        self.day_of[car] = self.clock.at
        return [entry for row in self.hidden.waited(car, days) for entry in self.found_broken(car, row)]

    def found_broken(self, car: str, row: HiddenRow) -> tuple[Entry, ...]:
        """Something found broken outside a run, and put right."""
        renewed = _is_renewed(row.mode, row.mode.failure_parts)
        words = f"{self._broken_words(row)}: {_done(renewed)}"
        self.hidden.put_right(row, renewed=renewed)
        return draft_broke(self.workshop, car, words, minutes=f"{row.mode.failure_min:g}").entries

    def lent(self, car: str, drive: Drive, wet: str = "dry") -> list[HiddenRow]:
        """A drive that nobody writes down; what failed in it."""
        return self.hidden.ran(car, _true_run(drive, wet))

    # Running.

    def drive(self, car: CastCar, pack: CastPack, drive: Drive, wet: str, ambient: int) -> RunSaid:
        """One drive as it was, and what is written about it."""
        when = local_time(self.clock.at, self.workshop.zone)
        true = _true_run(drive, wet, ambient)
        broke = [self._broke(car.name, row) for row in self.hidden.ran(car.name, true)]
        for row in self.hidden.ran(pack.name, true):
            broke.append(self._pack_broke(pack, row))
        return RunSaid(
            car=car.name,
            packs=(pack.name,),
            minutes=f"about {drive.minutes:g}" if self.chance.random() < 0.2 else f"{drive.minutes:g}",
            when=f"{when:%Y-%m-%d %H:%M}",
            ground=drive.ground,
            wet=wet,
            hits=self._hits_said(drive.hits),
            ambient=f"{ambient} °C" if self.chance.random() < 0.7 else "",
            readings=self._readings(car, ambient),
            put_back=f"{self._taken_mAh(car, pack, drive):.0f} mAh" if self.chance.random() < 0.3 else "",
            noticed=(self.chance.choice(NOTICED),) if self.chance.random() < 0.06 else (),
            broke=tuple(broke),
        )

    def _hits_said(self, hits: int) -> str:
        """People count one or two; of more they say a few or many."""
        if hits == 0:
            return "none"
        if hits <= 2:
            return str(hits)
        return "a few" if hits <= 5 else "many"

    def _taken_mAh(self, car: CastCar, pack: CastPack, drive: Drive) -> float:
        """What the drive took out of the pack: so many minutes at what such a car draws there."""
        drawn_Ah = drive.minutes / 60.0 * car.amps.get(drive.ground, 10.0) * self.chance.gauss(1.0, 0.07)
        return round(min(0.85 * pack.capacity_mAh, 1000.0 * drawn_Ah), -1)

    def _readings(self, car: CastCar, ambient: int) -> tuple[str, ...]:
        if self.chance.random() > 0.25:
            return ()
        can = round(ambient + self.chance.gauss(car.can_rise_K, 6.0))
        after = f" {self.chance.randint(10, 60)} s" if self.chance.random() < 0.85 else ""
        readings = [f"motor can {can} °C{after}"]
        if self.chance.random() < 0.4:
            readings.append(f"controller {ambient + self.chance.randint(15, 35)} °C{after}")
        return tuple(readings)

    def _broke(self, car: str, row: HiddenRow) -> str:
        """How a failure is written down, and what was done about it there and then."""
        if self.unknown_left and self.chance.random() < 0.1:
            self.unknown_left -= 1
            self.hidden.put_right(row, renewed=False)
            return "unknown"
        words = self._broken_words(row)
        part_is_gone = _is_renewed(row.mode, row.mode.failure_parts)
        if part_is_gone and row.place is not None and not row.place.spots:
            self.to_fit.append((car, row.place))
            return f"{words}: left as it is"
        self.hidden.put_right(row, renewed=part_is_gone)
        return f"{words}: {_done(part_is_gone)}"

    def _pack_broke(self, pack: CastPack, row: HiddenRow) -> str:
        """A pack that is done for is not used again."""
        if row.mode.failure_parts.get("pack", 0.0) >= 0.8:
            self.packs_done_for.append(pack)
            return f"{row.mode.name}: left as it is"
        self.hidden.put_right(row, renewed=False)
        return f"{row.mode.name}: put right"

    def _broken_words(self, row: HiddenRow) -> str:
        return f"{row.mode.name}{self._where(row)}"

    # The bench.

    def treated(self, car: CastCar, wet: str) -> list[Entry]:
        """What is done at once after a wet run; nobody here leaves a car standing wet.

        Written without asking first what is due, which would tell the whole story of the car each time.
        """
        due = [treatment for treatment in self.facts.treatments.values() if wet in treatment.after]
        settled = {key for treatment in due for key in treatment.includes}
        return [
            self.workshop.entry(TreatmentDone(self.cars[car.name], treatment.key, treatment.minutes))
            for treatment in due
            if treatment.key not in settled
        ]

    def evening(self, car: CastCar, keys: Iterable[str], pack: CastPack | None = None) -> list[Entry]:
        """Some checks one after the other, and what was seen."""
        build = self.build(car.name)
        known = {check.key: check for check in car_checks(self.facts, build)}
        opened: set[str] = set()
        entries: list[Entry] = []
        for key in keys:
            check = known.get(key)
            if check is None or (of_pack(self.facts, check) and pack is None):
                continue
            entries += self._check(car.name, check, build, pack, opened)
            self.later(check.minutes + 0.5)
        return entries

    def usual_checks(self, car: CastCar) -> list[str]:
        """What this car's keeper looks at tonight: the nuts most times, of the rest the next ones in turn."""
        keys = ["wheel_nuts"] if self.chance.random() < car.nuts_looked_at else []
        done = self.turn.get(car.name, 0)
        self.turn[car.name] = done + car.checks_per_evening
        return keys + [car.habit[(done + n) % len(car.habit)] for n in range(car.checks_per_evening)]

    def _check(
        self, car: str, check: Check, build: Build, pack: CastPack | None, opened: set[str]
    ) -> tuple[Entry, ...]:
        on_pack = pack if of_pack(self.facts, check) else None
        said = FoundSaid(
            car=car, check=check.key, pack=on_pack.name if on_pack else "", minutes=f"{check.minutes:g}"
        )
        if self.chance.random() < 0.06:
            return draft_found(self.workshop, replace(said, words=("ticked",), minutes="0.1")).entries
        rows = self._seen(on_pack.name if on_pack else car, check)
        words = tuple(self._answer(check, row) for row in rows)
        entries = draft_found(
            self.workshop, replace(said, words=words or ("sound",), spent=self._spent(rows, build))
        ).entries
        self._consequences(car, check, opened)
        return entries

    def _seen(self, owner: str, check: Check) -> list[HiddenRow]:
        """Which defects are there and seen, of those the check has a word of their own for."""
        detects = {cover.mode: cover.detects for cover in check.covers}
        here = {row.mode.key for row in self.hidden.rows[owner]}
        meant: dict[str, str] = {}
        for answer in check.answers:
            if answer.mode in here:
                meant.setdefault(answer.word, answer.mode)
        spoken = set(meant.values())
        return [
            row
            for row in self.hidden.rows[owner]
            if row.mode.key in detects
            and row.mode.key in spoken
            and row.defective
            and row.chance.random() < detects[row.mode.key]
        ]

    def _answer(self, check: Check, row: HiddenRow) -> str:
        word = next(answer.word for answer in check.answers if answer.mode == row.mode.key)
        where = self._where(row)
        if self.chance.random() < 0.05:
            return f"{word}{where}: left as it is"
        renewed = _is_renewed(row.mode, row.mode.cure_parts)
        self.hidden.put_right(row, renewed=renewed)
        if not renewed:
            row.happened(Event.WORK_THERE)
        return f"{word}{where}: {_done(renewed)}"

    def _where(self, row: HiddenRow) -> str:
        """“ @ ” and where it is, as far as anybody would need to say it."""
        if row.place is None:
            return ""
        like = [other for other in self.hidden.rows[row.owner] if other.mode.key == row.mode.key]
        said = row.place.name if len(like) > 1 else row.spot
        return f" @ {said}" if said else ""

    def _spent(self, rows: Iterable[HiddenRow], build: Build) -> str:
        minor = sum(
            row.place.price_minor * row.mode.cure_parts.get(row.mode.role, 0.0)
            for row in rows
            if row.place is not None
        )
        return f"{minor / 100:.2f}" if minor >= 1 else ""

    def _consequences(self, car: str, check: Check, opened: set[str]) -> None:
        """What looking did to the car: covers that came off, keys that sat on screws."""
        self.hidden.harmed(car, check.roles, check.harm)
        for key in opening(self.facts, check.access):
            if key not in opened:
                opened.add(key)
                step = self.facts.access[key]
                self.hidden.happened(car, Event.WORK_THERE, roles=frozenset(step.roles))
                self.hidden.harmed(car, step.roles, step.harm)

    # Parts.

    def fit(self, car: str, place_name: str, price: str, *, part: str = "") -> list[Entry]:
        """A new part goes in, bought at this price."""
        entries = draft_fitted(self.workshop, car, place_name, part=part, spent=price).entries
        place = find_place(place_name, self.build(car))
        self.hidden.fitted(car, place.key)
        if place.role == "pinion":
            self.hidden.happened(car, Event.PINION_CHANGED)
        for entry in entries:
            if isinstance(entry.fact, WorkDone):
                self.hidden.happened(car, Event(entry.fact.event))
        return list(entries)

    def fit_what_is_gone(self) -> list[Entry]:
        """New parts for all that broke today and was carried home broken."""
        entries: list[Entry] = []
        for car, place in dict.fromkeys((car, place.key) for car, place in self.to_fit):
            there = self.build(car).place(place)
            assert there is not None
            entries += self.fit(car, there.key, f"{there.price_minor / 100:.2f}")
            self.later(12)
        self.to_fit.clear()
        return entries


def _is_renewed(mode: Mode, used_up: Mapping[str, float]) -> bool:
    """Whether putting this right means a new part: it is used up, or it is worn and not just loose."""
    return used_up.get(mode.role, 0.0) >= 0.8 or mode.arrival is Arrival.WEAR_OUT


def _done(renewed: bool) -> str:
    return "renewed" if renewed else "put right"


def _true_run(drive: Drive, wet: str, ambient_degC: float | None = None) -> Ran:
    """A drive as an entry would say it if somebody had counted everything."""
    return Ran(
        UUID(int=0),
        (),
        drive.minutes,
        ground=Ground(drive.ground),
        wet=Wet(wet),
        hard_hits=drive.hits,
        ambient_degC=ambient_degC,
    )
