"""How long each page takes on the demo's season: the 95th percentile of warm answers, aim 100 ms.

Two figures stand side by side: by the clock on the wall, and by the processor's own, which a busy neighbour
does not lengthen. The first answer, in which what a page stands on is worked out, is given beside them.
"""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

from fastapi.testclient import TestClient

from snugfast.app.demo import make_demo
from snugfast.app.opening import open_workshop
from snugfast.usecases.shared.ledger import ledger_now
from snugfast.web.app import create_for

TIMES, AIM_MS = 21, 100.0
PATHS = (
    *("/", "/outing", "/sheet?car=Bramble&minutes=20&make=1", "/packs", "/more", "/journal", "/cars/new"),
    *("{car}", "{car}/gearing", "{car}/arrive", "{car}/change", "{car}/joints", "{car}/mesh", "{car}/drag"),
    *("/bearings", "/kit", "/runs/new?car=Bramble", "/settings", "/sources"),
)


def timed(ask: Callable[[], object]) -> tuple[float, float]:
    """Milliseconds on the wall and of the processor."""
    wall, cpu = time.perf_counter(), time.process_time()
    ask()
    return (time.perf_counter() - wall) * 1e3, (time.process_time() - cpu) * 1e3


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        at = datetime.now(UTC)
        make_demo(Path(folder) / "demo", now=at)
        workshop = open_workshop(str(Path(folder) / "demo"))
        client = TestClient(create_for(workshop), base_url="http://127.0.0.1")
        with workshop.store.reading() as reads:
            car = ledger_now(reads).car_named("Bramble")
        assert car is not None
        print(f"{'page':44} {'first':>8} {'p95 wall':>9} {'p95 cpu':>9}  ms, aim {AIM_MS:g}")
        for path in PATHS:
            address = path.format(car=f"/cars/{car.id}")
            first, _ = timed(lambda address=address: client.get(address))
            answers = sorted(timed(lambda address=address: client.get(address)) for _ in range(TIMES))
            walls, cpus = (sorted(one[n] for one in answers) for n in (0, 1))
            mark = "" if cpus[-2] <= AIM_MS else "  over"
            print(f"{path:44} {first:8.0f} {walls[-2]:9.1f} {cpus[-2]:9.1f}{mark}")
        workshop.store.close()


if __name__ == "__main__":
    main()
