"""The plain power train against golden points and runs, closed forms, SciPy's solver, and what must hold."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from snugfast.core.errors import ImpossibleInput
from snugfast.numerics.stepping import march
from snugfast.physics.powertrain import controller, powertrain
from snugfast.physics.powertrain.powertrain import Action, Demand, Limit, State, moment, rates_for
from tests.physics.powertrain_golden import (
    bare_car,
    golden_car,
    golden_case,
    golden_demand,
    golden_json,
    golden_state,
)

LETTERS = {
    "V": Limit.THROTTLE,
    "M": Limit.MOTOR_CURRENT,
    "T": Limit.GRIP_OR_DRIVER,
    "B": Limit.BATTERY_CURRENT,
    "C": Limit.COASTING,
    "L": Limit.BRAKE_COMMAND,
    "S": Limit.BRAKE_FADING,
}

states = st.builds(
    State,
    speed_m_s=st.floats(0.0, 25.0),
    charge_share=st.floats(0.05, 1.0),
    slow_V=st.floats(0.0, 0.2),
    winding_degC=st.floats(-10.0, 160.0),
    can_degC=st.floats(-10.0, 120.0),
    controller_degC=st.floats(-10.0, 110.0),
    pack_degC=st.floats(-5.0, 60.0),
)
demands = st.builds(
    Demand,
    action=st.sampled_from(Action),
    throttle=st.floats(0.0, 1.0),
    brake=st.floats(0.0, 1.0),
    aim_m_s=st.floats(0.0, 20.0),
    aim_band_m_s=st.floats(0.15, 2.0),
    grade=st.floats(-0.4, 0.4),
    fan=st.sampled_from([0.0, 1.0]),
    wheel_spin=st.floats(0.0, 1.0),
)


@pytest.mark.parametrize("n", range(19))
def test_every_golden_point(n: int) -> None:
    """Against: powertrain_points.json, one or more points in each branch, 1e-12 relative."""
    point = golden_json("points")[n]
    car, place = golden_car(**point["overrides"])
    at = moment(car, place, golden_state(point["state"]), golden_demand(point["input"]))
    assert list(at.rates[:6]) == pytest.approx(list(point["deriv"].values()), rel=1e-12, abs=1e-15)
    out = point["out"]
    for name, got in {
        "r": at.radius_m, "w": at.motor_rad_s, "Ke": at.constant_Vs, "E": at.open_V, "ts": at.shaft_Nm,
        "F": at.drive_N, "Frr": at.rolling_N, "Fa": at.air_N, "Fg": at.slope_N, "me": at.moving_kg,
        "I": at.electrics.motor_A, "Ib": at.electrics.pack_A, "Vb": at.electrics.pack_V,
        "Pcu": at.electrics.copper_W, "Pesc": at.electrics.controller_W, "Pfe": at.iron_W,
        "Gca": at.can_W_K, "Gea": at.controller_W_K,
    }.items():  # fmt: skip
        assert got == pytest.approx(out[name], rel=1e-12, abs=1e-13), name
    letter = point["branch"][0]
    braking = point["input"]["mode"] == "brake"
    assert at.electrics.limit is (Limit.BRAKE_GRIP if braking and letter == "T" else LETTERS[letter])


@pytest.mark.parametrize("name", ["launch", "coastdown", "brake_dynamic", "brake_regen", "hill_rwd"])
def test_golden_runs_end_where_they_should(name: str) -> None:
    """Against: the golden runs (DOP853, events at each border): 1e-4 m/s and K, plain steps of 20 ms."""
    car, place, start, segments = golden_case(name)
    (until, demand), *_ = segments
    end = march(rates_for(car, place, demand), start.as_array(), until=until, step=0.02)
    wanted = list(golden_json("golden")["cases"][name]["final_state"].values())
    assert list(end[:6]) == pytest.approx(wanted, abs=1e-4)


def test_a_tight_solver_agrees_on_the_whole_model_with_pack_heat_and_brushes() -> None:
    """Against: SciPy's DOP853 at 1e-10 on the same right-hand side; halving the step gains fourth order."""
    car, place = golden_car(Imax=1e4, Ibmax=9e3, mu=90.0)
    car = replace(
        car,
        motor=replace(car.motor, brush_drop_V=0.6),
        controller=replace(car.controller, cutoff_V_per_cell=0.1),  # no limit rules on the way
        pack=replace(car.pack, activation_J_mol=20_000.0),
    )
    start = replace(golden_state([2.0, 0.9, 0.0, 30.0, 28.0, 27.0]), pack_degC=10.0)
    rates = rates_for(car, place, Demand(throttle=0.9, grade=0.02))
    tight = solve_ivp(rates, (0.0, 2.0), start.as_array(), method="DOP853", rtol=1e-10, atol=1e-12).y[:, -1]
    errors = [
        np.abs(march(rates, start.as_array(), until=2.0, step=h) - tight).max() for h in (0.02, 0.01, 0.005)
    ]
    assert errors[2] < 1e-6
    assert errors[0] / errors[1] > 10.0
    assert errors[1] / errors[2] > 10.0


