"""Where a pack may be sent, the rule is said, and what has to come out of this one.

Authority: 84 FR 8006 (U.S. Pipeline and Hazardous Materials Safety Administration, 2019) and, repeated by
carriers, packing instruction 965 of the International Air Transport Association: at most 30 % of the rated
capacity, cargo aircraft only. The volts are those of the computed table (30 % rests at 3.7331 V, 3.80 V is
52.0 %).
"""

from __future__ import annotations

import pytest

from snugfast.core.figures import Figure
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry
from snugfast.usecases.packs.sent import sent
from tests.usecases.pack_bench import Bench

pytestmark = pytest.mark.slow  # through a whole use-case: not in make check

LIPO = Chemistry.LITHIUM_POLYMER
FIVE_Ah = Band.exactly(5.0 * 3600.0)


def holding(low: float, likely: float, high: float) -> Figure:
    return Figure(likely, "1", low, high)


def test_the_limit_and_its_volts_are_the_published_ones() -> None:
    told = sent(LIPO, damaged=False, charge=holding(0.49, 0.52, 0.55), capacity_C=FIVE_Ah)
    assert told is not None and told.rest_V is not None and told.take_out is not None
    assert told.most is not None and told.most.value == 0.30
    assert {origin.source for origin in told.most.origins} == {"phmsa-2019", "iata-dgr-965"}
    assert told.rest_V.value == pytest.approx(3.7331, abs=5e-5)
    assert told.take_out.value == pytest.approx((0.55 - 0.30) * 5.0)  # from the upper end, to be sure
    assert "1250 mAh come out first" in told.says and "not on passenger aircraft" in told.says


@pytest.mark.parametrize("charge", [holding(0.2, 0.25, 0.3), holding(0.0, 0.05, 0.1)])
def test_a_pack_that_is_low_enough_needs_nothing(charge: Figure) -> None:
    told = sent(LIPO, damaged=False, charge=charge, capacity_C=FIVE_Ah)
    assert told is not None and "come out" not in told.says and "ask the carrier" in told.says


def test_what_is_not_known_or_not_shown_leaves_the_rule_alone() -> None:
    for chemistry in (LIPO, Chemistry.HIGH_VOLTAGE_LITHIUM, Chemistry.LITHIUM_IRON_PHOSPHATE, None):
        told = sent(chemistry, damaged=False)
        assert told is not None and "30 %" in told.says and "mAh" not in told.says
    damaged = sent(LIPO, damaged=True, charge=holding(0.1, 0.2, 0.3), capacity_C=FIVE_Ah)
    assert damaged is not None and damaged.says.startswith("a damaged pack is not sent")
    assert "%" not in damaged.says
    assert sent(Chemistry.NICKEL_METAL_HYDRIDE, damaged=False) is None


def test_the_pack_says_it_as_it_stands(packs: Bench) -> None:
    packs.charged("storage")
    told = packs.state().sent
    assert told is not None and told.take_out is not None
    assert 1.0 < told.take_out.value < 1.6  # 52 % with its band, less 30 %, of a little under 5 Ah
    assert any("ask the carrier" in caution.text for caution in packs.state().cautions)
    packs.looked("swollen")
    withheld = packs.state().sent
    assert withheld is not None and withheld.take_out is None
