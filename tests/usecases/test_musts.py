"""Which checks are forced. Authority: definitions (the sharpest look; none that cannot help), by hand."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from uuid import UUID

import pytest

from snugfast.facts.model import SafetyLimit
from snugfast.records.entries import History
from snugfast.records.ledger import CarRecord
from snugfast.records.roster import Roster
from snugfast.upkeep.worth import Cover
from snugfast.usecases.beliefs.stakes import AtRisk
from snugfast.usecases.beliefs.story import Mark
from snugfast.usecases.bench.musts import musts_of
from snugfast.usecases.bench.tasks import Task
from tests.usecases.bench import facts

CAR = UUID(int=1)
RECORD = CarRecord(CAR, "Bramble", {}, History.NEW, "", datetime(2026, 5, 1, tzinfo=UTC), Roster())
MODE = replace(facts().modes["receiver_plug_loose"], safety=SafetyLimit(belief=0.05, failing=0.01))
QUICK, SLOW = Cover(0.4, 0.0), Cover(0.9, 0.0)


def task(key: str, minutes: float, *, possible: bool = True) -> Task:
    check = replace(facts().checks["receiver_plugs"], key=key, minutes=minutes)
    return Task(key, RECORD, None, check, gate=False, moment_is_now=possible, answered=False)


TASKS = {one.key: one for one in (task("quick", 0.2), task("slow", 3.0), task("touch", 0.1))}


def risk(presence: float, fail: float, *, sudden: float = 0.0, avoidable: float = 0.0) -> AtRisk:
    return AtRisk(
        car=CAR,
        pack=None,
        mode=MODE,
        place=None,
        mark=Mark(),
        since_look=0.0,
        presence=presence,
        fail_chance=fail,
        sudden_chance=sudden,
        avoidable_chance=avoidable,
        rate=0.0,
        multiplier=1.0,
        delay=1.0,
        sudden_share=0.0,
        exposure=1.0,
    )


def forced(one: AtRisk, **covers: Cover) -> frozenset[str]:
    return musts_of(TASKS, [one], [covers])


def test_the_check_that_sees_most_is_forced_not_the_quickest() -> None:
    assert forced(risk(0.2, 0.1), quick=QUICK, slow=SLOW) == {"slow"}
    assert forced(risk(0.2, 0.1), quick=QUICK, slow=Cover(0.4, 0.0)) == {"quick"}


def test_a_check_that_only_touches_the_part_is_not_forced() -> None:
    assert forced(risk(0.2, 0.1), touch=Cover(0.0, 0.0, 0.01)) == frozenset()
    assert forced(risk(0.2, 0.1), touch=Cover(0.0, 0.0, 0.01), quick=QUICK) == {"quick"}


@pytest.mark.parametrize(
    ("presence", "fail", "sudden", "avoidable", "is_forced"),
    [
        (0.001, 0.02, 0.0195, 0.0004, False),  # all but a hair of it is sudden: looking keeps no limit
        (0.001, 0.02, 0.0, 0.0004, False),  # it would arise and fail on the way: the same
        (0.02, 0.018, 0.008, 0.009, True),  # without the defect the limit is kept
        (0.04, 0.032, 0.015, 0.016, True),  # beyond the limit either way, but the look spares much
        (0.06, 0.005, 0.0, 0.004, True),  # the belief by itself
        (0.04, 0.009, 0.0, 0.009, False),  # no limit passed
    ],
)
def test_a_limit_that_no_look_can_keep_forces_none(
    presence: float, fail: float, sudden: float, avoidable: float, is_forced: bool
) -> None:
    one = risk(presence, fail, sudden=sudden, avoidable=avoidable)
    assert bool(forced(one, slow=SLOW)) is is_forced
