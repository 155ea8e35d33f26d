"""A run in the cold counts for more on what nylon breaks in, and for no more elsewhere.

Authority: laws of this project; the factor itself is elicited.
"""

from __future__ import annotations

from uuid import UUID

import pytest

from snugfast.records.entries import Ran
from snugfast.usecases.story import run_exposure
from tests.usecases.bench import facts

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


def test_only_what_hits_break_gets_brittle() -> None:
    assert {mode.clock.value for mode in facts().modes.values() if mode.cold} == {"hard hits"}
