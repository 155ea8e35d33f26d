"""How long an exact choice takes: 40 checks, overlap and 8 access nodes (aim 20 ms), and evenings of cars.

Every choice is also worked out by HiGHS (one binary for each check, access node and set of checks of a mode);
the ratio of the two times is printed, and the values must agree.
"""

from __future__ import annotations

import random
import statistics
import time

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

from snugfast.upkeep.choosing import Access, AtStake, Check, choose

TENTHS_PER_CAR = 200
PRICE = 0.015


def car(seed: int) -> tuple[list[Check], list[Access], list[AtStake]]:
    """Forty checks behind eight access nodes, forty modes, half of them covered by two or three checks."""
    rng = random.Random(seed)
    name = f"car{seed}/"
    access = [
        Access(f"{name}a{k}", rng.randint(5, 40), None if k < 3 else f"{name}a{rng.randrange(k)}")
        for k in range(8)
    ]
    checks = [
        Check(
            f"{name}c{j:02d}",
            rng.randint(2, 25),
            (f"{name}a{rng.randrange(8)}",) if rng.random() < 0.8 else (),
        )
        for j in range(40)
    ]
    at_stake = []
    for m in range(40):
        cover = rng.sample(range(40), rng.choice([1, 1, 2, 3]))
        most = rng.gammavariate(1.5, 1.0)
        detections = {f"{name}c{j:02d}": rng.uniform(0.4, 0.97) for j in cover}
        at_stake.append(AtStake.by_detection(f"{name}m{m}", detections, lambda r, most=most: most * r))
    return checks, access, at_stake


def by_solver(checks: list[Check], access: list[Access], at_stake: list[AtStake], tenths: int) -> float:
    """The same choice as a mixed-integer programme."""
    place = {one.key: i for i, one in enumerate([*checks, *access])}
    sets = [(m, mask) for m, mode in enumerate(at_stake) for mask in range(len(mode.worth))]
    gain = np.zeros(len(place) + len(sets))
    entries: list[tuple[int, int, float]] = []
    low, high = [-np.inf], [float(tenths)]
    for one in (*checks, *access):
        gain[place[one.key]] = PRICE * one.tenths
        entries.append((0, place[one.key], one.tenths))
    needs = [(check.key, way) for check in checks for way in check.access]
    needs += [(node.key, node.parent) for node in access if node.parent is not None]
    for child, parent in needs:
        entries += [(len(low), place[child], 1.0), (len(low), place[parent], -1.0)]
        low.append(-np.inf)
        high.append(0.0)
    of_mode: list[list[int]] = [[] for _ in at_stake]
    for i, (m, mask) in enumerate(sets):
        gain[len(place) + i] = -at_stake[m].worth[mask]
        of_mode[m].append(len(place) + i)
    for mode, own in zip(at_stake, of_mode, strict=True):
        entries += [(len(low), column, 1.0) for column in own]
        low.append(1.0)
        high.append(1.0)
        for bit, key in enumerate(mode.checks):
            entries += [(len(low), own[mask], 1.0) for mask in range(len(own)) if mask >> bit & 1]
            entries.append((len(low), place[key], -1.0))
            low.append(0.0)
            high.append(0.0)
    rows, columns, numbers = zip(*entries, strict=True)
    matrix = csr_array((numbers, (rows, columns)), shape=(len(low), gain.size))
    solved = milp(
        gain,
        integrality=np.ones(gain.size),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(matrix, low, high),
        options={"mip_rel_gap": 0.0},
    )
    return float(-solved.fun)


def measure(title: str, cars: int, cases: int, tenths: int | None = None) -> None:
    """Time some choices both ways and print what they took."""
    ours, theirs = [], []
    for case in range(cases):
        parts = [car(100 * case + k) for k in range(cars)]
        checks, access, at_stake = ([one for part in parts for one in part[i]] for i in range(3))
        tenths = TENTHS_PER_CAR * cars if tenths is None else tenths
        begin = time.process_time()
        choice = choose(checks=checks, access=access, at_stake=at_stake, tenths=tenths, price_per_tenth=PRICE)
        middle = time.process_time()
        value = by_solver(checks, access, at_stake, tenths)
        end = time.process_time()
        assert abs(choice.net - value) < 1e-4, (choice.net, value)
        ours.append(middle - begin)
        theirs.append(end - middle)
    mean, solver = statistics.fmean(ours), statistics.fmean(theirs)
    print(
        f"{title}: mean {1e3 * mean:.1f} ms, median {1e3 * statistics.median(ours):.1f} ms,"
        f" worst {1e3 * max(ours):.1f} ms; HiGHS takes {solver / mean:.1f} times as long"
    )


if __name__ == "__main__":
    measure("one car, 40 checks, 8 access nodes", cars=1, cases=40)
    measure("three cars of one evening, 120 checks", cars=3, cases=10)
    measure("five cars of one evening, 200 checks, half an hour", cars=5, cases=6, tenths=300)
