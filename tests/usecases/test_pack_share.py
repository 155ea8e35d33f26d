"""Packs that take turns carry the outing between them, and no pack cries fire. Authority: law."""

from __future__ import annotations

import pytest

from snugfast.usecases.beliefs.stakes import any_failure
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.bench.sheet import Asked
from tests.usecases.pack_bench import PACK, Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

TURNS = (PACK, "Ember 2", "Ember 3")


def hard_driven(packs: Bench, rounds: int = 4) -> None:
    """Three packs in turn, each with a hard hit in every run, looked at before each charge."""
    for name in TURNS[1:]:
        packs.add_pack(name)
    for _ in range(rounds):
        packs.clock.on(days=7)
        for name in TURNS:
            packs.looked(pack=name)
        for name in TURNS:
            packs.ran(name, hits="1")


def test_the_packs_of_a_car_drive_the_outing_between_them(packs: Bench) -> None:
    """*law*: what the packs go through adds up to what the car goes through."""
    hard_driven(packs)
    (outlook,) = outlooks(packs.workshop, lambda ledger: list(ledger.cars.values())).cars
    own = [risk for risk in outlook.risks if risk.mode.key == "pack_imbalance"]
    assert len(own) == 3
    assert sum(risk.exposure for risk in own) == pytest.approx(outlook.ahead.packs)


def test_a_hit_in_every_run_is_no_fire_alarm(packs: Bench) -> None:
    """Elicited: real fires are two to three orders rarer than the one in a hundred packs once implied."""
    hard_driven(packs, rounds=8)
    (outlook,) = outlooks(packs.workshop, lambda ledger: list(ledger.cars.values())).cars
    fire = [risk for risk in outlook.risks if risk.mode.key == "pack_shorting"]
    assert len(fire) == 3
    assert 0.0 < any_failure(risk.fail_chance for risk in fire) < 3e-4
    packs.clock.on(days=1)
    sheet = bench_sheet(packs.workshop, Asked(("Bramble",), minutes=30.0))
    looks = [check for check in sheet.checks if check.check == "pack_look"]
    assert looks and all(check.gate for check in looks)
    assert not [why for check in looks for why in check.why if why.beyond_limit]
    assert not [why for check in looks for why in check.why if why.mode == "pack_shorting"]
