"""Two mode tables under the same policies: the frozen one of 28 modes, and the truck's of the product.

Run as `python bench/study_tables.py [cars] [packs]`; it prints the tables of docs/study.md.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any, cast
from uuid import UUID

import numpy as np

from snugfast.facts.load import load_facts
from snugfast.facts.model import Check as FactsCheck
from snugfast.facts.model import Clock, Event, Facts, Mode
from snugfast.upkeep.choosing import Access, Check
from snugfast.upkeep.study import Season, Table, compare, everything, mean_and_error, never, sheet
from snugfast.upkeep.worth import Cover
from snugfast.usecases.beliefs.exposure import law_of
from snugfast.usecases.beliefs.stakes import Values, costs, role_prices
from snugfast.usecases.shared.applicability import car_checks, car_modes, of_pack, opening, pack_modes, sees

if TYPE_CHECKING:
    from snugfast.usecases.beliefs.stakes import AtRisk

FROZEN = Path(__file__).parents[1] / "tests" / "golden" / "upkeep" / "failure_modes.json"
CAR = UUID(int=0)
PACKS_PER_OUTING = 4
MINUTES = 20.0


def frozen_table(document: dict[str, Any]) -> Table:
    """The frozen modes, each with its own check."""
    modes, use = document["modes"], document["use"]
    per_pack = {
        "run_min": use["run_min_per_pack"],
        "hits": use["hits_per_pack"],
        "wet": use["wet_share"],
        "packs": 1.0,
        "days": use["days_between_outings"] / use["packs_per_outing"],
    }
    units = np.array([per_pack[mode["clock"]] for mode in modes])
    bench, running = use["money_per_bench_min"], use["money_per_lost_run_min"]
    return Table(
        between_defects=np.array([mode["mtbd"] for mode in modes]) / units,
        spread=np.array([mode["a"] for mode in modes]),
        delay=np.array([mode["delay"] for mode in modes]) / units,
        delay_log_sd=np.full(len(modes), 0.4),
        sudden_share=np.zeros(len(modes)),
        restore_cost=np.array([mode["restore_cost"] + bench * mode["restore_min"] for mode in modes]),
        failure_cost=np.array([mode["fail_cost"] + running * mode["lost_min"] for mode in modes]),
        covers=tuple({mode["id"]: Cover(mode["r"])} for mode in modes),
        checks=tuple(
            Check(mode["id"], round(10 * mode["check_min"]), tuple(mode["access"])) for mode in modes
        ),
        access=tuple(Access(way["id"], round(10 * way["min"]), way["parent"]) for way in document["access"]),
        bench_minute=bench,
    )


def truck_table(facts: Facts) -> Table:
    """Every mode that the starter truck, or the one pack in it, can have, at the product's own numbers."""
    build = facts.starters["truck-1-10-4wd-3s"]
    modes = [mode for mode, _ in car_modes(facts, build)] + list(pack_modes(facts))
    keys = {mode.key for mode in modes}
    checks = [
        check for check in car_checks(facts, build) if not of_pack(facts, check) or sees(facts, check, keys)
    ]
    laws = [law_of(mode) for mode in modes]
    units = np.array([_per_pack(facts, mode) for mode in modes])
    values = Values.of({}, facts)
    rows = cast("list[AtRisk]", [SimpleNamespace(car=CAR, mode=mode) for mode in modes])
    restore, failure = costs(rows, {CAR: role_prices(build)}, values)
    return Table(
        between_defects=np.array([law.mean_between_defects for law in laws]) / units,
        spread=np.array([law.spread_shape for law in laws]),
        delay=np.array([law.mean_delay for law in laws]) / units,
        delay_log_sd=np.array([law.delay_log_sd for law in laws]),
        sudden_share=np.array([law.sudden_share for law in laws]),
        restore_cost=restore / 100.0,
        failure_cost=failure / 100.0,
        covers=tuple(_covers(mode, checks) for mode in modes),
        checks=tuple(
            Check(check.key, round(10 * check.minutes), opening(facts, check.access)) for check in checks
        ),
        access=tuple(
            Access(way.key, round(10 * way.minutes), way.parent or None) for way in facts.access.values()
        ),
        bench_minute=values.bench_minute / 100.0,
    )


def _per_pack(facts: Facts, mode: Mode) -> float:
    """What one pack of the usual use adds to a mode's clock; dry ground, except on the clock of wet runs."""
    usual = {key: figure.value for key, figure in facts.assumptions.items()}
    return {
        Clock.RUNNING_MIN: usual["habit_running_min"],
        Clock.HARD_HITS: usual["habit_hard_hits"],
        Clock.PACKS: 1.0,
        Clock.WET_RUNS: usual["habit_wet_share"],
        Clock.DAYS: usual["habit_days_between_outings"] / usual["habit_packs_per_outing"],
    }[mode.clock]


def _covers(mode: Mode, checks: Sequence[FactsCheck]) -> dict[str, Cover]:
    """The checks that bear on a mode, as the sheet sees them: what they detect, and the harm they may do."""
    shaken = any(raised.event is Event.WORK_THERE for raised in mode.raises)
    covers = {}
    for check in checks:
        detects = next((cover.detects for cover in check.covers if cover.mode == mode.key), 0.0)
        harm = check.harm if shaken and mode.role in check.roles else 0.0
        if detects or harm:
            covers[check.key] = Cover(detects, check.false_alarm if detects else 0.0, harm)
    return covers


def main(cars: int = 40, packs: int = 40) -> None:
    """Print both tables of results."""
    document = json.loads(FROZEN.read_text(encoding="utf-8"))
    for name, table in (("frozen", frozen_table(document)), ("truck", truck_table(load_facts()))):
        policies = {
            "never": never(table),
            "everything before every pack": everything(table, every=1),
            "everything before every outing": everything(table, every=PACKS_PER_OUTING),
            "sheet before every outing": sheet(table, every=PACKS_PER_OUTING, minutes=MINUTES),
        }
        seasons = compare(table, list(policies.values()), cars=cars, packs=packs, seed=11)
        print(
            f"\n{name}: {len(table.covers)} modes, {len(table.checks)} checks, {cars} cars, {packs} packs\n"
        )
        print(
            "| policy | cost per running hour | dearer than the sheet "
            "| failures per 100 packs | bench min per pack |"
        )
        print("|---|---|---|---|---|")
        for policy, season in zip(policies, seasons, strict=True):
            print(_line(policy, season, seasons[-1]))


def _line(policy: str, season: Season, against: Season) -> str:
    money, money_error = mean_and_error(season.money_per_hour)
    gap, gap_error = mean_and_error(season.money_per_hour - against.money_per_hour)
    failures, failures_error = mean_and_error(season.failures_per_100)
    bench, _ = mean_and_error(season.bench_min_per_pack)
    return (
        f"| {policy} | {money:.2f} ± {money_error:.2f} | {gap:+.2f} ± {gap_error:.2f} "
        f"| {failures:.1f} ± {failures_error:.1f} | {bench:.1f} |"
    )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
