"""Runs: cars driven to a script, many at once, with what one wants to know of each.

This is the door to the compiled kernel. Cars go in blocks of sixteen; an executor that is handed in spreads
the blocks over threads, progress is told after each block, and a long study stops when asked to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property
from typing import Self

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import SnugfastError
from snugfast.physics import kernel as k
from snugfast.physics.cells import GAS_J_PER_MOL_K
from snugfast.physics.driving_styles import Does, Phase
from snugfast.physics.heat import Cooling
from snugfast.physics.powertrain import Action, Car, Limit, Place, State, comfortable_step

FOREVER = 1e9
ENDLESS = 1e4  # times its capacity: the charge falls by a few parts in a hundred thousand, and can be counted
BRAKES_AT_SHARE_OF_GRIP = 0.6
"""How hard the driver counts on braking when he judges where to begin (elicited)."""


class Stopped(SnugfastError):
    """A long study was asked to stop."""


class Alarm(Enum):
    """What can end a run worth driving, and the words for it."""

    RESERVE = "the charge kept in reserve is reached"
    CUTOFF = "the controller cuts off under load"
    WINDING = "the winding reaches its limit"
    CAN = "the motor can reaches its limit"
    CONTROLLER = "the controller reaches its limit"
    PACK = "the pack reaches its limit"


class Outcome(Enum):
    """How a simulated run ended."""

    TIME_UP = "the time was up"
    SCRIPT_DONE = "the driving was done"
    ALARM = "a limit was reached"
    EMPTY = "the pack was empty"
    BURNT = "the winding burnt"


@dataclass(frozen=True, slots=True)
class Limits:
    """Where to stop. A limit that is infinite never speaks."""

    reserve_share: float = 0.2
    cutoff_V_per_cell: float = 3.2
    winding_degC: float = math.inf
    can_degC: float = math.inf
    controller_degC: float = math.inf
    pack_degC: float = math.inf


@dataclass(frozen=True, slots=True)
class Entry:
    """One car to be driven: where, from which state, to which script, with which fan and limits.

    The lap is driven over and over until `laps` are done. A run stops where the charge ends it (reserve or
    cut-off) unless told not to, and goes on past heat limits unless told to stop there. With `endless_pack`
    the charge hardly falls, and heat capacities are divided by `hurry`: a short way to the temperatures at
    which this driving would settle. `goal_m_s` is the speed whose time is wanted.
    """

    car: Car
    place: Place
    start: State
    lap: tuple[Phase, ...]
    laps: float = math.inf
    fan: float = 1.0
    limits: Limits = Limits()
    stop_on_charge: bool = True
    stop_on_heat: bool = False
    endless_pack: bool = False
    hurry: float = 1.0
    goal_m_s: float = math.inf
    mean_from_s: float = 0.0

    @property
    def capacity_Ah(self) -> float:
        """The charge the pack is driven with."""
        return self.car.pack.capacity_Ah * (ENDLESS if self.endless_pack else 1.0)


@dataclass(frozen=True, slots=True)
class Run:
    """What came of one car's run. Times are infinite for what did not happen. Temperatures in °C."""

    outcome: Outcome
    end: State
    lasted_s: float
    distance_m: float
    drawn_Ah: float
    laps: int
    alarms_s: dict[Alarm, float]
    goal_s: float
    top_speed_m_s: float
    top_winding_degC: float
    top_can_degC: float
    top_controller_degC: float
    top_pack_degC: float
    top_motor_A: float
    top_pack_A: float
    rms_motor_A: float
    rms_pack_A: float
    lowest_V: float
    mean_winding_degC: float
    mean_can_degC: float
    mean_controller_degC: float
    mean_pack_degC: float
    ruled_s: dict[Limit, float]
    trace: NDArray[np.float64] = field(compare=False)

    @property
    def first_alarm(self) -> tuple[Alarm, float] | None:
        """The earliest reason to stop and when it came, or None when there was none."""
        alarm = min(self.alarms_s, key=lambda one: self.alarms_s[one])
        at_s = self.alarms_s[alarm]
        return None if math.isinf(at_s) else (alarm, at_s)


Progress = Callable[[float], None]
ShouldStop = Callable[[], bool]


def _never() -> bool:
    return False


