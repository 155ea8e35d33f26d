"""A bench with packs, for the tests of pack care: short words for what an owner types."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.packs.charge import ChargeAsked, ChargePlan, plan_charge
from snugfast.usecases.packs.log import (
    ChargedSaid,
    MeasuredSaid,
    draft_charged,
    draft_cleared,
    draft_hurt,
    draft_looked,
    draft_measured,
    draft_stands,
)
from snugfast.usecases.packs.register import (
    ChargerSaid,
    PackSaid,
    draft_charger,
    draft_pack,
    draft_pack_left,
)
from snugfast.usecases.packs.state import PackState, pack_now
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import Clock, as_the_tables_mean, facts, ran, with_truck, workshop_in_memory

PACK = "Ember 1"


class Bench:
    """A workshop with a truck, a pack of three cells and a charger with a storage function."""

    def __init__(self, workshop: Workshop, clock: Clock) -> None:
        self.workshop = workshop
        self.clock = clock

    def add_pack(self, name: str = PACK, **more: Any) -> None:
        said = {"cells": "3", "capacity": "5000 mAh", "type_name": "a 5000", **more}
        keep(self.workshop, [draft_pack(self.workshop, PackSaid(name=name, **said))])

    def add_charger(self, name: str = "Twin", **more: Any) -> None:
        said = {"amps": "10 A", "watts": "200 W", "channels": "2", **more}
        keep(self.workshop, draft_charger(self.workshop, ChargerSaid(name=name, **said)).entries)

    def looked(self, *found: str, pack: str = PACK) -> None:
        keep(self.workshop, draft_looked(self.workshop, pack, found or ("nothing",)).entries)

    def hurt(self, *what: str, pack: str = PACK, **more: Any) -> None:
        keep(self.workshop, draft_hurt(self.workshop, pack, what, **more).entries)

    def cleared(self, pack: str = PACK, **more: Any) -> None:
        keep(self.workshop, draft_cleared(self.workshop, pack, **more).entries)

    def measured(self, volts: str = "", pack: str = PACK, **more: Any) -> None:
        said = MeasuredSaid(pack, volts, **more)
        keep(self.workshop, draft_measured(self.workshop, said).entries)

    def charged(self, finish: str = "full", pack: str = PACK, **more: Any) -> None:
        said = ChargedSaid(pack, finish, **more)
        keep(self.workshop, draft_charged(self.workshop, said).entries)

    def stands(self, how: str, pack: str = PACK, **more: Any) -> None:
        keep(self.workshop, draft_stands(self.workshop, pack, how, **more).entries)

    def ran(self, pack: str = PACK, **more: Any) -> None:
        ran(self.workshop, packs=(pack,), **more)

    def state(self, pack: str = PACK) -> PackState:
        return pack_now(self.workshop, pack).state

    def plan(self, **more: Any) -> ChargePlan:
        """A session with every question answered as it should be, but for what is named."""
        said = {
            "pack": PACK,
            "charger": "Twin",
            "found": ("nothing",),
            "warmth": "21",
            "set_cells": "3",
            "set_chemistry": "lithium-polymer",
            "attended": "yes",
            "hard_surface": "yes",
            "balance_plug": "yes",
            **more,
        }
        return plan_charge(self.workshop, ChargeAsked(**said))


@contextmanager
def bench_with_pack() -> Iterator[Bench]:
    """The bench, a day after everything came, of the driver whom the tables mean."""
    with workshop_in_memory(as_the_tables_mean(facts())) as (workshop, clock):
        with_truck(workshop)
        keep(workshop, draft_pack_left(workshop, "Bramble pack", "lent").entries)
        bench = Bench(workshop, clock)
        bench.add_pack()
        bench.add_charger()
        clock.on(days=1)
        yield bench
