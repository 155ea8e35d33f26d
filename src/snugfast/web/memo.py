"""What a page stands on, worked out once while nothing new is logged and the clock shows the same time."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable
from dataclasses import dataclass, field
from threading import Lock
from typing import TypeVar, cast

from snugfast.usecases.shared.workshop import Workshop

T = TypeVar("T")
MOST_KEPT = 32
MINUTE_S, HOUR_S = 60.0, 3600.0


@dataclass(slots=True)
class Memo:
    """Values by what was asked, each good for one position of the journal and one stretch of time."""

    _held: OrderedDict[Hashable, tuple[Hashable, object]] = field(default_factory=OrderedDict)
    _lock: Lock = field(default_factory=Lock)

    def once(
        self, workshop: Workshop, asked: Hashable, make: Callable[[], T], *, lasts_s: float = MINUTE_S
    ) -> T:
        """The value for what is asked; made anew after an entry, other tables, or when its time is over.

        What `make` raises is raised and not held. Two who ask at once may both make it.
        """
        with workshop.store.reading() as reads:
            position = reads.position()
        stamp = (position, workshop.now().timestamp() // lasts_s, workshop.zone, id(workshop.facts))
        with self._lock:
            held = self._held.get(asked)
        if held is not None and held[0] == stamp:
            return cast(T, held[1])
        value = make()
        with self._lock:
            self._held[asked] = (stamp, value)
            self._held.move_to_end(asked)
            while len(self._held) > MOST_KEPT:
                self._held.popitem(last=False)
        return value

    def clear(self) -> None:
        """Hold nothing."""
        with self._lock:
            self._held.clear()
