"""A run in the cold counts for more on what nylon breaks in, and for no more elsewhere.

Authority: laws of this project; the factor itself is elicited.
"""

from __future__ import annotations

import re
from uuid import UUID

import pytest

from snugfast.core.errors import BadInput
from snugfast.records.entries import Ran
from snugfast.usecases.beliefs.exposure import run_exposure
from snugfast.usecases.beliefs.upcoming import Ahead
from snugfast.usecases.bench.bench_sheet import bench_sheet
from snugfast.usecases.bench.sheet_asked import read_asked
from tests.usecases.bench import facts, with_truck, workshop_in_memory

ARM, NUT = "arm_cracked", "wheel_nut_loose"


def exposed(degC: float | None) -> dict[str, float]:
    modes = [facts().modes[key] for key in (ARM, NUT)]
    ran = Ran(UUID(int=1), (UUID(int=2),), running_min=12.0, hard_hits=3.0, ambient_degC=degC)
    return dict(zip((ARM, NUT), run_exposure(modes, ran).tolist(), strict=True))


def test_hits_in_frost_count_for_more() -> None:
    cold = facts().modes[ARM].cold
    assert cold is not None
    frosty = exposed(cold.below_degC - 0.5)
    assert frosty[ARM] == pytest.approx(3.0 * cold.factor)
    assert frosty[NUT] == exposed(None)[NUT]


@pytest.mark.parametrize("degC", [None, 5.0, 25.0])
def test_mild_air_and_air_nobody_spoke_of_count_once(degC: float | None) -> None:
    assert exposed(degC)[ARM] == 3.0


def test_only_what_is_made_of_plastic_gets_brittle() -> None:
    """Practice: nylon and its like go brittle in frost, steel and aluminium do not."""
    for mode in facts().modes.values():
        if mode.cold:
            parts = [place for build in facts().starters.values() for place in build.of_role(mode.role)]
            said = " ".join(place.material + " " + place.part for place in parts)
            assert re.search("nylon|plastic", said), mode.key


@pytest.mark.slow
def test_a_frosty_day_ahead_weighs_on_what_hits_break_and_a_hot_one_on_what_heats() -> None:
    """Law: the sheet for a day that was told counts it as the run will count afterwards."""
    modes = tuple(facts().modes[key] for key in (ARM, NUT))
    mild, frosty = (Ahead(1.0, 12.0, 3.0, 0.0, 0.0, air_degC=air).exposure(modes) for air in (None, -8.0))
    assert mild[0] == exposed(None)[ARM]
    assert frosty[0] == exposed(-8.0)[ARM]
    assert frosty[1] == mild[1]
    with workshop_in_memory() as (workshop, _):
        with_truck(workshop)
        times = {}
        for air in ("", "20 °C", "36 °C"):
            made = bench_sheet(workshop, read_asked(air=air, minutes="600"))
            times[air] = made.cars[0].stop_chance.value
        assert times[""] == pytest.approx(times["20 °C"])
        assert times["36 °C"] > times["20 °C"]


@pytest.mark.parametrize("words", ["-80 °C", "cold", "90"])
def test_air_that_cannot_be_is_refused(words: str) -> None:
    with pytest.raises(BadInput) as refused:
        read_asked(air=words)
    assert refused.value.way_out