class Driving:
    """Drives that share threads, one bar of progress and one way to stop.

    Each is begun at once and read when it is wanted, so that threads are busy with one while another is
    waited for. Leaving the context drops what was not driven yet. `progress` is told the share done of what
    was begun, 0 to 1, and never falls. Reading raises Stopped when `should_stop` says so between two blocks.
    """

    def __init__(
        self,
        *,
        executor: Executor | None = None,
        progress: Progress | None = None,
        should_stop: ShouldStop = _never,
    ) -> None:
        self.executor = executor
        self.progress = progress
        self.should_stop = should_stop
        self._waiting: list[Future[list[Run]]] = []
        self._begun_s = self._done_s = self._told = 0.0

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        for future in self._waiting:
            future.cancel()

    def begin(
        self,
        entries: Sequence[Entry],
        *,
        for_s: float | Sequence[float],
        step_s: float | None = None,
        trace_every_s: float = 0.0,
    ) -> Begun:
        """Begin to drive every entry for a while, or each for its own while, each to its own script.

        `step_s` is chosen for the liveliest car of each block when it is not given. `trace_every_s` keeps a
        trace of `kernel.TRACE_FIELDS` in each run, shape (samples, 9), of drives that are all as long.
        """
        each_s = [for_s] * len(entries) if isinstance(for_s, int | float) else list(for_s)
        order = sorted(range(len(entries)), key=lambda n: each_s[n])
        blocks = [
            _Block([entries[n] for n in block], [each_s[n] for n in block], step_s, trace_every_s)
            for block in _blocks(entries, order)
        ]
        self._begun_s += sum(block.longest_s for block in blocks)
        if self.executor is None:
            return Begun(self, order, [(block.longest_s, block.run) for block in blocks])
        futures = [self.executor.submit(block.run, self.should_stop) for block in blocks]
        self._waiting += futures
        longest_s = (block.longest_s for block in blocks)
        return Begun(self, order, list(zip(longest_s, (one.result for one in futures), strict=True)))

    def done(self, for_s: float) -> None:
        """Count a block as driven, and tell how far all is."""
        self._done_s += for_s
        if self.progress is not None:
            self._told = max(self._told, self._done_s / self._begun_s)
            self.progress(self._told)


class Begun:
    """Drives that were begun; they are driven at the latest when their runs are asked for."""

    def __init__(
        self, driving: Driving, order: Sequence[int], blocks: Sequence[tuple[float, Callable[[], list[Run]]]]
    ) -> None:
        """`order` says which entry each run of the blocks is of."""
        self._driving = driving
        self._order = order
        self._blocks = blocks

    @cached_property
    def runs(self) -> list[Run]:
        """One run for each entry, in the order of the entries."""
        runs: list[Run] = []
        for longest_s, block in self._blocks:
            _heed(self._driving.should_stop)
            runs += block()
            self._driving.done(longest_s)
        by_entry = dict(zip(self._order, runs, strict=True))
        return [by_entry[n] for n in range(len(runs))]


def drive(
    entries: Sequence[Entry],
    *,
    for_s: float | Sequence[float],
    step_s: float | None = None,
    trace_every_s: float = 0.0,
    executor: Executor | None = None,
    progress: Progress | None = None,
    should_stop: ShouldStop = _never,
) -> list[Run]:
    """Drive every entry for a while, each to its own script, and wait for it: `Driving` with one thing to do.

    Raises Stopped when `should_stop` says so between two blocks.
    """
    with Driving(executor=executor, progress=progress, should_stop=should_stop) as driving:
        return driving.begin(entries, for_s=for_s, step_s=step_s, trace_every_s=trace_every_s).runs


def _blocks(entries: Sequence[Entry], order: Sequence[int]) -> Iterator[list[int]]:
    """The entries in their order, sixteen at a time, of one voltage curve."""
    block: list[int] = []
    for n in order:
        if block and (
            len(block) == k.LANES or entries[n].car.pack.curve is not entries[block[0]].car.pack.curve
        ):
            yield block
            block = []
        block.append(n)
    if block:
        yield block


def _heed(should_stop: ShouldStop) -> None:
    if should_stop():
        raise Stopped("The study was stopped before it was done.", "Start it again when there is time.")


