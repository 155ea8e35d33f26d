"""From pulse to wheels: the worked linkage row by row, where it ends, and what the servo must give."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from snugfast.core.errors import ImpossibleInput
from snugfast.physics.chassis.linkage import Steering
from snugfast.physics.chassis.pulses import (
    OffsetLaw,
    check_pulse,
    percent_of_pulse,
    pulse_of_demand,
    pulse_of_percent,
    softened,
)
from snugfast.physics.chassis.steering import (
    Drive,
    Side,
    SteeredBy,
    Stops,
    ackermann_outer,
    ackermann_percent,
    horn_torque,
    play_at_wheel,
    scrub_torque,
    servo_current,
    shaft_bend,
    stalled_rise,
    steer_within_joint,
    torque_at_voltage,
)
from tests.physics.chassis.test_linkage import GOLDEN, golden_linkage

G = 9.81
KGF_CM = 0.0980665


def outputs(key: str) -> dict[str, Any]:
    found: dict[str, Any] = GOLDEN[key]["outputs"]
    return found


@pytest.fixture(scope="module")
def car() -> SteeredBy:
    return SteeredBy(Steering(golden_linkage()), Drive(math.radians(0.09)))


ROWS = outputs("ST20_golden_linkage")["rows"]


@pytest.mark.parametrize("row", ROWS, ids=lambda row: str(row["us"]))
def test_a_row_of_the_worked_linkage(car: SteeredBy, row: dict[str, Any]) -> None:
    """Worked: seventeen pulses of the reference linkage, each with seven angles."""
    at = car.at(row["us"])
    if row.get("binds"):
        assert at is None
        return
    assert at is not None
    steered = at.steered
    got = (steered.servo_rad, steered.crank_rad, steered.left_rad, steered.right_rad)
    got += (steered.transmission_left_rad, steered.transmission_right_rad)
    names = ("servo_deg", "crank_deg", "left_deg", "right_deg", "gamma_left_deg", "gamma_right_deg")
    assert [math.degrees(angle) for angle in got] == pytest.approx([row[name] for name in names], abs=2e-6)
    if "inner_deg" in row:
        more = (at.inner_rad, at.outer_rad, at.ideal_outer_rad, at.error_rad)
        names = ("inner_deg", "outer_deg", "outer_ideal_deg", "error_deg")
        assert [math.degrees(angle) for angle in more] == pytest.approx(
            [row[name] for name in names], abs=2e-6
        )
        assert at.percent == pytest.approx(row["ackermann_percent"], abs=2e-4)


@pytest.mark.parametrize("side", Side)
def test_where_the_worked_linkage_ends(car: SteeredBy, side: Side) -> None:
    """Worked: stop at 30°, 30° between rod and arm, lock; the end point 10 µs inside the first."""
    end = car.end_point(side, wheel_limit_rad=math.radians(30.0))
    limits, ends = outputs("ST22_limits"), outputs("ST23_end_points")
    assert end.first is Stops.WHEEL
    assert end.met_us[Stops.WHEEL] == pytest.approx(limits[f"us_inner_30deg_{side.value}"], abs=1e-6)
    assert end.met_us[Stops.PUSH] == pytest.approx(limits[f"us_transmission_30deg_{side.value}"], abs=1e-6)
    assert end.met_us[Stops.LOCKS] == pytest.approx(limits[f"us_bind_{side.value}"], abs=1e-6)
    assert end.pulse_us == pytest.approx(ends[f"{side.value}_us"], abs=1e-6)
    for half in (500, 400):
        percent = percent_of_pulse(pulse_us=end.pulse_us, half_range_us=half)
        assert percent == pytest.approx(ends[f"{side.value}_percent_half_{half}"], abs=1e-6)
    assert math.degrees(end.at.inner_rad) == pytest.approx(ends[f"inner_{side.value}_deg"], abs=1e-6)


def test_the_wheel_angle_where_it_locks(car: SteeredBy) -> None:
    """Worked: 60.37° and 28.85°."""
    limits = outputs("ST22_limits")
    last = car.wheels(limits["us_bind_left"] - 1e-6)
    assert last is not None
    assert math.degrees(last.left_rad) == pytest.approx(limits["left_wheel_at_bind_deg"], abs=1e-3)
    assert math.degrees(last.right_rad) == pytest.approx(limits["right_wheel_at_bind_deg"], abs=1e-3)


def test_a_click_counts_double_near_the_end(car: SteeredBy) -> None:
    """Worked: wheel per servo angle at three pulses, the reference's by central difference."""
    for name, value in outputs("ST24_ratio_wheel_per_servo").items():
        side, pulse = name.split("_at_")
        left, right = car.ratios(float(pulse))
        assert abs(left if side == "left" else right) == pytest.approx(value, rel=1e-5)


