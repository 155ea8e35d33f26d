"""Ranks the checks of each starter build by what they are worth on a hard-driven car.

Run: python bench/rank_checks.py [BUILD ...] [--all]

The trade says: wheel nuts first, then the set screws of pinion, cups and shafts. Here a car that was in order
when it first ran is driven for two outings of three packs, a few hard hits in each, and nobody looks. Then
each check is weighed alone: what looking gains until the next outing is over, less its minutes and those of
the way in.
Wide checks are marked: they see a little of much and so stand high everywhere. Gates and the packs' own
checks are left out, since they are never a matter of worth. `tests/facts/test_trade_order.py` holds the
ranking to the trade.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta

import numpy as np

from snugfast.core.ids import compose
from snugfast.facts.load import load_facts
from snugfast.facts.model import Check, Facts, Moment
from snugfast.records.store.store import Store
from snugfast.upkeep.worth import Cover, future, worth_of_sets
from snugfast.usecases.beliefs.stakes import Values, costs, role_prices
from snugfast.usecases.bench.outlook import Outlook, outlooks
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.applicability import car_checks, of_pack, opening
from snugfast.usecases.shared.workshop import Workshop

GROUND = {"touring-1-10-4wd-2s": "tarmac", "crawler-1-10-4wd-3s-brushed": "rocks"}
OUTINGS, PACKS, MINUTES = 2, 3, "13"
SHOWN = 16
WIDE = {"push_roll", "suspension_drop", "listen_low_throttle", "full_travel", "axle_travel", "walk_round"}


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = datetime(2026, 5, 2, 9, tzinfo=UTC)

    def __call__(self) -> datetime:
        """The time, a moment later with each look."""
        self.now += timedelta(milliseconds=1)
        return self.now


@dataclass(frozen=True, slots=True)
class Ranked:
    """One check, weighed alone; money in whole units."""

    check: Check
    gain: float
    minutes: float
    net: float


def driven_hard(facts: Facts, key: str) -> Workshop:
    """A workshop with one car of that build, in order when it first ran and driven hard since."""
    clock = Clock()
    facts = replace(facts, presence={})
    workshop = Workshop(Store.create("sqlite://", clock=clock), facts, clock, compose(1, bytes(10)))
    build = starter(workshop, key)
    keep(workshop, [draft_car(workshop, "Car", build)])
    cells = build.of_role("pack")[0].sizes.get("cells_count", 3)
    kind = "nickel-metal hydride" if "nickel" in build.traits["pack_kind"] else "lithium-polymer"
    keep(workshop, [draft_pack(workshop, PackSaid("Pack", f"{cells:g}", "5000 mAh", kind))])
    ground = GROUND.get(key, "gravel")
    for _ in range(OUTINGS):
        for _ in range(PACKS):
            clock.now += timedelta(hours=1)
            said = RunSaid("Car", ("Pack",), MINUTES, ground=ground, hits="a few", wet="dry")
            keep(workshop, draft_runs(workshop, (said,)).entries)
        clock.now += timedelta(days=7)
    return workshop


def ranked(workshop: Workshop) -> list[Ranked]:
    """The car's checks, the one that is worth most after its minutes first."""
    (outlook,) = outlooks(workshop, lambda ledger: list(ledger.cars.values())).cars
    build = workshop.build(outlook.car.build)
    values = Values.of({}, workshop.facts)
    rows = [
        _weighed(workshop.facts, check, outlook, workshop, values)
        for check in car_checks(workshop.facts, build)
        if not check.gates and not of_pack(workshop.facts, check) and check.moment is not Moment.AFTER_RUN
    ]
    return sorted(rows, key=lambda row: -row.net)


def _weighed(facts: Facts, check: Check, outlook: Outlook, workshop: Workshop, values: Values) -> Ranked:
    detects = {cover.mode: cover.detects for cover in check.covers}
    risks = [risk for risk in outlook.risks if risk.mode.key in detects and risk.pack is None]
    minutes = check.minutes + sum(facts.access[key].minutes for key in opening(facts, check.access))
    if not risks:
        return Ranked(check, 0.0, minutes, -minutes * values.bench_minute / 100.0)
    restore, failure = costs(risks, {outlook.car.id: role_prices(workshop.build(outlook.car.build))}, values)
    detection = np.array([detects[risk.mode.key] for risk in risks])
    ahead = future(
        rate=np.array([risk.rate for risk in risks]),
        sudden_share=np.array([risk.sudden_share for risk in risks]),
        delay=np.array([risk.delay for risk in risks]),
        restore_cost=restore,
        failure_cost=failure,
        detection=detection,
        check_cost=np.full(len(risks), check.minutes * values.bench_minute),
    )
    sets = worth_of_sets(
        ahead,
        presence=np.array([risk.presence for risk in risks]),
        exposure=np.array([risk.exposure for risk in risks]),
        covers=[[Cover(detects[risk.mode.key], check.false_alarm, 0.0)] for risk in risks],
    )
    gain = sum(worth[1] for worth in sets) / 100.0
    return Ranked(check, gain, minutes, gain - minutes * values.bench_minute / 100.0)


def main(words: list[str]) -> None:
    """Print the ranking of the builds asked for."""
    facts = load_facts()
    wanted = [word for word in words if not word.startswith("-")] or list(facts.starters)
    for key in wanted:
        print(f"\n{key}")
        rows = ranked(driven_hard(facts, key))
        for place, row in enumerate(rows if "--all" in words else rows[:SHOWN], start=1):
            wide = "wide" if row.check.key in WIDE else ""
            worth = f"{row.net:6.2f} = {row.gain:5.2f} for {row.minutes:4.1f} min"
            print(f"{place:3} {worth} {wide:4} {row.check.name}")


if __name__ == "__main__":
    main(sys.argv[1:])
