"""Runs: cars driven to a script, many at once, with what one wants to know of each.

This is the door to the compiled kernel. Cars go in blocks of sixteen; an executor that is handed in spreads
the blocks over threads, progress is told after each block, and a long study stops when asked to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future
from dataclasses import dataclass, field
from enum import Enum, IntEnum
from functools import cached_property
from typing import Self

import numpy as np
from numpy.typing import NDArray

from snugfast.core.errors import SnugfastError
from snugfast.physics.powertrain import kernel as k
from snugfast.physics.powertrain import lanes
from snugfast.physics.powertrain.driving_styles import Phase
from snugfast.physics.powertrain.powertrain import Car, Limit, Place, State, comfortable_step

FOREVER = 1e9
ENDLESS = 1e4  # times its capacity: the charge falls by a few parts in a hundred thousand, and can be counted


class Stopped(SnugfastError):
    """A long study was asked to stop."""


class Alarm(Enum):
    """What can end a run worth driving, and the words for it."""

    RESERVE = "the battery is down to its reserve"
    CUTOFF = "the ESC cuts off under load"
    WINDING = "the winding reaches its limit"
    CAN = "the motor reaches its limit"
    CONTROLLER = "the ESC reaches its limit"
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


class Traced(IntEnum):
    """The columns of a trace, as `kernel.TRACE_FIELDS` names them."""

    SPEED_m_s = 0
    CHARGE_SHARE = 1
    PACK_V = 2
    MOTOR_A = 3
    PACK_A = 4
    WINDING_degC = 5
    CAN_degC = 6
    CONTROLLER_degC = 7
    PACK_degC = 8


HEATS = slice(Traced.WINDING_degC, Traced.PACK_degC + 1)


@dataclass(frozen=True, slots=True)
class Run:
    """What came of one car's run. Times are infinite for what did not happen. Temperatures in °C.

    Rows of the trace are `row_every_s` apart: that wanted, to the nearest step. They end with the run.
    """

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
    row_every_s: float = field(compare=False)
    trace: NDArray[np.float64] = field(compare=False)

    def rises_K(self, air_degC: float) -> NDArray[np.float64]:
        """How far winding, can, controller and pack are above the air in each row of the trace, (rows, 4)."""
        rises: NDArray[np.float64] = self.trace[:, HEATS] - air_degC
        return rises

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
        trace of `kernel.TRACE_FIELDS` in each run, shape (samples, 9).
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
        in_lanes = self.entries + [self.entries[0]] * (k.LANES - len(self.entries))
        for j, entry in enumerate(in_lanes):
            columns[:, j] = lanes.column(entry)
            table[:, j] = lanes.fresh_books(entry, alive=j < len(self.entries))
            first[j] = again[j] = len(script)
            script.extend(lanes.asked(phase, entry) for phase in entry.lap)
            last[j] = len(script)
            laps[j] = min(entry.laps, FOREVER)
        strips = in_lanes[0].car.pack.curve.strips
        scripts = np.ascontiguousarray(np.array(script).T)
        runs: list[Run] = []
        done = 0
        for j, (entry, for_s) in enumerate(zip(self.entries, self.each_s, strict=True)):
            until = max(1, round(for_s / step_s))
            if until > done:
                more = until - done
                k.advance(
                    columns,
                    strips,
                    scripts,
                    first,
                    last,
                    again,
                    laps,
                    table,
                    step_s,
                    more,
                    done,
                    every,
                    trace,
                )
                done = until
            runs.append(_unpack(entry, table[:, j], every * step_s, trace[:, :, j]))
            table[k.ALIVE - k.FIRST_STATE, j] = 0.0  # the block ends when no lane is wanted any more
        return runs


_OUTCOMES = {
    k.RUNNING: Outcome.TIME_UP,
    k.SCRIPT_DONE: Outcome.SCRIPT_DONE,
    k.ALARM: Outcome.ALARM,
    k.EMPTY: Outcome.EMPTY,
    k.BURNT: Outcome.BURNT,
}


def _unpack(entry: Entry, table: NDArray[np.float64], row_every_s: float, trace: NDArray[np.float64]) -> Run:
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
        row_every_s=row_every_s,
        trace=_of_the_run(trace, lasted_s, row_every_s),
    )


def _of_the_run(trace: NDArray[np.float64], lasted_s: float, row_every_s: float) -> NDArray[np.float64]:
    """The rows of a trace that the run came to: its last one may fall on the end, and is then not filled."""
    if row_every_s == 0.0:
        return trace[:0].copy()
    rows = trace[: math.floor(lasted_s / row_every_s) + 1]
    return rows[np.isfinite(rows[:, 0])].copy()
