"""How long a standing pack lasts. Worked values were reckoned apart from this code, by the stated sums."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from snugfast.core.errors import BadInput, ImpossibleInput
from snugfast.physics.packs.band import Band
from snugfast.physics.packs.chemistry import Chemistry, NoTable
from snugfast.physics.packs.drain import Left, Standing, act_by, drain_between, lasts_s, self_discharge_per_s
from tests.physics.pack_tables import (
    AH_C,
    DAY_S,
    HOUR_S,
    band_of,
    kelvin,
    product_curve,
    product_limits,
    toml,
)

CURVE, LIMITS = product_curve(), product_limits().cell
FIVE_AH_C = 5.0 * AH_C
TWO_PERCENT = self_discharge_per_s(per_month_at_25=0.02, temperature_K=kelvin(25))
DANGER_CHARGE = 0.0163


def lasting_days(charge: float, drain_mA: float, until_charge: float) -> float:
    return (
        lasts_s(
            charge=charge,
            until_charge=until_charge,
            drain_A=drain_mA / 1000,
            capacity_C=FIVE_AH_C,
            self_discharge_per_s=TWO_PERCENT,
        )
        / DAY_S
    )


@pytest.mark.parametrize(
    ("charge", "drain_mA", "to_danger_d", "to_empty_d"),
    [
        (1.0, 0, 1497, 1522),
        (1.0, 1, 180.3, 183.3),
        (1.0, 5, 39.89, 40.56),
        (1.0, 20, 10.18, 10.35),
        (1.0, 80, 2.56, 2.60),
        (0.5, 0, 736, 761),
        (0.5, 1, 88.6, 91.6),
        (0.5, 5, 19.6, 20.28),
        (0.5, 20, 5.00, 5.17),
        (0.5, 80, 1.26, 1.30),
        (0.2, 5, 7.45, 8.11),
        (0.2, 20, 1.90, 2.07),
        (0.2, 80, 11.5 / 24, 12.5 / 24),
    ],
)
def test_the_worked_table_of_drains(
    charge: float, drain_mA: float, to_danger_d: float, to_empty_d: float
) -> None:
    assert lasting_days(charge, drain_mA, DANGER_CHARGE) == pytest.approx(to_danger_d, rel=4e-3)
    assert lasting_days(charge, drain_mA, 0.0) == pytest.approx(to_empty_d, rel=4e-3)


@pytest.mark.parametrize(
    ("degC", "percent"), [(0, 0.354), (15, 1.0), (25, 2.0), (35, 4.0), (45, 8.0), (60, 22.6)]
)
def test_self_discharge_doubles_every_ten_degrees(degC: float, percent: float) -> None:
    """Worked; at 60 °C it comes near the 20 % a month published for a new cell."""
    rate = self_discharge_per_s(per_month_at_25=0.02, temperature_K=kelvin(degC))
    assert rate * 730.5 * HOUR_S * 100 == pytest.approx(percent, rel=2e-3)


def test_two_percent_a_month_is_a_seventh_of_a_milliampere() -> None:
    assert pytest.approx(0.1369, abs=1e-4) == TWO_PERCENT * FIVE_AH_C * 1000


def test_below_empty_there_is_hardly_an_hour_left() -> None:
    """0.47 % lies between 3.0 and 2.5 V: 1.18 h at 20 mA, 18 min at 80 mA (worked, no self-discharge)."""
    for drain_A, hours in ((0.020, 1.18), (0.080, 0.3), (0.005, 4.7)):
        seconds = lasts_s(
            charge=0.0047,
            until_charge=0.0,
            drain_A=drain_A,
            capacity_C=FIVE_AH_C,
            self_discharge_per_s=0.0,
        )
        assert seconds / HOUR_S == pytest.approx(hours, rel=0.03)


def test_steady_self_discharge_is_the_early_side_of_the_two_published_forms() -> None:
    """Proportional to charge it takes 496.6 h where the steady form takes 486.7 h (worked)."""
    share_per_h, own_per_h = 5 / 5000, TWO_PERCENT * HOUR_S
    proportional_h = math.log(1 + own_per_h * 0.5 / share_per_h) / own_per_h
    assert proportional_h == pytest.approx(496.6, abs=0.1)
    assert lasting_days(0.5, 5, 0.0) * 24 == pytest.approx(486.7, abs=0.1)


def test_two_rest_readings_give_the_drain_between_them() -> None:
    """3.95 V to 3.85 V in 10 days: 2.450 mA after self-discharge (worked with the finer table)."""
    found_A = drain_between(
        charge_then=CURVE.charge_at(3.95),
        charge_now=CURVE.charge_at(3.85),
        apart_s=10 * DAY_S,
        capacity_C=FIVE_AH_C,
        self_discharge_per_s=TWO_PERCENT,
    )
    assert found_A * 1000 == pytest.approx(2.450, abs=0.01)


def test_a_cell_that_falls_faster_shows_its_own_leak() -> None:
    """60 days from 3.800 V to 3.786 and 3.752 V: 2 and 8 % a month, 0.411 mA between them (worked)."""
    then = CURVE.charge_at(3.800)
    good, weak = (
        drain_between(
            charge_then=then,
            charge_now=CURVE.charge_at(volts),
            apart_s=60 * DAY_S,
            capacity_C=FIVE_AH_C,
            self_discharge_per_s=0.0,
        )
        for volts in (3.786, 3.752)
    )
    assert (weak - good) * 1000 == pytest.approx(0.411, abs=0.01)
    assert good / FIVE_AH_C * 730.5 * HOUR_S == pytest.approx(0.02, abs=5e-4)


def standing(
    *,
    charge: float = 0.6,
    width: float = 0.1,
    drain_A: float = 0.005,
    degC: float = 20.0,
    own: Band | None = None,
) -> Standing:
    return Standing(
        chemistry=Chemistry.LITHIUM_POLYMER,
        charge=Band(max(charge - width, 0.0), charge, min(charge + width, 1.0)),
        capacity_C=Band(0.9 * FIVE_AH_C, FIVE_AH_C, FIVE_AH_C),
        drain_A=Band(drain_A * (1 - width), drain_A, drain_A * (1 + width)),
        self_discharge=own or Band(0.003, 0.02, 0.05),
        temperature_K=kelvin(degC),
    )


def by_s(pack: Standing) -> float:
    return act_by(
        left=Left.PLUGGED_SWITCH_OFF, standing=pack, drain_measured=False, curve=CURVE, limits=LIMITS
    ).by_s


def test_the_three_ways_of_leaving_a_pack_stand_in_order_of_danger() -> None:
    drains = toml("drains.toml")
    keys = {
        Left.UNPLUGGED: "unplugged",
        Left.PLUGGED_SWITCH_OFF: "plugged_switch_off",
        Left.SWITCHED_ON: "switched_on",
    }
    times = []
    for left, key in keys.items():
        pack = Standing(
            chemistry=Chemistry.LITHIUM_POLYMER,
            charge=Band(0.45, 0.5, 0.55),
            capacity_C=Band.exactly(FIVE_AH_C),
            drain_A=band_of(drains[key], "_A"),
            self_discharge=band_of(toml("self_discharge.toml")["bare_pack"]),
            temperature_K=kelvin(20),
        )
        told = act_by(left=left, standing=pack, drain_measured=False, curve=CURVE, limits=LIMITS)
        assert told.act.low < told.danger.low < told.empty.low
        assert told.warn_from_s == pytest.approx(told.by_s / 2)
        times.append(told.by_s)
    assert times[0] > 100 * DAY_S > times[1] > 1 * DAY_S > 10 * HOUR_S > times[2]


@given(st.floats(0.1, 1.0), st.floats(0.0, 0.5), st.floats(1e-4, 0.2))
def test_act_by_comes_earlier_with_drain(charge: float, drain_A: float, more_A: float) -> None:
    assert by_s(standing(charge=charge, width=0.05, drain_A=drain_A + more_A)) <= by_s(
        standing(charge=charge, width=0.05, drain_A=drain_A)
    )


@given(st.floats(0.2, 1.0), st.floats(-10, 50), st.floats(0.5, 20))
def test_act_by_comes_earlier_with_warmth(charge: float, degC: float, warmer_K: float) -> None:
    assert by_s(standing(charge=charge, degC=degC + warmer_K)) < by_s(standing(charge=charge, degC=degC))


@given(st.floats(0.3, 1.0), st.floats(0.0, 0.1), st.floats(0.001, 0.1))
def test_act_by_comes_earlier_with_a_wider_band(charge: float, width: float, wider: float) -> None:
    assert by_s(standing(charge=charge, width=width + wider)) < by_s(standing(charge=charge, width=width))


@given(st.floats(0.05, 1.0), st.floats(0.001, 1.0), st.floats(1.1, 10))
def test_without_self_discharge_time_goes_as_capacity_over_drain(
    charge: float, drain_A: float, times: float
) -> None:
    def seconds(capacity_C: float, amps: float) -> float:
        return lasts_s(
            charge=charge,
            until_charge=0.01,
            drain_A=amps,
            capacity_C=capacity_C,
            self_discharge_per_s=0.0,
        )

    once = seconds(FIVE_AH_C, drain_A)
    assert seconds(FIVE_AH_C, drain_A * times) == pytest.approx(once / times)
    assert seconds(FIVE_AH_C * times, drain_A) == pytest.approx(once * times)


def test_a_cell_already_at_the_line_has_no_time() -> None:
    assert by_s(standing(charge=0.04, width=0.0)) == 0.0


def test_nothing_that_draws_never_empties_a_cell() -> None:
    assert math.isinf(lasts_s(charge=0.5, until_charge=0.1, drain_A=0, capacity_C=1, self_discharge_per_s=0))


@pytest.mark.parametrize(("now", "apart_s"), [(0.7, 100.0), (0.5, 0.0), (0.5, -5.0)])
def test_readings_out_of_order_give_no_drain(now: float, apart_s: float) -> None:
    with pytest.raises(BadInput):
        drain_between(
            charge_then=0.6, charge_now=now, apart_s=apart_s, capacity_C=1.0, self_discharge_per_s=0.0
        )


def test_a_charge_above_one_cannot_stand() -> None:
    with pytest.raises(ImpossibleInput):
        Standing(
            Chemistry.LITHIUM_POLYMER,
            Band(0.9, 1.0, 1.1),
            Band.exactly(1),
            Band.exactly(0),
            Band.exactly(0),
            kelvin(20),
        )


def test_a_band_out_of_order_is_refused() -> None:
    with pytest.raises(ImpossibleInput, match="out of order"):
        Band(0.2, 0.1, 0.3)


def test_another_chemistry_gets_no_time() -> None:
    with pytest.raises(NoTable, match="iron phosphate"):
        by_s(replace(standing(), chemistry=Chemistry.LITHIUM_IRON_PHOSPHATE))