def test_coasting_down_follows_the_arctangent() -> None:
    """Against: closed form V1: v = b·tan(atan(v0/b) − t·√(c0·c2)/m), at 5 and 10 s, from 15 m/s."""
    car, place = bare_car(CdA=0.01, crr0=0.03 * 1.90 / 2.08)
    rates = rates_for(car, place, Demand())
    start = State.at_rest(air_degC=25.0).as_array()
    start[0] = 15.0
    at_5 = march(rates, start, until=5.0, step=0.02)
    at_10 = march(rates, at_5, until=5.0, step=0.02)
    # the smoothing of rolling resistance through rest is not felt above one metre per second
    assert (at_5[0], at_10[0]) == pytest.approx((11.2067576, 8.47505037), rel=3e-4)


def test_a_lossless_car_runs_up_by_the_exponential() -> None:
    """Against: closed form V5: 12 V, 14 mΩ in all: τ 0.0659508862 s, 18.0590907 m/s."""
    car, place = bare_car()
    start = State.at_rest(air_degC=25.0, charge_share=0.5).as_array()
    rates = rates_for(car, place, Demand(throttle=1.0))
    assert march(rates, start, until=0.0659508862, step=0.001)[0] == pytest.approx(11.4155225, rel=1e-6)
    assert march(rates, start, until=2.0, step=0.005)[0] == pytest.approx(18.0590907, rel=1e-8)


def test_terminal_speed_with_losses_is_the_root_of_the_force_balance() -> None:
    """Against: closed form V6: 17.9060973 m/s, 7.26156133 A, constant idle current."""
    car, place = bare_car(CdA=0.01, crr0=0.03 * 1.90 / 2.08, eta=0.92, I0=3.2, h0=1.0)
    start = State.at_rest(air_degC=25.0, charge_share=0.5).as_array()
    end = State.of(march(rates_for(car, place, Demand(throttle=1.0)), start, until=4.0, step=0.01))
    assert end.speed_m_s == pytest.approx(17.9060973, rel=1e-6)
    assert moment(car, place, end, Demand(throttle=1.0)).electrics.motor_A == pytest.approx(
        7.26156133, rel=1e-5
    )


@given(states, demands, st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.booleans())
def test_power_adds_up_and_limits_hold_everywhere(
    state: State, demand: Demand, brush_V: float, given_back: float, holds: bool
) -> None:
    """Law: chemical power is accounted for; duty, currents and push keep their limits; no loss is a gain."""
    car, place = golden_car(regen=given_back)
    car = replace(
        car,
        motor=replace(car.motor, brush_drop_V=brush_V),
        controller=replace(car.controller, holds=holds),
        pack=replace(car.pack, activation_J_mol=20_000.0),
    )
    at = moment(car, place, state, demand)
    e = at.electrics
    assert abs(at.unbalanced_W(car, state)) < 1e-9 * (1.0 + abs(at.chemical_W) + abs(at.drive_N) * 25.0)
    assert e.motor_A <= car.controller.motor_limit_A * (1 + 1e-12)
    assert e.pack_A <= car.controller.battery_limit_A * (1 + 1e-9)
    if e.limit <= Limit.COASTING:
        assert 0.0 <= e.duty <= max(demand.throttle, 0.0)
        assert e.motor_A >= 0.0
    grip_N = place.ground.grip * car.mass_kg * place.gravity_m_s2 * math.cos(math.atan(demand.grade))
    if e.motor_A > 0.0 or e.limit is Limit.BRAKE_GRIP:
        assert abs(at.drive_N) <= max(grip_N, abs(at.shaft_Nm - e.motor_A * at.constant_Vs) * 300.0) * (
            1 + 1e-9
        )
    assert (
        min(e.copper_W, e.controller_W, e.brush_W, at.iron_W, at.gears_W, at.slip_W, at.pack_ohmic_W) >= -1e-9
    )


