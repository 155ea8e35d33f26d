"""What the people of the demo do with their packs between outings, and what of it they write down.

Looks, charges, rest readings, resistances, putting away: drawn from packs as they truly are, which are worn
and out of balance where the truth of the demo says so. Some packs are looked after and logged by their
keeper, of the others a charge now and then. All chance is of its own, so nothing else of the season depends
on it. The entries of an evening are made outright and kept at once: to draft each by itself would read the
whole workshop some hundred times over.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from math import exp
from random import Random
from uuid import UUID

from snugfast.app.demo.cast import NICKEL, CastPack
from snugfast.app.demo.hidden import HiddenRow
from snugfast.app.demo.scribe import Scribe
from snugfast.app.demo.season import Outing
from snugfast.core.units import ZERO_CELSIUS_K
from snugfast.records.entries import (
    Entry,
    Fact,
    Finish,
    PackAdded,
    PackCharged,
    PackHarm,
    PackLooked,
    PackMeasured,
    PackStands,
    Stands,
)
from snugfast.usecases.journal.run_log import RunSaid
from snugfast.usecases.packs.register import ChargerSaid, draft_charger
from snugfast.usecases.packs.tables import pack_tables

CHARGER = ChargerSaid("Hearth", amps="10 A", watts="200 W", channels="2", supply="400 W", price="79")
CHARGING = time(19, 30)
LOOKED_AFTER = "Ember"  # Juno's packs; of the others a charge is logged now and then
TIRED = {"Ember 4": 0.034}  # ages faster than its likes: so much of its resistance as new a run
LOGGED, LOGGED_ELSEWHERE = 0.75, 0.12
LAST_LOGGED = 2  # outings before the end from which every pack of hers is in the log
GAS_CONSTANT = 8.314462618  # J/(mol·K)


@dataclass(slots=True)
class TruePack:
    """A pack as it truly is. `apart` is how much less charge one of its cells holds than the rest."""

    id: UUID
    cast: CastPack
    capacity_Ah: float
    cells_ohm: tuple[float, ...]  # at 25 °C, as new
    growth: float  # of the resistance, as a share a run
    charge: float = 0.5
    runs: int = 0
    since: datetime | None = None

    @property
    def looked_after(self) -> bool:
        """Whether its keeper logs what he does with it."""
        return self.cast.name.startswith(LOOKED_AFTER)


class PackCare:
    """The packs of the demo between outings."""

    def __init__(self, scribe: Scribe, seed: int) -> None:
        self.scribe = scribe
        self.chance = Random(f"{seed}/pack care")
        self.tables = pack_tables()
        self.packs: dict[str, TruePack] = {}
        self.charger: UUID | None = None

    def begin(self) -> Sequence[Entry]:
        """The charger is bought."""
        (entry,) = draft_charger(self.scribe.workshop, CHARGER).entries
        self.charger = entry.fact.charger  # type: ignore[union-attr]
        return [entry]

    def joined(self, entries: Iterable[Entry], casts: Iterable[CastPack]) -> None:
        """Packs that came begin to be used."""
        by_name = {cast.name: cast for cast in casts}
        for entry in entries:
            if isinstance(entry.fact, PackAdded):
                cast, draw = by_name[entry.fact.name], self.chance.uniform
                as_new = 2.9e-3 * 5000.0 / cast.capacity_mAh
                self.packs[cast.name] = TruePack(
                    entry.fact.pack,
                    cast,
                    capacity_Ah=cast.capacity_mAh / 1000.0 * draw(0.93, 1.0),
                    cells_ohm=tuple(as_new * draw(0.95, 1.06) for _ in range(cast.cells)),
                    growth=TIRED.get(cast.name, draw(0.006, 0.014)),
                )

    # Before an outing.

    def before(self, outing: Outing, *, last: bool) -> list[Entry]:
        """The evening before: those who write it down look, read what stood, charge to full."""
        entries: list[Entry] = []
        self.scribe.at(outing.day - timedelta(days=1), CHARGING)
        for cast in list(self.scribe.packs):
            pack = self.packs[cast.name]
            self._stood(pack)
            if cast.chemistry == NICKEL:  # charged on the day, and nobody writes it down
                pack.charge, pack.since = 1.0, self.scribe.clock.at
                continue
            written = self._writes(pack, last)
            if written and not self._looks_sound(pack, entries):
                continue
            if pack.charge < 0.97:
                if written and pack.since is not None and self.chance.random() < 0.4:
                    entries.append(self._write(self._rest_reading(pack)))
                entries += self._charge(pack, written)
            pack.since = self.scribe.clock.at
        return entries

    def _writes(self, pack: TruePack, last: bool) -> bool:
        drawn = self.chance.random() < (LOGGED if pack.looked_after else LOGGED_ELSEWHERE)
        return drawn or (last and pack.looked_after)

    def _looks_sound(self, pack: TruePack, entries: list[Entry]) -> bool:
        """A look, felt and smelled; a pack with a belly is handed in."""
        damage = self._hidden(pack, "pack_damaged")
        found = damage.defective and self.chance.random() < 0.9
        entries.append(self._write(PackLooked(pack.id, (PackHarm.SWOLLEN,) if found else ())))
        if found:
            self.scribe.packs_done_for.append(pack.cast)
        return not found

    def _charge(self, pack: TruePack, written: bool) -> list[Entry]:
        put_in_Ah = (1.0 - pack.charge) * pack.capacity_Ah
        minutes = round(put_in_Ah / pack.capacity_Ah * 60.0 + 15.0)
        self.scribe.later(minutes / 2.0)  # two channels side by side
        pack.charge = 1.0
        if not written:
            return []
        amps = pack.cast.capacity_mAh / 1000.0
        fact = PackCharged(pack.id, Finish.FULL, round(put_in_Ah, 2), amps, minutes, self.charger)
        read = self.chance.random() < 0.5
        return [self._write(one) for one in (fact, *((self._resistances(pack),) if read else ()))]

    def _rest_reading(self, pack: TruePack) -> Fact:
        """Volts of the cells after some days on the shelf, as a cell reader shows them."""
        charges = [pack.charge + self.chance.gauss(0.0, 0.006) for _ in range(pack.cast.cells)]
        apart = self._hidden(pack, "pack_imbalance")
        if apart.defective:
            charges[0] -= 0.15
            self.scribe.hidden.put_right(apart, renewed=False)  # the balance charge that follows
        volts = (self.tables.curve.voltage_at(min(max(charge, 0.02), 1.0)) for charge in charges)
        assert pack.since is not None
        rested_min = (self.scribe.clock.at - pack.since) / timedelta(minutes=1)
        return PackMeasured(pack.id, tuple(round(volt, 3) for volt in volts), round(rested_min))

    def _resistances(self, pack: TruePack) -> Fact:
        """What the charger shows of the cells, noise and the warmth of the shed included."""
        shed_degC = self.chance.uniform(18.0, 23.0)
        colder = 1.0 / (shed_degC + ZERO_CELSIUS_K) - 1.0 / 298.15
        activation = self.tables.value("resistance", "activation_J_per_mol")
        worn = 1.7 if self._hidden(pack, "pack_aged").defective else 1.0
        grown = (1.0 + pack.growth * pack.runs) * worn * exp(activation / GAS_CONSTANT * colder)
        ohms = (round(ohm * grown * self.chance.gauss(1.0, 0.012), 5) for ohm in pack.cells_ohm)
        instrument = f"charger {CHARGER.name}"
        return PackMeasured(pack.id, (), None, tuple(ohms), instrument, round(shed_degC, 1))

    # After it.

    def drove(self, drives: Iterable[RunSaid]) -> None:
        """What each drive took."""
        for said in drives:
            pack = self.packs[said.packs[0]]
            counted_mAh = float(said.put_back.removesuffix(" mAh")) if said.put_back else 0.0
            share = counted_mAh / 1000.0 / pack.capacity_Ah or self.chance.uniform(0.62, 0.85)
            pack.charge = max(pack.charge - share, 0.06)
            pack.runs += 1
            pack.since = self.scribe.clock.at

    def after(self, *, last: bool) -> list[Entry]:
        """The evening after: some are brought to storage charge, some stay as they are."""
        entries: list[Entry] = []
        for cast in self.scribe.packs:
            pack = self.packs[cast.name]
            if last or cast.chemistry == NICKEL or pack.charge > 0.95 or self.chance.random() < 0.4:
                continue
            put_in_Ah = (0.52 - pack.charge) * pack.capacity_Ah
            pack.charge = 0.52
            if self._writes(pack, last=False):
                fact = PackCharged(pack.id, Finish.STORAGE, round(put_in_Ah, 2), charger=self.charger)
                entries.append(self._write(fact))
                entries.append(self._write(PackStands(pack.id, Stands.UNPLUGGED, shelf_degC=17.0)))
        return entries + (self._last_evening() if last else [])

    def _last_evening(self) -> list[Entry]:
        """One of each: left in the car with the switch off, stored, left full."""
        first, second, third, *_ = (self.packs[cast.name] for cast in self.scribe.packs)
        facts: tuple[Fact, ...] = (
            PackStands(first.id, Stands.PLUGGED_SWITCH_OFF, self.scribe.cars["Bramble"]),
            PackCharged(second.id, Finish.STORAGE, charger=self.charger),
            PackStands(second.id, Stands.UNPLUGGED, shelf_degC=17.0),
            PackCharged(third.id, Finish.FULL, charger=self.charger),
            PackStands(third.id, Stands.UNPLUGGED, shelf_degC=21.0),
        )
        return [self._write(fact) for fact in facts]

    # Small things.

    def _write(self, fact: Fact) -> Entry:
        self.scribe.later(0.5)
        return self.scribe.workshop.entry(fact)

    def _stood(self, pack: TruePack) -> None:
        """Self-discharge since it was last used, at the tables' likely rate."""
        if pack.since is not None:
            months = (self.scribe.clock.at - pack.since) / timedelta(days=30.4375)
            pack.charge = max(pack.charge - 0.02 * months, 0.05)

    def _hidden(self, pack: TruePack, mode: str) -> HiddenRow:
        rows = self.scribe.hidden.rows[pack.cast.name]
        return next(row for row in rows if row.mode.key == mode)
