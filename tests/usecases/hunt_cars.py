"""What is believed of a starter that was driven for some days, for hunts without a journal."""

from __future__ import annotations

from functools import cache

from snugfast.facts.model import Build, Clock
from snugfast.usecases.hunt.possible import Believed, Possible, possible_by
from snugfast.usecases.hunt.reasoning import Reasoning
from snugfast.usecases.shared.applicability import car_modes
from tests.usecases.bench import facts

SINCE_LOOK = {
    Clock.RUNNING_MIN: 60.0,
    Clock.HARD_HITS: 5.0,
    Clock.PACKS: 5.0,
    Clock.WET_RUNS: 0.5,
    Clock.DAYS: 10.0,
}
"""What a car went through since anybody looked: five packs."""


@cache
def driven(key: str) -> tuple[Build, Possible]:
    """The build of a starter, and what it can have: a defect not yet failed, by the rates of the tables."""
    build = facts().starters[key]
    believed = [
        Believed(mode.key, place, exposure / (mode.between_defects + exposure))
        for mode, place in car_modes(facts(), build)
        for exposure in [SINCE_LOOK[mode.clock]]
    ]
    return build, possible_by(facts(), build, believed, bench_minute=15.0)


def begun(key: str, *symptoms: str) -> Reasoning:
    """A hunt on a starter, before any answer."""
    build, can = driven(key)
    seen = tuple(facts().hunt_symptoms[one] for one in symptoms)
    return Reasoning(facts(), build, can, seen, (), {})