def settle(crr: float = 0.03, final_drive: float = 6.2) -> tuple[float, float]:
    car, place = golden_car(crr0=crr, FDR=final_drive, Imax=400.0, Ibmax=300.0)
    start = State.at_rest(air_degC=25.0, charge_share=0.9)
    launch_A = moment(car, place, start, Demand(throttle=1.0)).electrics.motor_A
    end = march(rates_for(car, place, Demand(throttle=1.0)), start.as_array(), until=6.0, step=0.01)
    return float(end[0]), launch_A


def test_a_shorter_gearing_launches_on_fewer_amperes_and_tops_out_slower() -> None:
    """Law."""
    short, tall = settle(final_drive=8.0), settle(final_drive=5.0)
    assert short[0] < tall[0]
    assert short[1] < tall[1]


def test_twice_the_rolling_resistance_shortens_the_coast() -> None:
    """Law."""
    ends = []
    for crr in (0.03, 0.06):
        car, place = golden_car(crr0=crr)
        start = State.at_rest(air_degC=25.0).as_array()
        start[0] = 10.0
        ends.append(march(rates_for(car, place, Demand()), start, until=4.0, step=0.02)[0])
    assert ends[1] < ends[0]


def test_a_brake_that_gives_back_leaves_more_charge_and_a_cooler_motor() -> None:
    """Law; golden: all given back leaves 7.7e-4 more of the charge over one stop than all burnt."""
    left, winding = {}, {}
    for share in (1.0, 0.5, 0.0):
        car, place = golden_car(regen=share)
        start = golden_state([15.0, 0.8, 0.0, 60.0, 55.0, 40.0]).as_array()
        demand = Demand(action=Action.BRAKE, brake=1.0)
        end = march(rates_for(car, place, demand), start, until=3.0, step=0.01)
        left[share], winding[share] = end[1], end[3]
    assert left[1.0] - left[0.0] == pytest.approx(7.7e-4, abs=1e-5)
    assert left[0.5] - left[0.0] == pytest.approx(3.85e-4, abs=1e-5)
    assert winding[1.0] < winding[0.5] < winding[0.0]


@pytest.mark.parametrize("duty", [0.2, 0.6, 1.0])
def test_a_limit_above_what_the_pack_can_give_does_not_bind(duty: float) -> None:
    """Law: whatever the limit, the car drives the same, and more throttle never gives less push.

    The car stood still, and bands came out as no number: the quadratic of the limit has no root then.
    """
    start = golden_state([2.0, 0.9, 0.0, 20.0, 20.0, 20.0])
    pushes = []
    for limit_A in (400.0, 1e4):  # the short circuit of this pack is 12 V / 0.12 Ω = 100 A
        car, place = golden_car(R0=0.12, Ibmax=limit_A, Imax=1e3, mu=5.0)
        at = moment(car, place, start, Demand(throttle=duty))
        softer = moment(car, place, start, Demand(throttle=0.9 * duty))
        assert at.drive_N >= softer.drive_N > 5.0
        assert at.electrics.pack_V >= controller.BROWN_OUT * 3.2 * 3 * (1.0 - 1e-12)
        pushes.append(at.drive_N)
    assert pushes[0] == pushes[1]
    loop = controller.Loop(12.0, 3.0, 0.02, 0.12, 0.3, 0.1)
    assert controller.duty_for_battery_current(loop, 101.0) == math.inf


@pytest.mark.slow
def test_an_idle_warm_motor_cools_without_crossing() -> None:
    """Law: the winding falls all the way; the can may rise first, never past it; nothing passes the air."""
    car, place = golden_car()
    x = golden_state([0.0, 0.5, 0.0, 90.0, 50.0, 40.0]).as_array()
    before = x
    for _ in range(60):
        x = march(rates_for(car, place, Demand()), x, until=10.0, step=0.1)
        assert x[3] < before[3]
        assert 25.0 < x[4] <= x[3]
        before = x


def creep(*, holds: bool) -> State:
    car, place = golden_car(FDR=10.0, crr0=0.01)
    car = replace(car, controller=replace(car.controller, holds=holds))
    demand = Demand(action=Action.BRAKE, brake=1.0, grade=-0.4)
    start = State.at_rest(air_degC=25.0, charge_share=0.6).as_array()
    return State.of(march(rates_for(car, place, demand), start, until=5.0, step=0.002))


@pytest.mark.slow
def test_a_shorted_motor_creeps_down_a_slope_and_a_holding_one_nearly_stands() -> None:
    """Law: holding costs charge and warms the winding, creeping does not."""
    shorted, held = creep(holds=False), creep(holds=True)
    assert 0.0 < held.speed_m_s < 0.5 * shorted.speed_m_s
    assert held.charge_share < shorted.charge_share
    assert held.winding_degC > 25.0


