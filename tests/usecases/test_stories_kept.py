"""Every question that tells a story leaves it told, so that the next one need not tell it again (law)."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from snugfast.usecases.beliefs.stories import BELIEFS
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.one_off import one_off_sheet
from snugfast.usecases.bench.sheet import Asked
from snugfast.usecases.bench.treatments import treatments_of
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.usecases.shared.lookup import car_called
from snugfast.usecases.shared.workshop import Workshop
from tests.usecases.bench import ran, with_truck, workshop_in_memory

ASKING: dict[str, Callable[[Workshop], object]] = {
    "sheet": lambda workshop: bench_sheet(workshop, Asked(("Bramble",), minutes=10.0)),
    "treatments": lambda workshop: treatments_of(workshop, ("Bramble",)),
    "first-check list": lambda workshop: one_off_sheet(workshop, "Bramble"),
}


@pytest.mark.slow
@pytest.mark.parametrize("question", ASKING)
def test_a_question_keeps_the_story_it_told(question: str) -> None:
    with workshop_in_memory() as (workshop, clock):
        with_truck(workshop)
        clock.on(days=1)
        ran(workshop)
        ASKING[question](workshop)
        with workshop.store.reading() as reads:
            car = car_called(ledger_now(reads), "Bramble")
            kept = reads.projection(BELIEFS, car.id)
            assert kept is not None
            assert kept.position == reads.position()
