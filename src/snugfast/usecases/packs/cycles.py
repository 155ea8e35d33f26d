"""How many cycles a pack has behind it: its runs, and the charges that no run explains.

A pack that was lent or used at the bench was driven by nobody in the journal, but it was charged again. What
such a charge put in counts by its throughput, as a share of the capacity. A charge after a run is that run's
and counts nothing more, whether it came in one go or as a storage charge first.
"""

from __future__ import annotations

from dataclasses import dataclass

from snugfast.records.entries import Finish, PackCharged, Ran


@dataclass(slots=True)
class Cycles:
    """Counts cycles entry by entry, in replay order.

    `explained_Ah` is what the next charges may put in for a reason already counted: what the runs since the
    last full charge took, or, as a pack comes, whatever it lacked.
    """

    capacity_Ah: float
    counter_share: float  # half width of a counted charge: a run explains so much more than it took
    runs: int = 0
    bench_Ah: float = 0.0
    explained_Ah: float = 0.0

    @classmethod
    def of_new(cls, capacity_Ah: float, counter_share: float) -> Cycles:
        """Of a pack as it comes: nobody knows how empty, so its first charge tells of no use."""
        return cls(capacity_Ah, counter_share, explained_Ah=capacity_Ah * (1.0 + counter_share))

    @property
    def from_charges(self) -> float:
        """Cycles' worth of charge that was put in and that no run explains."""
        return self.bench_Ah / self.capacity_Ah

    @property
    def total(self) -> float:
        """All of them."""
        return self.runs + self.from_charges

    def ran(self, ran: Ran) -> None:
        """A run took what was put back after it; when nobody counted, up to all there was."""
        self.runs += 1
        took_Ah = self.capacity_Ah if ran.put_back_Ah is None else ran.put_back_Ah
        room_Ah = self.capacity_Ah * (1.0 + self.counter_share)
        self.explained_Ah = min(self.explained_Ah + took_Ah * (1.0 + self.counter_share), room_Ah)

    def charged(self, charged: PackCharged) -> None:
        """A charge; what it took out, as a storage function does, is no charge put in."""
        put_in_Ah = max(charged.put_in_Ah or 0.0, 0.0)
        self.bench_Ah += max(put_in_Ah - self.explained_Ah, 0.0)
        left_Ah = max(self.explained_Ah - put_in_Ah, 0.0)
        self.explained_Ah = 0.0 if charged.finish is Finish.FULL else left_Ah
