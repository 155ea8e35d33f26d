"""The compiled kernel against the plain power train, and its runs against the golden ones."""

from __future__ import annotations

import re
import threading
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from snugfast.core import units
from snugfast.numerics.stepping import march
from snugfast.physics.packs import rest_voltage
from snugfast.physics.powertrain import cells_circuit, kernel, lanes, powertrain, road, runs
from snugfast.physics.powertrain.driving_styles import Does, Phase
from snugfast.physics.powertrain.powertrain import Action, Car, Demand, Place, State, moment, rates_for
from snugfast.physics.powertrain.runs import Entry, Limits
from tests.physics.powertrain_golden import (
    golden_car,
    golden_case,
    golden_demand,
    golden_json,
    golden_rows,
    golden_state,
    phase_of,
)


def compiled(cars: list[tuple[Car, Place, State, Demand]]) -> np.ndarray:
    """Rates, currents, pack voltage and what rules, from the kernel, for up to sixteen cars."""
    filled = cars + [cars[0]] * (kernel.LANES - len(cars))
    entries = [
        Entry(car, place, state, (phase_of(demand, 1.0),), fan=demand.fan)
        for car, place, state, demand in filled
    ]
    return kernel.rates(
        np.column_stack([lanes.column(entry) for entry in entries]),
        np.column_stack([lanes.asked(entry.lap[0], entry) for entry in entries]),
        np.column_stack([state.as_array() for _, _, state, _ in filled]),
        filled[0][0].pack.curve.strips,
    )


def assert_equal(lanes: list[tuple[Car, Place, State, Demand]]) -> None:
    got = compiled(lanes)
    for j, (car, place, state, demand) in enumerate(lanes):
        at = moment(car, place, state, demand)
        e = at.electrics
        assert list(got[:7, j]) == pytest.approx(list(at.rates), rel=1e-9, abs=1e-9), (state, demand)
        assert list(got[7:10, j]) == pytest.approx([e.motor_A, e.pack_A, e.pack_V], rel=1e-9, abs=1e-9)


@pytest.mark.slow
def test_the_kernel_equals_the_plain_model_at_the_golden_points() -> None:
    """Against: the plain assembly at the nineteen golden points, with what rules."""
    for point in golden_json("points"):
        car, place = golden_car(**point["overrides"])
        lane = (car, place, golden_state(point["state"]), golden_demand(point["input"]))
        assert_equal([lane])
        assert int(compiled([lane])[10, 0]) == moment(*lane).electrics.limit


def random_lane(rng: np.random.Generator, n: int) -> tuple[Car, Place, State, Demand]:
    """Any car in any state: brushed and brushless, weak packs, bald tyres, slopes, rolling backwards."""
    u = rng.uniform
    car, place = golden_car(
        m=u(0.3, 8.0), CdA=u(0.003, 0.05), crr0=u(0.01, 0.3), crr1=u(0.0, 0.003), mu=u(0.2, 1.5),
        nfac=u(0.4, 1.0), r0=u(0.02, 0.09), kg=u(0.0, 3e-4), dmax=rng.choice([0.0, 0.06]), FDR=u(3.0, 40.0),
        eta=u(0.75, 0.97), Kv=u(500.0, 6000.0), Rm20=u(0.004, 0.1), I0=u(0.5, 6.0), Imax=u(20.0, 300.0),
        Ibmax=u(20.0, 400.0), Ibrk=u(10.0, 150.0), regen=(1.0, 0.0, u(0.0, 1.0))[n % 3], Vpt=u(0.0, 0.8),
        R0=u(0.002, 0.12), Q=u(1.0, 8.0), wind=u(-3.0, 3.0), Ta=u(-5.0, 40.0),
    )  # fmt: skip
    car = replace(
        car,
        motor=replace(car.motor, brush_drop_V=float(rng.choice([0.0, 0.7]))),
        controller=replace(car.controller, holds=bool(n % 2)),
        pack=replace(car.pack, activation_J_mol=u(0.0, 30_000.0)),
    )
    state = State(u(-3.0, 30.0), u(-0.02, 1.02), u(-0.05, 0.3), *(u(-5.0, 150.0, 3)), u(-5.0, 70.0))
    aim_m_s = u(0.0, 20.0)
    demand = Demand(
        action=Action(n % 3),
        throttle=u(0.0, 1.0),
        brake=u(0.0, 1.0),
        aim_m_s=aim_m_s,
        aim_band_m_s=lanes.aim_band_m_s(aim_m_s),
        grade=u(-0.5, 0.5),
        fan=float(n % 2),
        wheel_spin=float(rng.choice([0.0, 0.4])),
    )
    return car, place, state, demand


