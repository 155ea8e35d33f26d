"""Logging runs: what a person typed becomes entries, echoed in full before they are kept."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import Enum
from typing import TypeVar
from uuid import UUID

from snugfast.core.units import Kind, in_unit, read_number, read_quantity
from snugfast.records.entries import (
    Broke,
    CaughtUp,
    Entry,
    Failed,
    Ground,
    Precision,
    Ran,
    Reading,
    Wet,
)
from snugfast.records.ledger import CarRecord, Ledger
from snugfast.records.moments import Moment, read_moment
from snugfast.records.rules import MOST_CHARGE_Ah
from snugfast.usecases.beliefs.lateness import asked_for
from snugfast.usecases.journal.pack_broken import of_pack
from snugfast.usecases.shared.attempts import Attempts
from snugfast.usecases.shared.draft import Draft
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called, pack_called
from snugfast.usecases.shared.takes_pack import refusals
from snugfast.usecases.shared.telling import catch_up_typed, tell_when
from snugfast.usecases.shared.typed_words import (
    called,
    read_broke,
    read_choice,
    read_hits,
    read_minutes,
    read_money,
    read_reading,
)
from snugfast.usecases.shared.workshop import Workshop

T = TypeVar("T")
E = TypeVar("E", bound=Enum)
COUNTS = (
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


@dataclass(frozen=True, slots=True)
class RunSaid:
    """A run as typed, every field a text. Empty means not said."""

    car: str
    packs: tuple[str, ...] = ()
    minutes: str = ""
    when: str = ""
    ground: str = ""
    wet: str = ""
    hits: str = ""
    ambient: str = ""
    put_back: str = ""
    readings: tuple[str, ...] = ()
    noticed: tuple[str, ...] = ()
    broke: tuple[str, ...] = ()
    id: UUID | None = None


@dataclass(frozen=True, slots=True)
class CatchUpSaid:
    """Running remembered in bulk, as typed: “about six packs since May, one wet”."""

    car: str
    packs: str
    since: str
    minutes_each: str = ""
    wet_packs: str = ""
    wet: str = ""
    hits: str = ""
    until: str = ""
    ground: str = ""
    id: UUID | None = None


def draft_runs(workshop: Workshop, said: tuple[RunSaid, ...], *, replaces: Entry | None = None) -> Draft:
    """The entries of some runs. Raises WrongData with everything that cannot be read, at once."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    reading = _Reading(workshop, ledger)
    entries = tuple(reading.run(run, replaces) for run in said)
    reading.refuse("This run cannot be read" if len(said) == 1 else "These runs cannot be read")
    told = Draft.telling(workshop, ledger, entries)
    wet = tuple(line for entry in entries for line in asked_for(workshop, ledger, entry))
    return replace(told, echo=(*told.echo, *wet, *_out_of_use(ledger, entries)))


