"""How much oil goes in, and the room it needs.

Authority: *by hand* and *law*.
"""

from __future__ import annotations

import math

import pytest

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.chassis.fills import air_to_leave, shock_volume


def test_a_shock_holds_its_bore_over_its_length() -> None:
    """*By hand*: 16 mm over 40 mm are 8.04 ml; twice the bore is four times as much."""
    found = shock_volume(bore_m=0.016, stroke_m=0.030, beyond_m=0.010)
    assert found * 1e6 == pytest.approx(8.042, abs=1e-3)
    assert shock_volume(bore_m=0.032, stroke_m=0.030, beyond_m=0.010) == pytest.approx(4 * found)


def test_warm_oil_fills_what_was_left_empty() -> None:
    """*Law*: a case filled to 1 − a holds exactly the oil that swelled. 40 K at 1 % for 10 K: 4 %."""
    air = air_to_leave(swells_per_K=0.001, warmer_K=40.0)
    assert (1.0 - air) * 1.04 == pytest.approx(1.0)
    assert air == pytest.approx(0.0385, abs=1e-4)
    assert air_to_leave(swells_per_K=0.001, warmer_K=0.0) == 0.0
    with pytest.raises(ImpossibleInput):
        shock_volume(bore_m=0.0, stroke_m=0.03, beyond_m=0.01)
    assert math.isfinite(air_to_leave(swells_per_K=0.001, warmer_K=200.0))