@dataclass(frozen=True, slots=True)
class _Block:
    """Up to sixteen entries, each with how long it lasts, in the order of that."""

    entries: list[Entry]
    each_s: list[float]
    step_s: float | None
    trace_every_s: float

    @property
    def longest_s(self) -> float:
        return self.each_s[-1]

    def run(self, should_stop: ShouldStop = _never) -> list[Run]:
        """Pack the entries into lanes, run them, and unpack each when its time is up."""
        _heed(should_stop)
        step_s = self.step_s or min(comfortable_step(e.car, e.place) for e in self.entries)
        steps = max(1, round(self.longest_s / step_s))
        step_s = self.longest_s / steps
        every = round(self.trace_every_s / step_s)
        samples = 0 if every == 0 else (steps - 1) // every + 1
        trace = np.full((samples, len(k.TRACE_FIELDS), k.LANES), np.nan)
        columns = np.zeros((k.PARAMETERS, k.LANES))
        table = np.zeros((k.STATES + k.KEPT, k.LANES))
        first, last, again = (np.zeros(k.LANES, dtype=np.int64) for _ in range(3))
        laps = np.ones(k.LANES)
        script: list[NDArray[np.float64]] = []
        lanes = self.entries + [self.entries[0]] * (k.LANES - len(self.entries))
        for j, entry in enumerate(lanes):
            columns[:, j] = column(entry)
            table[:, j] = fresh_books(entry, alive=j < len(self.entries))
            first[j] = again[j] = len(script)
            script.extend(asked(phase, entry) for phase in entry.lap)
            last[j] = len(script)
            laps[j] = min(entry.laps, FOREVER)
        strips = lanes[0].car.pack.curve.strips
        scripts = np.ascontiguousarray(np.array(script).T)
        runs: list[Run] = []
        done = 0
        for j, (entry, for_s) in enumerate(zip(self.entries, self.each_s, strict=True)):
            until = max(1, round(for_s / step_s))
            if until > done:
                more = until - done
                k.advance(
                    columns, strips, scripts, first, last, again, laps, table, step_s, more, every, trace
                )
                done = until
            runs.append(_unpack(entry, table[:, j], trace[:, :, j]))
            table[k.ALIVE - k.FIRST_STATE, j] = 0.0
        return runs