def test_play_at_the_horn_is_play_at_the_wheel(car: SteeredBy) -> None:
    """Worked: 0.3 mm at an 18 mm horn, 0.81 mm at a radius of 45."""
    play = play_at_wheel(horn_play_m=0.3e-3, horn_m=18e-3, ratio=car.ratios(1500.0)[0])
    wanted = outputs("ST25_play_at_the_rim")
    assert math.degrees(play) == pytest.approx(wanted["wheel_play_deg"], rel=1e-6)
    assert 45.0 * play == pytest.approx(wanted["rim_mm"], rel=1e-6)


@pytest.mark.parametrize(
    ("track", "wheelbase", "inner_deg", "outer_deg"),
    [(0.160, 0.260, 30.0, 23.0738498), (0.250, 0.325, 35.0, 24.4696968), (0.44, 1.0, 18.0, 15.8692841)],
)
def test_ackermann(track: float, wheelbase: float, inner_deg: float, outer_deg: float) -> None:
    """Worked: three cars of the reference; nothing to do straight ahead."""
    outer = ackermann_outer(inner_rad=math.radians(inner_deg), kingpin_track_m=track, wheelbase_m=wheelbase)
    assert math.degrees(outer) == pytest.approx(outer_deg, abs=1e-6)
    assert ackermann_outer(inner_rad=0.0, kingpin_track_m=track, wheelbase_m=wheelbase) == 0.0
    assert ackermann_percent(inner_rad=0.5, outer_rad=0.5, ideal_outer_rad=0.4) == 0.0
    assert ackermann_percent(inner_rad=0.5, outer_rad=0.4, ideal_outer_rad=0.4) == pytest.approx(100.0)


@given(inner_deg=st.floats(1.0, 45.0), share=st.floats(0.3, 0.9))
@settings(max_examples=50, deadline=None)
def test_with_ideal_angles_both_wheels_roll_about_one_point(inner_deg: float, share: float) -> None:
    """Law: the lines through both front axles meet on the line of the rear axle."""
    inner = math.radians(inner_deg)
    outer = ackermann_outer(inner_rad=inner, kingpin_track_m=share, wheelbase_m=1.0)
    assert 1.0 / math.tan(inner) + share == pytest.approx(1.0 / math.tan(outer), rel=1e-12)


def test_turning_a_standing_tyre_is_as_printed() -> None:
    """Worked: Automotive Chassis Engineering, example E2.1: 594 N·m a wheel, 1188 both."""
    torque = scrub_torque(grip=0.58, load_N=1200 * G, kingpin_offset_m=0.025, patch_length_m=0.25)
    assert torque == pytest.approx(594.0, rel=1e-3)
    assert 2 * torque == pytest.approx(1188.0, rel=1e-3)


@pytest.mark.parametrize(
    ("key", "offset_m", "patch_m"), [("ST42_scrub_1_10", 0.012, 0.026), ("ST43_scrub_1_8", 0.016, 0.036)]
)
def test_what_the_servo_must_give(car: SteeredBy, key: str, offset_m: float, patch_m: float) -> None:
    """Worked: 1.82 and 4.47 kgf·cm at the horn; static scrub is a small part of what such servos are for."""
    load_N = outputs(key)["load_per_wheel_N"]
    wheel = scrub_torque(grip=1.0, load_N=load_N, kingpin_offset_m=offset_m, patch_length_m=patch_m)
    assert wheel == pytest.approx(outputs(key)["moment_per_wheel_N_m"], rel=1e-9)
    horn = horn_torque(wheel_torque_Nm=wheel, ratios=car.ratios(1500.0), efficiency=0.8)
    assert horn == pytest.approx(outputs(key)["servo_N_m"], rel=1e-6)
    assert horn / KGF_CM == pytest.approx(outputs(key)["servo_kgf_cm"], rel=1e-6)


