"""Drives that share threads: begun together, read when wanted, each as long as it is asked to be.

Authority: laws. Whatever is driven beside it, a car does the same.
"""

from __future__ import annotations

from concurrent.futures import Executor, Future, ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pytest

from snugfast.physics.powertrain.kernel import TRACE_FIELDS
from snugfast.physics.powertrain.runs import Driving, Entry, Stopped, Traced, drive
from snugfast.physics.study.gearing import for_ever
from tests.physics.truck_twin import question, truck

STEP_s = 0.01


def entries(*pinions: int) -> list[Entry]:
    return [question(truck(z), "dirt_laps").entry(truck(z)) for z in pinions]


def test_each_is_driven_for_its_own_while_as_if_it_were_alone() -> None:
    """Law: in any order, across blocks, equal to the last digit."""
    many = entries(*range(9, 27))
    each_s = [20.0 + 3.0 * ((7 * n) % 18) for n in range(18)]
    together = drive(many, for_s=each_s, step_s=STEP_s)
    for one, for_s, run in zip(many, each_s, together, strict=True):
        alone = drive([one], for_s=for_s, step_s=STEP_s)[0]
        assert run == alone
        assert run.lasted_s == pytest.approx(for_s, abs=STEP_s)


def test_a_trace_ends_with_its_drive() -> None:
    run = drive(entries(15), for_s=10.0, step_s=STEP_s, trace_every_s=1.0)[0]
    assert run.trace.shape == (10, 9)


def test_what_is_begun_may_be_read_in_any_order_and_progress_never_falls() -> None:
    told: list[float] = []
    with ThreadPoolExecutor(2) as pool, Driving(executor=pool, progress=told.append) as driving:
        first = driving.begin(entries(13, 15), for_s=30.0)
        second = driving.begin(entries(17), for_s=10.0)
        assert len(second.runs) == 1
        third = driving.begin(entries(19), for_s=40.0)
        assert [len(begun.runs) for begun in (third, first, second)] == [1, 2, 1]
    assert told == sorted(told)
    assert told[-1] == pytest.approx(1.0)
    assert len(told) == 3  # what was read stays read


def test_nothing_to_drive_is_nothing() -> None:
    with Driving() as driving:
        assert driving.begin([], for_s=10.0).runs == []


class Idle(Executor):
    """An executor that takes work and never does it."""

    def __init__(self) -> None:
        self.futures: list[Future[Any]] = []

    def submit(self, *_: Any, **__: Any) -> Future[Any]:
        """A future that nobody keeps."""
        self.futures.append(Future())
        return self.futures[-1]


def test_leaving_drops_what_was_not_driven() -> None:
    idle = Idle()
    with Driving(executor=idle) as driving:
        driving.begin(entries(*range(9, 27)), for_s=10.0)
    assert len(idle.futures) == 2
    assert all(future.cancelled() for future in idle.futures)


def test_reading_stops_when_asked_to() -> None:
    with Driving(should_stop=lambda: True) as driving, pytest.raises(Stopped):
        _ = driving.begin(entries(15), for_s=10.0).runs


def test_a_pack_that_never_empties_still_counts_what_is_drawn() -> None:
    """Law: at a charge where the voltage is the same, driving draws the same from either pack."""
    q = question(style_key="dirt_laps")
    endless = replace(for_ever(q, q.car), hurry=1.0)
    real = replace(endless, endless_pack=False)
    never, emptied = drive([endless, real], for_s=30.0)
    assert never.drawn_Ah == pytest.approx(emptied.drawn_Ah, rel=3e-3)
    assert never.end.charge_share == pytest.approx(endless.start.charge_share, abs=1e-5)
    used = (real.start.charge_share - emptied.end.charge_share) * q.car.pack.capacity_Ah
    assert emptied.drawn_Ah == pytest.approx(used)


def test_the_columns_of_a_trace_are_named_as_the_kernel_writes_them() -> None:
    assert [name.lower() for name in Traced.__members__] == [name.lower() for name in TRACE_FIELDS]