def draft_catch_up(workshop: Workshop, said: CatchUpSaid) -> Draft:
    """The entry of running remembered in bulk. Raises WrongData with all that cannot be read."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    reading = _Reading(workshop, ledger)
    entry = reading.catch_up(said)
    reading.refuse("This cannot be read")
    return Draft.telling(workshop, ledger, (entry,))


def draft_broke(
    workshop: Workshop,
    car_name: str,
    words: str,
    *,
    when: str = "",
    minutes: str = "",
    spent: str = "",
    pack: str = "",
    id: UUID | None = None,
) -> Draft:
    """The entry of something found broken outside a run, on the car or on a pack."""
    with workshop.store.reading() as reads:
        ledger = ledger_now(reads)
    car = car_called(ledger, car_name)
    broke = read_broke(words, workshop.facts, workshop.build(car.build))
    broke = of_pack(broke, words, workshop.facts, ledger, named=pack)
    broke = replace(
        broke,
        minutes=read_minutes(minutes)[0] if minutes else None,
        spent=read_money(spent, ledger) if spent else None,
    )
    moment = read_moment(when, now=workshop.now(), zone=workshop.zone)
    fact = Failed(car.id, broke)
    entry = workshop.entry(fact, happened_at=moment.at, precision=moment.precision, id=id)
    return Draft.telling(workshop, ledger, (entry,))


def _out_of_use(ledger: Ledger, entries: Iterable[Entry]) -> Iterator[str]:
    """A warning for each pack of these runs that harm stands against: it was driven, and should not be."""
    driven = dict.fromkeys(pack for one in entries if isinstance(one.fact, Ran) for pack in one.fact.packs)
    for pack in (ledger.packs[each] for each in driven if each in ledger.packs):
        if pack.marks.harms:
            harms = ", ".join(harm.value for harm in pack.marks.harms)
            yield (
                f"Beware: {pack.name} is out of use ({harms}). Take it out, keep it outside and away from "
                "people, do not charge it and do not drive it again."
            )


class _Reading(Attempts):
    """Reads what was typed; what cannot be read is noted, so that all of it is said at once."""

    def __init__(self, workshop: Workshop, ledger: Ledger) -> None:
        super().__init__()
        self.workshop = workshop
        self.ledger = ledger

    def run(self, said: RunSaid, replaces: Entry | None) -> Entry:
        car = self._car(said.car)
        packs = tuple(pack for name in said.packs if (pack := self._pack(name)))
        if car is not None:
            records = [self.ledger.packs[pack] for pack in dict.fromkeys(packs)]
            self.findings += refusals(self.workshop.build(car.build), car.name, records)
        minutes, about = self._minutes(said.minutes)
        hits, hits_said = self.attempt(lambda: read_hits(said.hits, self.workshop.facts), (0.0, "none"))
        moment = self._moment_of(said, replaces)
        fact = Ran(
            car=car.id if car else UUID(int=0),
            packs=packs,
            running_min=minutes,
            about=about,
            ground=self._word(said.ground, Ground.UNKNOWN, "ground"),
            wet=self._word(said.wet, Wet.DRY, "wet"),
            hard_hits=hits,
            hits_said=hits_said,
            ambient_degC=self._ambient(said.ambient),
            readings=tuple(
                reading for text in said.readings if text.strip() and (reading := self._reading(text))
            ),
            put_back_Ah=self._put_back(said.put_back),
            noticed=tuple(words.strip() for words in said.noticed if words.strip()),
            broke=tuple(
                broke
                for text in said.broke
                if car and text.strip() and (broke := self._broke(text, car, said.packs))
            ),
        )
        return self.workshop.entry(
            fact, happened_at=moment.at, precision=moment.precision, id=said.id, replaces=replaces
        )

    def catch_up(self, said: CatchUpSaid) -> Entry:
        car = self._car(said.car)
        packs, _ = self.attempt(lambda: _count(said.packs, "packs"), (1.0, False))
        each, _ = self._minutes(said.minutes_each) if said.minutes_each else (self._usual_minutes(car), True)
        wet_packs, _ = self.attempt(lambda: _count(said.wet_packs or "0", "wet"), (0.0, False))
        hits, _ = self.attempt(lambda: read_hits(said.hits, self.workshop.facts), (0.0, "none"))
        since, until = self._moment(said.since), self._moment(said.until)
        fact = CaughtUp(
            car=car.id if car else UUID(int=0),
            since=since.at,
            packs=packs,
            running_min=packs * each,
            wet_packs=wet_packs,
            wet=self._word(said.wet, Wet.FRESH_WATER, "wet"),
            hard_hits=hits,
            ground=self._word(said.ground, Ground.UNKNOWN, "ground"),
        )
        return self.workshop.entry(
            fact,
            happened_at=until.at,
            precision=until.precision,
            id=said.id,
            typed=catch_up_typed(said.packs, said.since, said.minutes_each, said.wet_packs),
        )

    def _usual_minutes(self, car: CarRecord | None) -> float:
        if car is not None and car.habits.runs:
            return car.habits.running_min / car.habits.runs
        return self.workshop.assume("habit_running_min")

    def _car(self, name: str) -> CarRecord | None:
        return self.attempt(lambda: car_called(self.ledger, name), None)

    def _pack(self, name: str) -> UUID | None:
        return self.attempt(lambda: pack_called(self.ledger, name).id, None)

    def _minutes(self, text: str) -> tuple[float, bool]:
        if not text.strip():
            self.wrong("minutes", "how long it ran is missing", "write 12 or “about 12”")
            return 1.0, True
        return self.attempt(lambda: read_minutes(text), (1.0, True))

    def _moment(self, text: str) -> Moment:
        now, zone = self.workshop.now(), self.workshop.zone
        return self.attempt(lambda: read_moment(text, now=now, zone=zone), Moment(now, Precision.DAY))

    def _moment_of(self, said: RunSaid, replaces: Entry | None) -> Moment:
        """When the run was; a correction that leaves the time alone keeps it to the second."""
        if replaces is not None and said.when == tell_when(replaces):
            return Moment(replaces.happened_at, replaces.precision)
        return self._moment(said.when)

    def _word(self, text: str, otherwise: E, where: str) -> E:
        if not text.strip():
            return otherwise
        also = called(self.workshop.facts, where)
        return self.attempt(lambda: read_choice(text, type(otherwise), where=where, also=also), otherwise)

    def _amount(self, text: str, kind: Kind, unit: str, where: str) -> float | None:
        if not text.strip():
            return None
        si = self.attempt(lambda: read_quantity(text, kind, default_unit=unit, where=where), None)
        return si

    def _ambient(self, text: str) -> float | None:
        kelvin = self._amount(text, Kind.TEMPERATURE, "°C", "ambient")
        return None if kelvin is None else round(in_unit(kelvin, "°C"), 3)

    def _put_back(self, text: str) -> float | None:
        """Charge in Ah. What cannot be is said here, as it was typed; the records only know the Ah."""
        charge = self._amount(text, Kind.CHARGE, "mAh", "put back")
        if charge is None:
            return None
        put_back_Ah = round(in_unit(charge, "Ah"), 6)
        if not 0.0 < put_back_Ah <= MOST_CHARGE_Ah:
            why = "cannot be" if put_back_Ah <= 0.0 else "is more than can be"
            self.wrong("put back", f"“{text.strip()}” {why}", "write the charge put in, like 4200 mAh")
        return put_back_Ah

    def _reading(self, text: str) -> Reading | None:
        return self.attempt(lambda: read_reading(text), None)

    def _broke(self, text: str, car: CarRecord, packs: tuple[str, ...]) -> Broke | None:
        """A break; one that a pack carries belongs to a pack of the run."""
        facts = self.workshop.facts
        broke = self.attempt(lambda: read_broke(text, facts, self.workshop.build(car.build)), None)
        if broke is None:
            return None
        driven = [pack for name in packs if (pack := self._pack(name))]
        return self.attempt(lambda: of_pack(broke, text, facts, self.ledger, driven=driven), None)


def _count(text: str, where: str) -> tuple[float, bool]:
    """“6”, “six” or “about six” as a count."""
    clean = text.strip().casefold()
    about = clean.startswith("about ")
    clean = clean.removeprefix("about ")
    if clean in COUNTS:
        return float(COUNTS.index(clean)), about
    return read_number(clean, where=where), about
