"""How long a replay of beliefs takes: 60 modes, 2,000 runs of all of them and 5,000 findings (aim 0.4 s).

Also with a quarter of the modes wearing out by age, which are integrated step by step; printed as a ratio to
the steady ones, so that a busy machine harms both alike.
"""

from __future__ import annotations

import time

import numpy as np

from snugfast.upkeep.beliefs import BeliefBank
from snugfast.upkeep.mode_law import NEW, ModeLaw

MODES, RUNS, FINDINGS = 60, 2_000, 5_000


def replay_s(*, wearing: int) -> float:
    """Seconds for the whole journal; worn parts are renewed every hundredth run."""
    rng = np.random.default_rng(1)
    laws = [
        ModeLaw(
            float(rng.uniform(300.0, 3000.0)),
            1.5,
            float(rng.uniform(20.0, 300.0)),
            sudden_share=0.1,
            wear_shape=2.5 if mode < wearing else 1.0,
        )
        for mode in range(MODES)
    ]
    bank = BeliefBank()
    rows = bank.add(laws, [NEW] * MODES)
    begin = time.perf_counter()
    for run in range(RUNS):
        bank[rows] = bank[rows].ran(exposure=12.0)
        if run % 100 == 99:
            bank[rows[:wearing]] = bank[rows[:wearing]].restored(renewed=True)
        for finding in range(FINDINGS // RUNS + run % 2):
            at = rows[(7 * run + finding) % MODES : (7 * run + finding) % MODES + 1]
            bank[at] = bank[at].checked_clean(detection=0.9)
    return time.perf_counter() - begin


if __name__ == "__main__":
    steady = min(replay_s(wearing=0) for _ in range(3))
    mixed = min(replay_s(wearing=MODES // 4) for _ in range(3))
    print(f"{MODES} modes, {RUNS} runs, {FINDINGS} findings: {steady:.2f} s, all rates steady")
    print(f"a quarter of them wearing out: {mixed / steady:.1f} times as long ({mixed:.2f} s)")
