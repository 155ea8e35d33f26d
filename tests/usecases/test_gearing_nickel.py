"""The beginner's car on nickel cells: gearing, run time and fit, as wide as what is known of such cells.

Authority: laws, and common practice without a source for what such a car does.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from snugfast.usecases.gearing.said import GearingSaid, read_question
from snugfast.usecases.gearing.study import gearing_study
from snugfast.usecases.journal.cars import draft_car, starter
from snugfast.usecases.journal.keeping import keep
from snugfast.usecases.journal.run_log import RunSaid, draft_runs
from snugfast.usecases.packs.register import PackSaid, draft_pack
from snugfast.usecases.shared.workshop import Workshop
from snugfast.usecases.twin.fitting import fit_twin
from tests.usecases.bench import Clock, workshop_in_memory

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

CAR, PACK = "Wren", "Nick"


@pytest.fixture
def beginner() -> Iterator[tuple[Workshop, Clock]]:
    with workshop_in_memory() as (workshop, clock):
        keep(workshop, [draft_car(workshop, CAR, starter(workshop, "short-course-1-10-2wd-brushed"))])
        said = PackSaid(name=PACK, cells="6", capacity="3000 mAh", chemistry="NiMH")
        keep(workshop, [draft_pack(workshop, said)])
        yield workshop, clock


def test_the_beginners_car_has_gearing_and_a_run_time(beginner: tuple[Workshop, Clock]) -> None:
    """Trade facts: 20 to 35 km/h, and 15 minutes within a band that is as wide as what is known."""
    study = gearing_study(beginner[0], GearingSaid(CAR, pinions="15, 19"))
    chosen = study.chosen
    assert chosen is not None
    assert 20.0 < chosen.top_speed_km_h < 35.0
    lasts = chosen.bands.run_time
    assert lasts is not None and lasts.low is not None and lasts.high is not None
    assert lasts.low < 15.0 < chosen.run_min < 32.0
    band = chosen.bands.top_speed
    assert band is not None and band.low is not None and band.high is not None
    assert band.high / band.low > 1.15
    question = read_question(beginner[0], GearingSaid(CAR)).question
    assert question.limits.cutoff_V_per_cell < 1.1
    assert question.car.controller.cutoff_V_per_cell < 1.1
    speeds = [rung.top_speed_km_h for rung in study.rungs]
    assert speeds == sorted(speeds)


def test_its_car_model_is_fitted_to_what_was_put_back(beginner: tuple[Workshop, Clock]) -> None:
    workshop, clock = beginner
    clock.on(hours=1)
    run = RunSaid(CAR, packs=(PACK,), minutes="9", ground="dirt", ambient="20", put_back="2100 mAh")
    keep(workshop, draft_runs(workshop, (run,)).entries)
    found = fit_twin(workshop, CAR)
    line = next(line for line in found.readings if line.unit == "mAh")
    assert abs(line.read - line.after.value) < abs(line.read - line.before)