def test_a_car_that_rolls_back_is_stopped_by_its_brake() -> None:
    """Law: up a slope with the brake on, the car creeps backwards and the brake still takes power out."""
    car, place = golden_car(FDR=20.0)
    demand = Demand(action=Action.BRAKE, brake=1.0, grade=0.3)
    start = State.at_rest(air_degC=25.0, charge_share=0.6)
    end = State.of(march(rates_for(car, place, demand), start.as_array(), until=4.0, step=0.005))
    assert -2.0 < end.speed_m_s < 0.0
    assert moment(car, place, end, demand).electrics.motor_A > 0.0
    assert abs(moment(car, place, end, demand).unbalanced_W(car, end)) < 1e-9


def test_a_cold_pack_sags_more() -> None:
    """Law."""
    car, place = golden_car(Imax=300.0, Ibmax=200.0, mu=3.0)
    car = replace(car, pack=replace(car.pack, activation_J_mol=20_000.0))
    warm = golden_state([10.0, 0.8, 0.0, 25.0, 25.0, 25.0])
    volts = [
        moment(car, place, replace(warm, pack_degC=t), Demand(throttle=1.0)).electrics.pack_V
        for t in (30.0, 0.0)
    ]
    assert volts[1] < volts[0]


def test_energy_adds_up_over_a_run() -> None:
    """Law: chemical energy is the sum of all it went into, over a launch that meets every driving limit."""
    car, place, start, segments = golden_case("launch")
    demand = segments[0][1]

    def rates(_t: float, x: np.ndarray) -> np.ndarray:
        state = State.of(x[:7])
        at = moment(car, place, state, demand)
        e = at.electrics
        spent = (
            at.pack_ohmic_W + 0.8 * at.supply_W + e.controller_W + e.copper_W + at.iron_W + at.gears_W
            + (at.rolling_N + at.air_N + at.slope_N) * state.speed_m_s
        )  # fmt: skip
        return np.concatenate([at.rates, [at.chemical_W, spent]])

    end = march(rates, np.concatenate([start.as_array(), [0.0, 0.0]]), until=5.0, step=0.02)
    stored = powertrain.kinetic_energy(car, float(end[0])) + 0.5 * car.pack.slow_capacitance_F * end[2] ** 2
    assert end[7] - end[8] - stored == pytest.approx(0.0, abs=1e-3)
    assert end[7] == pytest.approx(golden_json("golden")["cases"]["launch"]["energies_J"]["E_chem"], rel=1e-5)


def test_spinning_wheels_cost_charge_and_push_no_harder() -> None:
    """Law: at the grip limit the current stays, the motor turns faster, and the work goes into the ground."""
    car, place = golden_car(mu=0.4)
    state = golden_state([2.0, 0.9, 0.0, 30.0, 30.0, 30.0])
    feathered, spun = (moment(car, place, state, Demand(throttle=1.0, wheel_spin=w)) for w in (0.0, 0.5))
    assert spun.electrics.motor_A == pytest.approx(feathered.electrics.motor_A)
    assert spun.electrics.pack_A > 1.5 * feathered.electrics.pack_A
    assert spun.motor_rad_s > 1.5 * feathered.motor_rad_s
    assert 0.9 * feathered.drive_N < spun.drive_N < feathered.drive_N
    assert spun.slip_W > feathered.slip_W == pytest.approx(0.0, abs=1e-12)


def test_a_comfortable_step_is_short_for_a_light_lively_car() -> None:
    """Law: steps stay well inside the stability bound of the classical rule, 2.78 over the fastest rate."""
    car, place = golden_car()
    lively = replace(car, mass_kg=0.2, final_drive=20.0)
    assert powertrain.comfortable_step(car, place) == powertrain.LONGEST_STEP_s
    assert powertrain.comfortable_step(lively, place) < 0.35 * 2.78 / powertrain.fastest_rate(lively, place)


@pytest.mark.parametrize(
    "wrong",
    [{"m": 0.0}, {"FDR": 0.0}, {"eta": 1.1}, {"nfac": 0.0}, {"CdA": -0.1}, {"mu": 0.0}, {"crr0": -0.1}],
)
def test_a_build_that_cannot_be_gets_a_clear_sentence(wrong: dict[str, float]) -> None:
    with pytest.raises(ImpossibleInput) as caught:
        golden_car(**wrong)
    assert caught.value.way_out
