"""Making the demo workshop: one season in an invented shed, told entry by entry through the use-cases."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta
from pathlib import Path
from random import Random

from snugfast.app.demo.cast import CARS, NICKEL, PACKS, PEOPLE, PLACE, CastCar
from snugfast.app.demo.hidden import DELAY_ERROR_LOG_SD, RATE_ERROR_LOG_SD, Hidden
from snugfast.app.demo.pack_care import LAST_LOGGED, PackCare
from snugfast.app.demo.scribe import BENCH, BETWEEN_RUNS, FIRST_RUN, HOME, Scribe, SeasonClock, SeededWorkshop
from snugfast.app.demo.season import LOAN, OUTINGS, Drive, Outing, season
from snugfast.app.opening import FILE_NAME
from snugfast.core.errors import RefusedAction
from snugfast.core.ids import mint
from snugfast.facts.load import build_toml, load_facts, parse_build_toml, read_build
from snugfast.facts.model import Build, Event
from snugfast.records.entries import Entry, SettingsChosen
from snugfast.records.store.engines import file_url
from snugfast.records.store.store import Store
from snugfast.usecases.journal.cars import (
    build_text,
    draft_back,
    draft_build,
    draft_car,
    draft_moved,
    draft_work,
    starter,
)
from snugfast.usecases.journal.keeping import withdraw
from snugfast.usecases.journal.run_log import CatchUpSaid, RunSaid, draft_catch_up, draft_runs
from snugfast.usecases.shared.workshop import Workshop

SEED = 21  # a season with something of everything: loose nuts found in time, others lost
ZONE = "Europe/Berlin"
TRUTH_FILE = "truth.json"

# Numbers of outings at which something out of the ordinary happens.
MISTYPED, WRITTEN_LATE, LOGGED_TWICE = 4, 8, 9
OTHER_MOUNT, CAUGHT_UP, RADIO_WORK, MOVED_SERVO, NEW_PINION = 10, 11, 12, 20, 23
IN_A_HURRY = OUTINGS - 1  # Juno went home without looking at Bramble: that is for tonight
CAUGHT_UP_SINCE = 7
LOAN_PACKS, LOAN_GUESS = 9, ("6", "14")
LOAN_ENDS = LOAN.stop


@dataclass(frozen=True, slots=True)
class Demo:
    """The demo workshop, its clock standing at the moment it was made for, and the truth behind it."""

    workshop: Workshop
    hidden: Hidden
    truth_file: Path


def clear_demo(folder: Path) -> None:
    """Remove the demo of a folder, so that it can be made anew; nothing where there is none.

    Raises RefusedAction for a workshop that is not the demo: that has no truth beside it.
    """
    file, truth = folder / FILE_NAME, folder / TRUTH_FILE
    if not file.is_file():
        return
    if not truth.is_file():
        raise RefusedAction(f"{file} is not the demo, so it stays as it is.", "Name another folder.")
    for each in (*folder.glob(f"{FILE_NAME}-*"), file, truth):  # its own journal files with it
        each.unlink()


def make_demo(folder: Path, *, now: datetime, seed: int = SEED) -> Demo:
    """A workshop with a season behind it, in a folder; the truth in a file beside the store.

    The same seed, tables and moment give the same journal. Raises StoreAlreadyThere when there is one.
    """
    folder.mkdir(parents=True, exist_ok=True)
    outings = season(seed, (now - timedelta(days=2)).date())
    clock = SeasonClock(now)
    with_facts = load_facts()
    store = Store.create(file_url(folder / FILE_NAME), clock=clock)
    noise = Random(f"{seed}/identities")
    writing = SeededWorkshop(store, with_facts, clock, mint(now), ZONE, noise=noise)
    hidden = Hidden(with_facts, seed)
    telling = _Season(Scribe(writing, clock, hidden, seed), seed)
    telling.begin(outings[0])
    for outing in outings:
        telling.tell(outing)
    truth_file = folder / TRUTH_FILE
    truth_file.write_text(_truth(hidden, seed), encoding="utf-8")
    clock.at = now
    return Demo(Workshop(store, with_facts, clock, writing.author, ZONE), hidden, truth_file)


def _truth(hidden: Hidden, seed: int) -> str:
    document = {
        "what": "What the demo was drawn from. Nobody in it knows this, and Snugfast never reads it.",
        "seed": seed,
        "rate_error_log_sd": RATE_ERROR_LOG_SD,
        "delay_error_log_sd": DELAY_ERROR_LOG_SD,
        "rows": hidden.as_document(),
    }
    return json.dumps(document, indent=1) + "\n"


class _Season:
    """One season being told."""

    def __init__(self, scribe: Scribe, seed: int) -> None:
        self.scribe = scribe
        self.care = PackCare(scribe, seed)
        self.workshop = scribe.workshop
        self.cars = {car.name: car for car in CARS}
        self.late: list[RunSaid] = []
        self.caught_up_since = ""

    def begin(self, first: Outing) -> None:
        """Two evenings before the first outing: people, settings, the first packs."""
        self.scribe.at(first.day - timedelta(days=2), time(18, 0))
        with self.workshop.store.work() as work:
            for nickname in PEOPLE:
                self.scribe.people[nickname] = self.workshop.new_id()
                work.people.add(self.scribe.people[nickname], nickname)
            self.scribe.by(PEOPLE[0])
            chosen = {"workshop": PLACE, "currency": "EUR", "zone": ZONE}
            worth = {"bench_minute": 15, "running_minute": 40}
            work.journal.add(self.workshop.entry(SettingsChosen({**chosen, **worth})))
            work.commit()
        packs = self.scribe.keep(self.scribe.pack_drafted(pack) for pack in PACKS)
        self.care.joined(packs, PACKS)
        self.scribe.keep(self.care.begin())

    def tell(self, outing: Outing) -> None:
        """One day out, from the evening before to the bench after."""
        scribe = self.scribe
        scribe.at(outing.day - timedelta(days=1), BENCH)
        self._late_comers()
        self._newcomers(outing)
        charged = self._packs_charged(outing)
        scribe.at(outing.day, time(11, 0))
        scribe.keep([*charged, *self._before_going(outing)])
        scribe.at(outing.day, time(12, 40))
        self._gates(outing)
        said = list(self._drives(outing))
        self.care.drove(said)
        scribe.at(outing.day, HOME)
        self._write_down(outing, said)
        self._dry(outing)
        scribe.at(outing.day, BENCH)
        scribe.keep([*self._evening(outing), *self._packs_put_away(outing)])
        self._out_of_the_ordinary(outing)

    # Before.

    def _late_comers(self) -> None:
        """Runs that somebody forgot to write down last time."""
        if self.late:
            self.scribe.keep(draft_runs(self.workshop, tuple(self.late)).entries)
            self.late.clear()

    def _newcomers(self, outing: Outing) -> None:
        for car in CARS:
            if car.joins_at == outing.number:
                self.scribe.by(car.keeper)
                build = _own_build(self.workshop, car)
                entry = draft_car(
                    self.workshop, car.name, build, history=car.history, from_starter=car.starter
                )
                self.scribe.keep([entry])
                self.scribe.car_joined(car)

    def _before_going(self, outing: Outing) -> list[Entry]:
        entries: list[Entry] = []
        for car in self._here():
            if car.name == "Nettle" and outing.number == LOAN_ENDS:
                entries.append(self._back_from_loan(car))
            entries += self.scribe.days_pass(car.name)
        return entries

    def _back_from_loan(self, car: CastCar) -> Entry:
        """What the school did with it nobody wrote down; what it broke, it put right."""
        for _ in range(LOAN_PACKS):
            for row in self.scribe.lent(car.name, Drive(11, 1, "grass")):
                self.scribe.hidden.put_right(row, renewed=True)
        return draft_back(self.workshop, car.name, *LOAN_GUESS)

    def _here(self) -> list[CastCar]:
        return [car for car in CARS if car.name in self.scribe.hidden.rows]

    def _gates(self, outing: Outing) -> None:
        """What is looked at before the first pack; not every time, and not always written down."""
        scribe = self.scribe
        entries: list[Entry] = []
        for car in self._here():
            if outing.drives[car.name]:
                scribe.by(car.keeper)
                keys = [key for key, share in GATES if scribe.chance.random() < share]
                entries += scribe.evening(car, keys)
        entries += self._on_a_pack("pack_look")
        scribe.keep(entries)

    def _on_a_pack(self, check: str) -> list[Entry]:
        """One check done on one of the lithium packs whose cars are here."""
        cars = {car.name: car for car in self._here()}
        packs = [pack for pack in self.scribe.packs if pack.chemistry != NICKEL and pack.car in cars]
        pack = self.scribe.chance.choice(packs)
        return self.scribe.evening(cars[pack.car], [check], pack)

    # The outing.

    def _drives(self, outing: Outing) -> Iterator[RunSaid]:
        """Every drive of the day; each pack goes out once."""
        scribe = self.scribe
        charged = list(scribe.packs)
        scribe.chance.shuffle(charged)
        for number, car in enumerate(self._here()):
            scribe.at(outing.day, FIRST_RUN)
            scribe.later(4 * number)
            for drive in outing.drives[car.name]:
                scribe.clock.at += BETWEEN_RUNS
                mine = [pack for pack in charged if pack.car == car.name]
                if not mine:
                    break
                charged.remove(mine[-1])
                said = scribe.drive(car, mine[-1], drive, outing.wet, outing.ambient_degC)
                yield said
                if any("left as it is" in words for words in said.broke):
                    break

    def _write_down(self, outing: Outing, said: list[RunSaid]) -> None:
        if outing.number == WRITTEN_LATE:
            self.late = [run for run in said if run.car == "Bramble"]
            said = [run for run in said if run.car != "Bramble"]
        if not said:
            return
        if outing.number == MISTYPED:
            self._mistyped(said)
            return
        entries = self.scribe.keep(draft_runs(self.workshop, tuple(said)).entries)
        if outing.number == LOGGED_TWICE:
            self._twice(said[0], entries[0])

    # Afterwards.

    def _dry(self, outing: Outing) -> None:
        entries: list[Entry] = []
        for car in self._here():
            if outing.drives[car.name]:
                self.scribe.by(car.keeper)
                entries += self.scribe.treated(car, outing.wet)
        if entries:
            self.scribe.keep(entries)

    def _evening(self, outing: Outing) -> list[Entry]:
        scribe = self.scribe
        entries: list[Entry] = []
        for car in self._here():
            in_a_hurry = car.name == "Bramble" and outing.number == IN_A_HURRY
            if outing.drives[car.name] and not in_a_hurry:
                scribe.by(car.keeper)
                entries += scribe.evening(car, scribe.usual_checks(car))
        entries += self._on_a_pack(scribe.chance.choice(PACK_CHECKS))
        return [*entries, *scribe.fit_what_is_gone()]

    # Packs.

    def _packs_charged(self, outing: Outing) -> list[Entry]:
        self.scribe.by(PEOPLE[0])
        entries = self.care.before(outing, last=outing.number >= OUTINGS - LAST_LOGGED)
        return [*entries, *self._packs_replaced()]

    def _packs_put_away(self, outing: Outing) -> list[Entry]:
        replaced = self._packs_replaced()
        self.scribe.by(PEOPLE[0])
        return [*replaced, *self.care.after(last=outing.number == OUTINGS - 1)]

    def _packs_replaced(self) -> list[Entry]:
        """Packs that are done for leave, and new ones come."""
        entries = self.scribe.packs_replaced()
        self.care.joined(entries, self.scribe.packs)
        return entries

    def _mistyped(self, said: list[RunSaid]) -> None:
        """Somebody turned two figures round, and put it right a quarter of an hour later."""
        wrong = replace(said[0], minutes="31")
        first, *_ = self.scribe.keep(draft_runs(self.workshop, (wrong, *said[1:])).entries)
        self.scribe.later(15)
        self.scribe.keep(draft_runs(self.workshop, (said[0],), replaces=first).entries)

    def _twice(self, said: RunSaid, first: Entry) -> None:
        """Two people logged the same run, one only to the day; the second was taken back."""
        day = f"{first.happened_at:%Y-%m-%d}"
        again = replace(said, when=day)
        second, *_ = self.scribe.keep(draft_runs(self.workshop, (again,)).entries)
        self.scribe.later(5)
        withdraw(self.workshop, second.id, "logged twice")

    def _out_of_the_ordinary(self, outing: Outing) -> None:
        scribe, number = self.scribe, outing.number
        scribe.later(20)
        if number == CAUGHT_UP_SINCE:
            self.caught_up_since = outing.day.isoformat()
        elif number == CAUGHT_UP:
            scribe.keep(self._catch_up())
        elif number == OTHER_MOUNT:
            was, now = 'servo_mount = "plastic"', 'servo_mount = "metal"'
            text = build_text(self.workshop, "Sorrel").replace(was, now)
            scribe.keep([draft_build(self.workshop, "Sorrel", text, "Sorrel’s build")])
            scribe.builds.pop("Sorrel")
        elif number == RADIO_WORK:
            scribe.keep(
                draft_work(self.workshop, "Bramble", "radio work", "bound to a new transmitter").entries
            )
            scribe.hidden.happened("Bramble", Event.RADIO_WORK)
        elif number == MOVED_SERVO:
            scribe.keep(draft_moved(self.workshop, "Thistle", "servo", "Nettle").entries)
            scribe.hidden.moved("Thistle", "servo", "Nettle")
            scribe.later(30)
            scribe.keep(scribe.fit("Thistle", "servo", "26.50", part="metal-geared servo"))
        elif number == NEW_PINION:
            scribe.keep(scribe.fit("Bramble", "pinion", "6.50", part="one tooth less"))

    def _catch_up(self) -> Iterable[Entry]:
        """Pip drove in the garden for weeks and wrote nothing down."""
        self.scribe.by("Pip")
        said = CatchUpSaid(
            "Sorrel",
            "about six",
            self.caught_up_since,
            minutes_each="about 15",
            wet_packs="one",
            hits="a few",
        )
        entries = list(draft_catch_up(self.workshop, said).entries)
        for pack in range(6):
            for row in self.scribe.lent(
                "Sorrel", Drive(15, pack % 2, "grass"), "fresh water" if pack == 3 else "dry"
            ):
                entries += self.scribe.found_broken("Sorrel", row)
        return entries


GATES = (("fail_safe", 0.6), ("radio_sense", 0.2), ("transmitter_cells", 0.3))
PACK_CHECKS = ("pack_voltages", "pack_voltages", "pack_resistance")


def _own_build(workshop: Workshop, car: CastCar) -> Build:
    """The starter build with this car's differences, edited as its owner would edit the text."""
    head, *places = build_toml(starter(workshop, car.starter)).split("\n[[place]]\n")
    for trait, value in car.traits.items():
        lines = [
            f'{trait} = "{value}"' if line.startswith(f"{trait} =") else line for line in head.split("\n")
        ]
        head = "\n".join(lines)
    kept = [text for text in places if not any(f'role = "{role}"' in text for role in car.without_roles)]
    where = f"{car.name}’s build"
    return read_build(parse_build_toml("\n[[place]]\n".join([head, *kept]), where), where, workshop.facts)