def column(entry: Entry) -> NDArray[np.float64]:
    """The parameters of one car as the kernel keeps them; divisions are done here, once."""
    car, place, limits = entry.car, entry.place, entry.limits
    m, b, p = car.motor, car.controller, car.pack
    can, fins = car.motor_heat.cooling, car.controller_heat.cooling
    weight_N = car.mass_kg * place.gravity_m_s2
    bound = car.tyre.growth_bound if car.tyre.growth_s2_m2 > 0.0 else 0.0
    c = np.zeros(k.PARAMETERS)
    c[k.WEIGHT] = weight_N
    c[k.GRIP_WEIGHT] = place.ground.grip * car.driven_share * weight_N
    c[k.CAR_KG] = car.mass_kg
    c[k.SPIN_KGM2] = car.inertia_at_wheel_kgm2
    c[k.DRAG] = 0.5 * place.air.density_kg_m3 * car.drag_area_m2
    c[k.WIND] = place.air.head_wind_m_s
    c[k.FINAL_DRIVE] = car.final_drive
    c[k.DRIVE_INV] = 1.0 / car.final_drive
    c[k.EFFICIENCY] = car.gear_efficiency
    c[k.EFFICIENCY_INV] = 1.0 / car.gear_efficiency
    c[k.ROLLING] = place.ground.rolling
    c[k.ROLLING_V] = place.ground.rolling_per_speed_s_m
    c[k.RADIUS] = car.tyre.radius_m
    c[k.GROWTH] = car.tyre.growth_s2_m2 if bound > 0.0 else 0.0
    c[k.GROWTH_BOUND] = bound
    c[k.GROWTH_INV] = 1.0 / bound if bound > 0.0 else 0.0
    c[k.CONSTANT] = m.constant_Vs
    c[k.MAGNET_K] = m.magnet_per_K
    c[k.FOLLOWS] = m.magnet_follows_winding
    c[k.WINDING_OHM] = m.resistance_ohm
    c[k.COPPER_K] = m.copper_per_K
    c[k.HYSTERESIS] = m.hysteresis_torque_Nm
    c[k.EDDY] = m.eddy_torque_Nms
    c[k.BRUSH] = m.brush_drop_V
    c[k.BRIDGE_OHM] = b.resistance_ohm
    c[k.BRIDGE_K] = b.resistance_per_K
    c[k.PART_V] = b.part_throttle_V
    c[k.SUPPLY_A] = b.supply_current_A
    c[k.SUPPLY_HEAT] = b.supply_heat_share
    c[k.MOTOR_MAX] = b.motor_limit_A
    c[k.BATTERY_MAX] = b.battery_limit_A
    c[k.BRAKE_MAX] = b.brake_limit_A
    c[k.REGENERATES] = float(b.regenerates)
    c[k.HOLDS] = float(b.holds)
    c[k.CELLS] = p.series_cells
    c[k.CHARGE_INV] = 1.0 / (3600.0 * entry.capacity_Ah)
    c[k.PACK_OHM] = p.resistance_ohm
    c[k.SLOW_OHM] = p.slow_resistance_ohm
    c[k.SLOW_F_INV] = 1.0 / p.slow_capacitance_F
    c[k.ACTIVATION] = p.activation_J_mol / GAS_J_PER_MOL_K
    c[k.PACK_COOLING] = p.cooling_W_K
    c[k.PACK_J_INV] = entry.hurry / p.heat_capacity_J_K
    c[k.WINDING_J_INV] = entry.hurry / car.motor_heat.winding_J_K
    c[k.CAN_J_INV] = entry.hurry / car.motor_heat.can_J_K
    c[k.BETWEEN_W_K] = 1.0 / car.motor_heat.winding_to_can_K_W
    c[k.IRON_SHARE] = car.motor_heat.iron_in_winding
    c[k.CAN_BASE : k.CAN_STILL2 + 1] = _cooling_rows(can)
    c[k.BRIDGE_J_INV] = entry.hurry / car.controller_heat.capacity_J_K
    c[k.BRIDGE_BASE : k.BRIDGE_STILL2 + 1] = _cooling_rows(fins)
    c[k.AIR_C] = place.air.temperature_degC
    c[k.RESERVE] = limits.reserve_share
    c[k.CUTOFF_V] = limits.cutoff_V_per_cell * p.series_cells
    c[k.WINDING_MAX] = limits.winding_degC
    c[k.CAN_MAX] = limits.can_degC
    c[k.BRIDGE_MAX] = limits.controller_degC
    c[k.PACK_MAX] = limits.pack_degC
    c[k.STOP_ON_CHARGE] = float(entry.stop_on_charge)
    c[k.STOP_ON_HEAT] = float(entry.stop_on_heat)
    c[k.GOAL_SPEED] = entry.goal_m_s
    c[k.MEAN_FROM] = entry.mean_from_s
    return c


def _cooling_rows(cooling: Cooling) -> tuple[float, ...]:
    return (
        cooling.base_W_K,
        cooling.flow_W_K,
        cooling.exponent / 2.0,
        cooling.ram_share**2,
        cooling.fan_air_m_s**2,
        cooling.still_air_m_s**2,
    )


def asked(phase: Phase, entry: Entry) -> NDArray[np.float64]:
    """One phase as the kernel keeps it, for this car on this ground."""
    a = np.zeros(k.PARAMETERS + k.ASKED)
    action, throttle, brake = _thumb(phase, entry.car.controller.drag_brake)
    a[k.ACTION] = action
    a[k.THROTTLE] = throttle
    a[k.BRAKE] = brake
    a[k.AIM] = phase.speed_m_s
    a[k.BAND_INV] = 1.0 / aim_band_m_s(phase.speed_m_s)
    angle = math.atan(phase.grade)
    a[k.GRADE_SIN] = math.sin(angle)
    a[k.GRADE_COS] = math.cos(angle)
    a[k.FAN] = entry.fan
    a[k.SPIN] = phase.wheel_spin
    a[k.PHASE_MAX_S] = phase.at_most_s
    a[k.PHASE_MAX_M] = phase.at_most_m
    a[k.UNTIL_ABOVE] = phase.until_faster_than_m_s
    a[k.UNTIL_BELOW] = phase.until_slower_than_m_s
    a[k.EXIT_V2] = phase.then_m_s**2
    grip = entry.place.ground.grip * entry.car.driven_share
    a[k.BRAKE_AHEAD] = 1.0 / (2.0 * BRAKES_AT_SHARE_OF_GRIP * grip * entry.place.gravity_m_s2)
    return a[k.FIRST_ASKED :]


