"""What is kept in memory between two questions changes no answer. Authority: law, anew it comes out equal."""

from __future__ import annotations

from dataclasses import replace

import pytest

from snugfast.usecases.beliefs import stories
from snugfast.usecases.bench.outlook import outlooks
from snugfast.usecases.journal.keeping import undo
from snugfast.usecases.packs import past
from snugfast.usecases.packs.state import packs_now
from snugfast.usecases.shared.lookup import cars_here
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import ran, with_truck, workshop_in_memory


def told(workshop: Workshop) -> tuple[object, object]:
    """Every pack and every risk of every car as it stands, at one moment."""
    at = workshop.now()
    still = replace(workshop, now=lambda: at)
    cars = outlooks(still, cars_here).cars
    return [(one.past, one.judged, one.state) for one in packs_now(still).packs], [one.risks for one in cars]


def told_anew(workshop: Workshop) -> tuple[object, object]:
    """The same with nothing in memory."""
    workshop.store._worked_out_about.clear()
    past._told.clear()
    stories._asked_last.clear()
    return told(workshop)


@pytest.mark.slow
def test_after_runs_late_runs_and_an_undo_it_is_as_worked_out_anew() -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        frozen = replace(workshop, now=lambda: clock.now)

        def same() -> None:
            assert told(frozen) == told_anew(frozen)

        clock.on(days=2)
        ran(workshop, minutes="12", ground="gravel", hits="3")
        told(frozen)
        clock.on(days=2)
        same()  # time alone
        ran(workshop, minutes="5", when="2026-05-03 09:00")  # late, before what was told
        same()
        undo(workshop)
        same()
