"""Charge left with a band. Authority: laws of weighing evidence, and the worked curve readings."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput, ImpossibleInput
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.charge_left import (
    ChargeLeft,
    Estimate,
    Flag,
    ReadingCare,
    combine,
    from_count,
    from_rest,
    from_standing,
    lowest,
)
from tests.physics.pack_tables import AH_C, DAY_S, band_of, kelvin, product_curve, toml

CURVE = product_curve()
REST = toml("reading.toml")["rest"]
KNOWN, UNKNOWN = (
    ReadingCare(
        settled_s=REST["settled_s"]["value"],
        provisional_s=REST["provisional_s"]["value"],
        table_charge=REST[table]["value"],
        meter_V=REST["meter_V"]["value"],
    )
    for table in ("known_table_charge", "unknown_table_charge")
)
FIVE_AH = Band.exactly(5 * AH_C)
HOUR_S = 3600.0


def rested(cell_V: float, care: ReadingCare = KNOWN, rested_s: float = 2 * HOUR_S) -> Estimate:
    return from_rest(cell_V=cell_V, rested_s=rested_s, curve=CURVE, care=care, temperature_K=kelvin(25))


def test_a_rested_cell_at_storage_voltage_is_about_half_full() -> None:
    left = combine([rested(3.80, UNKNOWN)])
    assert left.charge.likely == pytest.approx(0.520, abs=0.002)
    assert left.charge.low == pytest.approx(0.42, abs=0.01)
    assert left.charge.high == pytest.approx(0.62, abs=0.01)
    assert not left.flags


def test_the_meter_matters_most_where_the_curve_is_flat() -> None:
    """Worked: 10 mV is 3 to 3.6 % at 3.72 to 3.78 V, about 1 % above 3.90 V."""
    sharp = ReadingCare(3600, 600, 1e-9, 0.010)
    assert 2 * rested(3.75, sharp).sd == pytest.approx(0.035, abs=0.003)
    assert 2 * rested(3.95, sharp).sd == pytest.approx(0.0115, abs=0.002)


def test_a_reading_before_the_hour_is_provisional_and_wider() -> None:
    early = rested(3.80, rested_s=20 * 60)
    assert Flag.PROVISIONAL in early.flags
    assert early.sd == pytest.approx(2 * rested(3.80).sd)


def test_a_reading_right_after_the_run_says_nothing_yet() -> None:
    with pytest.raises(BadInput, match="rested 4 min"):
        rested(3.80, rested_s=4 * 60)


def test_not_knowing_the_warmth_widens_the_band() -> None:
    blind = from_rest(cell_V=3.79, rested_s=7200, curve=CURVE, care=KNOWN)
    assert blind.sd > rested(3.79).sd
    assert blind.charge == pytest.approx(rested(3.79).charge)


def test_counting_out_of_a_full_pack() -> None:
    full = Estimate(1.0, 0.01, "full charge")
    left = from_count(start=full, taken_C=3.0 * AH_C, capacity_C=FIVE_AH, counter_share=0.05)
    assert left.charge == pytest.approx(0.40)
    assert left.sd == pytest.approx(math.hypot(0.01, 0.6 * 0.05 / 2))


def test_standing_takes_what_self_discharge_and_drain_take() -> None:
    """Worked: 5 mA and 2 % a month take a 5 Ah pack from half to empty in 20.28 days."""
    left = from_standing(
        start=Estimate(0.5, 0.01, "rest voltage"),
        stood_s=20.28 * DAY_S,
        drain_A=Band.exactly(0.005),
        capacity_C=FIVE_AH,
        self_discharge=Band.exactly(0.02),
        temperature_K=kelvin(25),
    )
    assert left.charge == pytest.approx(0.0, abs=1e-3)


def test_unknown_drain_widens_the_band_with_time() -> None:
    def stood(days: float) -> Estimate:
        return from_standing(
            start=Estimate(0.9, 0.01, "full charge"),
            stood_s=days * DAY_S,
            drain_A=band_of(toml("drains.toml")["plugged_switch_off"], "_A"),
            capacity_C=FIVE_AH,
            self_discharge=band_of(toml("self_discharge.toml")["bare_pack"]),
            temperature_K=kelvin(20),
        )

    assert stood(2).sd < stood(4).sd
    assert stood(2).charge > stood(4).charge


def test_two_estimates_weigh_by_how_sharp_they_are() -> None:
    """Law: inverse variance; equal spreads give the middle and a spread smaller by the root of two."""
    left = combine([Estimate(0.50, 0.02, "a"), Estimate(0.54, 0.02, "b")])
    assert left.charge.likely == pytest.approx(0.52)
    assert (left.charge.high - left.charge.low) / 2 == pytest.approx(2 * 0.02 / math.sqrt(2))
    sharper = combine([Estimate(0.50, 0.01, "a"), Estimate(0.54, 0.02, "b")])
    assert sharper.charge.likely == pytest.approx((0.50 * 4 + 0.54) / 5)


def test_estimates_that_disagree_are_said_to_and_both_lie_in_the_band() -> None:
    left = combine([Estimate(0.80, 0.01, "count"), Estimate(0.50, 0.02, "rest voltage")])
    assert Flag.DISAGREE in left.flags
    assert left.charge.low <= 0.50 - 0.04 + 1e-12
    assert left.charge.high >= 0.80 + 0.02 - 1e-12


@pytest.mark.parametrize(
    ("cell_V", "charge", "flag"), [(2.9, 0.0, Flag.BELOW_EMPTY), (4.23, 1.0, Flag.ABOVE_FULL)]
)
def test_volts_beyond_the_table_are_flagged(cell_V: float, charge: float, flag: Flag) -> None:
    left = combine([rested(cell_V)])
    assert left.charge.likely == charge
    assert flag in left.flags


@given(
    st.lists(
        st.builds(
            Estimate, st.floats(-3, 3), st.floats(1e-4, 1.0), st.sampled_from(["count", "rest voltage"])
        ),
        min_size=1,
        max_size=4,
    )
)
def test_charge_never_stands_outside_nought_to_one_without_a_flag(estimates: list[Estimate]) -> None:
    left = combine(estimates)
    assert 0.0 <= left.charge.low <= left.charge.likely <= left.charge.high <= 1.0
    weights = [1 / e.sd**2 for e in estimates]
    mean = sum(w * e.charge for w, e in zip(weights, estimates, strict=True)) / sum(weights)
    assert (mean < 0) == (Flag.BELOW_EMPTY in left.flags)
    assert (mean > 1) == (Flag.ABOVE_FULL in left.flags)


@given(st.floats(3.0, 4.2), st.floats(0.001, 0.2))
def test_more_volts_never_mean_less_charge(cell_V: float, more_V: float) -> None:
    assert rested(min(cell_V + more_V, 4.2)).charge >= rested(cell_V).charge


def test_the_lowest_cell_speaks_for_the_pack() -> None:
    cells = [combine([rested(volts)]) for volts in (3.82, 3.71, 3.80)]
    assert lowest(cells) is cells[1]


def test_charge_left_outside_nought_to_one_cannot_be_made() -> None:
    with pytest.raises(ImpossibleInput):
        ChargeLeft(Band(-0.1, 0.2, 0.3), frozenset(), ())


def test_no_evidence_is_no_charge() -> None:
    with pytest.raises(BadInput):
        combine([])
    with pytest.raises(BadInput):
        lowest([])


def test_a_pack_cannot_have_stood_for_less_than_no_time() -> None:
    with pytest.raises(BadInput, match="less than no time"):
        from_standing(
            start=Estimate(0.5, 0.01, "count"),
            stood_s=-1.0,
            drain_A=Band.exactly(0),
            capacity_C=FIVE_AH,
            self_discharge=Band.exactly(0.02),
            temperature_K=kelvin(25),
        )