def _thumb(phase: Phase, drag_brake: float) -> tuple[Action, float, float]:
    """What the transmitter and the controller make of a phase: action, throttle, brake."""
    if phase.does is Does.FULL:
        return Action.DRIVE, phase.throttle, 0.0
    if phase.does is Does.HOLD:
        return Action.HOLD_SPEED, phase.throttle, phase.brake
    if phase.does is Does.BRAKE:
        return Action.BRAKE, 0.0, phase.brake
    return (Action.BRAKE, 0.0, drag_brake) if drag_brake > 0.0 else (Action.DRIVE, 0.0, 0.0)


def aim_band_m_s(speed_m_s: float) -> float:
    """How far off a held speed the driver uses all he has: a fifth of it, at least 0.15 m/s (elicited)."""
    return max(0.15, 0.2 * speed_m_s)


def fresh_books(entry: Entry, *, alive: bool) -> NDArray[np.float64]:
    """What a lane brings: the state, and empty books."""
    t = np.zeros(k.FIRST_KEPT + k.KEPT)
    t[k.SPEED : k.SPEED + 7] = entry.start.as_array()
    t[k.ALIVE] = float(alive)
    t[k.PHASE] = -1.0
    t[k.AT_RESERVE : k.AT_GOAL + 1] = math.inf
    t[k.LOWEST_V] = math.inf
    t[[k.TOP_WINDING, k.TOP_CAN, k.TOP_BRIDGE, k.TOP_PACK]] = -math.inf
    return t[k.FIRST_STATE :]


_OUTCOMES = {
    k.RUNNING: Outcome.TIME_UP,
    k.SCRIPT_DONE: Outcome.SCRIPT_DONE,
    k.ALARM: Outcome.ALARM,
    k.EMPTY: Outcome.EMPTY,
    k.BURNT: Outcome.BURNT,
}


def _unpack(entry: Entry, table: NDArray[np.float64], trace: NDArray[np.float64]) -> Run:
    t = np.concatenate([np.zeros(k.FIRST_STATE), table])

    def of(row: int) -> float:
        return float(t[row])

    lasted_s = of(k.ELAPSED)
    mean_s = of(k.MEAN_S)

    def mean(row: int) -> float:
        return of(row) / mean_s if mean_s > 0.0 else math.nan

    return Run(
        outcome=_OUTCOMES[int(of(k.OUTCOME))],
        end=State.of(t[k.SPEED : k.SPEED + 7]),
        lasted_s=lasted_s,
        distance_m=of(k.DISTANCE),
        drawn_Ah=(entry.start.charge_share - of(k.CHARGE)) * entry.capacity_Ah,
        laps=int(of(k.LAPS)),
        alarms_s={alarm: of(k.AT_RESERVE + n) for n, alarm in enumerate(Alarm)},
        goal_s=of(k.AT_GOAL),
        top_speed_m_s=of(k.TOP_SPEED),
        top_winding_degC=of(k.TOP_WINDING),
        top_can_degC=of(k.TOP_CAN),
        top_controller_degC=of(k.TOP_BRIDGE),
        top_pack_degC=of(k.TOP_PACK),
        top_motor_A=of(k.TOP_MOTOR_A),
        top_pack_A=of(k.TOP_PACK_A),
        rms_motor_A=math.sqrt(of(k.MOTOR_A2S) / lasted_s) if lasted_s > 0.0 else 0.0,
        rms_pack_A=math.sqrt(of(k.PACK_A2S) / lasted_s) if lasted_s > 0.0 else 0.0,
        lowest_V=of(k.LOWEST_V),
        mean_winding_degC=mean(k.MEAN_WINDING),
        mean_can_degC=mean(k.MEAN_CAN),
        mean_controller_degC=mean(k.MEAN_BRIDGE),
        mean_pack_degC=mean(k.MEAN_PACK),
        ruled_s={limit: of(k.BY_THROTTLE + limit) for limit in Limit},
        trace=trace[~np.isnan(trace[:, 0])],
    )
