"""How hard whoever drives here is on cars: what every car of the workshop says of it together.

Each story teaches what its rows say of all rows: for each mode, how many times as likely its past is were the
driver, or the table's row, that much harder. That is kept beside the story, a few numbers, so that a sheet
for one car hears of the others without telling them again.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import fsum

import numpy as np
from numpy.typing import NDArray

from snugfast.facts.model import Facts
from snugfast.records.ledger import Ledger
from snugfast.upkeep.severity import BOTH, Doubt, Severity, severity

Floats = NDArray[np.float64]
Teaches = Mapping[str, Floats]  # for each mode (BOTH,): log of how many times as likely
LEAST_HITS, MOST_HITS = 0.6, 3.0  # times the hits of the average driver; beyond, hits are counted otherwise
FAR = 1.5  # times the driver the tables mean, or a part of it, from which it is worth saying
OUTINGS_TO_TELL = 3


@dataclass(frozen=True, slots=True)
class Driver:
    """What the cars say of whoever drives them, and what they say it from."""

    severity: Severity
    outings: int
    cars: int
    expected: float  # the mean before anything had happened, from the hits that are logged

    @property
    def words(self) -> str:
        """In few words, where it is far from what the tables mean and was learned; else nothing."""
        mean = self.severity.mean
        if self.outings < OUTINGS_TO_TELL or 1.0 / FAR < mean < FAR:
            return ""
        times = f"{mean:.1f} times as often as" if mean >= 1.0 else f"{1.0 / mean:.1f} times less often than"
        learned = f"{self.outings} outings with " + ("one car" if self.cars == 1 else f"{self.cars} cars")
        return f"With you things go wrong {times} our tables say (learned from {learned})."


def doubt_of(facts: Facts, ledger: Ledger) -> Doubt | None:
    """How far drivers and rows lie apart here, before anything happened; None when severity is held fixed.

    The mean goes with the hits that are logged: the tables are those of a driver with fifteen an hour.
    """
    known = {key: facts.assumptions[key].value for key in (*SPREADS, "severity_mean", *HABITS)}
    if not any(known[key] for key in SPREADS):
        return None
    runs = known["habit_runs_weight"]
    minutes, hits = runs * known["habit_running_min"], runs * known["habit_hard_hits"]
    habits = [car.habits for car in ledger.cars.values()]
    often = fsum([hits, *(one.hard_hits for one in habits)]) / fsum(
        [minutes, *(one.running_min for one in habits)]
    )
    times = float(np.clip(often / (hits / minutes), LEAST_HITS, MOST_HITS))
    return Doubt(known[SPREADS[0]], known[SPREADS[1]], known["severity_mean"] * times)


SPREADS = ("severity_log_sd", "table_error_log_sd")
HABITS = ("habit_runs_weight", "habit_running_min", "habit_hard_hits")


def driver_from(teaches: Sequence[Teaches], doubt: Doubt, ledger: Ledger) -> Driver:
    """The driver of a workshop whose stories teach this; their order changes nothing."""
    together = severity([(mode, logs) for one in teaches for mode, logs in one.items()], doubt)
    driven = [car.habits.outings for car in ledger.cars.values() if car.habits.outings]
    return Driver(together, sum(driven), len(driven), doubt.severity_mean)


def teaches_bytes(teaches: Teaches) -> bytes:
    """What a story teaches, to keep."""
    modes = sorted(teaches)
    numbers = np.array([teaches[mode] for mode in modes], np.float64).reshape(len(modes), len(BOTH))
    return "\n".join(modes).encode() + b"\n\n" + numbers.astype("<f8").tobytes()


def teaches_from(payload: bytes) -> Teaches:
    """What `teaches_bytes` wrote."""
    names, _, numbers = payload.partition(b"\n\n")
    logs = np.frombuffer(numbers, "<f8").reshape(-1, len(BOTH))
    return dict(zip(names.decode().split("\n") if names else (), logs, strict=True))