@pytest.mark.parametrize(
    "blocks", [40, pytest.param(160, marks=pytest.mark.slow), pytest.param(625, marks=pytest.mark.soak)]
)
def test_the_kernel_equals_the_plain_model_at_random_states(blocks: int) -> None:
    """Against: the plain assembly at 640 states (2 560 in the slow lane, 10 000 in the soak), to 1e-9."""
    rng = np.random.default_rng(20261125)
    for block in range(blocks):
        assert_equal([random_lane(rng, kernel.LANES * block + j) for j in range(kernel.LANES)])


def test_the_kernel_repeats_the_constants_of_the_rooms() -> None:
    """The compiled file writes them again, because a change elsewhere would not reach the compiled code."""
    assert kernel.STOP_SPEED_m_s == road.STOP_SPEED_m_s
    assert kernel.HOLD_GAIN == powertrain.HOLD_GAIN
    assert kernel.ZERO_CELSIUS_K == units.ZERO_CELSIUS_K
    assert kernel.REFERENCE_K == rest_voltage.REFERENCE_K
    assert kernel.STRIPS == cells_circuit.STRIPS


def test_the_c_that_the_benchmark_compiles_names_rows_that_there_are() -> None:
    """Law: a row that was renamed would stop the benchmark, which no other test compiles."""
    c = (Path(__file__).parents[3] / "bench" / "kernel_reference.c").read_text(encoding="utf-8")
    for row in set(re.findall(r"\bW\(([A-Z_0-9]+)", c)):
        assert hasattr(kernel, row), row


def test_a_step_of_the_kernel_is_a_step_of_the_plain_model() -> None:
    """Against: the plain classical rule over one second with a change of limit."""
    car, place = golden_car()
    start = golden_state([3.5, 0.9, 0.01, 40.0, 35.0, 30.0])
    demand = Demand(throttle=1.0)
    plain = march(rates_for(car, place, demand), start.as_array(), until=1.0, step=0.01)
    run = runs.drive([Entry(car, place, start, (phase_of(demand, 1.0),), fan=0.0)], for_s=1.0, step_s=0.01)[0]
    assert list(run.end.as_array()) == pytest.approx(list(plain), rel=1e-9, abs=1e-9)


@pytest.mark.parametrize("name", ["launch", "coastdown", "brake_dynamic", "brake_regen", "hill_rwd"])
@pytest.mark.parametrize("step_s", [0.002, 0.01, 0.05])
def test_golden_runs_row_by_row_whatever_the_step(name: str, step_s: float) -> None:
    """Against: every row of the golden runs: 0.05 m/s and 0.1 K at any step, far closer at 10 ms."""
    car, place, start, segments = golden_case(name)
    rows = golden_rows(name)
    lap = tuple(phase_of(demand, seconds) for seconds, demand in segments)
    every_s = rows[1]["t_s"]
    run = runs.drive(
        [Entry(car, place, start, lap, fan=segments[0][1].fan)],
        for_s=rows[-1]["t_s"],
        step_s=step_s,
        trace_every_s=every_s,
    )[0]
    fine = step_s <= 0.01
    for n, row in enumerate(rows[:-1]):
        v, soc, _, _, _, tw, tc, te, _ = run.trace[n]
        assert v == pytest.approx(row["v_m_s"], abs=3e-4 if fine else 0.05)
        assert soc == pytest.approx(row["soc"], abs=5e-7 if fine else 1e-4)
        assert (tw, tc, te) == pytest.approx(
            (row["Tw_C"], row["Tc_C"], row["Te_C"]), abs=5e-4 if fine else 0.1
        )


def test_the_eight_minutes_of_the_golden_cycle() -> None:
    """Against: 24 laps with the fan off for the first half: 5e-4 m/s and K, 5 mm of 3.5 km at the end."""
    car, place, start, segments = golden_case("cycle")
    lap = tuple(phase_of(demand, seconds) for seconds, demand in segments[:4])
    first = runs.drive([Entry(car, place, start, lap, fan=0.0)], for_s=240.0, step_s=0.01)[0]
    second = runs.drive([Entry(car, place, first.end, lap, fan=1.0)], for_s=240.0, step_s=0.01)[0]
    wanted = golden_json("golden")["cases"]["cycle"]
    assert list(second.end.as_array()[:6]) == pytest.approx(list(wanted["final_state"].values()), abs=5e-4)
    assert first.distance_m + second.distance_m == pytest.approx(wanted["distance_m"], abs=5e-3)
    assert max(first.top_winding_degC, second.top_winding_degC) == pytest.approx(68.9153, abs=0.01)


def lap_of_a_track() -> tuple[Phase, ...]:
    return (
        Phase(Does.FULL, at_most_m=30.0, at_most_s=20.0, then_m_s=4.0),
        Phase(Does.BRAKE, until_slower_than_m_s=4.0, at_most_s=5.0),
        Phase(Does.HOLD, speed_m_s=4.0, at_most_m=8.0, at_most_s=10.0),
        Phase(Does.WAIT, at_most_s=1.0),
    )


