"""How likely each way to fail is once the chosen checks were done: exactly as the journal would tell it.

What is found is cured, sometimes in vain; a cure and an opened way shake what is near, and may plant a fault.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Event, Mode
from snugfast.upkeep.beliefs import Beliefs
from snugfast.usecases.beliefs.story import Story
from snugfast.usecases.beliefs.upcoming import Ahead

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Bench:
    """What is done at the bench to each row of a member's scope; every array is (rows,)."""

    detects: Floats  # chance that the checks together find a defect that is there
    false_alarm: Floats  # and one that is not
    fixed: NDArray[np.bool_]  # known to be there, and a job of this sheet
    opened: NDArray[np.bool_]  # at a place that the way in takes apart
    planted: Floats  # chance that the work plants a fault


@dataclass(frozen=True, slots=True)
class AfterBench:
    """Chances of failing before the next bench, (rows,)."""

    fail_chance: Floats  # after this bench
    unseen: Floats  # were every defect that is there now found and fixed for good
    found: Floats  # chance that something is found, false alarms included


def after_bench(story: Story, member: UUID, ahead: Ahead, at: datetime, bench: Bench) -> AfterBench:
    """The outlook of a member after a bench at this time, as `at_risk` has it before; the story stays.

    What is due after wet counts as done: it stands on the same sheet, before what was chosen.
    """
    scope = story.scope(member)
    factor = story.stress_ahead(member, scope.modes, ahead.driving).factor
    now, _ = story.as_of(member, at)
    exposure = np.maximum((ahead.exposure(scope.modes) * factor)[now.row], 1e-9)
    works = story.facts.assumptions["fit_success"].value
    shaken = np.array([_shaken(mode) for mode in scope.modes])
    presence = np.where(bench.fixed, 1.0, now.presence)
    detects = np.where(bench.fixed, 1.0, bench.detects)
    found = presence * detects + (1.0 - presence) * bench.false_alarm
    cured = now.found(detection=np.maximum(detects, 1e-9), false_alarm=bench.false_alarm)
    cured = cured.restored(works=works).raised(factor=shaken)
    quiet = now.checked_clean(detection=np.minimum(detects, 1.0 - 1e-12), false_alarm=bench.false_alarm)
    opened = np.where(bench.opened, shaken, 1.0)

    def failing(beliefs: Beliefs) -> Floats:
        after = beliefs.raised(factor=opened).disturbed(chance=bench.planted)
        return after.outlook(exposure=exposure).fail_chance

    after = found * failing(cured) + (1.0 - found) * failing(quiet)
    untouched = now.restored(works=1.0).outlook(exposure=exposure).fail_chance
    return AfterBench(after, untouched, found)


def _shaken(mode: Mode) -> float:
    """How many times over work at its place makes a mode arise."""
    return max((raised.factor for raised in mode.raises if raised.event is Event.WORK_THERE), default=1.0)
