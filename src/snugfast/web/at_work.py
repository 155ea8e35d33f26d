"""Work that takes longer than a page should: it goes on by itself, says how far it is, and can be stopped."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event, Lock
from typing import Any
from uuid import UUID, uuid4

from snugfast.physics.powertrain.runs import Progress, ShouldStop

KEPT = 16  # pieces of work, the newest


@dataclass
class Work:
    """One piece of work. `share` is how much of it is done, 0 to 1."""

    about: str
    share: float = 0.0
    stopping: Event = field(default_factory=Event)
    outcome: Future[Any] = field(default_factory=Future)

    @property
    def is_going_on(self) -> bool:
        """Whether there is no outcome yet."""
        return not self.outcome.done()

    def tell(self, share: float) -> None:
        """How far it is."""
        self.share = share


@dataclass
class AtWork:
    """What is being worked out, one after another, as long as the server lives."""

    _works: OrderedDict[UUID, Work] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)
    _worker: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, "at-work"))

    def start(self, about: str, work_out: Callable[[Progress, ShouldStop], Any]) -> UUID:
        """Begin, unless the same is under way already; `about` is the same for the same work."""
        with self._lock:
            for key, work in self._works.items():
                if work.about == about and work.is_going_on and not work.stopping.is_set():
                    return key
            key, work = uuid4(), Work(about)
            self._works[key] = work
            while len(self._works) > KEPT:
                _, oldest = self._works.popitem(last=False)
                oldest.stopping.set()
        self._worker.submit(_do, work, work_out)
        return key

    def get(self, key: UUID) -> Work | None:
        """The work of that key, going on or done."""
        with self._lock:
            return self._works.get(key)


def _do(work: Work, work_out: Callable[[Progress, ShouldStop], Any]) -> None:
    try:
        work.outcome.set_result(work_out(work.tell, work.stopping.is_set))
    except BaseException as refused:  # told to whoever asks for the outcome
        work.outcome.set_exception(refused)