def test_a_servo_at_its_stop() -> None:
    """Worked: currents of a 2.5 A servo, and 4.3 K in the two seconds a hum test may last."""
    wanted = outputs("ST46_servo_current")
    for share in (0.1, 0.3, 0.5, 1.0):
        current = servo_current(stall_A=2.5, idle_A=0.25, torque_share=share)
        assert current == pytest.approx(wanted[f"I_at_{share}"], rel=1e-9)
    heat = outputs("ST48_servo_heating_past_the_stop")
    assert stalled_rise(supply_V=6.0, current_A=2.5, seconds=2.0) == pytest.approx(heat["K_in_2_s"])
    assert stalled_rise(supply_V=6.0, current_A=2.5, seconds=heat["seconds_to_60_K"]) == pytest.approx(60.0)
    assert torque_at_voltage(rated_Nm=2.0, rated_V=6.0, supply_V=7.4) == pytest.approx(2.0 * 7.4 / 6.0)


def test_a_dropped_and_steered_shaft_bends_more() -> None:
    """Worked: 15° and 30° make 33.23°, 15° and 35° make 37.70°; and back."""
    for steer, bend in ((30.0, 33.23), (35.0, 37.70)):
        found = shaft_bend(drop_rad=math.radians(15.0), steer_rad=math.radians(steer))
        assert math.degrees(found) == pytest.approx(bend, abs=0.005)
        back = steer_within_joint(limit_rad=found, drop_rad=math.radians(15.0))
        assert math.degrees(back) == pytest.approx(steer, abs=1e-9)
    with pytest.raises(ImpossibleInput, match="already bends"):
        steer_within_joint(limit_rad=math.radians(30.0), drop_rad=math.radians(31.0))


def test_a_shaft_limit_ends_the_travel_first(car: SteeredBy) -> None:
    limit = steer_within_joint(limit_rad=math.radians(30.0), drop_rad=math.radians(15.0))
    end = car.end_point(Side.LEFT, wheel_limit_rad=math.radians(35.0), shaft_limit_rad=limit)
    assert end.first is Stops.SHAFT
    assert end.at.inner_rad < limit


def test_a_radio_that_goes_no_further_is_the_end(car: SteeredBy) -> None:
    short = SteeredBy(
        car.steering, Drive(car.drive.rad_per_us, shortest_us=1400.0, longest_us=1600.0)
    ).end_point(Side.RIGHT)
    assert (short.first, short.pulse_us) == (Stops.RADIO, 1400.0)


def test_the_other_way_round_only_swaps_the_pulses(car: SteeredBy) -> None:
    """Law: with the channel reversed the same wheel angles stand at mirrored pulses."""
    turned = SteeredBy(car.steering, Drive(car.drive.rad_per_us, longer_is=Side.RIGHT))
    for pulse in (1400.0, 1550.0, 1700.0):
        one, other = car.wheels(pulse), turned.wheels(3000.0 - pulse)
        assert one is not None and other is not None
        assert one.left_rad == pytest.approx(other.left_rad, abs=1e-12)


def test_per_cent_is_another_pulse_on_each_radio() -> None:
    """Worked: 110 % is 2050 or 1940 µs; ±100 % of a radio with a half range of 398."""
    assert pulse_of_percent(percent=110.0, half_range_us=500.0) == 2050.0
    assert pulse_of_percent(percent=110.0, half_range_us=400.0) == 1940.0
    assert pulse_of_percent(percent=-100.0, half_range_us=398.0) == 1102.0
    assert percent_of_pulse(pulse_us=1102.0, half_range_us=398.0) == pytest.approx(100.0)


def test_centre_offset_rate_and_curve() -> None:
    """Worked: both laws of the offset, and the softened middle."""
    wanted = outputs("ST05_centre_offset_two_laws")
    for law, name in ((OffsetLaw.LIMITS_STAY, "keep"), (OffsetLaw.THROW_SHIFTS, "shift")):
        for demand, at in ((-1.0, "m1"), (-0.5, "m05"), (0.5, "05"), (1.0, "1")):
            pulse = pulse_of_demand(
                demand=demand, centre_us=1540.0, low_us=1100.0, high_us=1900.0, half_range_us=400.0, law=law
            )
            assert pulse == pytest.approx(wanted[f"{name}_{at}"])
    assert softened(demand=0.25, softness=0.3) == pytest.approx(0.1796875)
    assert softened(demand=1.0, softness=0.3) == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("pulse_us", "way_out"), [(1.5, "milliseconds"), (90.0, "per cent"), (4000.0, "500 to 2500"), (499.0, "")]
)
def test_a_pulse_no_servo_follows_is_refused(pulse_us: float, way_out: str) -> None:
    with pytest.raises(ImpossibleInput) as refused:
        check_pulse("Left end point", pulse_us)
    assert way_out in refused.value.way_out