def test_lanes_do_not_disturb_one_another_and_threads_change_nothing() -> None:
    """Law: forty cars in threads come out as each alone."""
    entries = []
    for n in range(40):
        car, place = golden_car(FDR=5.0 + 0.2 * n, Imax=120.0, Ibmax=90.0)
        start = State.at_rest(air_degC=25.0)
        entries.append(Entry(car, place, start, lap_of_a_track()))
    told: list[float] = []
    with ThreadPoolExecutor(2) as pool:
        together = runs.drive(entries, for_s=20.0, step_s=0.01, executor=pool, progress=told.append)
    for n in (0, 17, 39):
        assert runs.drive([entries[n]], for_s=20.0, step_s=0.01)[0] == together[n]
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_a_study_stops_when_asked() -> None:
    """Law: after the first block the stop is heeded, with and without threads."""
    car, place = golden_car()
    entries = [Entry(car, place, State.at_rest(air_degC=25.0), lap_of_a_track())] * 64
    for pool in (None, ThreadPoolExecutor(1)):
        stop = threading.Event()
        with pytest.raises(runs.Stopped, match="stopped"):
            runs.drive(
                entries,
                for_s=5.0,
                executor=pool,
                progress=lambda _share, stop=stop: stop.set(),
                should_stop=stop.is_set,
            )


def test_the_driver_brakes_in_time_for_the_bend_and_holds_its_speed() -> None:
    """Law: a faster set-up brakes earlier; both enter the bend at its speed and hold it within a fifth."""
    entries = []
    for final_drive in (5.0, 9.0):
        car, place = golden_car(FDR=final_drive, Imax=150.0, Ibmax=120.0, Ibrk=120.0)
        entries.append(Entry(car, place, State.at_rest(air_degC=25.0), lap_of_a_track(), laps=1))
    fast, slow = runs.drive(entries, for_s=60.0, step_s=0.005, trace_every_s=0.05)
    assert fast.outcome is slow.outcome is runs.Outcome.SCRIPT_DONE
    assert fast.lasted_s < slow.lasted_s
    for run in (fast, slow):
        v = run.trace[:, 0]
        bend = v[int(np.argmax(v)) :]
        held = bend[(bend > 3.0) & (bend < 4.4)]
        assert len(held) > 20
        assert run.distance_m == pytest.approx(38.0, abs=5.0)


def test_alarms_come_in_time_and_can_end_the_run() -> None:
    """Law: the first crossing is the time at which the trace crosses; a run told to stop there, stops."""
    car, place = golden_car()
    start = State.at_rest(air_degC=25.0)
    lap = (Phase(Does.FULL, at_most_s=100.0),)
    limits = Limits(winding_degC=40.0, reserve_share=0.0)
    goes_on, stops = runs.drive(
        [Entry(car, place, start, lap, limits=limits, stop_on_heat=s) for s in (False, True)],
        for_s=60.0,
        step_s=0.01,
        trace_every_s=1.0,
    )
    alarm = goes_on.first_alarm
    assert alarm is not None
    assert alarm[0] is runs.Alarm.WINDING
    row = int(alarm[1])
    assert goes_on.trace[row, 5] <= 40.0 <= goes_on.trace[row + 1, 5]
    assert stops.outcome is runs.Outcome.ALARM
    assert stops.lasted_s == pytest.approx(alarm[1], abs=0.02)
    assert goes_on.outcome is runs.Outcome.TIME_UP


def test_an_empty_pack_ends_the_run() -> None:
    car, place = golden_car(Q=0.05)
    lap = (Phase(Does.FULL, at_most_s=100.0),)
    start = State.at_rest(air_degC=25.0)
    run = runs.drive([Entry(car, place, start, lap, stop_on_charge=False)], for_s=100.0)[0]
    assert run.outcome is runs.Outcome.EMPTY
    assert run.alarms_s[runs.Alarm.CUTOFF] < run.lasted_s < 60.0


def test_exponential_logarithm_and_tangent_match_the_library() -> None:
    """Against: the C library's, within a few units in the last place."""
    x = np.random.default_rng(1).uniform(-30.0, 30.0, 4000)
    assert max(abs(kernel._exp(float(t)) / np.exp(t) - 1.0) for t in x) < 5e-16
    positive = np.exp(x)
    assert max(abs(kernel._log(float(t)) - np.log(t)) / max(abs(np.log(t)), 1e-3) for t in positive) < 5e-16
    assert max(abs(kernel._tanh(float(t)) - np.tanh(t)) for t in x / 8.0) < 5e-16
