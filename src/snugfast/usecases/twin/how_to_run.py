"""What a door hands in with a question that takes driving."""

from __future__ import annotations

from concurrent.futures import Executor
from dataclasses import dataclass

from snugfast.physics.powertrain.runs import Progress, ShouldStop

MOST_RUNGS = 320


@dataclass(frozen=True, slots=True)
class HowToRun:
    """What a door hands in for a study: threads, ears for progress and stop, and how long it may get."""

    executor: Executor | None = None
    progress: Progress | None = None
    should_stop: ShouldStop = lambda: False
    most_rungs: int = MOST_RUNGS
